"""A timeline and its media in one file, as the core package of OpenTimelineIO bundles them."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from impactcut.core.programme.cutlist import CutList
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.otio.library import opened_timeline

ADAPTER = "otioz"


def bundle_writer(text: str, cut: CutList) -> Callable[[Path], None]:
    """What writes the bundle of a timeline to a path, and reads it back.

    Parameters
    ----------
    text : str
        As `impactcut.lists.otio.write.render_otio` gives it.
    cut : CutList
        Of the timeline.

    Raises
    ------
    ListFormatError
        If OpenTimelineIO is not installed, a file is not there, or two have one name.
    """
    paths = [Path(clip.listed) for clip in cut.clips]
    missing = [path for path in paths if not path.is_file()]
    if missing:
        raise ListFormatError(f"{missing[0]} is not there, and a bundle holds all media; bring it")
    if len({path.name for path in paths}) < len(paths):
        raise ListFormatError("two files have one name, and a bundle has one folder; rename one")
    opened_timeline(text)
    return lambda path: _write(text, paths, path)


def _write(text: str, media: list[Path], path: Path) -> None:
    import opentimelineio as otio

    beside = path.with_name(f"{path.name}.part")  # the package refuses a name that is taken
    try:
        otio.adapters.write_to_file(opened_timeline(text), str(beside), ADAPTER)
        _check(beside, text, media)
        beside.replace(path)
    except otio.exceptions.OTIOError as error:
        raise ListFormatError(f"the bundle cannot be written: {error}") from error
    finally:
        beside.unlink(missing_ok=True)


def _check(bundle: Path, text: str, media: list[Path]) -> None:
    """Read a bundle back: the same timeline but for addresses, and all media, whole."""
    import opentimelineio as otio

    seen = otio.adapters.read_from_file(str(bundle), ADAPTER)
    wanted = opened_timeline(text)
    with zipfile.ZipFile(bundle) as archive:
        sizes = {Path(each.filename).name: each.file_size for each in archive.infolist()}
    whole = all(sizes.get(path.name) == path.stat().st_size for path in media)
    if not whole or _clips(seen) != _clips(wanted):
        raise ListMismatchError(
            "the bundle, read back, is not the timeline with its media; do not use it, and report "
            "this"
        )


def _clips(timeline: Any) -> list[tuple[str, Any, str]]:
    """Track, range and file name of every clip."""
    return [
        (clip.parent().name, clip.source_range, _file_name(clip.media_reference.target_url))
        for clip in timeline.find_clips()
    ]


def _file_name(url: str) -> str:
    return Path(unquote(urlsplit(url).path)).name
