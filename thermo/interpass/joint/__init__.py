"""The joint as it is drawn and welded, in SI.

Pipe, fitting, fillet, passes, the way of the arc, the places that are read, what
holds the piece. Plain data and geometry; nothing is run.
"""
