"""Analysing a long clip in parts that, joined, are what one pass would give, to the byte.

Motion is measured and hits are found stretch by stretch, each with a little of its neighbours for
context (`impactcut.media.measure`), so a part is a run of stretches, and neighbouring parts both
read the frames around their seam. There their pictures are compared: a decoder that was entered at
a keyframe and came out different is found out, and the clip is then to be analysed as a whole.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from impactcut.media.frames import LumaFrame
from impactcut.media.jump import Places
from impactcut.media.measure import CONTEXT, STRETCH, frames_for, measure
from impactcut.media.pieces import InexactError, reachable, read_piece
from impactcut.media.spacing import survey
from impactcut.workflow.analyse import (
    AnalysisSettings,
    ClipAnalysis,
    Measured,
    Outset,
    conclude,
    measure_stretches,
    set_out,
)
from impactcut.workflow.tasks import Report

PART_STRETCHES: Final = 10
"""Least length of a part, engineering choice: 100 s at 24 frames a second, of which the frames read
twice are 3 %."""
_SEAM = 2 * CONTEXT + 1


@dataclass(frozen=True)
class Part:
    """The stretches from ``start`` to before ``stop``; None for all to the end."""

    start: int
    stop: int | None


@dataclass(frozen=True, eq=False)
class PlannedParts:
    """Parts of a clip, and what all of them need to know of it."""

    outset: Outset
    place: Places
    parts: tuple[Part, ...]


@dataclass(frozen=True, eq=False)
class PartAnalysis:
    """What was measured in a part.

    Parameters
    ----------
    measured : Measured
    frames : int
        Number of the last frame that was read, plus one.
    head, tail : str
        Digests of the pictures that it shares with the part before and the one after.
    """

    measured: Measured
    frames: int
    head: str
    tail: str


def parts_of(frames: int, stretches: int) -> tuple[Part, ...]:
    """Parts of equal length for a clip of ``frames`` frames, each of ``stretches`` or more."""
    full = max(1, (frames - 1 - CONTEXT) // STRETCH)
    number = max(1, full // stretches)
    starts = [full * n // number for n in range(number)]
    return tuple(map(Part, starts, [*starts[1:], None]))


def plan_parts(
    path: Path, settings: AnalysisSettings, stretches: int, report: Report
) -> PlannedParts:
    """Probe a clip, listen to it and divide it.

    Raises
    ------
    InexactError
        If parts cannot be sure to be what one pass gives.
    MediaError
        As `impactcut.workflow.analyse.analyse_clip`.
    """
    spacing = survey(path)
    parts = parts_of(spacing.frames, stretches)
    place = reachable(path, spacing, frames_for(parts[-1].start, None).start)
    return PlannedParts(set_out(path, settings, spacing), place, parts)


def analyse_part(
    path: Path, settings: AnalysisSettings, planned: PlannedParts, part: Part, report: Report
) -> PartAnalysis:
    """Measure one part.

    Raises
    ------
    InexactError
        If a frame is not where it belongs, or does not decode.
    MediaError
        If the file cannot be read.
    """
    wanted = frames_for(part.start, part.stop)
    read = read_piece(path, planned.place, wanted.start, wanted.stop, settings.width)
    seams = _Seams(wanted.start, wanted.stop, report)
    rate = planned.outset.clip.rate
    with closing(read):
        frames = seams.watched(read)
        measured = measure_stretches(measure(frames, rate, part.start, part.stop), planned.outset)
        for _ in frames:
            pass  # an end that is not where it should be comes to light behind the last stretch
    return PartAnalysis(measured, seams.end, seams.head.hexdigest(), seams.tail.hexdigest())


def join_parts(planned: PlannedParts, parts: Sequence[PartAnalysis]) -> ClipAnalysis:
    """The analysis of the clip whose parts these are, in their order.

    Raises
    ------
    InexactError
        If two of them do not see the same pictures where they meet.
    """
    for earlier, later in itertools.pairwise(parts):
        if earlier.tail != later.head:
            raise InexactError("its pictures depend on where decoding begins")
    tracks = tuple(track for part in parts for track in part.measured.tracks)
    if not tracks:
        raise InexactError("it has fewer frames than it says")
    hits = tuple(hit for part in parts for hit in part.measured.hits)
    clock = any(part.measured.clock for part in parts)
    return conclude(planned.outset, Measured(tracks, hits, clock), parts[-1].frames)


class _Seams:
    """Counts the frames of a part, and takes the digests of those it shares with its neighbours."""

    def __init__(self, start: int, stop: int | None, report: Report) -> None:
        self.head = hashlib.blake2b(digest_size=16)
        self.tail = hashlib.blake2b(digest_size=16)
        self.end = self._start = start
        self._tail_start = None if stop is None else stop - _SEAM
        self._report = report

    def watched(self, frames: Iterable[LumaFrame]) -> Iterator[LumaFrame]:
        """The same frames."""
        for frame in frames:
            self.end = frame.index + 1
            if frame.index < self._start + _SEAM:
                self.head.update(frame.luma.data)
            if self._tail_start is not None and frame.index >= self._tail_start:
                self.tail.update(frame.luma.data)
            self._report(self.end - self._start)
            yield frame
