"""One take in several files: an original and its proxies show the same frames, one by one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from impactcut.core.grouping import grouped
from impactcut.core.takes.clip import Clip, ReelSource, TimecodeSource

TELL_APART: Final = (
    "put reel or start right in a shot log, join a proxy with 'impactcut same', or 'impactcut "
    "drop' one"
)
"""What to do about clips that are `mistakable`."""


@dataclass(frozen=True)
class Original:
    """A file that a measured one stands for: what lists say of it.

    Parameters
    ----------
    reel_source : {"file", "user", "name"}
    timecode_source : {"file", "user", "assumed"}
    """

    path: str
    name: str
    reel: str
    reel_source: ReelSource
    drop_frame: bool
    source_start: int
    timecode_source: TimecodeSource


def why_not_same(one: Clip, other: Clip) -> str:
    """Why two files cannot be one take, with both figures; empty where they can."""
    if one.rate != other.rate:
        return (
            f"{one.name} runs at {one.timebase} and {other.name} at {other.timebase} frames a "
            "second; if one of them is wrong, state it with 'impactcut scan FILE --rate'"
        )
    if one.frames != other.frames:
        return (
            f"{one.name} has {one.frames} frames and {other.name} {other.frames}, so they are "
            "two takes, or one of them is cut short: make the proxy of the whole original"
        )
    known = "assumed" not in (one.timecode_source, other.timecode_source)
    if known and (one.source_start, one.drop_frame) != (other.source_start, other.drop_frame):
        return (
            f"{one.name} starts at {one.begins} and {other.name} at {other.begins}, so they are "
            "two takes; if one of the timecodes is wrong, state it in a shot log"
        )
    return ""


def surely_same(one: Clip, other: Clip) -> bool:
    """Whether files say of themselves that they are one take: by reel and source timecode."""
    return (
        one.timecode_source == other.timecode_source == "file"
        and bool(take_names(one.reel, one.path) & take_names(other.reel, other.path))
        and not why_not_same(one, other)
    )


def mistakable(clips: Iterable[Clip]) -> Iterator[tuple[Clip, Clip]]:
    """Pairs of clips of one stated reel whose timecodes overlap: no list can tell them apart.

    The second of each is named once, with the one before it that lasts the longest; timecodes may
    run across midnight.
    """
    stated = [clip for clip in clips if clip.reel_source != "name"]
    alike = grouped(((clip.reel.casefold(), clip.timebase), clip) for clip in stated)
    for (_, timebase), group in alike.items():
        longest = max(group, key=_timecode_stop)
        reach = _timecode_stop(longest) - timebase.day
        for clip in sorted(group, key=lambda clip: (clip.source_start, clip.path)):
            if clip.source_start < reach:
                yield longest, clip
            if _timecode_stop(clip) > reach:
                longest, reach = clip, _timecode_stop(clip)


def _timecode_stop(clip: Clip) -> int:
    """Count of frames after a clip's last; beyond the day's where it runs across midnight."""
    return clip.source_start + clip.frames


def perhaps_same(clips: Iterable[Clip]) -> Iterator[tuple[Clip, Clip]]:
    """Pairs of clips that may be one take: alike but for their reel, which one of them lacks."""
    known = [clip for clip in clips if clip.timecode_source == "file"]
    alike = grouped(((clip.timebase, clip.source_start, clip.frames), clip) for clip in known)
    for first, *others in alike.values():
        for other in others:
            if "name" in (first.reel_source, other.reel_source):
                yield first, other


def take_names(reel: str, path: str) -> frozenset[str]:
    """What a file's take may be called: by its reel, or as copies without one, by its name."""
    name = path.replace("\\", "/").rpartition("/")[2]
    return frozenset((reel.casefold(), (name.rpartition(".")[0] or name).casefold()))


def standing_for(clip: Clip, original: Original) -> Clip:
    """A measured file as lists name it: by its original.

    A reel or timecode that only the measured file has, or the user states, stays.
    """
    named = original.reel_source == "file" or clip.reel_source == "name"
    counted = original.timecode_source != "assumed" or clip.timecode_source == "assumed"
    shown = replace(clip, name=original.name, original=original.path)
    if named:
        shown = replace(shown, reel=original.reel, reel_source=original.reel_source)
    if counted:
        shown = replace(
            shown,
            drop_frame=original.drop_frame,
            source_start=original.source_start,
            timecode_source=original.timecode_source,
        )
    return shown


def original_of(clip: Clip) -> Original:
    """A file as lists name it."""
    return Original(
        clip.path,
        clip.name,
        clip.reel,
        clip.reel_source,
        clip.drop_frame,
        clip.source_start,
        clip.timecode_source,
    )
