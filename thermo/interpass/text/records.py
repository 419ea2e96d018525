"""Text that goes into a CSV file, made safe for the spreadsheet that opens it."""

from typing import Any

FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would compute what follows


def harmless(value: Any) -> Any:
    """Text that a spreadsheet would compute gets an apostrophe in front.

    Examples
    --------
    >>> harmless("=1+1"), harmless(" =1+1"), harmless("plain"), harmless(-3.0)
    ("'=1+1", "' =1+1", 'plain', -3.0)
    """
    is_formula = isinstance(value, str) and value.lstrip(" \n").startswith(FORMULA)
    return f"'{value}" if is_formula else value
