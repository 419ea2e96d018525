"""What is not known exactly, and how far the waits may be off because of it.

Plausible joints on a coarse stand-in, bands, families of cooling curves, when to read.
"""
