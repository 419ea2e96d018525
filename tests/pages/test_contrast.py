"""Text against its ground on every page, from the colours of its style, light and dark.

The ratio is that of WCAG 2.1, 1.4.3 (at least 4.5 for text of ordinary size).
"""

import re
from importlib.resources import files

import pytest
from pages.test_card import contrast

LEAST = 4.5
SHEETS = ("desk/desk.css", "pages/card.html", "pages/report.html", "pages/trial.html",
          "lesson/lesson.html")  # fmt: skip
TEXT = {"ink", "main", "bad", "good", "line", "link"}  # colours that words are written in
GROUNDS = {"paper", "ground", "shade"}
PAIRS = (("on-main", "main"), ("paper", "bad"), ("typical-ink", "typical-paper"),
         ("over-ink", "over-paper"), ("stop-ink", "stop-paper"), ("ink", "arc"),
         ("ink", "pipe"), ("ink", "band"))  # fmt: skip


def schemes(sheet):
    """Colours by name: those of the light scheme, and of the dark one where there is one."""
    text = files("interpass").joinpath(sheet).read_text(encoding="utf-8")
    blocks = re.findall(r":root\s*{([^}]*)}", text)
    found = [dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", block)) for block in blocks]
    return [found[0], *({**found[0], **other} for other in found[1:])]


def pairs(colours):
    free = [(ink, ground) for ink in TEXT for ground in GROUNDS]
    return [(i, g) for i, g in (*free, *PAIRS) if i in colours and g in colours]


@pytest.mark.parametrize("sheet", SHEETS)
def test_words_stand_out_from_their_ground(sheet):
    for colours in schemes(sheet):
        checked = pairs(colours)
        assert ("ink", "paper") in checked
        poor = {
            (ink, ground): round(contrast(colours[ink], colours[ground]), 2)
            for ink, ground in checked
            if contrast(colours[ink], colours[ground]) < LEAST
        }
        assert not poor, (sheet, poor)


def test_what_is_outdated_can_still_be_read():
    """The desk greys an outdated answer; its words are blended with the paper."""
    text = files("interpass").joinpath("desk/desk.css").read_text(encoding="utf-8")
    (share,) = re.findall(r"\.stale { opacity: ([\d.]+)", text)
    for colours in schemes("desk/desk.css"):
        blended = blend(colours["ink"], colours["paper"], float(share))
        assert contrast(blended, colours["paper"]) >= LEAST


def blend(over, under, share):
    mixed = (
        round(share * int(over[k : k + 2], 16) + (1 - share) * int(under[k : k + 2], 16))
        for k in (1, 3, 5)
    )
    return "#" + "".join(f"{part:02x}" for part in mixed)
