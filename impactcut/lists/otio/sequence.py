"""A timeline as a programme to recut: what each of its clips shows, and what binds it.

Clips are numbered from 1, track by track, those of nested stacks after those of the tracks around
them; every nested track has a name of its own that goes on from V1, V2 ... and A1, A2 ...
"""

from __future__ import annotations

import math
import re
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any
from urllib.parse import unquote_to_bytes

from impactcut.core.programme.sequence import UNDER_TRANSITION, SequenceEvent, is_sound
from impactcut.core.recut.reel_match import ClipNames, Match, match_events
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import DROP_RATES, Timebase, nearest_rate
from impactcut.errors import ListFormatError
from impactcut.lists.otio.library import REEL_KEY, library, opened_timeline

BLACK = "BL"
ON_EDGE = 1e-4
"""Frames by which a time may lie beside a frame's edge; sums of doubles do (engineering choice)."""
SAMPLES = 8000
"""Units a second from which a time counts samples of sound, and no frames: the lowest rate that
sound in use has (ITU-T G.711); frames are never so many."""
_ONE_FRAME = FrameRange(0, 1)


@dataclass(frozen=True)
class Cell:
    """A child of a track: an item, or a transition, which has no length.

    Parameters
    ----------
    own : FrameRange
        The item's range in its own time.
    place : FrameRange
        In the time of the track.
    index : int or None
        Of its event, if it is a clip that is seen.
    """

    item: Any
    own: FrameRange
    place: FrameRange
    index: int | None = None


@dataclass(frozen=True)
class Lane:
    """A track, nested or not.

    Parameters
    ----------
    name : str
        ``V1``, ``A1`` ...
    offset : int
        Record frame of the track's frame 0.
    seen : FrameRange
        What of it the programme shows, in its own time.
    """

    name: str
    track: Any
    offset: int
    seen: FrameRange
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Nest:
    """A track or stack, and what of it the programme shows; ``offset``: record of its frame 0."""

    item: Any
    offset: int
    seen: FrameRange
    off: bool = False

    @property
    def record(self) -> FrameRange:
        """Record frames at which it is seen."""
        return self.seen.shifted(self.offset)


@dataclass(frozen=True)
class TimelineSequence:
    """A timeline and its events.

    Parameters
    ----------
    events : tuple of SequenceEvent
        None has its clip yet.
    names : mapping of int to tuple of str
        What the clip of an event may be called, the surest first; none for what is no clip.
    off : tuple of int
        Numbers of events that are switched off, so that nobody sees them.
    held : bool
        Its length is to be held.
    """

    timeline: Any
    rate: Fraction
    events: tuple[SequenceEvent, ...]
    names: Mapping[int, tuple[str, ...]]
    off: tuple[int, ...]
    lanes: tuple[Lane, ...]
    nests: tuple[Nest, ...]
    held: bool = False

    @property
    def outer(self) -> frozenset[str]:
        """Names of the tracks that are not nested."""
        top = {id(track) for track in self.timeline.tracks}
        return frozenset(lane.name for lane in self.lanes if id(lane.track) in top)


@dataclass
class _Bounds:
    """What the transitions beside an item do to it, in frames."""

    entered: str = ""
    fade: int = 0
    underhang: int = 0
    fade_out: int = 0
    overhang: int = 0


def read_timeline(text: str, held: bool = False) -> TimelineSequence:
    """Read the JSON of a timeline.

    Parameters
    ----------
    held : bool
        The length is to be held, so that clips which reach beyond the edge of a nested stack are
        left as they are.

    Raises
    ------
    ListFormatError
        If it is no timeline, holds no clip, counts at two rates, or OpenTimelineIO is missing.
    """
    timeline = opened_timeline(text)
    walk = _Walk(timeline, held)
    walk.all()
    if not walk.names:
        raise ListFormatError("the timeline shows no clip, so there is nothing to recut")
    return TimelineSequence(
        timeline,
        walk.rate,
        tuple(walk.events),
        walk.names,
        tuple(walk.off),
        tuple(walk.lanes),
        tuple(walk.nests),
        held=held,
    )


