"""Lists for conform and sound: change list, spotting list, timeline."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from impactcut.core.fight.entries import HitEntry, judging_note
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.delivery import DeliveredList
from impactcut.core.programme.programme_marks import marks_of
from impactcut.core.programme.showings import ClipShowing, showings_of
from impactcut.core.programme.spotting_list import ClipCues, spot_cues, spot_trims
from impactcut.core.sound.cues import sound_cues
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.write import SoundLines
from impactcut.lists.otio.write import check_otio, render_otio
from impactcut.lists.tables.change_list_csv import render_change_csv
from impactcut.lists.tables.change_list_of_cut import Since, changes_of_cut, check_cut_changes
from impactcut.lists.tables.marks_csv import render_marks_csv
from impactcut.lists.tables.spotting_list_csv import render_spotting_csv
from impactcut.project import Project
from impactcut.workflow.export.timeline_bundle import bundle_writer
from impactcut.workflow.files.writing import Made


@dataclass(frozen=True)
class Known:
    """What is known of the project's hits, trimmed or not: all of them, and what they sound like.

    ``cues`` is empty where no list asks for it; ``sound`` is how production sound stands beside
    picture in EDLs and change lists, None where it does not; ``since`` is the version that change
    lists run from, None for the untrimmed clips.
    """

    hits: Sequence[HitEntry]
    cues: Sequence[ClipCues] = ()
    sound: SoundLines | None = None
    since: Since | None = None


def change_list_file(name: str, cut: CutList, known: Known) -> Made:
    """The change list from the untrimmed programme, or an earlier version, to this one.

    There is none where nothing changed.
    """
    sound, since = known.sound, known.since
    changes = changes_of_cut(cut, sound, since)
    notes = () if since is None else tuple(_laid_out(cut, *since))
    if not changes.adjustments:
        return Made({}, notes=(*notes, f"{name}: no frame is other than in {changes.old_title}"))
    text = render_change_csv(changes)
    check_cut_changes(text, cut, sound, since)
    return Made({f"{name}_changes.csv": text.encode("utf-8")}, notes=notes)


def _laid_out(cut: CutList, number: int, before: DeliveredList) -> Iterator[str]:
    """That an earlier version began elsewhere."""
    if before.record_start != cut.record_start:
        began, begins = (cut.timebase.label(each.record_start) for each in (before, cut))
        yield (
            f"version {number} began at {began}: in the change list its record times are given as "
            f"if it had begun at {begins}, as this one does"
        )


def timeline_file(name: str, cut: CutList, known: Known) -> Made:
    """The programme as OpenTimelineIO JSON, with sound: two channels unless told otherwise."""
    return Made({f"{name}.otio": _timeline(cut, known).encode("utf-8")})


def bundle_file(name: str, cut: CutList, known: Known) -> Made:
    """The timeline of `timeline_file` together with its media."""
    return Made({f"{name}.otioz": bundle_writer(_timeline(cut, known), cut)})


def _timeline(cut: CutList, known: Known) -> str:
    hits, beside = known.hits, known.sound or SoundLines()
    text = render_otio(cut, hits, judging_of(known.hits), beside)
    check_otio(text, cut, hits, beside)
    return text


def judging_of(hits: Sequence[HitEntry]) -> str:
    """What numbers of visibility rest on."""
    return hits[0].judging if hits else judging_note(None, None)


def marks_file(name: str, cut: CutList, known: Known) -> Made:
    """The marks of the programme: contacts and splices."""
    marks = marks_of(cut, known.hits)
    text = render_marks_csv(marks, cut.timebase)
    return Made({f"{name}_marks.csv": text.encode("utf-8")})


def spotting_file(name: str, cut: CutList, known: Known) -> Made:
    """The spotting list of a programme."""
    return Made(spotting_list(name, cut.timebase, showings_of(cut), known.cues, cut.removals))


def spotting_list(
    name: str,
    timebase: Timebase,
    showings: Sequence[ClipShowing],
    cues: Iterable[ClipCues],
    removals: Sequence[Removal],
) -> dict[str, bytes]:
    """The file of a spotting list, by its name: what the showings of clips call for."""
    trims = spot_trims(showings, removals, timebase.rate)
    text = render_spotting_csv(timebase, spot_cues(showings, cues), trims)
    return {f"{name}_spotting.csv": text.encode("utf-8")}


def clip_cues(project: Project, hits: Iterable[HitEntry]) -> tuple[ClipCues, ...]:
    """The sounds that the movement measured around hits calls for."""
    return tuple(
        ClipCues(each, sound_cues(each.impact, project.motion(each.id), each.by_hand))
        for each in hits
    )
