"""Writing finished files into a folder: none gets its place before all are written in full."""

from __future__ import annotations

import os
import re
import secrets
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from glob import escape
from pathlib import Path

from impactcut.core.time.timebase import Timebase
from impactcut.errors import ImpactcutError, OutputError
from impactcut.media.probe.signature import may_hold_pictures
from impactcut.project import is_project
from impactcut.workflow.files.refusals import Refusal

_STALE_SECONDS = 3600.0
"""Unfinished files that nobody has written to for so long were left by a process that was killed;
engineering choice."""

Content = bytes | Callable[[Path], None]
"""What a file holds, or what writes it to the path given."""


@dataclass(frozen=True)
class Made:
    """Files of one kind, by name, what was left out of them, and what should be known of them.

    A callable among the files may add to ``left_out`` while it writes.
    """

    files: Mapping[str, Content]
    left_out: list[Refusal] = field(default_factory=list)
    notes: tuple[str, ...] = ()


def file_name(text: str) -> str:
    """Text as part of a file name that every system takes."""
    return re.sub(r"[^\w.-]+", "_", text).strip("._") or "clips"


def named_parts(name: str, parts: Sequence[str]) -> dict[str, str]:
    """Texts by file name: ``name`` for a single one, else a number behind its stem."""
    if len(parts) == 1:
        return {name: parts[0]}
    path = Path(name)
    return {f"{path.stem}_{n}{path.suffix}": part for n, part in enumerate(parts, 1)}


def rate_name(timebase: Timebase) -> str:
    """A rate as part of a file name."""
    return str(timebase).replace(" drop-frame", "df").replace("/", "-")


def write_files(folder: Path, contents: Mapping[str, Content], replace: bool) -> tuple[Path, ...]:
    """Write files beside their places, then put all of them into place.

    A process that is killed meanwhile leaves no half file under any of the names, but while files
    are put into place, one after the other, it may leave some new ones beside others that are old
    or missing. What it leaves under hidden names is cleared away by a later call for the same
    files.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    contents : mapping of str to bytes or callable
        By file name; a callable writes the file itself, to the path that it is called with.
    replace : bool
        Put them in place of files that are there; otherwise such a file stops everything.

    Returns
    -------
    tuple of Path
        The files, in the order given.

    Raises
    ------
    OutputError
        If a file is there already, or the folder cannot be written.
    ImpactcutError
        Whatever a callable raises.
    """
    targets = {folder / name: content for name, content in contents.items()}
    check_places(list(targets), replace)
    parts: dict[Path, Path] = {}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _clear_away(targets)
        for target, content in targets.items():
            parts[target] = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
            _write(parts[target], content)
        for target, part in parts.items():
            part.replace(target)
    except ImpactcutError:
        raise
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be written ({error.strerror}); "
            "check its permissions and the free space, or name another folder"
        ) from error
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
    return tuple(targets)


def check_places(targets: Sequence[Path], replace: bool) -> None:
    """Refuse places that cannot be written, before any work is put into what is to go there.

    Footage and projects are never replaced.

    Raises
    ------
    OutputError
        If one is a folder, or is there already and ``replace`` is not given, or its folder can
        neither be written nor made.
    """
    there = [target for target in targets if os.path.lexists(target)]
    if there and not replace:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        raise OutputError(
            f"{there[0]}{more}: already there; write elsewhere, or replace with --force"
        )
    for target in there:
        if target.is_file() and (what := _kept_from_us(target)):
            raise OutputError(f"{target}: is {what}, which is never replaced; write elsewhere")
    for target in targets:
        if target.is_dir():
            raise OutputError(f"{target}: is a folder; name a file")
        found = next(folder for folder in target.absolute().parents if folder.exists())
        if not found.is_dir() or not os.access(found, os.W_OK | os.X_OK):
            raise OutputError(
                f"{target}: cannot be written, as {found} takes no files; check its permissions, "
                "or name another folder"
            )


def _kept_from_us(path: Path) -> str:
    """What a file is that nobody can make again; empty where it is no such thing."""
    if is_project(path):  # first, for opening it would drop the locks on it
        return "a project"
    if not may_hold_pictures(path):
        return ""
    from impactcut.media.decode.own_films import is_own  # loads what opens media

    return "" if is_own(path) else "a film that impactcut did not make"


def _clear_away(targets: Iterable[Path]) -> None:
    for target in targets:
        for part in target.parent.glob(f".{escape(target.name)}.*.part"):
            with suppress(OSError):  # gone meanwhile, or somebody else's: it does no harm
                if time.time() - part.stat().st_mtime > _STALE_SECONDS:
                    part.unlink()


def _write(path: Path, content: Content) -> None:
    with path.open("xb") as file:
        if isinstance(content, bytes):
            file.write(content)
        else:
            content(path)
        file.flush()
        os.fsync(file.fileno())
