"""Writing finished files into a folder: all of them, or none."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from impactcut.errors import OutputError


def write_files(folder: Path, contents: Mapping[str, bytes], replace: bool) -> tuple[Path, ...]:
    """Write files beside their places, then put all of them into place.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    contents : mapping of str to bytes
        By file name.
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
    """
    targets = {folder / name: content for name, content in contents.items()}
    if not replace:
        _refuse_existing(list(targets))
    parts: dict[Path, Path] = {}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for target, content in targets.items():
            parts[target] = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
            _write(parts[target], content)
        for target, part in parts.items():
            part.replace(target)
    except OSError as error:
        raise OutputError(
            f"{folder}: cannot be written ({error.strerror}); "
            "check its permissions and the free space, or name another folder"
        ) from error
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
    return tuple(targets)


def _refuse_existing(targets: list[Path]) -> None:
    there = [target for target in targets if os.path.lexists(target)]
    if there:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        raise OutputError(
            f"{there[0]}{more}: already there; name another folder, or replace with --force"
        )


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
