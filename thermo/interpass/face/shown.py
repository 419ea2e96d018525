"""How an answer shows itself: a line at a prompt, arrays, its report, HTML in a notebook."""

from typing import TYPE_CHECKING, Any

from ..text.kinds import UNIT_SYSTEMS

if TYPE_CHECKING:
    from ..text.arrays import Array


def printed(answer: Any) -> str:
    """Return what print() shows: the report in words."""
    return str(answer.text())


def brief(answer: Any) -> str:
    """Return what a prompt shows: one line, not the curves inside."""
    return f"<{type(answer).__name__}: {printed(answer).strip().splitlines()[0]}>"


def inline(svg: bytes) -> str:
    """Take the declarations off an SVG file: what stands before <svg> has no place in HTML."""
    text = svg.decode()
    return text[text.index("<svg") :]


def page(title: str, heads: Any, rows: Any, after: str) -> str:
    """Set out a small HTML table under its title."""
    from html import escape

    def line(tag: str, cells: Any) -> str:
        return "".join(f"<{tag}>{escape(str(cell))}</{tag}>" for cell in cells)

    body = "".join(f"<tr>{line('td', row)}</tr>" for row in rows)
    below = f"<p>{escape(after)}</p>" if after else ""
    return (
        f"<p><b>{escape(title)}</b></p><table><thead><tr>{line('th', heads)}</tr></thead>"
        f"<tbody>{body}</tbody></table>{below}"
    )


def numbers(values: Any) -> "Array":
    """Numbers as an array; nan for None."""
    import numpy as np

    return np.array([np.nan if v is None else v for v in values], dtype=float)


def units_named(units: str) -> Any:
    """Units by name.

    Raises
    ------
    ValueError
        Neither "si" nor "us".
    """
    if units not in UNIT_SYSTEMS:
        msg = f"units {units!r}; write 'si' or 'us'"
        raise ValueError(msg)
    return UNIT_SYSTEMS[units]
