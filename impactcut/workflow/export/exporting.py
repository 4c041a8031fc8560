"""Handing lists on: assembled, rendered, read back, and only then put into place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePath

from impactcut.core.grouping import grouped
from impactcut.core.programme.assemble import assemble, group_by_timebase
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.delivery import DeliveredList, Delivery, Scope
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.same_take import TELL_APART, mistakable
from impactcut.core.words import free_name
from impactcut.errors import ListError, TimeError, TrimError
from impactcut.lists.edl.check import check_edl
from impactcut.lists.edl.write import SoundLines, changed_names, render_edl
from impactcut.lists.otio.library import is_available
from impactcut.lists.tables.cut_list_csv import render_cut_csv
from impactcut.project import Actor, Project
from impactcut.workflow.export.conform_lists import (
    Known,
    bundle_file,
    change_list_file,
    clip_cues,
    marks_file,
    spotting_file,
    timeline_file,
)
from impactcut.workflow.export.delivering import Versions, delivered, delivered_list, numbers_of
from impactcut.workflow.export.hit_track import guide_mix, hit_track
from impactcut.workflow.files.files_since import has_changed
from impactcut.workflow.files.fingerprint import missing
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.writing import (
    Content,
    Made,
    file_name,
    named_parts,
    rate_name,
    write_files,
)
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.removals import Selection, select_removals

Files = dict[str, Content]


def _edl(name: str, cut: CutList, known: Known) -> Made:
    texts = render_edl(cut, known.sound)
    check_edl(texts, cut, known.sound)
    parts = named_parts(f"{name}.edl", texts)
    files = {each: text.encode("ascii") for each, text in parts.items()}
    notes = tuple(
        f"{clip} is written {written} in {name}.edl, which holds 80 columns of ASCII; the CSV and "
        "the timeline have the whole name"
        for clip, written in changed_names(cut)
    )
    return Made(files, notes=notes)


def _csv(name: str, cut: CutList, known: Known) -> Made:
    text = render_cut_csv(cut, known.sound)
    return Made({f"{name}.csv": text.encode("utf-8")})


LIST_FORMATS: Mapping[str, Callable[[str, CutList, Known], Made]] = {
    "csv": _csv,
    "edl": _edl,
    "changes": change_list_file,
    "spotting": spotting_file,
    "otio": timeline_file,
    "otioz": bundle_file,
    "marks": marks_file,
    "hits": lambda name, cut, known: hit_track(name, cut, known.hits),
    "guide": lambda name, cut, known: guide_mix(name, cut, known.hits),
}
"""What can be written, by name: each gives the files of one cut list, checked.

