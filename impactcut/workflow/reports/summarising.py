"""What a stunt coordinator is told after a rehearsal: counts, the hits to look at, what helps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import mode
from typing import Final

from impactcut.core.fight.entries import ClipEntry, HitEntry
from impactcut.core.fight.overview import fight_overview
from impactcut.core.fight.ranking import ComparedBeat, Ranked
from impactcut.core.takes.names import by_section, natural_order, take_words
from impactcut.core.time.frames import frames_in_words, milliseconds
from impactcut.core.trims.reasons import early_in_words
from impactcut.core.trims.trim import lag_after
from impactcut.core.viewer.calibration import calibration_note
from impactcut.errors import MediaError
from impactcut.media.render.pictures import compress
from impactcut.media.render.strip import ON_WHITE
from impactcut.project import Project
from impactcut.workflow.files.refusals import Refusal, refusal_of
from impactcut.workflow.hits.hit_filter import HitFilter
from impactcut.workflow.hits.listing import list_chosen
from impactcut.workflow.pictures.fight_picture import render_overview
from impactcut.workflow.pictures.hit_strip import drawn_strip
from impactcut.workflow.takes.comparing import compare

MOST_SHOWN: Final = 24
"""Hits to look at that have a picture; the others are counted."""
_PICTURE: Final = (700, 70)
"""Width and quality."""


@dataclass(frozen=True, eq=False)
class Remark:
    """One hit to look at.

    Parameters
    ----------
    place : str
        Section, take, angle and clip.
    helps : tuple of str
        What may help.
    picture : bytes or None
        Its splice strip as JPEG; None where it cannot be read.
    """

    hit: HitEntry
    place: str
    timecode: str
    helps: tuple[str, ...]
    picture: bytes | None


@dataclass(frozen=True)
class SectionLine:
    """One section of the fight: how much of it there is, and which take sells most beats best."""

    name: str
    takes: tuple[str, ...]
    angles: tuple[str, ...]
    beats: int
    hits: int
    counts: Mapping[str, int]
    best: str


@dataclass(frozen=True, eq=False)
class Summary:
    """One page about a fight.

    Parameters
    ----------
    title, made : str
        ``made`` is UTC, ISO 8601.
    counts : mapping of str to int
        Hits by ``weak``, ``late``, ``early``; here and in sections.
    approved, with_proposals : int
        Frames that trims take out.
    seconds_out : float
        With proposals.
    picture : str
        The overview, SVG.
    more : int
        Hits to look at beyond those.
    judging : str
        What its numbers rest on.
    refusals : tuple of Refusal
        Pictures that it lacks.
    """

    title: str
    made: str
    clips: int
    hits: int
    counts: Mapping[str, int]
    approved: int
    with_proposals: int
    seconds_out: float
    picture: str
    sections: tuple[SectionLine, ...]
    remarks: tuple[Remark, ...]
    more: int
    judging: str
    refusals: tuple[Refusal, ...]


def summarise(project: Project, wanted: HitFilter, title: str, made: str) -> Summary:
    """Sum up the clips that are asked for."""
    entries = list_chosen(project, wanted)
    hits = [hit for entry in entries for hit in entry.hits]
    beats = compare(project, wanted).beats
    odd = [hit for hit in hits if hit.reading.remarks]
    refusals: list[Refusal] = []
    best = {each.showing.entry.id: beat.ranked[0] for beat in beats for each in beat.ranked}
    overview = fight_overview(entries)
    return Summary(
        title=title,
        made=made,
        clips=len(entries),
        hits=len(hits),
        counts=_counts(hits),
        approved=max(overview.frames_out("approved"), default=0),
        with_proposals=max(overview.frames_out("approved", "proposed"), default=0),
        seconds_out=float(overview.seconds_out("approved", "proposed")),
        picture=render_overview(title, overview),
        sections=_sections(entries, beats),
        remarks=tuple(_remark(project, hit, best, refusals) for hit in odd[:MOST_SHOWN]),
        more=max(0, len(odd) - MOST_SHOWN),
        judging=calibration_note(project.calibration()),
        refusals=tuple(refusals),
    )


def _remark(
    project: Project, hit: HitEntry, best: Mapping[int, Ranked], refusals: list[Refusal]
) -> Remark:
    return Remark(
        hit,
        _place(hit),
        hit.clip.timecode(hit.impact.contact) or f"frame {hit.impact.contact}",
        _helps(hit, best.get(hit.id)),
        _picture(project, hit, refusals),
    )


def _helps(hit: HitEntry, first: Ranked | None) -> tuple[str, ...]:
    """What may help, the least trouble first; nothing here asks for a harder or closer blow."""
    helps = [_trim_help(hit)]
    if first is not None and first.showing.entry.id != hit.id:
        helps.append(f"{take_words(first.showing.entry.clip)} sells this beat best: {first.reason}")
    elif hit.reading.remarks and not hit.clip.section:
        helps.append("its section is not known, so it was compared with no other take or angle")
    elif hit.reading.remarks:
        helps.append("no other take or angle of this beat sells it better: another angle may")
    return tuple(text for text in helps if text)


def _trim_help(hit: HitEntry) -> str:
    trim = hit.taken
    if trim is None:
        return ""
    text = f"with {frames_in_words(trim.count)} out it looks {trim.speed_gain:.2f} times as fast"
    lag = lag_after(hit.impact, trim.first, trim.count)
    if hit.reading.late and lag is not None and not hit.judge.is_late(lag, hit.clip.rate):
        return f"{text}, and the receiver reacts {milliseconds(lag, hit.clip.rate)} ms after"
    if hit.reading.early and hit.impact.reaction_lag is not None and lag is not None:
        return f"{text}; {early_in_words(hit.impact.reaction_lag, lag)}"
    return text


def _picture(project: Project, hit: HitEntry, refusals: list[Refusal]) -> bytes | None:
    width, quality = _PICTURE
    try:
        return compress(drawn_strip(project, hit, hit.shown, width, ON_WHITE), "jpeg", quality)
    except MediaError as error:
        refusals.append(refusal_of(f"picture of hit {hit.called} of {hit.clip.name}", error))
        return None


def _sections(
    entries: Sequence[ClipEntry], beats: Sequence[ComparedBeat]
) -> tuple[SectionLine, ...]:
    sections = by_section(entries, lambda entry: entry.clip)
    return tuple(
        _section(
            name, together, [beat for beat in beats if beat.section.casefold() == name.casefold()]
        )
        for name, together in sections.items()
        if any(entry.hits for entry in together)
    )


def _section(name: str, entries: list[ClipEntry], beats: list[ComparedBeat]) -> SectionLine:
    hits = [hit for entry in entries for hit in entry.hits]
    return SectionLine(
        name=name,
        takes=_distinct(entry.clip.take for entry in entries),
        angles=_distinct(entry.clip.angle for entry in entries),
        beats=len(beats),
        hits=len(hits),
        counts=_counts(hits),
        best=_best(beats),
    )


def _best(beats: Sequence[ComparedBeat]) -> str:
    """The take and angle that are first in most of the beats of which there are several."""
    firsts = [beat.ranked[0] for beat in beats if len(beat.ranked) > 1]
    names = [take_words(first.showing.entry.clip) for first in firsts]
    if not names:
        return ""
    most = mode(names)
    of = "the only beat" if len(names) == 1 else f"{names.count(most)} of {len(names)} beats"
    return f"{most}: {of} seen in several takes or angles"


def _counts(hits: Iterable[HitEntry]) -> Counter[str]:
    return Counter(kind for hit in hits for kind in hit.reading.kinds)


def _place(hit: HitEntry) -> str:
    clip = hit.clip
    section = f"section {clip.section}" if clip.section else ""
    return ", ".join(dict.fromkeys(part for part in (section, take_words(clip), clip.name) if part))


def _distinct(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted({name for name in names if name}, key=natural_order))
