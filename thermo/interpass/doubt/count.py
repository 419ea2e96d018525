"""How many plausible joints there are; loads nothing, for commands that only tell it.

What it computes: ``thermo/MODEL.md``, section 8.
"""

SAMPLES = 4096
"""Plausible joints when nothing is asked for, and at most."""
