"""The weld as it was done.

The log, the joint as welded, the wait before the next pass, the review.
"""
