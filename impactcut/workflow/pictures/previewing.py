"""Previews: one hit, some clips, or the whole cut, before and after, as a film."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import FloatArray
from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import assemble, group_by_timebase
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.preview import Passage, preview_cut, preview_hit, usual_hold
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.core.viewer.flashes import Flashes, count_flashes, light_grid
from impactcut.errors import ProjectError, TrimError, UnreadableMediaError
from impactcut.lists.ascii_text import to_ascii
from impactcut.media.render.preview import PreviewFilm, write_preview
from impactcut.media.render.preview_frame import Labels
from impactcut.project import Project
from impactcut.workflow.export.hit_track import lost_sound
from impactcut.workflow.export.sounding import sort_out_sound
from impactcut.workflow.files.fingerprint import as_measured
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.writing import check_places, rate_name, write_files
from impactcut.workflow.hits.deciding import chosen_trim
from impactcut.workflow.hits.hit_filter import HitFilter, unmatched_paths
from impactcut.workflow.hits.listing import find_hit, hits_beside
from impactcut.workflow.hits.removals import Selection, select_removals
from impactcut.workflow.progress import OnProgress


@dataclass(frozen=True)
class PreviewOptions:
    """How to render.

    Parameters
    ----------
    hold : int or None
        Frames for which each is held in the slowed passages; None for about six a second.
    proposed : bool
        In clips and cuts, take proposals that nobody has answered as well.
    record_start : str
        Timecode of a cut's first frame.
    force : bool
        Replace a file that is there.
    """

    hold: int | None = None
    proposed: bool = False
    record_start: str = "01:00:00:00"
    force: bool = False


@dataclass(frozen=True)
class PreviewReport:
    """What was rendered.

    Parameters
    ----------
    removals : tuple of Removal
        The trims that it shows.
    refusals : tuple of Refusal
        Trims that it lacks, and clips that may be shown wrong.
    silent : tuple of Refusal
        Production sound that it lacks.
    flashes : Flashes
        Of the film as it plays.
    """

    path: Path
    removals: tuple[Removal, ...]
    refusals: tuple[Refusal, ...]
    silent: tuple[Refusal, ...]
    flashes: Flashes


def render_hit(
    project: Project,
    hit_id: int,
    choice: FrameRange | int | None,
    output: Path,
    options: PreviewOptions,
    on_progress: OnProgress,
) -> PreviewReport:
    """Render one hit with one trim.

    Parameters
    ----------
    choice : FrameRange, int or None
        As in `Wish`, except that trims which must not be made can be looked at too;
        None for the approved trim, or else the proposed one.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    TrimError
        If nothing is approved or proposed, or no such trim was judged.
    MediaError
        If the clip cannot be read.
    OutputError
        If the film cannot be written, or is there already and ``force`` is not given.
    """
    entry = find_hit(project, hit_id)
    trim = chosen_trim(entry, entry.approved_frames if choice is None else choice)
    removal = Removal(replace(entry, decision=None), trim)
    assemble("", [entry.clip], [removal], record_start=0)
    hits = (entry, *hits_beside(project, entry))
    passages = preview_hit(removal, hits, options.hold or usual_hold(entry.clip.rate))
    name = f"{to_ascii(entry.clip.name)}  hit {entry.called}"
    film = _Film(passages, tuple(_labels(each, name) for each in passages), (removal,))
    return _render(project, film, output, options, on_progress)


def render_cut(
    project: Project,
    paths: Sequence[Path],
    output: Path,
    options: PreviewOptions,
    on_progress: OnProgress,
) -> tuple[PreviewReport, ...]:
    """Render whole clips laid end to end, with all their trims: a film for each rate.

    Where there are several, each has its rate in its name.

    Parameters
    ----------
    paths : sequence of Path
        Clips, by path or file name, or folders of clips; empty for all of the project.

    Raises
    ------
    ProjectError
        If a path names no clip of the project.
    TrimError
        If none of the clips is to be trimmed.
    RateError
        If there is no timecode at a rate.
    MediaError
        If a clip cannot be read.
    OutputError
        If the film cannot be written, or is there already and ``force`` is not given.
    """
    for path in unmatched_paths(project, paths):
        raise ProjectError(f"{path}: no clip of the project; 'impactcut scan' takes it in")
    selection = select_removals(project, options.proposed, HitFilter(paths=tuple(paths)))
    if not selection.removals:
        raise _nothing_out(selection.hits)
    films = list(_films(selection, options))
    outputs = [_named(output, timebase, alone=len(films) == 1) for timebase, _ in films]
    check_places(outputs, options.force)
    return tuple(
        _render(project, film, place, options, on_progress)
        for place, (_, film) in zip(outputs, films, strict=True)
    )


def _films(selection: Selection, options: PreviewOptions) -> Iterator[tuple[Timebase, _Film]]:
    """A film of the clips of each rate of which something goes out; the first has the refusals."""
    refusals = selection.refusals
    for timebase, clips in group_by_timebase(selection.clips).items():
        removals = [removal for removal in selection.removals if removal.clip in clips]
        if not removals:
            continue
        start = timebase.frame(options.record_start)
        cut = assemble("", clips, removals, record_start=start)
        hits = [hit for hit in selection.hits if hit.clip in clips]
        passages = preview_cut(cut, hits, options.hold or usual_hold(timebase.rate))
        labels = tuple(_labels(each, to_ascii(each.clip.name)) for each in passages)
        yield timebase, _Film(passages, labels, cut.removals, refusals)
        refusals = ()


def _named(output: Path, timebase: Timebase, alone: bool) -> Path:
    """The film's file: one of several has the rate in its name."""
    return output if alone else output.with_stem(f"{output.stem}_{rate_name(timebase)}")


