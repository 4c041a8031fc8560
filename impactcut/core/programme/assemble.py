"""Assembly: clips laid end to end with their trims taken out, and where each frame comes to lie."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from impactcut.core.grouping import grouped
from impactcut.core.programme.cutlist import CutList, Event, Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange, Gaps, without
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, RateError, TrimError


@dataclass(frozen=True)
class ClipPlace:
    """Where one clip lies in the programme, before and after the trims.

    Parameters
    ----------
    old_start, new_start : int
        Record frame of the clip's frame 0 in the untrimmed and in the trimmed programme.
    gone : Gaps
        Frames of the clip that are taken out.
    """

    clip: Clip
    old_start: int
    new_start: int
    gone: Gaps

    @property
    def kept(self) -> tuple[FrameRange, ...]:
        """Runs of the clip's frames that stay, in order."""
        return without(FrameRange(0, self.clip.frames), self.gone.ranges)

    def old_record(self, frame: int) -> int:
        """Record frame of the clip's frame in the untrimmed programme."""
        return self.old_start + frame

    def new_record(self, frame: int) -> int:
        """Record frame of the clip's frame in the trimmed programme.

        A removed frame stands for its splice: the record frame of the first frame kept after it.
        """
        return self.new_start + self.gone.moved(frame)


def assemble(
    title: str,
    clips: Sequence[Clip],
    removals: Iterable[Removal],
    *,
    record_start: int,
    version: int = 1,
) -> CutList:
    """Lay whole clips end to end in the order given, each without its removed frames.

    Parameters
    ----------
    clips : sequence of Clip
        All of one rate and count mode (see `group_by_timebase`).
    removals : iterable of Removal
        In any order.
    record_start : int
        Record timecode of the first frame, as a count of frames.

    Raises
    ------
    ListFormatError
        If there is no clip, or one clip is given twice.
    RateError
        If the clips do not share one rate and count mode.
    TrimError
        If a trim lies outside its clip, overlaps or touches another, takes the whole clip, or
        belongs to a clip that is not in the list.
    """
    timebase = _one_timebase(clips)
    chosen = _removals_by_clip(clips, removals)
    events: list[Event] = []
    record_in = record_start
    for clip in clips:
        _check_trims(clip, chosen[clip])
        for source in _kept(clip, chosen[clip]):
            events.append(Event(clip, source, record_in))
            record_in += len(source)
    ordered = tuple(removal for clip in clips for removal in chosen[clip])
    return CutList(title, timebase, record_start, tuple(events), ordered, version)


def group_by_timebase(clips: Iterable[Clip]) -> dict[Timebase, tuple[Clip, ...]]:
    """The clips that can share a list: one group for each rate and count mode, in order."""
    groups = grouped((clip.timebase, clip) for clip in clips)
    return {timebase: tuple(group) for timebase, group in groups.items()}


def place_clips(cut: CutList) -> Mapping[Clip, ClipPlace]:
    """Where every clip lies in the programme, before and after the trims, in record order."""
    removed: dict[Clip, list[FrameRange]] = {clip: [] for clip in cut.clips}
    for removal in cut.removals:
        removed[removal.clip].append(removal.frames)
    places: dict[Clip, ClipPlace] = {}
    old_start = new_start = cut.record_start
    for clip, gaps in removed.items():
        places[clip] = ClipPlace(clip, old_start, new_start, Gaps(tuple(gaps)))
        old_start += clip.frames
        new_start += clip.frames - sum(map(len, gaps))
    return places


def splice_events(cut: CutList) -> tuple[int, ...]:
    """For each removal, the index of the event that begins at its splice.

    Where the end of a clip was taken out it is the clip's last event.
    """
    by_start = {(event.clip, event.source.start): i for i, event in enumerate(cut.events)}
    by_stop = {(event.clip, event.source.stop): i for i, event in enumerate(cut.events)}
    return tuple(
        by_start[removal.clip, removal.frames.stop]
        if removal.frames.stop < removal.clip.frames
        else by_stop[removal.clip, removal.frames.start]
        for removal in cut.removals
    )


def _one_timebase(clips: Sequence[Clip]) -> Timebase:
    groups = group_by_timebase(clips)
    if not groups:
        raise ListFormatError("there is no clip to make a list of; scan footage or name clips")
    if len(groups) > 1:
        named = "; ".join(f"{group[0].name} at {base}" for base, group in groups.items())
        raise RateError(
            f"a list has one rate and one count mode, and these clips have more ({named}); "
            "make one list for each, or state --rate where a clip is wrong"
        )
    return next(iter(groups))


def _removals_by_clip(
    clips: Sequence[Clip], removals: Iterable[Removal]
) -> dict[Clip, tuple[Removal, ...]]:
    found: dict[Clip, list[Removal]] = {clip: [] for clip in clips}
    if len(found) < len(clips):
        twice = next(clip for clip in clips if clips.count(clip) > 1)
        raise ListFormatError(f"{twice.name} is given twice; name each clip once")
    for removal in removals:
        if removal.clip not in found:
            raise TrimError(
                f"{removal.clip.name}: hit {removal.called} is to be trimmed, but the clip is not "
                "in the list; add the clip or leave out the trim"
            )
        found[removal.clip].append(removal)
    return {
        clip: tuple(sorted(group, key=lambda removal: removal.frames))
        for clip, group in found.items()
    }


def _check_trims(clip: Clip, removals: Sequence[Removal]) -> None:
    for removal in removals:
        trim = removal.frames
        if not 0 <= trim.start < trim.stop <= clip.frames:
            raise TrimError(
                f"{clip.name}: hit {removal.called} removes {_named(trim)}, but the clip has "
                f"frames 0 to {clip.frames - 1}; choose other frames"
            )
    for earlier, later in pairwise(removals):
        if later.frames.start <= earlier.frames.stop:
            raise TrimError(
                f"{clip.name}: hits {earlier.called} and {later.called} remove "
                f"{_named(earlier.frames)} and {_named(later.frames)}; at least one frame must "
                "stay between them, so choose other frames for one"
            )
    if not _kept(clip, removals):
        raise TrimError(f"{clip.name}: nothing of its {clip.frames} frames would be left")


def _kept(clip: Clip, removals: Iterable[Removal]) -> tuple[FrameRange, ...]:
    return without(FrameRange(0, clip.frames), (removal.frames for removal in removals))


def _named(frames: FrameRange) -> str:
    return f"frames {frames.start} to {frames.stop - 1}"
