"""A TOML text into a joint, or all of its mistakes at once, each with line and remedy; and back.

Change a key, write a file, ask for a new case.
"""
