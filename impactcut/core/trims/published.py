"""A trim in the published JSON form, and back.

Fields may be added to the form; none is changed or taken away without a new `SCHEMA`
(`impactcut.workflow.hits.views`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from impactcut.core.trims.reasons import worst_channel
from impactcut.core.trims.trim import Trim
from impactcut.core.trims.visibility import to_viewer, verdict
from impactcut.core.viewer.judge import FRONT_ROW_DEGREES, OBSERVERS, Judge


def trim_dict(trim: Trim, judge: Judge) -> dict[str, Any]:
    """One trim with its price, as ``judge`` sees it: values that JSON knows."""
    seen = trim.front_row
    return {
        "first": trim.first,
        "count": trim.count,
        "speed_gain": trim.speed_gain,
        "visibility": trim.visibility,
        "verdict": trim.verdict,
        "worst_channel": worst_channel(trim) if trim.channels else None,
        "reasons": trim.reasons,
        "vetoes": trim.vetoes,
        "channels": trim.channels,
        "confident": trim.confident,
        "front_row": None
        if seen is None
        else {
            "fov_degrees": FRONT_ROW_DEGREES,
            "visibility": seen,
            "verdict": verdict(seen, judge),
        },
        "viewers": {
            viewer.name: {
                "speed_gain": trim.felt.get(viewer.name),
                "visibility": to_viewer(trim.visibility, viewer, judge),
            }
            for viewer in OBSERVERS
        },
    }


def trim_in(published: Mapping[str, Any]) -> Trim:
    """The trim of which `trim_dict` gives the form.

    Raises
    ------
    LookupError, TypeError
        If it is none.
    """
    seen, viewers = published["front_row"], published["viewers"]
    felt = {name: told["speed_gain"] for name, told in viewers.items()}
    return Trim(
        first=published["first"],
        count=published["count"],
        speed_gain=published["speed_gain"],
        visibility=published["visibility"],
        verdict=published["verdict"],
        vetoes=tuple(published["vetoes"]),
        channels=published["channels"],
        reasons=tuple(published["reasons"]),
        front_row=None if seen is None else seen["visibility"],
        felt={name: gain for name, gain in felt.items() if gain is not None},
        confident=published["confident"],
    )
