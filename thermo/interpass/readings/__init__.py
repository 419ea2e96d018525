"""What somebody read on the joint, and what that teaches.

The file of readings, impossible ones, the fit of a joint, the fit of several of one shop.
"""
