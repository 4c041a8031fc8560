"""The same beat over takes and angles: found, measured, ranked, and shown side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from impactcut.core.fight.beats import ClipRhythm, find_beats
from impactcut.core.fight.elsewhere import better_elsewhere
from impactcut.core.fight.entries import ClipEntry, HitEntry
from impactcut.core.fight.ranking import ComparedBeat, Ranked, Showing, rank_showings
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import by_section, take_words
from impactcut.core.trims.speed import crispness
from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.judge import Judge
from impactcut.errors import MediaError, ProjectError
from impactcut.lists.ascii_text import to_ascii
from impactcut.media.render.contact_sheet import TILE_WIDTH, Tile, draw_sheet
from impactcut.media.render.strip import ON_DARK
from impactcut.project import Project
from impactcut.workflow.files.refusals import Refusal, refusal_of
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.listing import find_hit, list_chosen, list_hits
from impactcut.workflow.pictures.hit_strip import drawn_strip

_FOOT: Final = (
    "Best first; frames struck through go out. Speeds are estimates from pictures; they judge the "
    "picture, never whether a move was safe."
)


@dataclass(frozen=True)
class Comparison:
    """Beats of a project.

    Parameters
    ----------
    beats : tuple of ComparedBeat
        By section and order.
    unplaced : tuple of Clip
        Clips with hits of which no section is known, and which are compared with nothing.
    calibration : Calibration or None
        That trims were judged by.
    """

    beats: tuple[ComparedBeat, ...]
    unplaced: tuple[Clip, ...]
    judge: Judge
    calibration: Calibration | None = None


def compare(project: Project, wanted: HitFilter) -> Comparison:
    """Rank the takes and angles of every beat in the clips that are asked for."""
    entries = [entry for entry in list_chosen(project, wanted) if entry.hits]
    sections = by_section(entries, lambda entry: entry.clip)
    unplaced = tuple(entry.clip for entry in sections.pop("", []))
    marks = project.beat_marks()
    beats = tuple(
        beat
        for section, together in sections.items()
        for beat in _beats(project, section, together, marks)
    )
    return Comparison(beats, unplaced, project.judge(), project.calibration())


def elsewhere(project: Project, asked: Iterable[HitEntry]) -> dict[int, tuple[str, ...]]:
    """What other takes and angles of hits' beats would allow, where it shows in theirs, by hit."""
    sections = by_section(asked, lambda hit: hit.clip)
    sections.pop("", None)
    told: dict[int, tuple[str, ...]] = {}
    for section, hits in sections.items():
        companions = _companions(project, section)
        for hit in hits:
            told[hit.id] = better_elsewhere(hit, companions.get(hit.id, ()))
    return told


def _companions(project: Project, section: str) -> dict[int, tuple[HitEntry, ...]]:
    """The other hits of each hit's beat, by hit."""
    entries = list_hits(project, HitFilter(section=section))
    takes = {hit.id: hit for entry in entries for hit in entry.hits}
    beats = find_beats([_rhythm(entry) for entry in entries if entry.hits], project.beat_marks())
    return {
        number: tuple(takes[other] for other in beat if other != number)
        for beat in beats
        for number in beat
    }


def put_together(project: Project, hit_id: int, companion: int) -> None:
    """Keep that a hit is of the same beat as another.

    Raises
    ------
    UnknownHitError
        If the project has no hit of one of the numbers.
    ProjectError
        If they cannot be one beat.
    """
    hit, other = (_comparable(project, each) for each in (hit_id, companion))
    if hit.clip.path == other.clip.path:
        raise ProjectError(
            f"hits {hit.called} and {other.called} are both in {hit.clip.name}: a beat is one "
            "hit of a take, so name a hit of another clip"
        )
    if hit.clip.section.casefold() != other.clip.section.casefold():
        raise ProjectError(
            f"hit {hit.called} is of section {hit.clip.section} and hit {other.called} of "
            f"section {other.clip.section}: a beat lies in one section; 'impactcut shots' changes "
            "sections"
        )
    project.mark_beat(hit.id, other.id)


def put_apart(project: Project, hit_id: int) -> None:
    """Say that a hit is a beat of its own.

    Raises
    ------
    UnknownHitError
        If the project has no such hit.
    ProjectError
        If it is not compared at all.
    """
    hit = _comparable(project, hit_id)
    project.mark_beat(hit.id, hit.id)


def contact_sheet(project: Project, beat: ComparedBeat) -> tuple[bytes | None, tuple[Refusal, ...]]:
    """The splice strips of a beat side by side as a PNG file, and the hits that are not in it.

    None where no clip of the beat can be read.
    """
    tiles: list[Tile] = []
    refusals: list[Refusal] = []
    for ranked in beat.ranked:
        try:
            tiles.append(_tile(project, ranked))
        except MediaError as error:
            entry = ranked.showing.entry
            refusals.append(refusal_of(f"hit {entry.called} of {entry.clip.name}", error))
    title = to_ascii(f"Section {beat.section}, beat {beat.number}")
    return (draw_sheet(title, tiles, _FOOT) if tiles else None), tuple(refusals)


def _beats(
    project: Project, section: str, entries: Sequence[ClipEntry], marks: dict[int, int]
) -> list[ComparedBeat]:
    hits = {hit.id: hit for entry in entries for hit in entry.hits}
    rhythms = [_rhythm(entry) for entry in entries]
    return [
        ComparedBeat(
            section, number, rank_showings(_showing(project, hits[hit_id]) for hit_id in beat)
        )
        for number, beat in enumerate(find_beats(rhythms, marks), start=1)
    ]


def _rhythm(entry: ClipEntry) -> ClipRhythm:
    seconds = tuple(float(hit.impact.contact / entry.clip.rate) for hit in entry.hits)
    return ClipRhythm(tuple(hit.id for hit in entry.hits), seconds)


def _showing(project: Project, entry: HitEntry) -> Showing:
    return Showing(entry, crispness(entry.impact, project.motion(entry.id), entry.judge))


def _comparable(project: Project, hit_id: int) -> HitEntry:
    entry = find_hit(project, hit_id)
    if not entry.clip.section:
        raise ProjectError(
            f"hit {entry.called}: no section is known for {entry.clip.name}, so it is compared "
            "with nothing; 'impactcut shots' shows and sets sections"
        )
    if not ALL_HITS.takes_hit(entry):
        raise ProjectError(
            f"hit {entry.called}: it is too unsure to be compared ({entry.impact.confidence:.2f}); "
            f"if it is one, 'impactcut decide {entry.called} --as-shot --yes' has it listed"
        )
    return entry


def _tile(project: Project, ranked: Ranked) -> Tile:
    entry = ranked.showing.entry
    picture = drawn_strip(project, entry, entry.shown, TILE_WIDTH, ON_DARK)
    return Tile(picture.pixels, tuple(map(to_ascii, _words(ranked))))


def _words(ranked: Ranked) -> tuple[str, ...]:
    showing = ranked.showing
    clip, trim = showing.entry.clip, showing.entry.shown
    circled = ", circled" if clip.circled else ""
    out = "no trim" if trim is None else f"{trim.count} out: {trim.speed_gain:.2f}x"
    return (
        f"{ranked.place}: {take_words(clip)}{circled}, hit {showing.entry.called}",
        f"{showing.speed:.2f} widths/s ({out}), stops {showing.crispness:.1f}, "
        f"{showing.entry.impact.camera} camera",
        ranked.reason,
    )
