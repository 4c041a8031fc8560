"""Somebody's programme as a list states it: which frames of which source lie where, on what track.

Source and record times are counts of frames. Record times are unwrapped: a programme that runs
across midnight goes on beyond the 24 hours.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase

UNTIMED = "has no source timecode"
"""Why sound without source timecode is `SequenceEvent.fixed`: only its end can go."""
OFF_SPEED = "does not run at its own speed"
"""How `SequenceEvent.fixed` begins for what is slowed, sped up, stilled or turned round."""
UNDER_TRANSITION = "lies under a transition"
"""Why what a transition covers of a gap or of something nested is `SequenceEvent.fixed`."""


@dataclass(frozen=True)
class SequenceEvent:
    """One use of a source in a programme.

    Parameters
    ----------
    index : int
        Its place among the events of its list, counted from 0.
    number : int
        As the list numbers it.
    reel, name : str
        Reel and clip name, as the list has them; empty where it has none.
    tracks : frozenset of str
        ``V`` and ``A1``, ``A2`` ...
    source : FrameRange
        On ``source_clock``.
    fixed : str
        Why the event may be moved but neither cut nor lengthened; empty if it may.
    entered : str
        The transition at its head, as the list writes it; empty for a cut.
    leaves : tuple of (str, int)
        For each track on which that transition has something to lead away from: the track, and
        the index of the event that goes on under it.
    fade : int
        Frames at its head that a transition covers.
    overhang : int
        Frames beyond its out that show under the transition after it.
    fade_out : int
        Frames at its tail that a transition covers; those of an EDL cover heads only.
    underhang : int
        Frames before its in that show under the transition before it.
    media : FrameRange or None
        Source frames that its media has, where the list says so.
    clip : Clip or None
        The project's clip that it shows; None if it is of none.
    from_zero : bool
        Its source counts from 0 at the clip's first frame, and not by the clip's timecode.
    """

    index: int
    number: int
    reel: str
    name: str
    tracks: frozenset[str]
    source: FrameRange
    record: FrameRange
    source_clock: Timebase
    fixed: str = ""
    entered: str = ""
    leaves: tuple[tuple[str, int], ...] = ()
    fade: int = 0
    overhang: int = 0
    fade_out: int = 0
    underhang: int = 0
    media: FrameRange | None = None
    clip: Clip | None = None
    from_zero: bool = False

    @property
    def shown(self) -> FrameRange:
        """The frames of its clip that it shows, counted from 0 at the clip's first.

        The clip's timecode may run across midnight.

        Raises
        ------
        ValueError
            If it shows no clip of the project.
        """
        if self.clip is None:
            raise ValueError(f"event {self.number} shows no clip of the project")
        zero = 0 if self.from_zero else self.clip.source_start
        start = (self.source.start - zero) % self.clip.timebase.day
        return FrameRange(start, start + len(self.source))

    @property
    def spare(self) -> tuple[int, int]:
        """Frames before its in and after its out that both its clip and its media have."""
        shown = self.shown
        assert self.clip is not None
        before, after = shown.start, self.clip.frames - shown.stop
        if self.media is not None:
            before = min(before, max(0, self.source.start - self.media.start))
            after = min(after, max(0, self.media.stop - self.source.stop))
        return before, after

    @property
    def offset(self) -> int:
        """Record frame at which frame 0 of its clip would lie."""
        return self.record.start - self.shown.start

    @property
    def at_own_speed(self) -> bool:
        """Whether its record and source frames go one by one."""
        return len(self.source) == len(self.record) and not self.fixed.startswith(OFF_SPEED)

    @property
    def untimed(self) -> bool:
        """Whether it is sound of which a list does not say what frames it takes."""
        return self.fixed == UNTIMED

    def in_transition(self, frames: FrameRange) -> bool:
        """Whether a transition at its head or tail covers any of these record frames."""
        record = self.record
        head = FrameRange(record.start, record.start + self.fade)
        tail = FrameRange(record.stop - self.fade_out, record.stop)
        return head.meets(frames) or tail.meets(frames)


@dataclass(frozen=True)
class Piece:
    """What is left of an event, or one part of it, and where it comes to lie.

    Parameters
    ----------
    event : SequenceEvent
        That it was made from.
    tracks : frozenset of str
        Some or all of the event's.
    source, record : FrameRange
        As for the event; ``source`` may begin below 0, which is before midnight.
    under : int or None
        Source frame that goes on where a transition follows, if that is not the one after its
        last: the out of its event, the frames before which were taken out.
    """

    event: SequenceEvent
    tracks: frozenset[str]
    source: FrameRange
    record: FrameRange
    under: int | None = None

    @property
    def shown(self) -> FrameRange:
        """The frames of its event's clip that it shows."""
        return self.source.shifted(self.event.shown.start - self.event.source.start)


def laid_pieces(
    event: SequenceEvent, tracks: frozenset[str], kept: Sequence[FrameRange], start: int
) -> Iterator[Piece]:
    """Runs of an event's source end to end, from record frame ``start`` on.

    The last knows what goes on under it.
    """
    out = event.source.stop
    for frames in kept:
        under = out if frames == kept[-1] and frames.stop < out else None
        yield Piece(event, tracks, frames, FrameRange(start, start + len(frames)), under)
        start += len(frames)


def ends_of(pieces: Iterable[Piece]) -> frozenset[tuple[str, int]]:
    """On which tracks something ends at which record frames."""
    return frozenset(
        (track, piece.record.stop) for piece in pieces if piece.record for track in piece.tracks
    )


def is_picture(track: str) -> bool:
    """Whether a track is one of picture."""
    return track.startswith("V")


def is_sound(track: str) -> bool:
    """Whether a track is one of sound."""
    return track.startswith("A")


def named_tracks(tracks: frozenset[str]) -> str:
    """Tracks with blanks between them, picture first."""
    return " ".join(sorted(tracks, key=_track_order))


def _track_order(track: str) -> tuple[bool, bool, int, str]:
    digits = "".join(char for char in track if char.isdigit())
    return (not is_picture(track), not is_sound(track), int(digits or 0), track)