It is given the list's name, the list, and what is known of the project's hits.
"""
USUAL = tuple(form for form in LIST_FORMATS if form not in ("guide", "marks", "otio", "otioz"))
"""What is always written unless something is picked: a guide mix decodes the sound of every clip,
a timeline needs an extra, and marks are in the timeline too."""


def usual_formats() -> tuple[str, ...]:
    """What is written unless something is picked: a timeline too where its extra is installed."""
    return (*USUAL, "otio") if is_available() else USUAL


@dataclass(frozen=True)
class ExportOptions:
    """What to hand on.

    Parameters
    ----------
    record_start : str
        Timecode of the programme's first frame.
    formats : tuple of str
        Keys of `LIST_FORMATS`.
    per_clip : bool
        A list for each clip that is trimmed, rather than one over all clips of a rate.
    proposed : bool
        Take proposals that nobody has answered as well.
    force : bool
        Replace files that are there.
    wanted : HitFilter
        Of which clips.
    sound : SoundLines or None
        How production sound stands in EDLs and change lists; None for picture only.
    since : int or None
        From which version change lists run: 0 from the untrimmed clips, None from the last that
        shows other frames.
    """

    title: str
    record_start: str = "01:00:00:00"
    formats: tuple[str, ...] = USUAL
    per_clip: bool = False
    proposed: bool = False
    force: bool = False
    wanted: HitFilter = ALL_HITS
    sound: SoundLines | None = None
    since: int | None = None

    @property
    def scope(self) -> Scope:
        """Of what the lists are."""
        of = self.wanted
        return Scope(self.title, of.section, of.take, of.angle, of.circled, self.per_clip)


@dataclass(frozen=True)
class ExportReport:
    """What was handed on.

    Parameters
    ----------
    files : tuple of Path
        The lists.
    selection : Selection
        What was to go out.
    trims : int
        Written into lists.
    refusals : tuple of Refusal
        Lists and trims that were not written.
    pages : tuple of Path
        What was written together with the lists.
    notes : tuple of str
        What the lists' reader should know.
    delivery : Delivery or None
        To be kept with `keep_delivery`; None where no list was written, or nobody is named.
    unlisted : tuple of Clip
        In no list, as nothing goes out at their rate and no hit of them is as shot.
    """

    files: tuple[Path, ...]
    selection: Selection
    trims: int
    refusals: tuple[Refusal, ...]
    pages: tuple[Path, ...] = ()
    notes: tuple[str, ...] = ()
    version: int = 1
    delivery: Delivery | None = None
    unlisted: tuple[Clip, ...] = ()


def export_lists(
    project: Project,
    folder: Path,
    options: ExportOptions,
    by: Actor | None = None,
    pages: Mapping[str, Content] | None = None,
) -> ExportReport:
    """Write the lists of a project into ``folder`` as its next version; nothing is half-written.

    Clips of different rates or count modes go into lists of their own. A list that cannot be
    made is refused and the others are written. ``pages`` are other files, by name, that are
    written together with the lists: if a list may not be put into its place, neither are they.

    Raises
    ------
    ProjectError
        If change lists are to run from a version that there is not.
    OutputError
        If the folder cannot be written, or a file is there already and ``force`` is not given.
    """
    versions = Versions(project.deliveries(), options.scope, options.since)
    selection = select_removals(project, options.proposed, options.wanted)
    made = _made_lists(project, selection, options, versions)
    beside = dict(pages or {})
    contents = beside | made.files
    written = write_files(folder, contents, options.force) if contents else ()
    listed = written[len(beside) :]
    delivery = None
    if listed and by is not None:
        judged = (project.judge().fov_degrees, options.proposed)
        delivery = delivered(versions, by, judged, listed, made.lists)
    left_out = (refusal for part in made.parts for refusal in part.left_out)
    unlisted = (clip for clip in selection.clips if clip not in made.clips)
    return ExportReport(
        files=listed,
        selection=selection,
        trims=sum(len(each.trims) for each in made.lists),
        refusals=(*selection.refusals, *made.refusals, *left_out),
        pages=written[: len(beside)],
        notes=(*(note for part in made.parts for note in part.notes), *_notes(project, made)),
        version=versions.next,
        delivery=delivery,
        unlisted=() if options.per_clip else tuple(unlisted),
    )


@dataclass(frozen=True)
class _Lists:
    """Lists that are made, what could not be, and the clips that were to be in them."""

    files: Files = field(default_factory=dict)
    parts: list[Made] = field(default_factory=list)
    lists: list[DeliveredList] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)
    clips: set[Clip] = field(default_factory=set)


def _made_lists(
    project: Project, selection: Selection, options: ExportOptions, versions: Versions
) -> _Lists:
    cues = clip_cues(project, selection.hits) if "spotting" in options.formats else ()
    known = Known(selection.hits, cues, options.sound)
    numbers, made = numbers_of(project), _Lists()
    for name, title, clips, removals in _lists(selection, options, versions):
        made.clips.update(clips)
        try:
            start = clips[0].timebase.frame(options.record_start)
            version = versions.next
            cut = assemble(title, clips, removals, record_start=start, version=version)
            since = versions.base(name, cut) if "changes" in options.formats else None
        except (ListError, TimeError, TrimError) as error:
            made.refusals.append(_unlisted(name, clips, error))
            continue
        parts, refused = _render(name, cut, replace(known, since=since), options.formats)
        made.refusals.extend(refused)
        if any(part.files.keys() & made.files.keys() for part in parts):
            why = "its file would have the name of another list"
            made.refusals.append(Refusal(name, why, "rename the clip"))
            continue
        made.parts.extend(parts)
        for part in parts:
            made.files.update(part.files)
        if any(part.files for part in parts):
            made.lists.append(delivered_list(name, cut, selection.hits, numbers))
    return made


def _notes(project: Project, made: _Lists) -> Iterator[str]:
    """Clips in the lists whose files are gone or have changed, or that no list tells apart."""
    shown = dict.fromkeys(clip.path for each in made.lists for clip in each.clips)
    for path in shown:
        if missing(Path(path)):
            yield (
                f"{path} is not where it was: it stands in the lists as it was measured; connect "
                "its disk, or 'impactcut scan' the folder that it was moved to"
            )
    for stored in project.clips():
        if stored.path in shown and has_changed(stored):
            yield (
                f"{stored.path} has changed since it was measured: it stands in the lists as it "
                "was; 'impactcut scan' measures it again"
            )
    for one, other in mistakable(made.clips):
        yield (
            f"{other.name} states the reel and timecode of {one.name} ({other.reel}, "
            f"{other.begins}), so no list tells them apart; {TELL_APART}"
        )


def _unlisted(name: str, clips: Sequence[Clip], error: Exception) -> Refusal:
    """Why a list cannot be made; what to do at a rate for which there is no timecode."""
    if clips[0].timebase.has_timecode:
        return Refusal(name, str(error))
    wrong, _, _ = str(error).partition("; ")
    return Refusal(
        name,
        wrong,
        "'impactcut scan FILE --rate 24' counts the same frames at the rate that they are cut at "
        "(24 or another), and keeps what was decided",
    )


_Listed = tuple[str, str, Sequence[Clip], Sequence[Removal]]


def _lists(selection: Selection, options: ExportOptions, versions: Versions) -> Iterable[_Listed]:
    """What each list is of; one without a trim only where hits are as shot, or where it had one."""
    removals = grouped((removal.clip, removal) for removal in selection.removals)
    if options.per_clip:
        trimmed = [clip for clip in selection.clips if clip in removals]
        names = _distinct([PurePath(clip.name).stem for clip in trimmed])
        for name, clip in zip(names, trimmed, strict=True):
            yield name, clip.name, [clip], removals[clip]
        return
    for timebase, clips in group_by_timebase(selection.clips).items():
        name = f"{file_name(options.title)}_{rate_name(timebase)}"
        chosen = [removal for clip in clips for removal in removals.get(clip, ())]
        as_shot = any(hit.untouched for hit in selection.hits if hit.clip in clips)
        if chosen or as_shot or any(versions.of(name, timebase)):
            yield name, options.title, clips, chosen


def _render(
    name: str, cut: CutList, known: Known, formats: Iterable[str]
) -> tuple[list[Made], list[Refusal]]:
    """The files of each format; one that cannot be made does not stop the others."""
    made: list[Made] = []
    refused: dict[str, list[str]] = {}
    for form in formats:
        try:
            made.append(LIST_FORMATS[form](name, cut, known))
        except (ListError, TimeError, TrimError) as error:
            refused.setdefault(str(error), []).append(form)
    return made, [Refusal(f"{name} ({', '.join(forms)})", why) for why, forms in refused.items()]


def _distinct(names: Sequence[str]) -> list[str]:
    """File names for ``names``, in order, none twice even where upper and lower case are one."""
    taken: set[str] = set()
    result = []
    for name in map(file_name, names):
        distinct = free_name(name, lambda free: free.casefold() in taken)
        taken.add(distinct.casefold())
        result.append(distinct)
    return result