@dataclass(frozen=True)
class _Film:
    passages: tuple[Passage, ...]
    labels: tuple[Labels, ...]
    removals: tuple[Removal, ...]
    refusals: tuple[Refusal, ...] = ()


def _render(
    project: Project, film: _Film, output: Path, options: PreviewOptions, on_progress: OnProgress
) -> PreviewReport:
    clips = tuple(dict.fromkeys(passage.clip for passage in film.passages))
    changed = _check_files(project, clips)
    sound = sort_out_sound(clips)
    lost: dict[Clip, list[str]] = {}
    whole = PreviewFilm(film.passages, film.labels, sound.clips)
    grids: list[FloatArray] = []

    def shown(done: int, pixels: NDArray[np.uint8]) -> None:
        grids.append(light_grid(pixels))
        on_progress(done, whole.frames)

    write = partial(
        write_preview,
        film=whole,
        on_frame=shown,
        on_loss=lambda clip, reason: lost.setdefault(clip, []).append(reason),
    )
    (path,) = write_files(output.parent, {output.name: write}, options.force)
    silent = (*sound.refusals, *(lost_sound(clip, reasons) for clip, reasons in lost.items()))
    flashes = count_flashes(grids, whole.rate)
    return PreviewReport(path, film.removals, (*film.refusals, *changed), silent, flashes)


def _labels(passage: Passage, name: str) -> Labels:
    pace = "full speed" if passage.hold == 1 else f"each frame shown {passage.hold} times"
    return Labels(_title(passage), name, pace)


def _title(passage: Passage) -> str:
    if not passage.trimmed:
        return "BEFORE: as shot"
    frames = [frame for gap in passage.removed for frame in range(gap.start, gap.stop)]
    if not frames:
        return "AFTER: nothing out"
    if len(passage.removed) > 1:
        return f"AFTER: {len(frames)} frames out, in {len(passage.removed)} places"
    listed = ", ".join(map(str, frames))
    return f"AFTER: frame {listed} out" if len(frames) == 1 else f"AFTER: frames {listed} out"


def _nothing_out(hits: Iterable[HitEntry]) -> TrimError:
    waiting = any(hit.undecided and not hit.put_off and hit.proposal.proposed for hit in hits)
    more = "; --proposed takes the proposals that are undecided" if waiting else ""
    return TrimError(
        f"nothing is approved in these clips; use 'impactcut decide HIT --approve'{more}"
    )


def _check_files(project: Project, clips: Iterable[Clip]) -> list[Refusal]:
    """Refuse to go on without a file; name those that have changed since they were measured."""
    changed = []
    for clip in clips:
        path = Path(clip.path)
        if not path.exists():
            raise UnreadableMediaError(
                f"{path}: no such file; connect its disk, or if it was moved, let "
                "'impactcut scan' find it in its new place"
            )
        stored = project.clip_at(clip.path)
        if stored and not as_measured(path, stored):
            changed.append(
                Refusal(
                    clip.path,
                    "it has changed since it was measured, so the frames may be others",
                    "scan it again with 'impactcut scan'",
                )
            )
    return changed
