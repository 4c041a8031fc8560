"""One take in several files: an original and its proxies show the same frames, one by one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from impactcut.core.takes.clip import Clip, ReelSource, TimecodeSource


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
            f"{one.name} starts at {one.source_label(0)} and {other.name} at "
            f"{other.source_label(0)}, so they are two takes; if one of the timecodes is wrong, "
            "state it in a shot log"
        )
    return ""


def surely_same(one: Clip, other: Clip) -> bool:
    """Whether files say of themselves that they are one take: by reel and source timecode."""
    return (
        one.timecode_source == other.timecode_source == "file"
        and bool(take_names(one.reel, one.path) & take_names(other.reel, other.path))
        and not why_not_same(one, other)
    )


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
