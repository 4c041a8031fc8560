"""Cues from staged movement whose course is known from mechanics, not from the program.

A strike is a minimum-jerk movement (Flash & Hogan 1985, `staged_motion`), a fall is free fall at
9.81 m/s2 (standard gravity, ISO 80000-3, rounded), scaled by the width of the picture in metres.
Which sounds a hit calls for is common practice without a published source.
"""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.sound.cues import SoundCue, sound_cues
from impactcut.core.time.frames import FrameRange
from tests.helpers.projects.staged_motion import CONTACT, Staging, channel, staged, window

RATE = 24
PICTURE_METRES = 4.0
GRAVITY = 9.81


def cues(hit: Hit, motion: HitMotion) -> dict[tuple[str, str], SoundCue]:
    return {(cue.kind, cue.performer): cue for cue in sound_cues(hit, motion)}


def with_receiver(down: np.ndarray, sideways: np.ndarray, area: float) -> tuple[Hit, HitMotion]:
    """A staged hit whose receiver moves along the given way, in widths at each frame."""
    hit, motion = staged(Staging())
    steps = np.stack([np.diff(sideways), np.diff(down)], axis=1)
    receiver = channel("receiver", steps, area, (0.5, 0.3))
    channels = (motion.channels[0], receiver, motion.channels[2])
    return hit, window(channels, motion.rate, motion.first)


def frames_since_reaction(hit: Hit, motion: HitMotion) -> np.ndarray:
    assert hit.reaction is not None
    frames = motion.first + np.arange(motion.intervals + 1)
    return np.maximum(frames - (hit.reaction - 1), 0)


def test_a_strike_swishes_and_is_voiced_until_contact() -> None:
    hit, motion = staged(Staging())
    found = cues(hit, motion)
    assert found["hit", "striker"].frames == FrameRange(CONTACT, CONTACT + 1)
    assert found["hit", "striker"].moment == CONTACT
    for kind in ("swish", "effort"):
        assert found[kind, "striker"].frames == FrameRange(hit.onset, CONTACT)
    assert found["swish", "striker"].moment == hit.peak
    assert found["cloth", "striker"].frames == FrameRange(hit.onset, hit.settle)


def test_a_receiver_is_voiced_from_the_reaction_until_rest() -> None:
    hit, motion = staged(Staging(lag=2))
    assert hit.reaction is not None
    effort = cues(hit, motion)["reaction effort", "receiver"]
    assert effort.frames.start == hit.reaction
    # The recoil dies away as exp(-t / 0.1 s): it passes 30 % of its first speed after
    # ln(1 / 0.3) * 0.1 s = 0.12 s, 2.9 frames.
    assert len(effort.frames) == pytest.approx(0.1 * math.log(1 / 0.3) * RATE, abs=1)
    # It starts half a frame before a frame's middle, so its first whole interval has the mean of
    # 0.75 exp(-t / 0.1 s) from half a frame on: 0.50 widths a second.
    assert effort.speed == pytest.approx(0.50, abs=0.03)


def test_nobody_who_does_not_react_is_voiced() -> None:
    hit, motion = staged(Staging())
    found = cues(replace(hit, reaction=None), motion)
    assert {who for _, who in found} == {"striker"}
    assert "nobody was seen to react" in found["hit", "striker"].note


def test_a_reaction_whose_movement_was_not_measured_is_only_begun() -> None:
    still = np.zeros(staged(Staging())[1].intervals + 1)
    hit, motion = with_receiver(still, still, 0.02)
    found = cues(hit, motion)
    effort = found["reaction effort", "receiver"]
    assert effort.frames == FrameRange(hit.reaction or 0, (hit.reaction or 0) + 1)
    assert effort.speed == 0 and "not measured" in effort.note
    assert ("cloth", "receiver") not in found


def test_a_recoil_is_neither_feet_nor_a_fall() -> None:
    for camera in ("locked", "panning", "handheld"):
        hit, motion = staged(Staging(camera=camera, pan=0.4, shake=0.004))
        kinds = {kind for kind, _ in cues(hit, motion)}
        assert kinds == {"swish", "effort", "hit", "cloth", "reaction effort"}


def test_a_fall_lands_where_free_fall_ends() -> None:
    hit, motion = staged(Staging())
    seconds = frames_since_reaction(hit, motion) / RATE
    drop = 0.9
    down = np.minimum(GRAVITY * seconds**2 / 2, drop) / PICTURE_METRES
    fall = cues(*with_receiver(down, 0 * down, 0.02))["body fall", "receiver"]
    landing = (hit.reaction or 0) - 1 + math.sqrt(2 * drop / GRAVITY) * RATE
    assert fall.moment == pytest.approx(landing, abs=1)
    assert fall.frames == FrameRange(hit.reaction or 0, (fall.moment or 0) + 1)
    assert fall.speed == pytest.approx(math.sqrt(2 * GRAVITY * drop) / PICTURE_METRES, rel=0.1)


def test_a_fall_that_outlasts_what_was_measured_has_no_landing() -> None:
    hit, motion = staged(Staging())
    seconds = frames_since_reaction(hit, motion) / RATE
    down = GRAVITY * seconds**2 / 2 / PICTURE_METRES
    fall = cues(*with_receiver(down, 0 * down, 0.02))["body fall", "receiver"]
    assert fall.moment is None and "spot the landing by eye" in fall.note


@pytest.mark.parametrize(("way", "kinds"), [(0.12, {"feet"}), (0.06, set())])
def test_feet_are_heard_where_the_body_travels_half_its_size(way: float, kinds: set[str]) -> None:
    hit, motion = staged(Staging())
    sideways = np.minimum(frames_since_reaction(hit, motion) * way / 8, way)
    found = cues(*with_receiver(0 * sideways, sideways, 0.02))
    assert {kind for kind, who in found if who == "receiver"} - {
        "cloth",
        "reaction effort",
    } == kinds


def test_other_movers_step_and_do_not_fall() -> None:
    hit, motion = staged(Staging())
    along = np.tile([0.2 / motion.intervals, 0.0], (motion.intervals, 1))
    movers = (
        channel("mover 1", along, 0.05, (0.2, 0.3)),
        channel("mover 2", along, 0.01, (0.2, 0.3)),
        channel("mover 3", along[:, ::-1], 0.05, (0.2, 0.3)),
    )
    everybody = window((*motion.channels, *movers), motion.rate, motion.first)
    found = cues(hit, everybody)
    assert ("feet", "mover 1") in found
    assert {who for _, who in found} == {"striker", "receiver", "mover 1"}


def test_a_window_without_intervals_gives_the_strike_only() -> None:
    hit, motion = staged(Staging())
    empty = np.zeros((0, 2))
    channels = tuple(channel(c.name, empty, 0.1, (0.5, 0.3)) for c in motion.channels)
    found = cues(hit, window(channels, Fraction(24)))
    assert ("cloth", "receiver") not in found and ("hit", "striker") in found
