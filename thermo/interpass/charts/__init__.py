"""Many joints.

One case varied over axes, or several cases side by side, in as many processes as
there are, kept row by row.
"""
