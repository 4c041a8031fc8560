"""Which frames of which clip a programme shows where, shot by shot."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.sequence import Piece, SequenceEvent, is_picture
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange


@dataclass(frozen=True)
class ClipShowing:
    """Frames of one clip that follow one another in the programme, but for what was taken out.

    Parameters
    ----------
    clip : Clip
    runs : tuple of (FrameRange, int)
        Frames of the clip, and the record frame of the first of each; in order, none touching.
    sound_early : int
        Frames by which sound that was not cut is early at the head of it: those that lengthened
        the head.
    """

    clip: Clip
    runs: tuple[tuple[FrameRange, int], ...]
    sound_early: int = 0

    @property
    def frames(self) -> FrameRange:
        """From its first frame of the clip to its last, what was taken out included."""
        return FrameRange(self.runs[0][0].start, self.runs[-1][0].stop)

    @cached_property
    def gaps(self) -> tuple[FrameRange, ...]:
        """What was taken out between its runs."""
        ends = zip(self.runs, self.runs[1:], strict=False)
        return tuple(FrameRange(before[0].stop, after[0].start) for before, after in ends)

    def record(self, frame: int) -> int | None:
        """Record frame of a frame of the clip; None if it is not shown."""
        at = bisect_right(self._starts, frame) - 1
        frames, record_in = self.runs[max(0, at)]
        return record_in + frame - frames.start if frame in frames else None

    def kept(self, frames: FrameRange) -> tuple[tuple[int, int], ...]:
        """Those of the clip's frames that are shown, each with its record frame."""
        places = ((frame, self.record(frame)) for frame in range(frames.start, frames.stop))
        return tuple((frame, record) for frame, record in places if record is not None)

    def splice(self, gap: FrameRange) -> int:
        """Record frame of the first frame kept after a gap."""
        return self.runs[bisect_left(self._starts, gap.stop)][1]

    @cached_property
    def _starts(self) -> list[int]:
        return [frames.start for frames, _ in self.runs]


def showings_of(cut: CutList) -> tuple[ClipShowing, ...]:
    """The showings of an assembled programme: one for each clip."""
    groups = groupby(cut.events, key=lambda event: event.clip)
    return tuple(
        ClipShowing(clip, tuple((event.source, event.record_in) for event in events))
        for clip, events in groups
    )


def showings_of_recut(pieces: Sequence[Piece], held: bool) -> tuple[ClipShowing, ...]:
    """The showings of a recut programme, in the order of its events.

    Events that run on from one another make one. Those that do not run at their own speed are
    left out: `unmeasured_events` names them.

    Parameters
    ----------
    pieces : sequence of Piece
    held : bool
        The length was held, so that sound which was not cut kept its place.
    """
    picture = [piece for piece in pieces if any(map(is_picture, piece.tracks))]
    shown = [piece for piece in picture if piece.event.clip and piece.event.at_own_speed]
    return tuple(_showing(run, held) for run in _runs(shown))


def unmeasured_events(pieces: Iterable[Piece]) -> tuple[SequenceEvent, ...]:
    """Picture of the project's clips that does not run at its own speed."""
    events = dict.fromkeys(
        piece.event for piece in pieces if any(map(is_picture, piece.tracks)) and piece.event.clip
    )
    return tuple(event for event in events if not event.at_own_speed)


def _runs(pieces: Iterable[Piece]) -> Iterator[list[Piece]]:
    """Pieces of one clip that lie end to end, those of one track after those of another."""
    ordered = sorted(pieces, key=lambda piece: (_pictures(piece), piece.record))
    run: list[Piece] = []
    for piece in ordered:
        if run and not _run_on(run[-1], piece):
            yield run
            run = []
        run.append(piece)
    if run:
        yield run


def _pictures(piece: Piece) -> list[str]:
    return sorted(filter(is_picture, piece.tracks))


def _run_on(first: Piece, second: Piece) -> bool:
    before, after = first.event, second.event
    return (
        first.record.stop == second.record.start
        and before.clip == after.clip
        and _pictures(first) == _pictures(second)
        and before.offset == after.offset
        and (before == after or before.record.stop == after.record.start)
        and first.shown.stop <= second.shown.start
    )


def _showing(run: Sequence[Piece], held: bool) -> ClipShowing:
    clip = run[0].event.clip
    assert clip is not None
    runs: list[tuple[FrameRange, int]] = []
    for piece in run:
        frames = piece.shown
        if runs and runs[-1][0].stop == frames.start:
            before, record_in = runs.pop()
            runs.append((FrameRange(before.start, frames.stop), record_in))
        else:
            runs.append((frames, piece.record.start))
    return ClipShowing(clip, tuple(runs), _later(run[0]) if held else 0)


def _later(piece: Piece) -> int:
    """How much later the frames of a piece come than they did."""
    event = piece.event
    return piece.record.start - event.record.start - (piece.source.start - event.source.start)
