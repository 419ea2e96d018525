"""How long to wait between passes of a TIG socket weld on small-bore pipe.

For scripts and notebooks: ``interpass.plan(interpass.read_case("joint.toml"))`` and the
other names below; the wing ``face`` says what each takes and gives. They are loaded on first use, so
that ``import interpass`` costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .case_file.read import parse_case, read_case
    from .face.answers import (
        Charted,
        Checked,
        Comparison,
        Fitted,
        FittedShop,
        Plan,
        Reviewed,
    )
    from .face.asking import bands, check, fit, fit_shop, plan, review
    from .face.charting import chart, compare
    from .joint.case import Case
    from .text.errors import CaseError, RunError, ThermoError

__version__ = "0.1.0"

__all__ = [
    "Case", "CaseError", "Charted", "Checked", "Comparison", "Fitted", "FittedShop",
    "Plan", "Reviewed", "RunError", "ThermoError", "bands", "chart", "check", "compare", "fit", "fit_shop",
    "parse_case", "plan", "read_case", "review",
]  # fmt: skip

HOMES = {  # of every name, so that each loads no more than it needs
    "case_file.read": ("parse_case", "read_case"),
    "face.answers": (
        "Charted",
        "Checked",
        "Comparison",
        "Fitted",
        "FittedShop",
        "Plan",
        "Reviewed",
    ),
    "face.asking": ("bands", "check", "fit", "fit_shop", "plan", "review"),
    "face.charting": ("chart", "compare"),
    "joint.case": ("Case",),
    "text.errors": ("CaseError", "RunError", "ThermoError"),
}


def __getattr__(name: str) -> Any:
    """Load a name of the face when it is asked for."""
    for home, names in HOMES.items():
        if name in names:
            return getattr(import_module(f".{home}", __name__), name)
    msg = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(msg)


def __dir__() -> list[str]:
    """Names there are, loaded or not."""
    return sorted({*globals(), *__all__})
