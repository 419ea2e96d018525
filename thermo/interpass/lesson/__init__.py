"""Why small pieces overheat.

Joints to compare, sums a student can redo, pictures, a film, one page.
"""
