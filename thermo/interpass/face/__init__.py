"""The public face: what scripts and notebooks get from ``import interpass``.

Functions that do what the commands do, and the data they give; commands share them.
"""
