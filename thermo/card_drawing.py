"""The joint of a card in section, with its dimensions and where to measure."""

from matplotlib.axes import Axes
from matplotlib.backend_bases import RendererBase
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from .figures_section import draw_dimensions
from .joint import Case
from .places import measuring_place
from .units import SI, UnitSystem

MARK = 8.0  # points, height of the triangle
BELOW, ABOVE = -1, 1


def draw_joint(
    axes: Axes, case: Case, units: UnitSystem = SI, *, size: float = 9.0
) -> bool:
    """Draw section and dimensions, and a triangle that points at the measuring place.

    The axes must have their place on the figure already. Returns whether the place is
    on the drawing; far from the weld it may not be.
    """
    draw_dimensions(axes, case, units, size=size)
    place = measuring_place(case)
    low, high = sorted(axes.get_xlim())
    if not low < place.z < high:
        return False
    words = _boxes(axes)
    spots = [_spot(axes, place.z, place.r, side) for side in (BELOW, ABOVE)]
    free = [n for n, spot in enumerate(spots) if not spot.count_overlaps(words)]
    n = free[0] if free else 0  # the joint is the same above and below
    x, y = axes.transData.inverted().transform(
        ((spots[n].x0 + spots[n].x1) / 2, (spots[n].y0 + spots[n].y1) / 2)
    )
    axes.plot([x], [y], marker="^v"[n], ms=MARK, color="black", mec="none", zorder=9)
    return True


def _boxes(axes: Axes) -> list[Bbox]:
    """Boxes of the writing on the drawing [pixels]."""
    renderer = _renderer(axes)
    return [text.get_window_extent(renderer) for text in axes.texts]


def _renderer(axes: Axes) -> RendererBase:
    figure = axes.get_figure(root=True)
    if not isinstance(figure, Figure):
        msg = "axes stand on no figure"
        raise TypeError(msg)
    return FigureCanvasAgg(figure).get_renderer()


def _spot(axes: Axes, z: float, r: float, side: int) -> Bbox:
    """Box of a triangle that touches the surface from outside [pixels]."""
    tall = MARK * axes.figure.dpi / 72
    x, y = axes.transData.transform((z, side * r))
    middle = y + side * tall * 0.6
    return Bbox.from_bounds(x - tall / 2, middle - tall / 2, tall, tall)
