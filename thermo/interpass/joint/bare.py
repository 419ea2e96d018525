"""A bare pipe: what stands for the fitting where there is none."""

from .case import Fitting, Pipe


def no_fitting(pipe: Pipe, length: float, far_end: str = "air") -> Fitting:
    """Return what stands for the fitting of a bare pipe: the pipe itself, going on.

    ``length`` is from the middle of the heated band to the other end [m]; inf is "long".
    """
    return Fitting(
        kind="none",
        socket_bore=pipe.outside_diameter,
        socket_wall=pipe.wall,
        socket_depth=0.0,
        body_bore=pipe.outside_diameter - 2 * pipe.wall,
        length=length,
        boxes=(),
        material=pipe.material,
        far_end=far_end,
        equivalent="no fitting: the pipe goes on, all of its outside open to the air",
    )
