"""Which sounds the measured movement around a hit calls for, in frames of the clip.

Each kind has one rule, and a rule that finds nothing adds nothing:

hit
    The contact frame.
swish, effort
    From the strike's onset to contact: the limb goes through the air; the striker's voice, if any,
    goes with it.
reaction effort
    From the first frame of the receiver's reaction until the receiver comes to rest; none where
    nobody was seen to react.
cloth
    While the striking limb, and the receiver, move.
feet
    A receiver, or another mover that covers at least `BODY`, whose region travels sideways by at
    least `TRAVEL` of its own size and does not fall: whoever travels so far steps, or slides.
body fall
    A receiver whose region travels down by at least `TRAVEL` of its own size and more down than
    sideways. It lands where it comes to rest; if it is still moving where the measured window
    ends, nobody knows from it where it lands.

Movement is without the camera's. The shares are engineering choices: half its own size is out of
reach of a head or an arm that only swings. That efforts are voiced before and reactions after the
hit, and that cloth and feet are recorded apart, is common practice without a published source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from impactcut.core.detect.bodies import MOVER_SPEED
from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import Channel, HitMotion
from impactcut.core.time.frames import FrameRange

CueKind = Literal["swish", "effort", "hit", "reaction effort", "cloth", "feet", "body fall"]

TRAVEL: Final = 0.5
"""Share of its own size (root of its area) by which a body must travel."""
LEAST_TRAVEL: Final = 0.03
"""And in picture widths: small regions wander by a few pixels."""
BODY: Final = 0.02
"""Least picture that a mover covers, square widths: less is an arm, or somebody far away."""
REST_SHARE: Final = 0.3
"""Share of its peak speed below which something has come to rest, as for a strike's settle."""


@dataclass(frozen=True)
class SoundCue:
    """A sound that the movement calls for.

    Parameters
    ----------
    performer : str
        ``striker``, ``receiver`` or ``mover N``.
    frames : FrameRange
        Of the clip.
    moment : int or None
        Frame of the impact inside it, if it has one.
    speed : float
        Greatest speed in it, picture widths per second.
    """

    kind: CueKind
    performer: str
    frames: FrameRange
    moment: int | None
    speed: float
    note: str = ""


@dataclass(frozen=True, eq=False)
class _Movement:
    """How somebody moves from ``start`` on, in frames of the clip and picture widths.

    ``rest`` is the frame at which they come to rest; None if that lies outside the window.
    """

    start: int
    stop: int
    rest: int | None
    speed: float
    sideways: float
    down: float
    size: float


def sound_cues(hit: Hit, motion: HitMotion, by_hand: str = "") -> tuple[SoundCue, ...]:
    """The cues of one hit, by their first frames; ``by_hand`` is who says that it is there."""
    cues = [*_strike_cues(hit, by_hand)]
    if hit.reaction is not None:
        cues += _reaction_cues(hit.reaction, motion)
    for channel in motion.channels:
        if channel.name.startswith("mover") and motion.intervals and channel.area[0] >= BODY:
            movement = _movement(motion, channel, motion.first + 1)
            cues += (cue for cue in _travel_cues(channel.name, movement) if cue.kind == "feet")
    return tuple(sorted(cues, key=lambda cue: cue.frames))


def _strike_cues(hit: Hit, by_hand: str) -> Iterator[SoundCue]:
    swing = FrameRange(hit.onset, hit.contact)
    if swing:
        yield SoundCue("swish", "striker", swing, hit.peak, hit.peak_speed, "onset to contact")
        voiced = "with the strike, onset to contact; whether a voice is heard, sound tells"
        yield SoundCue("effort", "striker", swing, None, hit.peak_speed, voiced)
    moving = FrameRange(hit.onset, max(hit.settle, hit.onset + 1))
    yield SoundCue("cloth", "striker", moving, None, hit.peak_speed, "the striking limb moves")
    seen = "" if hit.reaction is not None else "; nobody was seen to react"
    sure = f"by hand, {by_hand}" if by_hand else f"found with confidence {hit.confidence:.2f}"
    note = f"{sure}{seen}"
    at = FrameRange(hit.contact, hit.contact + 1)
    yield SoundCue("hit", "striker", at, hit.contact, hit.peak_speed, note)


def _reaction_cues(reaction: int, motion: HitMotion) -> Iterator[SoundCue]:
    receiver = motion.channel("receiver")
    if receiver is not None and motion.intervals:
        movement = _movement(motion, receiver, reaction)
        if movement.speed >= MOVER_SPEED:
            yield from _receiver_cues(movement)
            yield from _travel_cues("receiver", movement)
            return
    at = FrameRange(reaction, reaction + 1)
    note = "where it begins; how long the receiver moves was not measured"
    yield SoundCue("reaction effort", "receiver", at, None, 0.0, note)


def _receiver_cues(movement: _Movement) -> Iterator[SoundCue]:
    moving = FrameRange(movement.start, movement.stop)
    note = "the receiver moves, from the reaction "
    note += "on, beyond the measured window" if movement.rest is None else "until rest"
    yield SoundCue("reaction effort", "receiver", moving, None, movement.speed, note)
    yield SoundCue("cloth", "receiver", moving, None, movement.speed, note)


def _travel_cues(who: str, movement: _Movement) -> Iterator[SoundCue]:
    least = max(TRAVEL * movement.size, LEAST_TRAVEL)
    moving = FrameRange(movement.start, movement.stop)
    if movement.down >= least and movement.down > movement.sideways:
        note = f"goes down by {movement.down:.2f} of the picture's width"
        if movement.rest is None:
            note += "; lands after the measured window, so spot the landing by eye"
        falling = FrameRange(movement.start, movement.stop + (movement.rest is not None))
        yield SoundCue("body fall", who, falling, movement.rest, movement.speed, note)
    elif movement.sideways >= least:
        note = f"travels sideways by {movement.sideways:.2f} of the picture's width"
        yield SoundCue("feet", who, moving, None, movement.speed, note)


def _movement(motion: HitMotion, channel: Channel, frame: int) -> _Movement:
    """How a channel moves from the interval that leads to ``frame`` until it comes to rest."""
    moved = motion.without_camera(channel)
    begin = min(max(frame - 1 - motion.first, 0), motion.intervals - 1)
    speed = np.hypot(*moved[begin:].T) * float(motion.rate)
    peak = int(np.argmax(speed))
    slow = np.flatnonzero(speed[peak:] < REST_SHARE * speed[peak])
    rests = len(slow) > 0
    length = peak + int(slow[0]) if rests else len(speed)
    travelled = moved[begin : begin + length].sum(axis=0)
    stop = motion.first + begin + length
    start = motion.first + begin + 1
    return _Movement(
        start=start,
        stop=max(stop, start + 1),
        rest=max(stop, start) if rests else None,
        speed=float(speed[peak]),
        sideways=abs(float(travelled[0])),
        down=float(travelled[1]),
        size=float(np.sqrt(channel.area[begin])),
    )
