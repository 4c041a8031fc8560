"""Telling whether a file is still the one that was measured."""

from __future__ import annotations

import hashlib
from pathlib import Path

from impactcut.errors import UnreadableMediaError
from impactcut.project import Fingerprint, StoredClip

PART_BYTES = 1 << 20


def fingerprint(path: Path) -> Fingerprint:
    """Size, time of change, and a digest of the size and the file's head, middle and tail.

    The digest (BLAKE2b, 16 bytes) reads at most three times `PART_BYTES`, so that hundreds of
    large files are compared in seconds; a change that spares all three parts and the size is
    told by the time of change only.

    Raises
    ------
    UnreadableMediaError
        If the file cannot be read.
    """
    try:
        status = path.stat()
        digest = hashlib.blake2b(str(status.st_size).encode(), digest_size=16)
        with path.open("rb") as file:
            for start in _starts(status.st_size):
                file.seek(start)
                digest.update(file.read(PART_BYTES))
    except OSError as error:
        raise UnreadableMediaError(
            f"{path}: cannot be read ({error.strerror}); "
            "check its permissions and that its disk is connected"
        ) from error
    return Fingerprint(status.st_size, status.st_mtime_ns, digest.hexdigest())


def untouched(path: Path, known: Fingerprint) -> bool:
    """Whether size and time of change are still those known, without reading the file."""
    try:
        status = path.stat()
    except OSError:
        return False
    return (status.st_size, status.st_mtime_ns) == (known.size, known.mtime_ns)


def unchanged(path: Path, known: Fingerprint) -> bool:
    """Whether a file still holds what is known; it is read only where it may have been touched.

    Raises
    ------
    UnreadableMediaError
        If it has to be read and cannot be.
    """
    return untouched(path, known) or fingerprint(path).digest == known.digest


def as_measured(path: Path, clip: StoredClip) -> bool:
    """Whether a file holds what its clip was measured on, as far as is known.

    Raises
    ------
    UnreadableMediaError
        If it has to be read and cannot be.
    """
    if clip.fingerprint is None:
        return True
    return clip.fingerprint.digest == clip.measured and unchanged(path, clip.fingerprint)


def missing(path: Path) -> bool:
    """Whether there is surely no such file; False also where that cannot be told."""
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except OSError:
        return False
    return False


def _starts(size: int) -> list[int]:
    return sorted({0, max(0, (size - PART_BYTES) // 2), max(0, size - PART_BYTES)})
