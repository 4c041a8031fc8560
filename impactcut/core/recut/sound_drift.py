"""Where sound and picture of a programme part because frames went out of one and not the other."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from impactcut.core.grouping import grouped
from impactcut.core.programme.sequence import Piece, SequenceEvent, is_picture, is_sound
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.meeting import Meeting


@dataclass(frozen=True)
class SoundDrift:
    """Sound that lies otherwise against the picture than it did.

    Parameters
    ----------
    event : SequenceEvent
        The sound.
    record : FrameRange
        Where it is so, in the new programme.
    late : int
        Frames by which it is late against the picture; early where negative.
    same_clip : bool
        It comes from the clip that the picture shows there. Of other sound nobody but its editor
        knows whether it was laid to the picture.
    apart : bool
        It lies wholly under other shots, and its own, whose clip it comes from and with which it
        was in sync, is the one before or after.
    """

    event: SequenceEvent
    record: FrameRange
    late: int
    same_clip: bool
    apart: bool = False


@dataclass(frozen=True)
class _Shift:
    """Record frames of the new programme, how much later they come than in the old one."""

    record: FrameRange
    later: int
    event: SequenceEvent


def sound_drifts(pieces: Sequence[Piece], held: bool = False) -> tuple[SoundDrift, ...]:
    """Every stretch of sound that is out of sync by its own pieces' and the picture's places.

    Parameters
    ----------
    held : bool
        The length was held, so that a shot may have moved away from sound of its own that lies
        under its neighbours.
    """
    pictures = [_shift(p) for p in pieces if any(map(is_picture, p.tracks))]
    sounds = [
        _shift(piece)
        for piece in pieces
        if not any(map(is_picture, piece.tracks)) and any(map(is_sound, piece.tracks))
    ]
    beside = Meeting((picture.record, picture) for picture in pictures)
    found = [drift for sound in sounds for drift in _drifts(sound, beside)]
    if held:
        found += _drifts_apart(sounds, pictures)
    return tuple(_joined(found))


def _shift(piece: Piece) -> _Shift:
    """How a piece has moved; one that does not run at its own speed is never cut at its head."""
    event = piece.event
    head = piece.source.start - event.source.start
    old_start = event.record.start + (head if len(piece.source) == len(piece.record) else 0)
    return _Shift(piece.record, piece.record.start - old_start, event)


def _drifts(sound: _Shift, pictures: Meeting[_Shift]) -> Iterator[SoundDrift]:
    for picture in pictures.of(sound.record):
        late = sound.later - picture.later
        source = _source(sound.event)
        same = source is not None and source[:1] == (_source(picture.event) or ())[:1]
        lay_under = sound.event.record.meets(picture.event.record)
        if late and (same or lay_under):
            yield SoundDrift(sound.event, sound.record.shared(picture.record), late, same)


_Source = tuple[str, int]
"""The path of a clip and where its frame 0 would lie: one for all that is in sync."""


def _drifts_apart(sounds: Iterable[_Shift], pictures: Iterable[_Shift]) -> Iterator[SoundDrift]:
    """Sound that lies wholly beside the shot that it belongs to, and from which that moved."""
    shots = grouped(
        (source, picture)
        for picture in sorted(pictures, key=lambda shift: shift.record)
        if (source := _source(picture.event)) is not None
    )
    starts = {source: [each.record.start for each in found] for source, found in shots.items()}
    for sound in sounds:
        source = _source(sound.event)
        if source not in shots:
            continue
        at = bisect_right(starts[source], sound.record.start)
        own = _nearest(sound, shots[source][max(0, at - 1) : at + 1])
        if own is not None and sound.later != own.later:
            yield SoundDrift(sound.event, sound.record, sound.later - own.later, True, apart=True)


def _source(event: SequenceEvent) -> _Source | None:
    if event.clip is None or len(event.source) != len(event.record):
        return None
    return event.clip.path, event.offset


def _nearest(sound: _Shift, shots: Sequence[_Shift]) -> _Shift | None:
    """The shot that is nearest; None where one lies over the sound, or did so before."""
    if any(
        sound.event.record.meets(shot.event.record) or sound.record.meets(shot.record)
        for shot in shots
    ):
        return None
    return min(shots, key=lambda shot: _distance(sound.record, shot.record))


def _distance(first: FrameRange, second: FrameRange) -> int:
    return max(first.start - second.stop, second.start - first.stop)


def _joined(drifts: Iterable[SoundDrift]) -> list[SoundDrift]:
    """Stretches of one event that run on from one another by the same amount, as one."""
    ordered = sorted(drifts, key=lambda drift: (drift.event.index, drift.record))
    joined: list[SoundDrift] = []
    for drift in ordered:
        last = joined[-1] if joined else drift
        runs_on = last.record.start <= drift.record.start <= last.record.stop
        if joined and runs_on and replace(drift, record=last.record) == last:
            stop = max(last.record.stop, drift.record.stop)
            joined[-1] = replace(last, record=FrameRange(last.record.start, stop))
        else:
            joined.append(drift)
    return joined
