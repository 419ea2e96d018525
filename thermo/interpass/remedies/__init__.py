"""What would shorten the waits.

Changes to a case, each one run for real; several joints in turn; another limit.
"""
