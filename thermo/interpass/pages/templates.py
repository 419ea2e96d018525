"""One environment of templates for all pages; pictures and data as they stand in them."""

import base64
import hashlib
import re
import struct
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Any

import jinja2
from jinja2.utils import htmlsafe_json_dumps

CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")

CAPTIONS = {
    "temperature": "Temperature of the joint against time, with passes, waits and limit.",
    "ring": "Temperature round the ring, unrolled, against time.",
    "section": "Joint in section at each arc off and arc on, with isotherms.",
    "heat": "Where the heat is and where it went, against time.",
    "limit": "Waits against the interpass limit.",
}

MEDIA = {
    "svg": "image/svg+xml", "png": "image/png", "gif": "image/gif", "toml": "text/plain",
}  # fmt: skip

SIDE, HEAD = re.compile(rb'\b(width|height)="([0-9.]+)pt"'), 2000  # bytes of an SVG


def embedded(figures: Mapping[str, bytes]) -> Iterator[dict[str, Any]]:
    """Each picture once, as data; an SVG of its own has ids of its own."""
    for file, content in figures.items():
        name, _, kind = file.rpartition(".")
        if kind == "png" and f"{name}.svg" in figures:
            continue
        words = CAPTIONS.get(name, f"{name[:1].upper()}{name[1:]}.")
        yield {
            "source": as_data(file, content),
            "words": words,
            "is_tall": is_tall(content),
        }


def as_data(file: str, content: bytes) -> str:
    """Address that holds a file itself; what it is is told by the ending of its name.

    Examples
    --------
    >>> as_data("a.toml", b"x")
    'data:text/plain;base64,eA=='
    """
    kind = MEDIA[file.rpartition(".")[2]]
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"


def is_tall(content: bytes) -> bool:
    """Whether a picture is higher than it is wide; PNG and SVG tell it at the start."""
    if content.startswith(b"\x89PNG"):
        width, height = struct.unpack(">II", content[16:24])
    else:
        sides = dict(SIDE.findall(content[:HEAD]))
        width, height = (float(sides.get(side, 0)) for side in (b"width", b"height"))
    return height > width


def page_file(name: str) -> str:
    """Text of a template or script of the pages, of the lesson, or of the desk."""
    wing = next((w for w in ("lesson", "desk") if name.startswith(w)), "pages")
    return (resources.files(f"interpass.{wing}") / name).read_text(encoding="utf-8")


def script_hash(script: str) -> str:
    """Return the name by which the page's policy lets this script run."""
    digest = hashlib.sha256(script.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def anchor(words: str) -> str:
    """Name of a heading that can be linked to.

    >>> anchor("Near the arc (estimate)")
    'near-the-arc-estimate'
    """
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def together(head: str) -> str:
    r"""Keep the unit of a column's head on the line of its last word.

    >>> together("hottest, degC") == "hottest,\u00a0degC"
    True
    """
    words, comma, unit = head.rpartition(", ")
    return f"{words},\u00a0{unit}" if comma else unit


def clean(value: Any) -> Any:
    """Take out of text what no page may hold; the rest is escaped by the template."""
    if isinstance(value, str) and CONTROLS.search(value):
        return CONTROLS.sub("\ufffd", value)
    return value


@cache
def templates() -> jinja2.Environment:
    """Templates of the package; everything put into them is escaped."""
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(page_file),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=clean,
    )
    environment.globals |= {"anchor": anchor, "together": together}
    return environment


def as_script_data(data: Any) -> str:
    """Return data as JSON that may stand between the tags of a script."""
    return htmlsafe_json_dumps(data, sort_keys=True, separators=(",", ":"))
