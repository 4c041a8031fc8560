"""Which files of the named files and folders may be media."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from impactcut.core.grouping import grouped
from impactcut.core.takes.names import natural_order
from impactcut.media.probe.signature import may_hold_pictures
from impactcut.workflow.files.refusals import Refusal

_PICTURE = """
.mov .mp4 .m4v .mxf .avi .mkv .webm .mts .m2ts .mpg .mpeg .m2v .vob .3gp .3g2 .dv
.wmv .asf .flv .f4v .ogv .gxf .lrv .insv
"""
_OTHER = """
.txt .md .rtf .pdf .doc .docx .xls .xlsx .csv .tsv .json .xml .html .htm .yaml .yml .toml
.ini .cfg .log .edl .ale .otio .fdl .aaf .srt .vtt .ass .cube .cdl .ccc .cc .lut .md5 .mhl
.sha1 .jpg .jpeg .png .gif .bmp .tif .tiff .dpx .exr .heic .webp .svg .psd .cr2 .cr3 .arw
.nef .dng .wav .bwf .mp3 .aif .aiff .aac .m4a .flac .ogg .opus .wma .db .sqlite .db-wal
.db-shm .db-journal .bak .zip .gz .tar .7z .rar .exe .dll .so .py .pyc .sh .bat .ini .lnk
.thm .bin
"""
_UNFINISHED = frozenset({".part", ".tmp"})
PICTURE_SUFFIXES = frozenset(_PICTURE.split())
OTHER_SUFFIXES = frozenset(_OTHER.split())


_FRAMES = frozenset([".dpx", ".exr", ".tif", ".tiff", ".png", ".tga", ".dng", ".jp2", ".j2c"])
_NUMBERED = re.compile(r"([^.].*?|)([0-9]+)(\.\w+)", re.ASCII | re.DOTALL)
_FEWEST_FRAMES = 24
"""Single pictures that are the frames of shots, and so many that they hardly are anything else;
engineering choice. Photographs are rarely kept in these forms."""


@dataclass(frozen=True)
class Candidate:
    """A file that may be media; ``expected`` where its name or the user says that it is."""

    path: Path
    expected: bool


@dataclass(frozen=True)
class Found:
    """Files to try, in natural order of their paths, and names that cannot be used.

    ``notes`` are about what may be footage, and is in no file of its own.
    """

    candidates: tuple[Candidate, ...]
    refusals: tuple[Refusal, ...]
    notes: tuple[str, ...] = ()


def find_media(paths: Sequence[Path], leave_out: Container[Path] = ()) -> Found:
    """Files named, and those in the folders named, at any depth.

    A file in a folder is a candidate unless its name begins with a dot or says that it is
    unfinished; where its name says that it is something else, its content decides. Links are
    followed; a file or folder reached twice counts once.

    Parameters
    ----------
    leave_out : container of Path
        Files that are not so much as opened.
    """
    candidates: dict[Path, Candidate] = {}
    refusals: list[Refusal] = []
    notes: dict[str, None] = {}
    for path in paths:
        for found in _below(path, leave_out):
            if isinstance(found, Refusal):
                refusals.append(found)
            elif isinstance(found, str):
                notes[found] = None
            elif found.path not in candidates or found.expected:
                candidates[found.path] = found
    ordered = sorted(candidates.values(), key=lambda candidate: natural_order(candidate.path))
    return Found(tuple(ordered), tuple(refusals), tuple(notes))


def _below(path: Path, leave_out: Container[Path]) -> Iterator[Candidate | Refusal | str]:
    try:
        real = path.resolve(strict=True)
    except (OSError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or "links that lead in a circle"
        yield _refusal(path, reason, "check the name, and that its disk is connected")
        return
    if real.is_dir():
        yield from _in_folder(real, leave_out)
    elif real in leave_out:
        yield _refusal(path, "it is the project file itself", "name a media file")
    elif not real.is_file():
        yield _refusal(path, "neither a file nor a folder", "name a media file")
    else:
        yield _candidate(real, expected=True)


def _in_folder(folder: Path, leave_out: Container[Path]) -> Iterator[Candidate | Refusal | str]:
    unread: list[OSError] = []
    seen: set[Path] = set()
    for place, folders, names in os.walk(folder, onerror=unread.append, followlinks=True):
        here = Path(place).resolve()
        if here in seen:
            folders.clear()
            continue
        seen.add(here)
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        yield from _files(_visible(here, names, leave_out))
        yield from _sequences(here, names)
    for error in unread:
        yield _refusal(Path(error.filename), str(error.strerror), "ask for permission to read it")


def _sequences(folder: Path, names: Iterable[str]) -> Iterator[str]:
    """Numbered single pictures without a gap, as the frames of a shot lie in a folder."""
    matches = filter(None, map(_NUMBERED.fullmatch, names))
    numbers = grouped(
        ((parts[1], parts[3]), int(parts[2])) for parts in matches if parts[3].casefold() in _FRAMES
    )
    for (head, suffix), found in numbers.items():
        if len(found) >= _FEWEST_FRAMES and max(found) - min(found) + 1 == len(found):
            yield (
                f"{folder}: {len(found)} single pictures {head}*{suffix} were not read; if they "
                "are the frames of a shot, make a film of them and scan that"
            )


def _files(paths: Iterable[Path | Refusal]) -> Iterator[Candidate | Refusal]:
    for path in paths:
        if isinstance(path, Refusal):
            yield path
            continue
        suffix = path.suffix.casefold()
        if suffix not in OTHER_SUFFIXES or may_hold_pictures(path):
            yield _candidate(path.resolve(), expected=suffix in PICTURE_SUFFIXES)


def _visible(
    folder: Path, names: Iterable[str], leave_out: Container[Path]
) -> Iterator[Path | Refusal]:
    for name in sorted(names):
        path = folder / name
        if name.startswith(".") or path.suffix.casefold() in _UNFINISHED:
            continue
        try:
            mode = path.stat().st_mode
        except OSError as error:
            yield from _out_of_reach(path, error)
            continue
        if stat.S_ISREG(mode) and path.resolve() not in leave_out:
            yield path


def _out_of_reach(path: Path, error: OSError) -> Iterator[Refusal]:
    """A name in a folder behind which nothing is found, if it may stand for footage."""
    suffix = path.suffix.casefold()
    if isinstance(error, FileNotFoundError):
        if path.is_symlink() and (not suffix or suffix in PICTURE_SUFFIXES):
            wrong = "is a link, and what it leads to is not there"
            yield _refusal(path, wrong, "connect the disk that it is on, or put the link right")
    elif suffix in PICTURE_SUFFIXES:
        reason = str(error.strerror)
        yield _refusal(path, reason, "check its permissions and where it leads")


def _candidate(path: Path, expected: bool) -> Candidate | Refusal:
    try:
        str(path).encode()
    except UnicodeEncodeError:
        return _refusal(path, "its name is not valid text in UTF-8", "rename it")
    return Candidate(path, expected)


def _refusal(path: Path, error: str, remedy: str) -> Refusal:
    return Refusal(os.fsencode(path).decode(errors="backslashreplace"), error, remedy)
