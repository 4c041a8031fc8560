"""Which frames of which clip a programme shows where, shot by shot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from impactcut.core.grouping import in_runs
from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.sequence import Piece, SequenceEvent, is_picture
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange, Gaps

_WHOLE = Gaps(())


@dataclass(frozen=True)
class ClipShowing:
    """Frames of one clip that follow one another in the programme, but for what was taken out.

    Parameters
    ----------
    frames : FrameRange
        From its first frame of the clip to its last, what was taken out included.
    record_in : int
        Record frame of the first.
    gone : Gaps
        What was taken out between them.
    sound_early : int
        Frames by which sound that was not cut is early at the head of it: those that lengthened
        the head.
    """

    clip: Clip
    frames: FrameRange
    record_in: int
    gone: Gaps = _WHOLE
    sound_early: int = 0

    def place(self, frame: int) -> int:
        """Record frame of a frame of the clip; of one taken out, that of the first kept after."""
        return self.record_in + self.gone.moved(frame) - self.frames.start

    def record(self, frame: int) -> int | None:
        """Record frame of a frame of the clip; None if it is not shown."""
        shown = frame in self.frames and not self.gone.inside(FrameRange(frame, frame + 1))
        return self.place(frame) if shown else None

    def kept(self, frames: FrameRange) -> tuple[tuple[int, int], ...]:
        """Those of the clip's frames that are shown, each with its record frame."""
        places = ((frame, self.record(frame)) for frame in range(frames.start, frames.stop))
        return tuple((frame, record) for frame, record in places if record is not None)


def showings_of(cut: CutList) -> tuple[ClipShowing, ...]:
    """The showings of an assembled programme: one for each clip."""
    groups = (list(group) for _, group in groupby(cut.events, key=lambda event: event.clip))
    return tuple(
        _showing(events[0].clip, [event.source for event in events], events[0].record_in)
        for events in groups
    )


def showings_of_recut(pieces: Sequence[Piece], held: bool) -> tuple[ClipShowing, ...]:
    """The showings of a recut programme, in the order of its events.

    Events that run on from one another make one. Those that do not run at their own speed are
    left out: `unmeasured_events` names them.

    Parameters
    ----------
    held : bool
        The length was held, so that sound which was not cut kept its place.
    """
    picture = [piece for piece in pieces if any(map(is_picture, piece.tracks))]
    shown = [piece for piece in picture if piece.event.clip and piece.event.at_own_speed]
    shown.sort(key=lambda piece: (_pictures(piece), piece.record))
    return tuple(
        _showing(
            clip,
            [piece.shown for piece in run],
            run[0].record.start,
            _later(run[0]) if held else 0,
        )
        for run in in_runs(shown, _run_on)
        if (clip := run[0].event.clip) is not None
    )


def unmeasured_events(pieces: Iterable[Piece]) -> tuple[SequenceEvent, ...]:
    """Picture of the project's clips that does not run at its own speed."""
    events = dict.fromkeys(
        piece.event for piece in pieces if any(map(is_picture, piece.tracks)) and piece.event.clip
    )
    return tuple(event for event in events if not event.at_own_speed)


def _pictures(piece: Piece) -> list[str]:
    return sorted(filter(is_picture, piece.tracks))


def _run_on(first: Piece, second: Piece) -> bool:
    """Whether two pieces are of one clip and lie end to end on one track."""
    before, after = first.event, second.event
    return (
        first.record.stop == second.record.start
        and before.clip == after.clip
        and _pictures(first) == _pictures(second)
        and before.offset == after.offset
        and (before == after or before.record.stop == after.record.start)
        and first.shown.stop <= second.shown.start
    )


def _showing(
    clip: Clip, runs: Sequence[FrameRange], record_in: int, sound_early: int = 0
) -> ClipShowing:
    gaps = (FrameRange(a.stop, b.start) for a, b in pairwise(runs) if a.stop < b.start)
    frames = FrameRange(runs[0].start, runs[-1].stop)
    return ClipShowing(clip, frames, record_in, Gaps(tuple(gaps)), sound_early)


def _later(piece: Piece) -> int:
    """How much later the frames of a piece come than they did."""
    event = piece.event
    return piece.record.start - event.record.start - (piece.source.start - event.source.start)
