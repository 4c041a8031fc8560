"""Files of a scan that hold the same take: the one that scans fastest is measured for all of them.

That is told by what they say of themselves: reel (or, as copies often lose it, file name), start
timecode, rate and number of frames. What says less of itself can be told with ``impactcut same``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from impactcut.core.arrays import FloatArray
from impactcut.core.motion.likeness import same_pictures
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.same_take import Original, surely_same, take_names
from impactcut.errors import MediaError, TimeError
from impactcut.project import Project, SameTake, StoredClip
from impactcut.workflow.files.fingerprint import missing
from impactcut.workflow.scan.clips_to_measure import Beside, Call, Work, say_take

if TYPE_CHECKING:
    from impactcut.media.probe.container import TakeStated


@dataclass(frozen=True)
class Pairing:
    """New files that need no measuring.

    Parameters
    ----------
    known : tuple of (StoredClip, Beside)
        Of takes that are measured.
    new : mapping of Path to tuple of Beside
        Of takes that will be, by the file that is to be measured.
    """

    known: tuple[tuple[StoredClip, Beside], ...] = ()
    new: Mapping[Path, tuple[Beside, ...]] = field(default_factory=dict)

    @property
    def spared(self) -> frozenset[Path]:
        """The files that need no measuring."""
        new = (each for group in self.new.values() for each in group)
        return frozenset(each.path for each in (*(beside for _, beside in self.known), *new))


def paired(
    files: Sequence[Work],
    clips: Iterable[StoredClip],
    apart: Collection[str],
    call: Call,
) -> Pairing:
    """Find the new files that hold the take of a clip, or of another new file.

    Parameters
    ----------
    files : sequence of Work
        New to the project.
    clips : iterable of StoredClip
        All of the project.
    apart : collection of str
        Files of which somebody said that they are takes of their own.
    call : callable
        Opens files.
    """
    there = [clip for clip in clips if _is_measured(clip)]
    lengths = [clip.own.frames for clip in there if clip.own is not None]
    lengths += [file.frames for file in files]
    open_ = [
        (file, stated)
        for file in files
        if file.frames and lengths.count(file.frames) > 1 and str(file.path) not in apart
        if (stated := _stated(file.path, call)) is not None
    ]
    known: list[tuple[StoredClip, Beside]] = []
    alike: dict[tuple[str, Fraction, int], list[tuple[Work, TakeStated]]] = {}
    for file, stated in open_:
        clip = next((clip for clip in there if _holds(clip, file, stated)), None)
        if clip is not None:
            known.append((clip, Beside(file.path, file.before, stated, _is_larger(clip, file))))
            continue
        key = (stated.label, stated.rate, stated.frames)
        alike.setdefault(key, []).append((file, stated))
    new = dict(_new_pairs(group for each in alike.values() for group in _by_name(each)))
    return Pairing(tuple(known), new)


def kept_beside(clip: StoredClip, beside: Beside) -> SameTake:
    """What the project keeps of a file whose take is measured as that clip."""
    original = None
    if beside.listed:
        assert clip.own is not None
        original = Original(
            str(beside.path),
            beside.path.name,
            beside.stated.reel,
            beside.stated.reel_source,
            clip.own.drop_frame,
            clip.own.source_start,
            "file",
        )
    return SameTake(str(beside.path), clip.id, beside.listed, beside.seen, original)


def again_elsewhere(
    clip: Clip, brightness: FloatArray, project: Project
) -> tuple[StoredClip, str] | None:
    """The clip whose file is gone and that a newly measured one shows again, and how it was told.

    None where there is none, or there are several.
    """
    gone = [
        stored
        for stored in project.clips()
        if stored.state == "done" and not stored.dropped and missing(Path(stored.path))
    ]
    by_word = [each for each in gone if each.own is not None and surely_same(clip, each.own)]
    if len(by_word) == 1:
        return by_word[0], "reel and timecode"
    by_sight = [each for each in gone if _looks_the_same(clip, brightness, each, project)]
    return (by_sight[0], "its pictures") if len(by_sight) == 1 else None


def _looks_the_same(
    clip: Clip, brightness: FloatArray, other: StoredClip, project: Project
) -> bool:
    if other.own is None or (clip.rate, clip.frames) != (other.own.rate, other.own.frames):
        return False
    known = project.brightness(other.id)
    return known is not None and same_pictures(brightness, known)


def _is_measured(clip: StoredClip) -> bool:
    return (
        clip.state == "done"
        and not clip.dropped
        and clip.own is not None
        and clip.own.timecode_source == "file"
        and not missing(Path(clip.path))
    )


def _stated(path: Path, call: Call) -> TakeStated | None:
    """What a file says of its take; None where that cannot be had, which measuring will tell of."""
    try:
        stated: TakeStated | None = call(path, say_take, (path,))
    except MediaError:
        return None
    return stated


def _holds(clip: StoredClip, file: Work, stated: TakeStated) -> bool:
    """Whether a clip is of the take of a file; a copy of it is a clip of its own."""
    own = clip.own
    assert own is not None
    if clip.fingerprint is not None and clip.fingerprint.digest == file.before.digest:
        return False
    try:
        start = own.timebase.frame(stated.label)
    except TimeError:
        return False
    here, there = take_names(stated.reel, str(file.path)), take_names(own.reel, own.path)
    return bool(here & there) and (stated.rate, stated.frames, start) == (
        own.rate,
        own.frames,
        own.source_start,
    )


def _is_larger(clip: StoredClip, file: Work) -> bool:
    """Whether a file is the original of a clip that has none; told by the bytes they have."""
    assert clip.own is not None and clip.fingerprint is not None
    return not clip.clip.original and file.before.size > clip.fingerprint.size


def _by_name(files: Iterable[tuple[Work, TakeStated]]) -> list[list[tuple[Work, TakeStated]]]:
    """Files that start alike, together where reel or file name are one."""
    groups: list[tuple[set[str], list[tuple[Work, TakeStated]]]] = []
    for file, stated in files:
        names = set(take_names(stated.reel, str(file.path)))
        members = [(file, stated)]
        for group in [each for each in groups if each[0] & names]:
            groups.remove(group)
            names |= group[0]
            members = [*group[1], *members]
        groups.append((names, members))
    return [members for _, members in groups]


def _new_pairs(
    groups: Iterable[list[tuple[Work, TakeStated]]],
) -> Iterator[tuple[Path, tuple[Beside, ...]]]:
    for group in groups:
        copies = {file.before.digest for file, _ in group}
        if len(group) < 2 or len(copies) < len(group):
            continue
        ordered = sorted(group, key=lambda each: (each[1].pixels, each[0].before.size))
        (measured, _), *others = ordered
        beside = [Beside(file.path, file.before, stated, False) for file, stated in others]
        beside[-1] = replace(beside[-1], listed=True)
        yield measured.path, tuple(beside)
