"""Section, take and angle of a clip, read from its file name."""

from __future__ import annotations

import re
from dataclasses import dataclass

_GAP = r"[ _.\-]*"
_SHOT_NAME = re.compile(
    rf"(?<![a-z0-9])s(?:ection)?{_GAP}(?P<section>\d{{1,3}}[a-z]?)"
    rf"{_GAP}t(?:ake)?{_GAP}(?P<take>\d{{1,3}})"
    rf"(?:{_GAP}(?:angle{_GAP})?(?P<angle>[a-z]))?(?![a-z0-9])",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class ShotName:
    """What a file name says of a clip; empty text where it says nothing."""

    section: str = ""
    take: str = ""
    angle: str = ""


def read_shot_name(name: str) -> ShotName:
    """Section, take and angle from a name such as ``S2_T3_B_quay.mov``.

    The section number (with a letter, if it has one), the take number and, if there is one, the
    letter of the angle stand in that order; blanks, dots, dashes and underscores between them are
    free, ``section``, ``take`` and ``angle`` may be spelled out, and leading zeros are dropped.
    """
    match = _SHOT_NAME.search(name)
    if match is None:
        return ShotName()
    section, take, angle = (match[part] or "" for part in ("section", "take", "angle"))
    return ShotName(_without_zeros(section), _without_zeros(take), angle.upper())


def _without_zeros(number: str) -> str:
    return (number.lstrip("0") or "0").upper()
