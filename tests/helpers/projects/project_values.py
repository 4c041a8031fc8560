"""Values for tests of the project, the workflow and the commands; numbers are arbitrary."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from impactcut.core.arrays import FloatArray
from impactcut.core.detect.hits import Hit
from impactcut.core.detect.trace import STEPS, Trace
from impactcut.core.motion.measured import Channel, HitMotion
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.project import Fingerprint

RATE = Fraction(24000, 1001)
SEEN = Fingerprint(1000, 1_700_000_000_000_000_000, "aa")


def make_clip(path: str | Path = "/quay/S2_T3_B.mov", **changes: object) -> Clip:
    path = str(path)
    clip = Clip(
        path=path,
        name=path.rsplit("/", 1)[-1],
        reel="B003",
        reel_source="file",
        rate=RATE,
        drop_frame=False,
        frames=240,
        source_start=86400,
        timecode_source="file",
        width=1920,
        height=1080,
        pixel_aspect=Fraction(4, 3),
        has_sound=True,
        section="2",
        take="3",
        angle="B",
        warnings=("is interlaced", "second; warning"),
    )
    return replace(clip, **changes)  # type: ignore[arg-type]


def make_hit(contact: int = 100, **changes: object) -> Hit:
    hit = Hit(
        onset=contact - 6,
        peak=contact - 2,
        contact=contact,
        contact_exact=contact - 0.25,
        settle=contact + 3,
        reaction=contact + 1,
        confidence=0.9,
        peak_speed=2.5,
        region=(0.25, 0.125, 0.2, 0.1),
        camera="handheld",
    )
    return replace(hit, **changes)  # type: ignore[arg-type]


def make_trace(frames: int = 240) -> Trace:
    """A trace of noise, in which no contact is likely."""
    random = np.random.default_rng(3)
    odds = random.normal(-6, 1, frames).astype(np.float32)
    steps = random.integers(-STEPS, STEPS + 1, (frames, 64)).astype(np.int8)
    size = random.random(64, dtype=np.float32)
    return Trace("w", 1, odds, odds.astype(np.float16), steps, size)


def make_motion(contact: int = 100, rate: Fraction = RATE) -> HitMotion:
    """A limb that shoots across the picture and stops dead, before a camera that sways a little."""
    n = 40
    random = np.random.default_rng(contact)
    sway = random.normal(0, 0.001, (n, 2)).astype(np.float32)
    thrust = np.zeros((n, 2), dtype=np.float32)
    thrust[13:20, 0] = 0.04 * np.sin(np.linspace(0.3, 2.2, 7))

    def channel(name: str, displacement: FloatArray, area: float) -> Channel:
        centre = np.full((n, 2), 0.3, dtype=np.float32)
        return Channel(name, displacement, centre, np.full(n, area, dtype=np.float32))

    return HitMotion(
        first=contact - 20,
        rate=rate,
        channels=(
            channel("strike", thrust + sway, 0.01),
            channel("receiver", sway, 0.02),
            channel("background", sway, 0.4),
        ),
        repeated=np.zeros(n, dtype=np.bool_),
        boundary=np.zeros(n, dtype=np.bool_),
        difference=(0.02 + thrust[:, 0]).astype(np.float32),
        luma=np.full(n + 1, -1.5, dtype=np.float32),
    )


def make_proposal(contact: int = 100) -> Proposal:
    trims = (
        Trim(contact - 1, 1, 1.12, 0.4, "clean", (), {"strike": 0.4}, ("hidden in the hit",)),
        Trim(contact - 1, 2, 1.24, 0.8, "clean", (), {"strike": 0.3, "background": 0.8}, ("so",)),
        Trim(contact - 2, 3, 1.5, 4.0, "obvious", (), {"background": 4.0}, ("the audience sees",)),
        Trim(contact, 3, 1.4, 1.0, "frame-step", ("no frame after the contact",), {}, ()),
    )
    return Proposal(trims, trims[1], None)
