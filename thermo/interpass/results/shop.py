"""What several joints of a shop taught, as data: the next joint's fit, and the shop beside it."""

from collections.abc import Iterator
from typing import Any

from ..case_file.keys import kind_of
from ..doubt.bands import Band
from ..joint.case import Case
from ..readings.shop import ShopFit, ShopNumber
from ..text.kinds import SI
from ..text.records import json_text as as_json
from ..text.records import rounded
from .fit import SCHEMA, fit_entry, number_band


def results(case: Case, found: ShopFit) -> dict[str, Any]:
    """Everything a fit of a shop found: as of one joint, for the next one, and ``shop``."""
    return {
        "schema": SCHEMA,
        "title": case.title,
        **fit_entry(found.next),
        "shop": {
            "joints": [
                {"file": joint.file, "readings": len(joint.readings)}
                for joint in found.joints
            ],
            "numbers": [_entry(one) for one in found.numbers],
            "thermometers": list(_thermometers(found)),
            "runs": found.runs,
            "surface_miss_K": round(found.miss, 3),
        },
    }


def json_text(case: Case, found: ShopFit) -> str:
    """Write the object of ``results`` as text."""
    return as_json(results(case, found))


def _entry(one: ShopNumber) -> dict[str, Any]:
    def told(band: Band | None) -> dict[str, float] | None:
        return None if band is None else number_band(one.key, band)

    return {
        "key": one.key,
        "name": one.words,
        "unit": SI.unit(kind_of(one.key)) or "1",
        "share_common": one.share,
        "share_source": one.source,
        "share_standing": one.standing,
        "before": told(one.before),
        "after": told(one.after),
        "learnt": rounded(one.learnt, 4),
        "likely_not_common": round(one.differs, 4),
        "joints": [told(band) for band in one.joints],
    }


def _thermometers(found: ShopFit) -> Iterator[dict[str, Any]]:
    """Tell what every instrument reads too high."""
    for one in found.thermometers:
        yield {
            "instrument": one.instrument,
            "reads_high_before_K": _rounded(one.before),
            "reads_high_after_K": _rounded(one.after),
        }


def _rounded(band: Band) -> dict[str, float | None]:
    return {name: rounded(value, 3) for name, value in vars(band).items()}
