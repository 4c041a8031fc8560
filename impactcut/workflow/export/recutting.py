"""Taking approved trims out of somebody's cut: an EDL in, an EDL with its change list out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from impactcut.core.programme.change_list import Cause, ChangeList, change_list
from impactcut.core.programme.showings import showings_of_recut
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.hold_length import Hold
from impactcut.core.recut.sound_drift import SoundDrift, sound_drifts
from impactcut.core.time.timebase import parse_timebase
from impactcut.core.viewer.viewing import Viewing
from impactcut.errors import OutputError
from impactcut.lists.edl.document import ListWarning
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.statements import Title
from impactcut.lists.tables.change_csv import parse_change_csv, render_change_csv
from impactcut.lists.tables.cut_changes import words_for
from impactcut.project import Project
from impactcut.workflow.export.conform_lists import clip_cues, spotting_list
from impactcut.workflow.export.matching_list import matched_list
from impactcut.workflow.export.recut_words import (
    named_hit,
    recut_notes,
    recut_refusals,
    unmatched_notes,
)
from impactcut.workflow.files.find import Refusal
from impactcut.workflow.files.list_files import ListFile, read_list_file
from impactcut.workflow.files.writing import write_files
from impactcut.workflow.hits.selecting import Selection, select_removals


@dataclass(frozen=True)
class RecutOptions:
    """How to recut.

    Parameters
    ----------
    rate : str
        Of the list, which does not state it: ``24``, ``23.976``, ``29.97`` ...
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

    rate: str
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
    warnings : tuple of ListWarning
        What is odd about the list as it was read.
    notes : tuple of str
        What the list's owner should know.
    drifts : tuple of SoundDrift
    absent : tuple of str
        The hits whose trims the list does not show.
    refusals : tuple of Refusal
    """

    files: tuple[Path, ...]
    changes: ChangeList | None
    made: int
    warnings: tuple[ListWarning, ...]
    notes: tuple[str, ...]
    drifts: tuple[SoundDrift, ...]
    absent: tuple[str, ...]
    refusals: tuple[Refusal, ...]


def recut_list(
    project: Project, viewing: Viewing, source: Path, target: Path, options: RecutOptions
) -> RecutReport:
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
    stated = parse_timebase(options.rate)
    listed = read_list_file(source, stated.rate)
    selection = select_removals(project, viewing, options.proposed)
    matches = matched_list(listed, selection.clips, options.reels)
    done = recut(
        [match.event for match in matches], selection.removals, options.hold, options.whole_sound
    )
    changes = _changes(listed, done, options)
    files: dict[str, bytes] = {}
    if changes.adjustments:
        files = _files(listed, target, done, changes)
        files |= _spotting(project, selection, target, done, changes, options.hold is not None)
    written: tuple[Path, ...] = ()
    if files and not options.dry_run:
        written = write_files(target.parent, files, options.force)
    return RecutReport(
        files=written,
        changes=changes if changes.adjustments else None,
        made=len(done.made),
        warnings=listed.document.warnings,
        notes=(
            *_file_notes(listed),
            *unmatched_notes(matches, selection),
            *recut_notes(listed.document, done, stated.drop_frame, len(files)),
        ),
        drifts=sound_drifts(done.pieces, held=options.hold is not None),
        absent=tuple(map(named_hit, done.absent)),
        refusals=(*selection.refusals, *recut_refusals(matches, done, selection)),
    )


def _changes(listed: ListFile, done: Recut, options: RecutOptions) -> ChangeList:
    old = _title(listed)
    new = options.title or f"{old} TRIMMED"
    causes = [Cause(use.record, words_for(use.removal)) for use in done.made]
    return change_list((old, new), listed.document.record_clock, done.events, done.pieces, causes)


def _file_notes(listed: ListFile) -> tuple[str, ...]:
    if not listed.is_wide:
        return ()
    return (f"the list is written as UTF-8; it was {listed.encoding.upper()}",)


def _title(listed: ListFile) -> str:
    titles = (each.title for each in listed.document.statements if isinstance(each, Title))
    return next(filter(None, titles), listed.path.stem)


def _files(listed: ListFile, target: Path, done: Recut, changes: ChangeList) -> dict[str, bytes]:
    text = render_change_csv(changes)
    lists = reissue(listed.document, done, changes.new_title)
    check_recut(lists, listed.document, done, parse_change_csv(text))
    names = [target.name]
    if len(lists) > 1:
        names = [f"{target.stem}_{n}{target.suffix}" for n in range(1, len(lists) + 1)]
    files = {name: listed.encoded(each) for name, each in zip(names, lists, strict=True)}
    return files | {f"{target.stem}_changes.csv": text.encode("utf-8")}


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
