"""Timelines in files: alone, or with their media in one bundle."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Callable
from copy import copy
from pathlib import Path
from typing import Final

from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.otio.library import opened_timeline
from impactcut.workflow.files.list_files import read_text

TIMELINE: Final = ".otio"
BUNDLE: Final = ".otioz"
ENDINGS: Final = (TIMELINE, BUNDLE)
LARGEST: Final = 500_000_000
"""Bytes of a timeline, engineering choice: some hundred thousand clips with their metadata."""
_CONTENT: Final = "content.otio"
"""Where a bundle has its timeline (OpenTimelineIO's documentation of file bundles)."""


def read_timeline_file(path: Path) -> str:
    """The JSON of the timeline in a file or bundle, by how its name ends.

    Raises
    ------
    ListFormatError
        If it cannot be read.
    """
    if path.suffix.lower() == BUNDLE:
        return _of_bundle(path)
    text, encoding = read_text(path, "a timeline", LARGEST)
    if encoding == "latin-1":
        raise ListFormatError(f"{path}: is not UTF-8, as JSON is; write the timeline anew")
    return text.removeprefix("\ufeff")


def _of_bundle(path: Path) -> str:
    try:
        with zipfile.ZipFile(path) as bundle:
            if bundle.getinfo(_CONTENT).file_size > LARGEST:
                raise ListFormatError(f"{path}: holds too large a timeline; is it one?")
            return bundle.read(_CONTENT).decode("utf-8", "surrogatepass").removeprefix("\ufeff")
    except OSError as error:
        raise ListFormatError(
            f"{path}: cannot be read ({error.strerror}); check its name and permissions"
        ) from error
    except (zipfile.BadZipFile, KeyError, RuntimeError, UnicodeError) as error:
        raise ListFormatError(
            f"{path}: is no bundle of a timeline and its media ({error}); write it anew, or give "
            "the timeline alone, as .otio"
        ) from error


def bundle_with(source: Path, text: str) -> Callable[[Path], None]:
    """What writes a bundle with another timeline and the same media, and reads it back."""
    return lambda path: _rewrite(source, text, path)


def _rewrite(source: Path, text: str, path: Path) -> None:
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(path, "w") as new:
        for entry in old.infolist():
            if entry.filename == _CONTENT:
                new.writestr(_CONTENT, text.encode("utf-8", "surrogatepass"), zipfile.ZIP_DEFLATED)
            else:
                with old.open(entry) as media, new.open(copy(entry), "w") as place:
                    shutil.copyfileobj(media, place)
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(path) as new:
        before, after = (
            {each.filename: (each.file_size, each.CRC) for each in bundle.infolist()}
            for bundle in (old, new)
        )
    seen = opened_timeline(_of_bundle(path))
    before[_CONTENT] = after[_CONTENT]
    if before != after or not seen.is_equivalent_to(opened_timeline(text)):
        raise ListMismatchError(
            f"{path.name}, read back, is not the timeline with its media; do not use it, and "
            "report this"
        )
