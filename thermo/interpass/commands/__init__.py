"""The program `interpass`: parse, call, print, write, exit.

The only wing that knows the terminal; slow imports stand inside functions.
"""
