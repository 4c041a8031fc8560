"""Where other machines see the media, and what they say of it in the names that it has here."""

from __future__ import annotations

import re
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath, PureWindowsPath

from impactcut.errors import MappingError, MediaError
from impactcut.workflow.scan.analyse import ClipAnalysis
from impactcut.workflow.scan.clips_to_measure import Work

_MAPPING = re.compile(r"(?P<here>.+?)=(?P<there>/.*|[A-Za-z]:[\\/].*|\\\\.+)", re.DOTALL)


@dataclass(frozen=True)
class Mount:
    """A folder here, and the absolute name that workers have for it.

    Parameters
    ----------
    here : Path
        Absolute, without links.
    """

    here: Path
    there: PurePosixPath | PureWindowsPath


def read_mounts(texts: Sequence[str]) -> tuple[Mount, ...]:
    """The mounts that texts ``HERE=THERE`` say.

    Raises
    ------
    MappingError
        If one says none, or two contradict each other.
    """
    mounts: dict[Path, Mount] = {}
    for text in texts:
        mount = _read_mount(text)
        if mounts.setdefault(mount.here, mount) != mount:
            raise MappingError(
                f"--map {text}: {mount.here} is mapped to {mounts[mount.here].there} already; "
                "map each folder once"
            )
    return tuple(mounts.values())


def seen_there(path: Path, mounts: Sequence[Mount]) -> str:
    """Name that workers have for a file; that of the innermost mount that holds it counts."""
    holding = [mount for mount in mounts if path.is_relative_to(mount.here)]
    if not holding:
        return str(path)
    mount = max(holding, key=lambda mount: len(mount.here.parts))
    return str(mount.there.joinpath(*path.relative_to(mount.here).parts))


def analysis_seen_here(
    mounts: Sequence[Mount], work: Work, future: Future[ClipAnalysis]
) -> ClipAnalysis:
    """What a future brings from a worker: an analysis that says where its clip is here."""
    analysis = future.result()
    here, there = str(work.path), seen_there(work.path, mounts)
    warnings = tuple(text.replace(there, here) for text in analysis.clip.warnings)
    return replace(analysis, clip=replace(analysis.clip, path=here, warnings=warnings))


def error_seen_here(error: Exception, here: str, there: str) -> Exception:
    """An error from a worker that names its clip as it is known here; its notes are kept."""
    if not isinstance(error, MediaError) or there == here:
        return error
    told = type(error)(str(error).replace(f"{there}: ", f"{here}: "))
    for note in getattr(error, "__notes__", ()):
        told.add_note(note)
    return told


def _read_mount(text: str) -> Mount:
    said = _MAPPING.fullmatch(text)
    if said is None:
        raise MappingError(
            f"--map {text}: names no folder here and absolute folder there; "
            "say --map /Volumes/A=/mnt/a"
        )
    try:
        here = Path(said["here"]).resolve(strict=True)
    except OSError as error:
        raise MappingError(
            f"--map {text}: {said['here']} is no folder here ({error.strerror}); "
            "check its name, and that its disk is connected"
        ) from error
    if not here.is_dir():
        raise MappingError(f"--map {text}: {said['here']} is a file; name the folder it is in")
    posix = said["there"].startswith("/")
    return Mount(here, PurePosixPath(said["there"]) if posix else PureWindowsPath(said["there"]))
