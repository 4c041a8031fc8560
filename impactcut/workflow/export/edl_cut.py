"""Somebody's cut as an EDL, for `impactcut.workflow.export.recutting`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.change_list import ChangeList
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.reel_match import Match
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase, parse_timebase
from impactcut.errors import RateError
from impactcut.lists.ascii_text import to_ascii
from impactcut.lists.edl.document import ListWarning
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.statements import Title
from impactcut.workflow.export.matching_list import matched_list
from impactcut.workflow.export.recut_words import recut_notes
from impactcut.workflow.files.list_files import ListFile, read_list_file
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.writing import Content, named_parts


@dataclass(frozen=True)
class EdlCut:
    """An EDL that is to be recut.

    Parameters
    ----------
    stated : Timebase
        That was stated for it.
    """

    listed: ListFile
    stated: Timebase

    @property
    def title(self) -> str:
        """Of the list, else the name of its file."""
        statements = self.listed.document.statements
        titles = (each.title for each in statements if isinstance(each, Title))
        return next(filter(None, titles), self.listed.path.stem)

    @property
    def warnings(self) -> tuple[ListWarning, ...]:
        """What is odd about the list as it was read."""
        return self.listed.document.warnings

    def clock(self, _matches: Sequence[Match]) -> Timebase:
        """What the programme counts in."""
        return self.listed.document.record_clock

    def matched(self, clips: Sequence[Clip], reels: Path | None) -> tuple[Match, ...]:
        """The events with their clips."""
        return matched_list(self.listed, clips, reels)

    def files(
        self, target: Path, done: Recut, changes: ChangeList, _hits: Sequence[HitEntry]
    ) -> dict[str, Content]:
        """The new list, or lists, by name, read back and compared."""
        lists = reissue(self.listed.document, done, changes.new_title)
        check_recut(lists, self.listed.document, done, changes)
        parts = named_parts(target.name, lists)
        return {name: self.listed.encoded(text) for name, text in parts.items()}

    def notes(
        self, done: Recut, changes: ChangeList, files: int, _refusals: Sequence[Refusal]
    ) -> tuple[str, ...]:
        """What the list's owner should know; ``files``: how many are written."""
        notes = recut_notes(self.listed.document, done, self.stated.drop_frame, files)
        if self.listed.is_wide:
            was = self.listed.encoding.upper()
            notes = (f"the list is written as UTF-8; it was {was}", *notes)
        title = changes.new_title.strip()
        if files and to_ascii(title) != title:
            notes = (*notes, f"the title {title} is written {to_ascii(title).strip()}, in ASCII")
        return notes


def open_edl(source: Path, rate: str | None) -> EdlCut:
    """Read the list in a file.

    Raises
    ------
    ListFormatError
        If it cannot be read.
    RateError
        If the rate is none, or has no timecode.
    """
    if rate is None:
        raise RateError(f"{source}: an EDL does not state its frame rate; state it with --rate")
    stated = parse_timebase(rate)
    return EdlCut(read_list_file(source, stated.rate), stated)