def matched_timeline(
    sequence: TimelineSequence, known: Sequence[ClipNames], given: Mapping[str, Clip]
) -> tuple[Match, ...]:
    """The events with their clips, by any of their names; timecode counts as the clip counts it."""
    matches = {event.index: Match(event) for event in sequence.events}
    open_events = {
        each.index: each
        for each in sequence.events
        if each.index in sequence.names and each.number not in sequence.off
    }
    clocks = [Timebase(sequence.rate)]
    clocks += [Timebase(sequence.rate, True)] if sequence.rate in DROP_RATES else []
    for place in range(max(map(len, sequence.names.values()), default=0)):
        for clock in clocks:
            asked = [
                replace(event, name=sequence.names[index][place], source_clock=clock)
                for index, event in open_events.items()
                if place < len(sequence.names[index])
            ]
            for match in match_events(asked, known, given, timeline=True):
                index = match.event.index
                if match.event.clip is not None:
                    matches[index] = match
                    del open_events[index]
                elif match.doubt and not matches[index].doubt:
                    matches[index] = match
    return tuple(matches[event.index] for event in sequence.events)


def nests_sound(sequence: TimelineSequence) -> bool:
    """Whether there is sound in nested stacks, or something nested on a track of sound."""
    composition = library().core.Composition
    return any(
        is_sound(lane.name)
        and (
            lane.name not in sequence.outer
            or any(isinstance(cell.item, composition) for cell in lane.cells)
        )
        for lane in sequence.lanes
    )


