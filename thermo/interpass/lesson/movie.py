"""The heat in motion: section, ring and curve through all passes, as a GIF.

Colours stand for the same temperatures in every picture and are even to the eye and in
grey; time and phase are written out. Time runs evenly. The same run gives the same bytes.
"""

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from matplotlib import colormaps, rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize, to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from ..heat.history import History, Snapshot
from ..heat.model import Model, make_model
from ..heat.waits import plan
from ..joint.arc import arc_position
from ..joint.beads import Fillet, fillets
from ..joint.case import Box, Case
from ..joint.outline import Outline
from ..pictures.isotherms import CLIP, nearest_metal, nodes
from ..pictures.style import STYLE, bare
from ..text.arrays import Array
from ..text.files import MADE_BY
from ..text.kinds import SI, UnitSystem
from ..text.progress import Progress
from ..text.times import clock
from .joints import Variant

COLOURS = "cividis"
MARK = "#d55e00"  # vermilion of Okabe and Ito
LONGEST_PIPE = 0.09  # m of pipe shown
Draw = Callable[[Snapshot], list[Any]]


@dataclass(frozen=True)
class Scene:
    """What does not change from picture to picture."""

    case: Case
    history: History
    model: Model
    units: UnitSystem
    scale: Normalize  # of the colours


def _draw_head(words: Any, stage: Scene, label: str, snapshot: Snapshot) -> list[Any]:
    """Write joint, phase and time."""
    words.set_text(f"{label}   {phase(stage.history, snapshot)}   {clock(snapshot.time)}")
    return [words]


def phase(history: History, snapshot: Snapshot) -> str:
    """Return what is going on at a snapshot: a pass, a wait, or cooling at the end."""
    for done in history.passes:
        if snapshot.time < done.arc_on:
            return f"wait before pass {done.number}"
        if snapshot.time < done.arc_off:
            return f"pass {done.number}, arc on"
    return "all passes made, cooling"


