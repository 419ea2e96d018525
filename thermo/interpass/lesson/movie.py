"""The heat in motion: section, ring and curve through all passes, as a GIF.

Colours stand for the same temperatures in every picture and are even to the eye and in
grey; time and phase are written out. Time runs evenly. The same run gives the same bytes.
"""

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from matplotlib import colormaps, rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import Normalize, to_rgb
from matplotlib.figure import Figure
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from ..heat.history import History
from ..heat.model import make_model
from ..heat.waits import plan
from ..joint.case import Case
from ..pictures.style import STYLE
from ..text.files import MADE_BY
from ..text.kinds import SI, UnitSystem
from .frames import (
    CLIP,
    COLOURS,
    MARK,
    Stage,
    draw_bar,
    draw_curve,
    draw_head,
    draw_ring,
    draw_section,
)
from .joints import Variant

FRAMES = 115  # pictures wanted, arc on and off besides
AFTER = 60.0  # s followed after the last arc off
SIZE, DPI = (8.0, 5.6), 100  # inch, dots per inch
BEAT, REST = 90, 2500  # ms: one picture, and the last
SHORTEST = 20  # ms a picture may stand
SCALE, GREYS, MARKS = 48, 40, 8  # colours of the palette; few keep the file small
Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Movie:
    """A GIF, and one picture of it for paper."""

    gif: bytes
    still: bytes  # PNG
    frames: int
    seconds: float  # of welding that it shows
    size: tuple[int, int]


def make_movie(
    variant: Variant, units: UnitSystem = SI, progress: Progress | None = None
) -> Movie:
    """Run a joint once more, with its pictures kept, and draw them.

    Parameters
    ----------
    variant : Variant
        The joint.
    units : UnitSystem
        Of the temperatures.
    progress : callable, optional
        Told the share done and what is being done.
    """
    case = variant.case
    case = replace(case, model=replace(case.model, end_after=AFTER))
    end = plan(replace(case, model=replace(case.model, ring=1))).time[-1]
    history = plan(case, frames=float(end) / FRAMES)
    stage = Stage(case, history, make_model(case), units, _scale(case))
    images = list(_images(stage, variant.label, progress))
    times = [snapshot.time for snapshot in history.snapshots]
    return Movie(
        gif=_gif(images, _durations(times)),
        still=_png(images[_most_telling(history)]),
        frames=len(images),
        seconds=times[-1],
        size=images[0].size,
    )


def _scale(case: Case) -> Normalize:
    return Normalize(case.surroundings.air, CLIP)


def _most_telling(history: History) -> int:
    """Place of the last picture at an arc on: the heat of all passes before it."""
    return max(n for n, s in enumerate(history.snapshots) if s.what == "arc on")


def _durations(times: list[float]) -> list[int]:
    """How long each picture stands [ms], so that time runs evenly; the last rests."""
    steps = np.diff(times)
    beats = BEAT * steps / np.mean(steps)
    return [max(SHORTEST, 10 * round(float(b) / 10)) for b in beats] + [REST]


def _images(stage: Stage, label: str, progress: Progress | None) -> Iterator[Image.Image]:
    """Draw what stays once, and the rest for every snapshot."""
    with rc_context(STYLE | {"font.size": 13}):
        figure = Figure(figsize=SIZE, dpi=DPI)
        canvas = FigureCanvasAgg(figure)
        section = figure.add_axes((0.06, 0.55, 0.92, 0.34))
        ring = figure.add_axes((0.02, 0.06, 0.30, 0.44))
        curve = figure.add_axes((0.45, 0.26, 0.52, 0.24))
        bar = figure.add_axes((0.45, 0.10, 0.52, 0.025))
        head = figure.text(0.06, 0.93, "", fontsize=17, weight="bold", animated=True)
        drawers = (
            draw_section(section, stage),
            draw_ring(ring, stage),
            draw_curve(curve, stage),
            partial(draw_head, head, stage, label),
        )
        draw_bar(bar, stage)
        canvas.draw()
        ground = canvas.copy_from_bbox(figure.bbox)
        shown = stage.history.snapshots
        for n, snapshot in enumerate(shown):
            if progress:
                progress(n / len(shown), "drawing the animation")
            canvas.restore_region(ground)
            for draw in drawers:
                for artist in draw(snapshot):
                    figure.draw_artist(artist)
            pixels = np.asarray(canvas.buffer_rgba())[:, :, :3]
            yield Image.fromarray(pixels.copy())


def _png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    said = PngInfo()
    said.add_text("Software", MADE_BY)
    image.save(out, "PNG", optimize=True, pnginfo=said)
    return out.getvalue()


def _palette() -> list[int]:
    """Colours of the pictures: the scale, greys, and the mark of the arc, as RGB."""
    scale = colormaps[COLOURS](np.linspace(0, 1, SCALE))[:, :3]
    grey = np.repeat(np.linspace(0, 1, GREYS)[:, None], 3, axis=1)
    mark = np.linspace(0, 1, MARKS)[:, None] * np.array(to_rgb(MARK))
    colours = np.concatenate([scale, grey, mark])
    return [int(c) for c in np.round(255 * colours).ravel()]


def _gif(images: list[Image.Image], durations: list[int]) -> bytes:
    """Put the pictures together on one palette, without dots of mixed colours."""
    palette = Image.new("P", (1, 1))
    palette.putpalette(_palette())
    plain = [
        image.quantize(palette=palette, dither=Image.Dither.NONE) for image in images
    ]
    out = io.BytesIO()
    plain[0].save(
        out, "GIF", save_all=True, append_images=plain[1:], duration=durations, loop=0,
        optimize=False, disposal=1, comment=MADE_BY.encode(),
    )  # fmt: skip
    return out.getvalue()
