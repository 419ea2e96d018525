"""Every answer drawn.

matplotlib lives here, in pages and in lesson.
"""
