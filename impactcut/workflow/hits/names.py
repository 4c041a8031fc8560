"""What clips and hits are called, and which are meant by what somebody types."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import clip_name, is_label, label_key, name_clips, natural_order
from impactcut.errors import UnknownHitError, UnknownNameError
from impactcut.project import Project, StoredClip, StoredHit
from impactcut.workflow.hits.hit_filter import ALL_HITS, names_clip

_RANGE = re.compile(r"(.+)\.(\d+[a-z]*)-(?:(.+)\.)?(\d+[a-z]*)", re.IGNORECASE | re.ASCII)


def names_of_clips(project: Project) -> dict[int, str]:
    """What every clip is called, by number; those that have no name yet as they will be called."""
    clips = [stored for stored in project.clips() if stored.own is not None]
    clips.sort(key=lambda stored: natural_order(stored.path))
    wanted = {stored.id: clip_name(stored.clip) for stored in clips}
    stands = {stored.id: stored.called for stored in clips}
    return name_clips(wanted, stands, project.clip_names())


def keep_names(project: Project) -> None:
    """Have clips keep what they are called now, as their shots are known."""
    stands = {stored.id: stored.called for stored in project.clips()}
    names = names_of_clips(project).items()
    project.call_clips({number: name for number, name in names if stands[number] != name})


def hit_name(clip: str, hit: StoredHit) -> str:
    """What a hit of a clip of that name is called; by its number where it has no place."""
    return f"{clip}.{hit.label}" if hit.label else str(hit.id)


@dataclass(frozen=True)
class Meant:
    """What somebody means: hits by number; ``whole`` where they named a clip, for all it has."""

    hits: tuple[int, ...]
    whole: bool = False


class Names:
    """The names of a project, to look up in.

    Parameters
    ----------
    dropped : bool
        Look up clips that were taken out, and no others.
    """

    def __init__(self, project: Project, dropped: bool = False) -> None:
        self.project, self.dropped = project, dropped
        self.clips = names_of_clips(project)

    def of(self, hit_id: int) -> str:
        """What a hit is called; its number where it is not there."""
        return self._called.get(hit_id, str(hit_id))

    def one(self, text: str) -> int:
        """The number of the one hit that is meant.

        Raises
        ------
        UnknownHitError
            If no hit is called that, or several are meant.
        """
        meant = self.meant(text)
        if meant.whole or len(meant.hits) != 1:
            example = self.of(meant.hits[0]) if meant.hits else "those of 'impactcut hits'"
            raise UnknownHitError(f"{text}: name one hit of it, such as {example}")
        return meant.hits[0]

    def clip(self, text: str) -> StoredClip:
        """The clip of that name, path or file name.

        Raises
        ------
        UnknownNameError
            If no clip is called that, or several are.
        """
        found = self._clips(text)
        if len(found) == 1:
            return found[0]
        if found:
            named = ", ".join(f"{self.clips[stored.id]} ({stored.path})" for stored in found)
            raise UnknownNameError(f"{text}: there are several: {named}; name one of them")
        raise UnknownNameError(
            f"{text}: no measured clip of the project; 'impactcut scan' takes it in"
        )

    def any_file(self, text: str) -> StoredClip:
        """As `clip`, or else the one file of that path or name that could not be measured.

        Raises
        ------
        UnknownNameError
            As of `clip`.
        """
        failed = [
            stored
            for stored in self._stored.values()
            if stored.own is None
            and (text == Path(stored.path).name or Path(text).absolute() == Path(stored.path))
        ]
        return failed[0] if len(failed) == 1 else self.clip(text)

    def file(self, path: Path) -> Path:
        """The file of the clip that is called so; anything else as it is."""
        stored = self._stored.get(self._ever.get(str(path).lower(), 0))
        return path if stored is None or path.exists() else Path(stored.path)

    def meant(self, text: str) -> Meant:
        """What is meant by a hit's name or number, a range of names, or a clip.

        Of a range or a clip only the hits that are listed are meant.

        Raises
        ------
        UnknownHitError
            If nothing is called that.
        """
        if text.isascii() and text.isdecimal():
            return Meant((self._numbered(int(text)),))
        if found := self._clips(text):
            inside = (hit for stored in found for hit in self._hits.get(stored.id, ()))
            return Meant(tuple(hit.id for hit in inside if ALL_HITS.sure_enough(hit)), whole=True)
        if match := _RANGE.fullmatch(text):
            return self._range(text, match)
        clip, _, label = text.rpartition(".")
        hits = [hit for hit in self._labelled(clip) if hit.label == label.lower()]
        if not hits:
            raise self._unknown(text)
        return Meant(tuple(hit.id for hit in hits))

    def _range(self, text: str, match: re.Match[str]) -> Meant:
        clip, first, other, last = match.groups()
        if other is not None and self._clips(other) != self._clips(clip):
            raise UnknownHitError(f"{text}: a range lies in one clip; name two ranges")
        from_, to = label_key(first.lower()), label_key(last.lower())
        hits = [
            hit
            for hit in self._labelled(clip)
            if from_ <= label_key(hit.label) <= to and ALL_HITS.sure_enough(hit)
        ]
        if not hits:
            raise self._unknown(text)
        return Meant(tuple(hit.id for hit in hits))

    def _numbered(self, number: int) -> int:
        """The number itself, if it is a hit's."""
        hit = self.project.hit(number) if number < 2**63 else None
        if hit is None or hit.clip_id not in self._stored:
            raise self._unknown(str(number))
        return hit.id

    def _labelled(self, clip: str) -> list[StoredHit]:
        hits = (hit for stored in self._clips(clip) for hit in self._hits.get(stored.id, ()))
        return [hit for hit in hits if is_label(hit.label)]

    def _clips(self, text: str) -> list[StoredClip]:
        """The clips of that name, now or once, or else of that path, file name or folder."""
        number = self._ever.get(text.lower())
        if number is not None:
            return [self._stored[number]] if number in self._stored else []
        return [
            stored
            for stored in self._stored.values()
            if stored.own is not None
            and (names_clip(Path(text), stored.clip) or _is_stem(text, stored.clip))
        ]

    @cached_property
    def _stored(self) -> Mapping[int, StoredClip]:
        clips = sorted(self.project.clips(), key=lambda stored: natural_order(stored.path))
        return {stored.id: stored for stored in clips if stored.dropped is self.dropped}

    @cached_property
    def _ever(self) -> Mapping[str, int]:
        now = {name.lower(): number for number, name in self.clips.items()}
        return now | self.project.clip_names()

    @cached_property
    def _hits(self) -> Mapping[int, tuple[StoredHit, ...]]:
        return self.project.all_hits()

    @cached_property
    def _called(self) -> Mapping[int, str]:
        return {
            hit.id: hit_name(self.clips.get(clip_id, ""), hit)
            for clip_id, hits in self._hits.items()
            for hit in hits
        }

    def _unknown(self, text: str) -> UnknownHitError:
        return UnknownHitError(
            f"{self.project.path}: there is no hit {text}; 'impactcut hits' lists those there are"
        )


def _is_stem(text: str, clip: Clip) -> bool:
    return any(Path(name).stem == text for name in clip.file_names)


def names_of(project: Project, hit_ids: Iterable[int]) -> tuple[str, ...]:
    """What hits are called, in their order."""
    names = Names(project)
    return tuple(names.of(hit_id) for hit_id in hit_ids)
