"""Numbers, words and files on their way in and out.

Quantities with units, times of day, TOML and CSV with the line of every mistake,
tables of text. Knows nothing of welds.
"""
