"""A shot log: what somebody wrote down of takes, and which clips each line of it is about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from impactcut.core.takes.clip import ASSUMED_START, Clip
from impactcut.core.takes.scale import Scale
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, TimeError

AS_FILED: Final = "file"
"""Said as reel, start or rate: what the file says, whatever was said before."""


@dataclass(frozen=True)
class ShotSaid:
    """What people say of a clip, in a log or by hand; None where they say nothing.

    Parameters
    ----------
    circled : bool or None
        Whether the take was marked as one to use.
    scale : Scale or None
        How wide the picture is at the fighters.
    clock : bool or None
        Whether a clock or a counter is in the picture.
    reel, start, rate : str or None
        Source name; timecode of the first frame; frame rate as `parse_timebase` reads it, which
        the clip has from the next scan on. `AS_FILED` takes back what was said before.
    """

    section: str | None = None
    take: str | None = None
    angle: str | None = None
    slate: str | None = None
    circled: bool | None = None
    scale: Scale | None = None
    clock: bool | None = None
    reel: str | None = None
    start: str | None = None
    rate: str | None = None

    @property
    def known(self) -> dict[str, str | bool | Scale]:
        """What is said, by name."""
        return {name: each for name, each in vars(self).items() if each not in (None, AS_FILED)}

    def merged(self, later: ShotSaid) -> ShotSaid:
        """What is said once somebody has said more."""
        said = {name: each for name, each in vars(later).items() if each is not None}
        return replace(self, **said)


@dataclass(frozen=True)
class LogRow:
    """A line of a log: its number in the file, the clip that it names if any, and what it says."""

    line: int
    clip: str
    said: ShotSaid


@dataclass(frozen=True)
class LogMatch:
    """Which line is about which clip.

    Parameters
    ----------
    unmatched_rows : tuple of LogRow
        About no clip.
    ambiguous_rows : tuple of LogRow
        They name a clip by a name that several have.
    unmatched_clips : tuple of Clip
        About which there is no line.
    """

    pairs: tuple[tuple[Clip, LogRow], ...]
    unmatched_rows: tuple[LogRow, ...]
    ambiguous_rows: tuple[LogRow, ...]
    unmatched_clips: tuple[Clip, ...]


def with_said(clip: Clip, said: ShotSaid) -> Clip:
    """A clip as somebody has it; what they leave open stays as it was, and so does the rate.

    A start that does not exist at the clip's rate is not taken, and the clip's warnings say so.
    """
    known: dict[str, Any] = said.known
    if not known:
        return clip
    start, reel = known.pop("start", None), known.pop("reel", None)
    known.pop("rate", None)
    clip = replace(clip, **known, clock_stays=said.clock is True)
    if reel is not None:
        clip = replace(clip, reel=reel, reel_source="user")
    if start is None:
        return clip
    try:
        return starting(clip, start)
    except TimeError as error:
        warning = f"the start that was stated is not taken: {error}"
        return replace(clip, warnings=(*clip.warnings, warning))


def starting(clip: Clip, label: str) -> Clip:
    """A clip whose first frame has that timecode; drop-frame where it is marked so.

    Raises
    ------
    TimeError
        If there is no such timecode at the clip's rate.
    """
    timebase = Timebase(clip.rate, label[-3:-2] in (";", ","))
    return replace(
        clip,
        drop_frame=timebase.drop_frame,
        source_start=timebase.frame(label),
        timecode_source="user",
        warnings=tuple(each for each in clip.warnings if not each.endswith(ASSUMED_START)),
    )


def match_log(rows: Sequence[LogRow], clips: Iterable[Clip]) -> LogMatch:
    """Find the clips of each line.

    A line that names a clip is about that clip: its file name with or without suffix, the end of
    its path, or its reel. Any other line is about every clip of its slate and take, or where it
    has no slate, of its section and take; an angle must agree where both give one.

    Parameters
    ----------
    clips : iterable of Clip
        With what their names say.

    Raises
    ------
    ListFormatError
        If two lines say different things of one clip.
    """
    clips = tuple(clips)
    by_clip: dict[str, LogRow] = {}
    unmatched, ambiguous = [], []
    for row in rows:
        found = [clip for clip in clips if _is_about(row, clip)]
        if not found:
            unmatched.append(row)
        elif row.clip and len(found) > 1:
            ambiguous.append(row)
        else:
            for clip in found:
                _keep(by_clip, clip, row)
    return LogMatch(
        pairs=tuple((clip, by_clip[clip.path]) for clip in clips if clip.path in by_clip),
        unmatched_rows=tuple(unmatched),
        ambiguous_rows=tuple(ambiguous),
        unmatched_clips=tuple(clip for clip in clips if clip.path not in by_clip),
    )


def _keep(by_clip: dict[str, LogRow], clip: Clip, row: LogRow) -> None:
    earlier = by_clip.setdefault(clip.path, row)
    if earlier.said != row.said:
        raise ListFormatError(
            f"lines {earlier.line} and {row.line} say different things of {clip.name}; "
            "take one of them out, or name the clips in a column 'clip'"
        )


def _is_about(row: LogRow, clip: Clip) -> bool:
    if row.clip:
        return _names(row.clip, clip)
    said = row.said
    if said.slate is not None:
        same = _same(said.slate, clip.slate)
    else:
        same = _same(said.section, clip.section)
    angle = said.angle is None or not clip.angle or _same(said.angle, clip.angle)
    return same and _same(said.take, clip.take) and angle


def _names(name: str, clip: Clip) -> bool:
    wanted = name.replace("\\", "/").casefold()
    wholes: list[str] = []
    for each in {clip.path, clip.listed}:
        path = each.replace("\\", "/").casefold()
        folder, slash, file = path.rpartition("/")
        wholes += (path, folder + slash + (file.rpartition(".")[0] or file))
    ends = any(whole == wanted or whole.endswith(f"/{wanted}") for whole in wholes)
    return ends or wanted == clip.reel.casefold()


def _same(said: str | None, has: str) -> bool:
    return said is not None and bool(has) and said.casefold() == has.casefold()
