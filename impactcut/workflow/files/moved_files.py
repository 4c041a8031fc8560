"""Recognising files that were moved or renamed, by their content.

A clip has moved when its content is no longer at its path and is found at another. Where the
content is still at its path as well, the other file is a copy, and a clip of its own. A copy makes
room for its original once that is gone, unless somebody has said something of the copy: so what was
decided on a card goes over to the disk that the card was copied to.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path

from impactcut.core.grouping import grouped
from impactcut.errors import MediaError
from impactcut.project import StoredClip
from impactcut.workflow.files.fingerprint import missing, unchanged


def moved_clips(
    known: Mapping[str, StoredClip], found: Mapping[str, str], spoken_of: Collection[int]
) -> dict[int, str]:
    """New paths of measured clips whose files now lie elsewhere, by number.

    Files that have changed names among themselves are told apart too. A clip stays where it was
    if another that was measured is in its way.

    Parameters
    ----------
    known : mapping of str to StoredClip
        Every clip, by path.
    found : mapping of str to str
        Digests of the files of this scan, by path.
    spoken_of : collection of int
        Clips of which people have said or decided something, by number.
    """
    measured = [(clip, clip.fingerprint) for clip in known.values() if clip.own]
    alike = grouped((seen.digest, clip) for clip, seen in measured if seen)
    moves: dict[int, str] = {}
    for path, digest in found.items():
        here = known.get(path)
        if not _makes_room(here, digest, spoken_of):
            continue
        others = [
            clip for clip in alike.get(digest, ()) if clip is not here and clip.id not in moves
        ]
        away = [clip for clip in others if not _is_there(clip, found)]
        if away:
            moves[_likeliest(away, path).id] = path
    return _without_blocked(moves, known)


def gone_failures(known: Iterable[StoredClip], folders: Iterable[Path]) -> tuple[int, ...]:
    """Files that were never measured and are gone from folders that are there, by number."""
    there = [folder.resolve() for folder in folders if folder.is_dir()]
    return tuple(
        clip.id
        for clip in known
        if clip.own is None
        and any(Path(clip.path).is_relative_to(folder) for folder in there)
        and missing(Path(clip.path))
    )


def _makes_room(here: StoredClip | None, digest: str, spoken_of: Collection[int]) -> bool:
    """Whether what is known of a path may give way; a clip of other content may be moving too."""
    same = here is not None and here.fingerprint is not None and here.fingerprint.digest == digest
    return here is None or here.id not in spoken_of or (here.own is not None and not same)


def _is_there(clip: StoredClip, found: Mapping[str, str]) -> bool:
    """Whether the content of a clip is still at its path, as far as that can be told."""
    assert clip.fingerprint is not None
    if clip.path in found:
        return found[clip.path] == clip.fingerprint.digest
    path = Path(clip.path)
    if missing(path):
        return False
    try:
        return unchanged(path, clip.fingerprint)
    except MediaError:
        return True


def _likeliest(away: Sequence[StoredClip], path: str) -> StoredClip:
    """Of several copies that are gone, the one of the same file name, or else the first."""
    name = Path(path).name
    return next((clip for clip in away if Path(clip.path).name == name), away[0])


def _without_blocked(moves: dict[int, str], known: Mapping[str, StoredClip]) -> dict[int, str]:
    """Moves onto paths that are free, are left by another move, or hold the same content."""
    digests = {clip.id: clip.fingerprint.digest for clip in known.values() if clip.fingerprint}
    while True:
        free = {
            number: path
            for number, path in moves.items()
            if (here := known.get(path)) is None
            or here.own is None
            or here.id in moves
            or digests.get(here.id) == digests[number]
        }
        if len(free) == len(moves):
            return moves
        moves = free
