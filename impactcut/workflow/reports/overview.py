"""The overview of a project's fight, from its clips and hits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import accumulate

from impactcut.core.fight.overview import ClipSpan, FightOverview, HitMark, TrimState
from impactcut.core.takes.clip import Clip
from impactcut.workflow.hits.entries import ClipEntry, HitEntry
from impactcut.workflow.pictures.fight_picture import render_overview


def fight_overview(entries: Sequence[ClipEntry]) -> FightOverview:
    """Clips laid end to end in their order, with their hits."""
    entries = [entry for entry in entries if entry.clip.frames > 0]
    lengths = [entry.clip.frames / entry.clip.rate for entry in entries]
    starts = list(accumulate(lengths, initial=Fraction(0)))[: len(entries)]
    placed = list(zip(entries, starts, strict=True))
    return FightOverview(
        clips=tuple(_span(entry.clip, start) for entry, start in placed),
        hits=tuple(mark for entry, start in placed for mark in _marks(entry.hits, start)),
        usual_speed=next((hit.usual_speed for entry in entries for hit in entry.hits), None),
    )


def overview_picture(title: str, entries: Sequence[ClipEntry]) -> str:
    """The overview as an SVG document."""
    return render_overview(title, fight_overview(entries))


def trim_state(entry: HitEntry) -> tuple[TrimState, int]:
    """What becomes of a hit's trim, and how many frames it takes out."""
    if entry.untouched:
        return "declined", 0
    if entry.put_off:
        return "none", 0
    if entry.decision is not None and entry.decision.trim is not None:
        return "approved", len(entry.decision.trim)
    proposed = entry.proposal.proposed
    return ("none", 0) if proposed is None else ("proposed", proposed.count)


def _span(clip: Clip, start: Fraction) -> ClipSpan:
    return ClipSpan(
        clip.name, clip.section, clip.take, clip.angle, start, Fraction(clip.frames) / clip.rate
    )


def _marks(hits: Iterable[HitEntry], start: Fraction) -> Iterator[HitMark]:
    for entry in hits:
        state, frames = trim_state(entry)
        rate = entry.clip.rate
        at = start + entry.hit.contact / rate
        speed = entry.hit.peak_speed
        yield HitMark(entry.id, at, speed, entry.reading, state, frames, 1 / rate, entry.called)
