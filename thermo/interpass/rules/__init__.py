"""Is it right, and who says so.

Rule sets as rows of data, the small language they are written in, the quantities they
may name, verdicts.
"""
