"""Every answer in words: one module for each command, and the tables they share.

Tables are made here once, for terminal and page alike.
"""