class _Walk:
    """Goes through all stacks and tracks, those around before those within."""

    def __init__(self, timeline: Any, held: bool) -> None:
        self._otio = library()
        self._timeline = timeline
        self._held = held
        self.rate = self._rate()
        self.events: list[SequenceEvent] = []
        self.names: dict[int, tuple[str, ...]] = {}
        self.off: list[int] = []
        self.lanes: list[Lane] = []
        self.nests: list[Nest] = []
        self._counts: dict[str, int] = {}

    def _rate(self) -> Fraction:
        """That of the first clip that counts frames, and no samples."""
        rate = None
        for clip in self._timeline.find_clips():
            rate = _exact_rate(self._range(clip).duration, _named(clip))
            if rate < SAMPLES:
                return rate
        if rate is None:
            raise ListFormatError("the timeline shows no clip, so there is nothing to recut")
        raise ListFormatError(
            f"no clip of the timeline counts frames ({rate} a second); write it with picture"
        )

    def all(self) -> None:
        """Fill the lists."""
        for item in self._timeline.find_children():
            if not isinstance(item, self._otio.core.Composition | self._otio.schema.Transition):
                self._own(item)
        top = self._timeline.tracks
        start = self._timeline.global_start_time
        record = 0 if start is None else self._frame(start, "the start of the timeline")
        own = self._window(top)
        waiting = deque([Nest(top, record - own.start, own, not top.enabled)])
        while waiting:
            nest = waiting.popleft()
            self.nests.append(nest)
            if why := self._why_fixed(nest.item):
                self._guard(self._name(nest.item), nest.record, why, nest.item.name)
            elif isinstance(nest.item, self._otio.schema.Track):
                waiting += self._lane(nest)
            else:
                waiting += self._stack(nest)

    def _stack(self, nest: Nest) -> Iterator[Nest]:
        for child in nest.item:
            own = self._window(child)
            seen = FrameRange(0, len(own)).shared(nest.seen)
            if isinstance(child, self._otio.core.Composition):
                yield _within(nest, child, own, 0, seen)
            else:
                why = "stands in a stack and on no track"
                self._guard(self._name(child), seen.shifted(nest.offset), why, _named(child))

    def _lane(self, nest: Nest) -> list[Nest]:
        name = self._name(nest.item)
        bounds = self._bounds(nest.item)
        cells: list[Cell] = []
        inner: list[Nest] = []
        at = 0
        for item, bound in zip(nest.item, bounds, strict=True):
            own = FrameRange(0, 0) if self._is_transition(item) else self._window(item)
            place = FrameRange(at, at + len(own))
            at = place.stop
            seen = place.shared(nest.seen)
            cell = Cell(item, own, place)
            if isinstance(item, self._otio.core.Composition):
                inner.append(_within(nest, item, own, place.start, seen))
            if seen and isinstance(item, self._otio.schema.Clip):
                cell = replace(cell, index=len(self.events))
                self._event(name, nest, cell, seen, bound)
            elif seen:
                self._covered(name, nest, place, seen, bound)
            cells.append(cell)
        self.lanes.append(Lane(name, nest.item, nest.offset, nest.seen, tuple(cells)))
        return inner

    def _bounds(self, track: Any) -> list[_Bounds]:
        children = list(track)
        bounds = [_Bounds() for _ in children]
        for at, each in enumerate(children):
            if not self._is_transition(each):
                continue
            before = self._frame(each.in_offset, _named(each))
            after = self._frame(each.out_offset, _named(each))
            if at:
                bounds[at - 1].fade_out, bounds[at - 1].overhang = max(1, before), after
            if at + 1 < len(children):
                follows = bounds[at + 1]
                follows.entered = each.name or each.transition_type or "transition"
                follows.fade, follows.underhang = max(1, after), before
        return bounds

    def _event(self, name: str, nest: Nest, cell: Cell, seen: FrameRange, bound: _Bounds) -> None:
        clip, place = cell.item, cell.place
        head, tail = seen.start - place.start, place.stop - seen.stop
        fixed = self._why_fixed(clip)
        if self._held and (head or tail):
            fixed = fixed or "reaches beyond the edge of what is shown of its nested stack"
        names = clip_names(clip) or ("",)
        index = len(self.events)
        self.events.append(
            replace(
                self._bare(name, seen.shifted(nest.offset)),
                reel=self._reel(clip),
                name=names[0],
                source=self._source(clip, cell.own.start + head, len(seen)),
                fixed=fixed,
                entered="" if head else bound.entered,
                fade=min(len(seen), max(0, bound.fade - head)),
                overhang=0 if tail else bound.overhang,
                fade_out=min(len(seen), max(0, bound.fade_out - tail)),
                underhang=0 if head else bound.underhang,
                media=self._media(clip),
            )
        )
        self.names[index] = names
        if nest.off or not clip.enabled:
            self.off.append(index + 1)

    def _covered(
        self, track: str, nest: Nest, place: FrameRange, seen: FrameRange, bound: _Bounds
    ) -> None:
        """Events for what a transition covers of a gap or a nested stack."""
        head = min(place.stop, place.start + bound.fade)
        tail = max(head, place.stop - bound.fade_out)
        for frames in (FrameRange(place.start, head), FrameRange(tail, place.stop)):
            record = frames.shared(seen).shifted(nest.offset)
            self._guard(track, record, UNDER_TRANSITION, "", BLACK)

    def _guard(self, track: str, record: FrameRange, why: str, name: str, reel: str = "") -> None:
        """An event that moves but is never cut, and of which nothing is known."""
        if record:
            self.events.append(replace(self._bare(track, record), reel=reel, name=name, fixed=why))

    def _bare(self, track: str, record: FrameRange) -> SequenceEvent:
        """The next event, of which no more is known than where it lies."""
        index, source = len(self.events), FrameRange(0, len(record))
        clock = Timebase(self.rate)
        return SequenceEvent(index, index + 1, "", "", frozenset({track}), source, record, clock)

    def _name(self, item: Any) -> str:
        kinds = {self._otio.schema.TrackKind.Video: "V", self._otio.schema.TrackKind.Audio: "A"}
        kind = kinds.get(item.kind, "X") if isinstance(item, self._otio.schema.Track) else "V"
        self._counts[kind] = self._counts.get(kind, 0) + 1
        return f"{kind}{self._counts[kind]}"

    def _why_fixed(self, item: Any) -> str:
        for effect in item.effects:
            if isinstance(effect, self._otio.schema.TimeEffect):
                return f"does not run at its own speed ({effect.schema_name()})"
        return ""

    def _source(self, clip: Any, start: int, length: int) -> FrameRange:
        """Source frames of a clip; those of a time effect as far as it says."""
        for effect in clip.effects:
            if isinstance(effect, self._otio.schema.FreezeFrame):
                length = len(_ONE_FRAME)
            elif isinstance(effect, self._otio.schema.LinearTimeWarp):
                length = max(1, math.ceil(length * abs(effect.time_scalar)))
        return FrameRange(start, start + length)

    def _media(self, clip: Any) -> FrameRange | None:
        """What a clip says its media has, if it counts that in the timeline's frames or samples."""
        said = getattr(clip.media_reference, "available_range", None)
        if said is None:
            return None
        ends = said.start_time, said.start_time + said.duration
        rates = {_exact_rate(time, _named(clip)) for time in ends}
        if any(rate != self.rate and rate < SAMPLES for rate in rates):
            return None
        start, stop = (in_frames(time, self.rate) for time in ends)
        first = math.ceil(start - slack_of(ends[0], self.rate))
        return FrameRange(first, max(first, math.floor(stop + slack_of(ends[1], self.rate))))

    def _reel(self, clip: Any) -> str:
        reference = clip.media_reference
        for holder in (clip, reference):
            said: Any = getattr(holder, "metadata", {}).get(REEL_KEY)
            reel = said.get("reel") if hasattr(said, "get") else None
            if isinstance(reel, str) and reel:
                return reel
        return BLACK if isinstance(reference, self._otio.schema.GeneratorReference) else ""

    def _is_transition(self, item: Any) -> bool:
        return isinstance(item, self._otio.schema.Transition)

    def _range(self, item: Any) -> Any:
        try:
            return item.trimmed_range()
        except (self._otio.exceptions.OTIOError, ValueError, NotImplementedError) as error:
            raise ListFormatError(
                f"{_named(item)} says neither its source range nor that of its media; give it one"
            ) from error

    def _own(self, item: Any) -> FrameRange:
        found = self._range(item)
        start = self._frame(found.start_time, _named(item))
        stop = self._frame(found.start_time + found.duration, _named(item))
        length = stop - start
        if length < 0:
            raise ListFormatError(f"{_named(item)} has a length below 0; correct it")
        return FrameRange(start, start + length)

    def _window(self, item: Any) -> FrameRange:
        """The range of an item; of a track that says a range beside all it holds, everything.

        OpenTimelineIO's reader of EDLs gives tracks such a range: of their own length, and begun
        before their first frame by the record time of that (otio-cmx3600-adapter 1.0.0).
        """
        own = self._own(item)
        if own.start and isinstance(item, self._otio.schema.Track):
            whole = FrameRange(0, self._frame(item.available_range().duration, _named(item)))
            if len(whole) == len(own) and not own.meets(whole):
                return whole
        return own

    def _frame(self, time: Any, what: str) -> int:
        if not time.value:
            return 0
        rate = _exact_rate(time, what)
        if rate != self.rate and rate < SAMPLES:
            raise ListFormatError(
                f"{what} counts {Timebase(rate)} frames a second and clips before it count "
                f"{Timebase(self.rate)}; bring the timeline to one rate"
            )
        frames = in_frames(time, self.rate)
        value = round(frames)
        if abs(frames - value) > slack_of(time, self.rate):
            raise ListFormatError(
                f"{what} has a time between two frames ({frames:.6g}); move it to a frame"
            )
        return value


