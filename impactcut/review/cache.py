"""Pictures kept on disk from one run to the next, up to a size; the longest unused go first.

A file begins with a digest of the rest, so that a damaged or half-written one is made again.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

CACHE_VARIABLE: Final = "IMPACTCUT_CACHE"
MOST_BYTES: Final = 2_000_000_000
_DIGEST_BYTES: Final = 16


@dataclass(frozen=True)
class PictureCache:
    """A folder of pictures.

    Parameters
    ----------
    folder : Path
        Made when it is first needed.
    most_bytes : int
        Above this, the files that were not used for longest are removed.
    """

    folder: Path
    most_bytes: int = MOST_BYTES

    def get(self, name: str, make: Callable[[], bytes]) -> bytes:
        """What is kept under ``name``, made and kept first if it is not there.

        A cache that cannot be written does without: the pictures come, only slower.

        Parameters
        ----------
        name : str
            Everything that the bytes depend on.
        """
        kept = self.find(name)
        if kept is not None:
            return kept
        made = make()
        with suppress(OSError):
            self._write(self._path(name), made)
            self._prune()
        return made

    def find(self, name: str) -> bytes | None:
        """What is kept under ``name``, if it is there and whole."""
        path = self._path(name)
        try:
            data = path.read_bytes()
            os.utime(path)
        except OSError:
            return None
        content = data[_DIGEST_BYTES:]
        return content if data[:_DIGEST_BYTES] == _digest(content) else None

    def _path(self, name: str) -> Path:
        return self.folder / hashlib.blake2b(name.encode(), digest_size=20).hexdigest()

    def _write(self, path: Path, content: bytes) -> None:
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        part = path.with_name(f"{path.name}.{secrets.token_hex(4)}.part")
        try:
            part.write_bytes(_digest(content) + content)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)

    def _prune(self) -> None:
        files = self._files()
        total = sum(status.st_size for status, _ in files)
        for status, path in sorted(files, key=lambda file: file[0].st_mtime_ns):
            if total <= self.most_bytes:
                return
            path.unlink(missing_ok=True)
            total -= status.st_size

    def _files(self) -> list[tuple[os.stat_result, Path]]:
        files = []
        for path in self.folder.iterdir():
            with suppress(FileNotFoundError):  # another request has put it in place, or pruned it
                files.append((path.stat(), path))
        return files


def cache_folder() -> Path:
    """Where this platform keeps what can be made again, or ``IMPACTCUT_CACHE``."""
    named = os.environ.get(CACHE_VARIABLE)
    if named:
        return Path(named)
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "impactcut"


def _digest(content: bytes) -> bytes:
    return hashlib.blake2b(content, digest_size=_DIGEST_BYTES).digest()
