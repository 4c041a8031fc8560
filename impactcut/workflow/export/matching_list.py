"""Which clips of the project the events of somebody's EDL show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

from impactcut.core.recut.reel_match import Match, match_events
from impactcut.core.takes.clip import Clip
from impactcut.errors import ListFormatError
from impactcut.lists.edl.sequence import list_names, read_reel_map, sequence_of
from impactcut.workflow.files.list_files import ListFile, blaming, read_text
from impactcut.workflow.hits.hit_filter import names_clip

LARGEST_REEL_MAP: Final = 10_000_000
"""Bytes, engineering choice: some hundred thousand reels."""


def matched_list(listed: ListFile, clips: Sequence[Clip], reels: Path | None) -> tuple[Match, ...]:
    """The events of a list with their clips, by their names and by the user's map of reels.

    Raises
    ------
    ListFormatError
        Naming the file, if the events do not make a sequence, or the map cannot be read or names
        what is no clip of the project.
    """
    with blaming(listed.path):
        events = sequence_of(listed.document)
    given = given_clips(reels, clips)
    return match_events(events, list_names(clips), given)


def given_clips(path: Path | None, clips: Iterable[Clip]) -> Mapping[str, Clip]:
    """The user's reel map, its clips looked up in the project; empty without one."""
    if path is None:
        return {}
    text, _ = read_text(path, "a list of reels", LARGEST_REEL_MAP)
    with blaming(path):
        said = read_reel_map(text)
    clips = list(clips)
    return {name: _named_clip(path, wanted, clips) for name, wanted in said.items()}


def _named_clip(path: Path, wanted: str, clips: Sequence[Clip]) -> Clip:
    found = [clip for clip in clips if names_clip(Path(wanted), clip)]
    if len(found) != 1:
        many = "several clips" if found else "no measured clip"
        raise ListFormatError(
            f"{path}: {wanted} names {many} of the project; write its file name, as 'impactcut "
            "shots' shows it, or its path"
        )
    return found[0]
