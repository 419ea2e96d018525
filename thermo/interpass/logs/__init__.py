"""The weld as it was done.

The log, the joint as welded, the wait before the next pass, the review; a logger's file beside
the log, and the sheet for a trial.
"""
