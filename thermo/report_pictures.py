"""Pictures inside a page: as data, with words for those who do not see them."""

import base64
import re
import struct
from collections.abc import Iterator, Mapping
from typing import Any

CAPTIONS = {
    "temperature": "Temperature of the joint against time, with passes, waits and limit.",
    "ring": "Temperature round the ring, unrolled, against time.",
    "section": "Joint in section at each arc off and arc on, with isotherms.",
    "heat": "Where the heat is and where it went, against time.",
    "limit": "Waits against the interpass limit.",
}
MEDIA = {"svg": "image/svg+xml", "png": "image/png"}
SIDE, HEAD = re.compile(rb'\b(width|height)="([0-9.]+)pt"'), 2000  # bytes of an SVG


def embedded(figures: Mapping[str, bytes]) -> Iterator[dict[str, Any]]:
    """Each picture once, as data; an SVG of its own has ids of its own."""
    for file, content in figures.items():
        name, _, kind = file.rpartition(".")
        if kind == "png" and f"{name}.svg" in figures:
            continue
        coded = base64.b64encode(content).decode()
        words = CAPTIONS.get(name, f"{name[:1].upper()}{name[1:]}.")
        yield {
            "source": f"data:{MEDIA[kind]};base64,{coded}",
            "words": words,
            "is_tall": is_tall(content),
        }


def is_tall(content: bytes) -> bool:
    """Whether a picture is higher than it is wide; PNG and SVG tell it at the start."""
    if content.startswith(b"\x89PNG"):
        width, height = struct.unpack(">II", content[16:24])
    else:
        sides = dict(SIDE.findall(content[:HEAD]))
        width, height = (float(sides.get(side, 0)) for side in (b"width", b"height"))
    return height > width
