"""Where sound and picture of a programme part because frames went out of one and not the other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from impactcut.core.frames import FrameRange
from impactcut.core.sequence import Piece, SequenceEvent, is_picture, is_sound


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
    """

    event: SequenceEvent
    record: FrameRange
    late: int
    same_clip: bool


@dataclass(frozen=True)
class _Shift:
    """Record frames of the new programme, how much later they come than in the old one."""

    record: FrameRange
    later: int
    event: SequenceEvent


def sound_drifts(pieces: Sequence[Piece]) -> tuple[SoundDrift, ...]:
    """Every stretch of sound that is out of sync by its own pieces' and the picture's places."""
    pictures = [_shift(p) for p in pieces if any(map(is_picture, p.tracks))]
    moved = sorted((each for each in pictures if each is not None), key=lambda shift: shift.record)
    sounds = [piece for piece in pieces if not any(map(is_picture, piece.tracks))]
    found = [
        drift
        for piece in sounds
        if any(map(is_sound, piece.tracks)) and (shift := _shift(piece)) is not None
        for drift in _drifts(shift, moved)
    ]
    return tuple(_joined(found))


def _shift(piece: Piece) -> _Shift | None:
    """How a piece has moved; None where it does not run at its own speed."""
    event = piece.event
    if len(piece.source) != len(piece.record):
        return None
    old_start = event.record.start + piece.source.start - event.source.start
    return _Shift(piece.record, piece.record.start - old_start, event)


def _drifts(sound: _Shift, pictures: Iterable[_Shift]) -> Iterator[SoundDrift]:
    for picture in pictures:
        late = sound.later - picture.later
        if not late or not sound.record.meets(picture.record):
            continue
        start = max(sound.record.start, picture.record.start)
        stop = min(sound.record.stop, picture.record.stop)
        clip = sound.event.clip
        same = clip is not None and clip == picture.event.clip
        yield SoundDrift(sound.event, FrameRange(start, stop), late, same)


def _joined(drifts: Iterable[SoundDrift]) -> list[SoundDrift]:
    """Stretches of one event that run on from one another by the same amount, as one."""
    ordered = sorted(drifts, key=lambda drift: (drift.event.index, drift.record))
    joined: list[SoundDrift] = []
    for drift in ordered:
        last = joined[-1] if joined else None
        if last is not None and _runs_on(last, drift):
            stop = max(last.record.stop, drift.record.stop)
            joined[-1] = SoundDrift(
                last.event, FrameRange(last.record.start, stop), last.late, last.same_clip
            )
        else:
            joined.append(drift)
    return joined


def _runs_on(first: SoundDrift, second: SoundDrift) -> bool:
    same = (first.event, first.late, first.same_clip)
    return (
        same == (second.event, second.late, second.same_clip)
        and second.record.start <= first.record.stop
    )
