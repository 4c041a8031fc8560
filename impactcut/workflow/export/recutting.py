"""Taking approved trims out of somebody's cut: an EDL or a timeline in, the same kind out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from impactcut.core.programme.change_list import Cause, ChangeList, change_list
from impactcut.core.programme.sequence import is_picture
from impactcut.core.programme.showings import showings_of_recut
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.hold_length import Hold
from impactcut.core.recut.reel_match import Match
from impactcut.core.recut.sound_drift import SoundDrift, sound_drifts
from impactcut.errors import OutputError
from impactcut.lists.edl.document import ListWarning
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from impactcut.lists.tables.change_list_of_cut import words_for
from impactcut.project import Project
from impactcut.workflow.export.conform_lists import clip_cues, spotting_list
from impactcut.workflow.export.edl_cut import EdlCut, open_edl
from impactcut.workflow.export.recut_words import (
    assumed_notes,
    named_hit,
    recut_refusals,
    unmatched_notes,
)
from impactcut.workflow.export.timeline_cut import TimelineCut, open_timeline
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.timeline_files import ENDINGS
from impactcut.workflow.files.writing import Content, write_files
from impactcut.workflow.hits.removals import Selection, select_removals


@dataclass(frozen=True)
class RecutOptions:
    """How to recut.

    Parameters
    ----------
    rate : str or None
        Of the list: ``24``, ``23.976``, ``29.97`` ... An EDL does not state it, so only for a
        timeline may it be None.
    hold : {"tail", "head", "next"} or None
        What pays for the frames; None lets everything later move up.
    whole_sound : bool
        Leave sound unsplit.
    proposed : bool
        Take proposals that nobody has answered as well.
    reels : Path or None
        CSV that says which clip a reel or clip name of the list stands for.
    title : str or None
        Of the new list; None for the old title and ``TRIMMED``.
    dry_run : bool
        Write nothing.
    force : bool
        Replace files that are there.
    """

    rate: str | None
    hold: Hold | None = None
    whole_sound: bool = False
    proposed: bool = False
    reels: Path | None = None
    title: str | None = None
    dry_run: bool = False
    force: bool = False


@dataclass(frozen=True)
class RecutReport:
    """What was recut.

    Parameters
    ----------
    files : tuple of Path
        Empty for a dry run, and where nothing was to be changed.
    changes : ChangeList or None
        None where there is nothing to change.
    made : int
        Places at which frames went out.
    picture_change : int
        Frames by which picture ends later than before; with whole sound the list as a whole may
        end elsewhere.
    warnings : tuple of ListWarning
        What is odd about the list as it was read.
    notes : tuple of str
        What the list's owner should know.
    absent : tuple of str
        The hits whose trims the list does not show.
    """

    files: tuple[Path, ...]
    changes: ChangeList | None
    made: int
    picture_change: int
    warnings: tuple[ListWarning, ...]
    notes: tuple[str, ...]
    drifts: tuple[SoundDrift, ...]
    absent: tuple[str, ...]
    refusals: tuple[Refusal, ...]


def recut_list(project: Project, source: Path, target: Path, options: RecutOptions) -> RecutReport:
    """Take the project's trims out of the list in ``source`` and write the new one to ``target``.

    The change list and the spotting list of the new cut are written beside it. The new list is
    read back and compared with the old one as changed before anything is written.

    Raises
    ------
    ListFormatError
        If a list cannot be read, or not all of it is understood.
    RateError
        If the rate is none, or has no timecode.
    OutputError
        If a file is there already and ``force`` is not given, or cannot be written.
    """
    if target.resolve() == source.resolve():
        raise OutputError(f"{target}: is the list to be recut; name another file for the new one")
    cut = _opened(source, target, options)
    selection = select_removals(project, options.proposed)
    matches = cut.matched(selection.clips, options.reels)
    done = recut(
        [match.event for match in matches], selection.removals, options.hold, options.whole_sound
    )
    changes = _changes(cut, matches, done, options)
    files: dict[str, Content] = {}
    if changes.adjustments:
        files = _files(cut, target, done, changes, selection)
        files |= _spotting(project, selection, target, done, changes, options.hold is not None)
    written: tuple[Path, ...] = ()
    if files and not options.dry_run:
        written = write_files(target.parent, files, options.force)
    refusals = (*selection.refusals, *recut_refusals(matches, done, selection))
    return RecutReport(
        files=written,
        changes=changes if changes.adjustments else None,
        made=len(done.made),
        picture_change=_picture_change(done),
        warnings=cut.warnings,
        notes=(
            *unmatched_notes(matches, selection),
            *cut.notes(done, changes, len(files), refusals),
            *assumed_notes(done),
        ),
        drifts=sound_drifts(done.pieces, held=options.hold is not None),
        absent=tuple(map(named_hit, done.absent)),
        refusals=refusals,
    )


def _opened(source: Path, target: Path, options: RecutOptions) -> EdlCut | TimelineCut:
    kinds = [
        path.suffix.lower() if path.suffix.lower() in ENDINGS else "" for path in (source, target)
    ]
    if kinds[0] != kinds[1]:
        raise OutputError(
            f"{target}: is named as another kind of file than {source}; name it "
            f"{target.with_suffix(kinds[0] or source.suffix).name}"
        )
    if kinds[0]:
        held, whole = options.hold is not None, options.whole_sound
        return open_timeline(source, options.rate, held, whole)
    return open_edl(source, options.rate)


def _changes(
    cut: EdlCut | TimelineCut, matches: Sequence[Match], done: Recut, options: RecutOptions
) -> ChangeList:
    titles = cut.title, options.title or f"{cut.title} TRIMMED"
    causes = [Cause(use.record, words_for(use.removal)) for use in done.made]
    return change_list(titles, cut.clock(matches), done.events, done.pieces, causes)


def _files(
    cut: EdlCut | TimelineCut, target: Path, done: Recut, changes: ChangeList, selection: Selection
) -> dict[str, Content]:
    """The new list and its change list, the first checked against the second as it was written."""
    text = render_change_csv(changes)
    files = cut.files(target, done, parse_change_csv(text), selection.hits)
    return files | {f"{target.stem}_changes.csv": text.encode("utf-8")}


def _picture_change(done: Recut) -> int:
    """Frames by which picture ends later than before."""
    before = [each.record.stop for each in done.events if any(map(is_picture, each.tracks))]
    after = [each.record.stop for each in done.pieces if any(map(is_picture, each.tracks))]
    return max(after, default=0) - max(before, default=0)


def _spotting(
    project: Project,
    selection: Selection,
    target: Path,
    done: Recut,
    changes: ChangeList,
    held: bool,
) -> dict[str, bytes]:
    showings = showings_of_recut(done.pieces, held)
    shown = {showing.clip for showing in showings}
    cues = clip_cues(project, [hit for hit in selection.hits if hit.clip in shown])
    removals = [use.removal for use in done.made]
    return spotting_list(target.stem, changes.timebase, showings, cues, removals)
