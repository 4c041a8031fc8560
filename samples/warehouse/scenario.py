"""The night at the warehouse: two sections, their takes and angles, as data.

Section 1 is on the quay under the lamp, section 2 in the store by the crates. Every angle of a
take is performed anew for its camera, so the same beats come a little earlier or later in each.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np

from .spec import Beat, CameraSpec, FightSpec, Look

FILM, VIDEO = Fraction(24), Fraction(24000, 1001)

DOCKER = Look(
    1.80, 1.00, (0.035, 0.055, 0.12), (0.10, 0.09, 0.075), (0.52, 0.34, 0.25), "plain", "cap"
)
MATE = Look(
    1.75, 1.10, (0.26, 0.075, 0.04), (0.05, 0.06, 0.085), (0.46, 0.28, 0.19), "checks", "hair"
)
WATCHMAN = Look(
    1.72, 1.05, (0.10, 0.10, 0.085), (0.06, 0.06, 0.06), (0.45, 0.3, 0.2), "plain", "cap"
)
STOKER = Look(
    1.82, 0.95, (0.16, 0.16, 0.17), (0.045, 0.045, 0.05), (0.3, 0.19, 0.13), "patches", "bald"
)

QUARREL = (
    Beat(0.0, "walk in", 1),
    Beat(0.7, "bob", 0, "left", strength=0.7),
    Beat(1.83, "straight punch", 0, "right", 8.4, lag=0.6, sell="stagger"),
    Beat(2.35, "drop guard", 0),
    Beat(3.27, "hook", 1, "left", 7.6, lag=1.0),
)
FLURRY = (
    Beat(0.35, "feint", 0, "left", 3.0),
    Beat(1.46, "straight punch", 0, "left", 7.8, lag=0.5),
    Beat(1.92, "hook", 0, "right", 9.2, lag=0.9, sell="stagger"),
    Beat(3.11, "front kick", 1, "right", 8.2, lag=0.8, sell="stagger"),
)
CIRCLING = (
    Beat(0.4, "feint", 0, "left", 3.2),
    Beat(0.9, "bob", 1, "right"),
    Beat(1.5, "feint", 1, "right", 2.8, strength=0.8),
    Beat(2.0, "turn", 0, "left"),
    Beat(2.5, "drop guard", 1),
    Beat(3.0, "bob", 0, "left", strength=0.8),
)
CRATES = (
    Beat(0.2, "turn", 1, "right", strength=0.7),
    Beat(1.21, "shove", 0, "right", 5.6, lag=0.4, sell="stagger"),
    Beat(1.75, "bob", 0, "right", strength=0.6),
    Beat(2.74, "uppercut", 1, "right", 7.4, lag=0.8),
)
LATE = (
    Beat(0.3, "drop guard", 1, strength=0.7),
    Beat(1.17, "elbow", 0, "right", 6.6, lag=0.7),
    Beat(2.29, "straight punch", 1, "right", 8.0, lag=3.0, sell="stagger"),
    Beat(2.75, "feint", 0, "left", 3.0),
)
LAST = (
    Beat(0.25, "feint", 1, "left", 3.3),
    Beat(1.37, "front kick", 0, "left", 7.4, lag=0.5),
    Beat(2.33, "hook", 0, "right", 9.6, lag=0.3, sell="fall"),
)


def scenario() -> list[FightSpec]:
    """The clips, in the order of section, take and angle."""
    return [*_quay(), *_store()]


def _quay() -> list[FightSpec]:
    first = FightSpec(
        "1", "1", "A", "A003C004", FILM, 102, "01:02:10:00", 640, 360, 172.8, "quay",
        CameraSpec(6, 4.9, 1.45, 1.15, 44, "locked"), (DOCKER, MATE), QUARREL, seed=11,
    )  # fmt: skip
    return [
        first,
        replace(
            first, angle="B", reel="B003C011", start_timecode="01:31:44:12", width=854, height=480,
            camera=CameraSpec(205, 3.7, 1.6, 1.25, 44, "handheld", 0.7), beats=_again(QUARREL, 1),
            seed=12,
        ),
        replace(
            first, take="2", reel="A003C007", start_timecode="01:08:02:05", shutter=144.0,
            frames=96, camera=CameraSpec(-24, 5.0, 1.5, 1.1, 44, "panning", pan=-2.6),
            beats=FLURRY, swing=5.0, looks=(DOCKER, MATE, WATCHMAN), seed=13,
        ),
        replace(
            first, take="2", angle="B", reel="B003C014", start_timecode="01:40:20:18",
            shutter=144.0, frames=96, camera=CameraSpec(158, 3.8, 1.4, 1.15, 50, "handheld", 0.9),
            beats=_again(FLURRY, 2), swing=5.0, seed=14,
        ),
        replace(
            first, take="3", reel="A003C008", start_timecode="01:12:30:00", frames=90,
            camera=CameraSpec(30, 4.6, 1.5, 1.2, 44, "handheld", 0.8), beats=CIRCLING,
            circling=14.0, looks=(DOCKER, MATE, WATCHMAN), seed=15,
        ),
    ]  # fmt: skip


def _store() -> list[FightSpec]:
    first = FightSpec(
        "2", "1", "A", "A004C002", VIDEO, 90, "02:05:00:00", 640, 360, 180.0, "store",
        CameraSpec(-8, 4.6, 1.5, 1.2, 44, "locked"), (STOKER, MATE), CRATES, swing=9.0, seed=21,
    )  # fmt: skip
    return [
        first,
        replace(
            first, angle="B", reel="B004C006", start_timecode="02:36:12:00",
            camera=CameraSpec(165, 5.0, 1.35, 1.15, 42, "panning", pan=3.0),
            beats=_again(CRATES, 3), seed=22,
        ),
        replace(
            first, take="2", reel="A004C003", start_timecode="02:09:45:20", frames=84, swing=0.0,
            shutter=120.0, camera=CameraSpec(20, 3.9, 1.5, 1.25, 42, "handheld", 0.7),
            beats=LATE, looks=(STOKER, MATE, WATCHMAN), seed=23,
        ),
        replace(
            first, take="2", angle="B", reel="B004C009", start_timecode="02:44:01:10", frames=84,
            swing=0.0, shutter=120.0, width=854, height=480,
            camera=CameraSpec(188, 4.6, 1.6, 1.2, 42, "locked"), beats=_again(LATE, 4), seed=24,
        ),
        replace(
            first, take="3", reel="A004C005", start_timecode="02:15:20:02", frames=88, swing=7.0,
            shutter=198.0, camera=CameraSpec(-35, 5.2, 1.5, 1.0, 46, "handheld", 0.6),
            beats=LAST, looks=(STOKER, MATE, WATCHMAN), seed=25,
        ),
    ]  # fmt: skip


def _again(beats: tuple[Beat, ...], seed: int) -> tuple[Beat, ...]:
    """The same beats performed once more: a few hundredths of a second and some speed apart."""
    rng = np.random.default_rng(seed)
    return tuple(
        replace(
            beat,
            at=round(beat.at + rng.uniform(0.0, 0.06), 3),
            speed=round(beat.speed * rng.uniform(0.94, 1.06), 2),
        )
        for beat in beats
    )
