"""What is found in a clip, by itself: whoever keeps it loads nothing that measures."""

from __future__ import annotations

from dataclasses import dataclass

from impactcut.core.arrays import Float64Array
from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion


@dataclass(frozen=True, eq=False)
class FoundHit:
    """A hit and what moves around it."""

    hit: Hit
    motion: HitMotion


Sounds = Float64Array | None
"""Instants of syllables in a clip, seconds; None where nothing could be heard."""