def _exact_rate(time: Any, what: str) -> Fraction:
    rate = exact_rate(time.rate)
    if rate is None:
        raise ListFormatError(f"{what} has the frame rate {time.rate:g}; give it one above 0")
    return rate


def in_frames(time: Any, rate: Fraction) -> float:
    """A time of a timeline in frames, also where it counts samples."""
    own = exact_rate(time.rate)
    return float(time.value) if own in (None, rate) else time.value * float(rate / own)


def frame_of(marker: Any, rate: Fraction) -> int:
    """The frame in which a marker begins, in the time of what it stands on."""
    time = marker.marked_range.start_time
    return math.floor(in_frames(time, rate) + slack_of(time, rate))


def slack_of(time: Any, rate: Fraction) -> float:
    """Frames by which a time may lie beside the edge that it means: a sample, where it counts them.

    A start and a length that are rounded each for itself may be off by a half together.
    """
    own = exact_rate(time.rate)
    return ON_EDGE if own in (None, rate) else ON_EDGE + float(rate / own)


@cache
def exact_rate(rate: float) -> Fraction | None:
    """The rate that a double stands for; None if it is none."""
    return nearest_rate(Fraction(rate)) if 0 < rate < math.inf else None


def _within(nest: Nest, item: Any, own: FrameRange, start: int, seen: FrameRange) -> Nest:
    """A nested composition; it begins at ``start`` of what is around it, and is ``seen`` there."""
    move = own.start - start
    return Nest(item, nest.offset - move, seen.shifted(move), nest.off or not item.enabled)


def clip_names(clip: Any) -> tuple[str, ...]:
    """What the media of a timeline's clip may be called, the surest first."""
    reference = clip.media_reference
    url = getattr(reference, "target_url", "") or ""
    names = [_last(_decoded(url)), _last(url), getattr(reference, "name", ""), clip.name]
    return tuple(dict.fromkeys(name for name in names if name))


def _named(item: Any) -> str:
    return f"{item.schema_name().lower()} {item.name!r}"


def _last(url: str) -> str:
    return re.split(r"[/\\]", url)[-1]


def _decoded(url: str) -> str:
    """A file's address with its percent-encoded bytes put back (RFC 3986)."""
    plain = unquote_to_bytes(url.encode("utf-8", "surrogateescape"))
    return plain.decode("utf-8", "surrogateescape")