def _draw_section(axes: Axes, stage: Scene) -> Draw:
    """Draw the joint cut along its axis: above at 0 deg, below at 180 deg."""
    outline, lines = stage.model.outline, stage.model.lines
    low = max(outline.pipe.z_start, -LONGEST_PIPE)
    high = min(outline.far, LONGEST_PIPE)
    outer = max(box.r_out for box in (outline.pipe, *outline.fitting))
    axes.set(xlim=(low, high), ylim=(-1.05 * outer, 1.05 * outer), aspect="equal")
    axes.set_axis_off()
    axes.plot([low, high], [0, 0], color="black", lw=0.8, ls=(0, (12, 3, 2, 3)))
    for sign, words in ((1, "0 deg"), (-1, "180 deg")):
        axes.text(
            low, sign * 1.02 * outer, words, ha="left",
            va="top" if sign > 0 else "bottom", fontsize=12,
        )  # fmt: skip
    z, r = nodes(lines.z), nodes(lines.r)
    style: dict[str, Any] = {
        "cmap": COLOURS,
        "norm": stage.scale,
        "animated": True,
    }
    halves = [
        axes.pcolormesh(
            z, sign * r, np.zeros((r.size, z.size)), shading="gouraud", **style
        )
        for sign in (1, -1)
    ]
    borders = [PathPatch(Path([(0, 0)]), fill=False, lw=0.8, animated=True) for _ in "12"]
    for border in borders:
        axes.add_patch(border)
    grown = fillets(stage.case)

    def draw(snapshot: Snapshot) -> list[Any]:
        built = snapshot.number - (snapshot.what == "arc on")
        T = np.pad(filled(snapshot.temperature), ((1, 1), (0, 0), (1, 1)), "edge")
        for n, (mesh, border) in enumerate(zip(halves, borders, strict=True)):
            mesh.set_array(T[:, n * T.shape[1] // 2, :])
            shape = metal_path(outline, grown[built], 1 - 2 * n)
            mesh.set_clip_path(shape, axes.transData)
            border.set_path(shape)
        return halves + borders

    return draw


def _edges(box: Box, sign: int) -> tuple[list[float], list[float]]:
    z = [box.z_start, box.z_end, box.z_end, box.z_start, box.z_start]
    r = [box.r_in, box.r_in, box.r_out, box.r_out, box.r_in]
    return z, [sign * x for x in r]


def metal_path(outline: Outline, fillet: Fillet, sign: int) -> Path:
    """Outline of the metal in the plane (z, r), below the axis when ``sign`` is -1."""
    root = outline.root
    z, r = [0.0, -fillet.leg_pipe, 0.0, 0.0], [root, root, root + fillet.leg_socket, root]
    shapes = [_edges(box, sign) for box in (outline.pipe, *outline.fitting)]
    shapes.append((z, [sign * x for x in r]))
    way = slice(None, None, sign)  # all one way round, so that overlaps stay filled
    paths = [Path(np.column_stack(shape)[way], closed=True) for shape in shapes]
    return Path.make_compound_path(*paths)


def filled(T: Array) -> Array:
    """Give cells without metal the temperature of the nearest with some (nr, n, nz)."""
    i, j = nearest_metal(np.isnan(T[:, 0, :]))
    return T[i, :, j].transpose(0, 2, 1)


def _draw_ring(axes: Axes, stage: Scene) -> Draw:
    """Draw the joint seen along its axis: the hottest point at every angle, and the arc."""
    history, n = stage.history, max(stage.case.model.ring, 3)
    edges = np.linspace(0, 2 * np.pi, 4 * n + 1) + np.pi / 2  # 0 deg at the top
    radii = np.array([[0.62], [0.98]])
    axes.set(xlim=(-1.3, 1.3), ylim=(-1.3, 1.3), aspect="equal")
    axes.set_axis_off()
    mesh = axes.pcolormesh(
        radii * np.cos(edges), radii * np.sin(edges), np.zeros((1, 4 * n)),
        cmap=COLOURS, norm=stage.scale, animated=True,
    )  # fmt: skip
    round_ = np.linspace(0, 2 * np.pi, 181)
    borders = [
        axes.plot(x * np.cos(round_), x * np.sin(round_), "k", lw=1.2, animated=True)[0]
        for x in radii[:, 0]
    ]
    (arc,) = axes.plot([], [], "v", color=MARK, ms=15, mec="black", animated=True)
    for angle in (0, 90, 180, 270):
        at = np.radians(angle + 90)
        axes.text(
            0.40 * np.cos(at), 0.40 * np.sin(at), f"{angle}", ha="center", va="center",
            fontsize=11,
        )  # fmt: skip
    axes.text(0, 0, "deg", ha="center", va="center", fontsize=11)

    def draw(snapshot: Snapshot) -> list[Any]:
        T = ring_at(history, snapshot.time)
        mesh.set_array(np.repeat(T, 4 * n // T.size)[None])
        angle = arc_angle(stage.case, history, snapshot.time)
        if angle is None:
            return [mesh, *borders]
        at = angle + np.pi / 2
        arc.set_data([1.13 * np.cos(at)], [1.13 * np.sin(at)])
        arc.set_marker((3, 0, np.degrees(angle) + 180))
        return [mesh, *borders, arc]

    return draw


def ring_at(history: History, time: float) -> Array:
    """Hottest of the joint at every angle at one time, (n_theta,) [K]."""
    return np.array([np.interp(time, history.time, cell) for cell in history.ring.T])


def arc_angle(case: Case, history: History, time: float) -> float | None:
    """Where the arc burns [rad]; None while it is off."""
    for p, done in zip(case.passes, history.passes, strict=True):
        if done.arc_on <= time < done.arc_off:
            position = arc_position(p, time - done.arc_on)
            return position.angle if position.on else None
    return None


def _draw_curve(axes: Axes, stage: Scene) -> Draw:
    """Draw the mean of the joint against time, with a dot that goes along."""
    history, units = stage.history, stage.units
    mean = units.value("temperature", history.mean)
    for done in history.passes:
        axes.axvspan(done.arc_on, done.arc_off, color="#d9d9d9", lw=0)
    axes.plot(history.time, mean, color="black", lw=1.6)
    axes.set_xlim(0.0, float(history.time[-1]))
    axes.set_ylim(0.0, 1.1 * float(mean.max()))
    axes.set_xlabel("s", fontsize=12, loc="right", labelpad=-10)
    axes.set_title(
        f"Mean of the joint, {units.temperature_unit}", loc="left", fontsize=12,
    )  # fmt: skip
    axes.tick_params(labelsize=11)
    bare(axes)
    (dot,) = axes.plot([], [], "o", color=MARK, ms=11, mec="black", animated=True)

    def draw(snapshot: Snapshot) -> list[Any]:
        y = float(np.interp(snapshot.time, history.time, mean))
        dot.set_data([snapshot.time], [y])
        return [dot]

    return draw


def _draw_bar(axes: Axes, stage: Scene) -> None:
    """Draw the scale of the colours, in the reader's unit."""
    figure, units = axes.figure, stage.units
    low, high = (
        units.value("temperature", x) for x in (stage.case.surroundings.air, CLIP)
    )
    shown = ScalarMappable(Normalize(low, high), COLOURS)
    bar = figure.colorbar(shown, cax=axes, orientation="horizontal", extend="max")
    bar.ax.tick_params(labelsize=11)
    bar.set_label(
        f"Colour: temperature, {units.temperature_unit}", fontsize=12, labelpad=2
    )


FRAMES = 115  # pictures wanted, arc on and off besides
AFTER = 60.0  # s followed after the last arc off
SIZE, DPI = (8.0, 5.6), 100  # inch, dots per inch
BEAT, REST = 90, 2500  # ms: one picture, and the last
SHORTEST = 20  # ms a picture may stand
SCALE, GREYS, MARKS = 48, 40, 8  # colours of the palette; few keep the file small


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
    stage = Scene(case, history, make_model(case), units, _scale(case))
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


def _images(stage: Scene, label: str, progress: Progress | None) -> Iterator[Image.Image]:
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
            _draw_section(section, stage),
            _draw_ring(ring, stage),
            _draw_curve(curve, stage),
            partial(_draw_head, head, stage, label),
        )
        _draw_bar(bar, stage)
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
