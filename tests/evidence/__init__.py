"""Everything the program has been checked against, run anew and set out on one page."""
