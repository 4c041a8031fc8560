"""A shot log: what somebody wrote down of takes, and which clips each line of it is about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.scale import Scale
from impactcut.errors import ListFormatError


@dataclass(frozen=True)
class ShotSaid:
    """What people say of a clip, in a log or by hand; None where they say nothing.

    Parameters
    ----------
    section, take, angle, slate : str or None
    circled : bool or None
        Whether the take was marked as one to use.
    scale : Scale or None
        How wide the picture is at the fighters.
    clock : bool or None
        Whether a clock or a counter is in the picture.
    """

    section: str | None = None
    take: str | None = None
    angle: str | None = None
    slate: str | None = None
    circled: bool | None = None
    scale: Scale | None = None
    clock: bool | None = None

    @property
    def known(self) -> dict[str, str | bool | Scale]:
        """What is said, by name, as `Clip` names it."""
        values = ((field.name, getattr(self, field.name)) for field in fields(self))
        return {name: value for name, value in values if value is not None}


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
    pairs : tuple of (Clip, LogRow)
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
    """A clip as somebody has it; what they leave open stays as it was."""
    known = said.known
    stays = said.clock is True
    return replace(clip, **known, clock_stays=stays) if known else clip  # type: ignore[arg-type]


def match_log(rows: Sequence[LogRow], clips: Iterable[Clip]) -> LogMatch:
    """Find the clips of each line.

    A line that names a clip is about that clip: its file name with or without suffix, the end of
    its path, or its reel. Any other line is about every clip of its slate and take, or where it
    has no slate, of its section and take; an angle must agree where both give one.

    Parameters
    ----------
    rows : sequence of LogRow
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
