"""Tables of hits and trims for a terminal."""

from __future__ import annotations

from collections.abc import Iterable

import click

from impactcut.cli.layout import Column, print_table
from impactcut.core.fight.ranking import ComparedBeat, Ranked
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decisions import WORDS, Decision
from impactcut.core.trims.reasons import SHOWS, shows, worst_channel
from impactcut.core.trims.trim import Trim
from impactcut.core.trims.visibility import to_viewer, verdict
from impactcut.core.viewer.judge import OBSERVERS
from impactcut.project import Clearing
from impactcut.workflow.hits.entries import ClipEntry, HitEntry, source_timecode
from impactcut.workflow.takes.shots import Shot, ShotPlan

_HIT_COLUMNS: tuple[Column, ...] = (
    ("Hit", "left", False),
    ("Clip", "left", True),
    ("Contact", "left", False),
    ("Frame", "right", False),
    ("Conf.", "right", True),
    ("Speed", "right", False),
    ("Lag", "right", False),
    ("Propose", "left", False),
    ("Gain", "right", False),
    ("Shows", "left", True),
    ("Decision", "left", True),
)
_TRIM_COLUMNS: tuple[Column, ...] = (
    ("Take out", "left", False),
    ("From", "left", False),
    ("Gain", "right", False),
    ("Visibility", "right", False),
    ("Front row", "left", True),
    ("Shows", "left", True),
    ("Most in", "left", True),
    ("", "left", True),
    ("Why", "left", True),
)


_VIEWER_COLUMNS: tuple[Column, ...] = (
    ("Best of", "left", False),
    *((f"For the {viewer.name} viewer", "left", False) for viewer in OBSERVERS),
)


_SHOT_COLUMNS: tuple[Column, ...] = (
    ("", "left", False),
    ("Clip", "left", True),
    ("Section", "left", False),
    ("Slate", "left", False),
    ("Take", "left", False),
    ("Angle", "left", False),
    ("Circled", "left", False),
    ("Metres", "left", False),
    ("Said of it", "left", True),
)


_BEAT_COLUMNS: tuple[Column, ...] = (
    ("Beat", "left", False),
    ("Rank", "right", False),
    ("Hit", "left", False),
    ("Take", "left", False),
    ("Angle", "left", False),
    ("Clip", "left", True),
    ("Speed", "right", False),
    ("Trim", "left", False),
    ("Gain", "right", False),
    ("Then", "right", False),
    ("Shows", "left", True),
    ("Stops", "right", False),
    ("Lag", "right", False),
    ("Camera", "left", False),
    ("Why", "left", True),
)


def print_hits(entries: Iterable[ClipEntry]) -> None:
    """One line for each hit."""
    print_table(_HIT_COLUMNS, [_hit_row(hit) for entry in entries for hit in entry.hits])


def print_shots(plan: ShotPlan) -> None:
    """One line for each clip, marked where it would be known otherwise than now."""
    print_table(_SHOT_COLUMNS, [_shot_row(shot) for shot in plan.shots])


def print_trims(entry: HitEntry) -> None:
    """One line for each trim of a hit."""
    ordered = sorted(entry.proposal.trims, key=lambda trim: (trim.count, trim.first))
    print_table(_TRIM_COLUMNS, [_trim_row(entry, trim) for trim in ordered])


def print_viewers(entry: HitEntry) -> None:
    """The best trim of each count to every kind of viewer, in steps that each can just tell."""
    rows = [_viewer_row(entry, trim) for _, trim in sorted(entry.best.items()) if trim.felt]
    if rows:
        click.echo("In steps that each kind of viewer can just tell; less than 1 cannot be told:")
        print_table(_VIEWER_COLUMNS, rows)


def print_beats(beats: Iterable[ComparedBeat]) -> None:
    """One line for each take or angle of each beat, the best first."""
    rows = [_beat_row(beat, ranked) for beat in beats for ranked in beat.ranked]
    print_table(_BEAT_COLUMNS, rows)


def named_frames(frames: FrameRange) -> str:
    """How many frames, and the first of them."""
    return f"{len(frames)} from {frames.start}"


def named_decision(decision: Decision | None) -> str:
    """A decision in a few words."""
    if decision is None:
        return ""
    if decision.trim is None:
        return WORDS[decision.answer]
    return f"{WORDS[decision.answer]} {named_frames(decision.trim)}"


def named_said(said: Decision | Clearing) -> str:
    """A line of the history in a few words."""
    return "cleared" if isinstance(said, Clearing) else named_decision(said)


def _hit_row(entry: HitEntry) -> list[str]:
    hit, proposed, taken = entry.hit, entry.proposal.proposed, entry.taken
    return [
        entry.called,
        entry.clip.name,
        source_timecode(entry.clip, hit.contact) or "",
        str(hit.contact),
        entry.sureness,
        f"{hit.peak_speed:.2f}{' weak' if entry.weak else ''}",
        _lag(entry),
        "nothing" if proposed is None else f"{named_frames(proposed.frames)}{_by(proposed)}",
        "" if taken is None else f"{taken.speed_gain:.2f}x",
        "" if taken is None else _shows(entry, taken),
        named_decision(entry.decision),
    ]


def _by(proposed: Trim) -> str:
    return " by taste" if proposed.by_taste else ""


def _shows(entry: HitEntry, taken: Trim) -> str:
    return f"{shows(taken)}{'; counter jumps' if entry.clip.counter_jumps else ''}"


def _beat_row(beat: ComparedBeat, ranked: Ranked) -> list[str]:
    showing = ranked.showing
    clip, trim = showing.clip, showing.trim
    return [
        beat.name if ranked.place == 1 else "",
        str(ranked.place),
        showing.called,
        f"{clip.take}{' circled' if clip.circled else ''}",
        clip.angle,
        clip.name,
        f"{showing.hit.peak_speed:.2f}",
        "none" if trim is None else named_frames(trim.frames),
        "" if trim is None else f"{trim.speed_gain:.2f}x",
        f"{showing.speed:.2f}",
        "" if trim is None else shows(trim),
        f"{showing.crispness:.1f}",
        "" if showing.hit.reaction_lag is None else str(showing.hit.reaction_lag),
        showing.hit.camera,
        ranked.reason,
    ]


def _shot_row(shot: Shot) -> list[str]:
    clip = shot.after
    return [
        "" if shot.before == clip else ">",
        clip.name,
        clip.section,
        clip.slate,
        clip.take,
        clip.angle,
        "yes" if clip.circled else "",
        "" if clip.scale is None else str(clip.scale),
        ", ".join("metres" if name == "scale" else name for name in shot.stored.said.known),
    ]


def _lag(entry: HitEntry) -> str:
    lag = entry.hit.reaction_lag
    if lag is None:
        return ""
    word = " late" if entry.late else " early" if entry.early else ""
    return f"{lag}{word}"


def _trim_row(entry: HitEntry, trim: Trim) -> list[str]:
    return [
        named_frames(trim.frames),
        source_timecode(entry.clip, trim.first) or "",
        f"{trim.speed_gain:.2f}x",
        f"{trim.visibility:.2f}{'?' if trim.confident is False else ''}",
        _front_row(entry, trim),
        shows(trim),
        worst_channel(trim) if trim.channels else "",
        _standing(entry, trim),
        "; ".join((trim.vetoes or trim.reasons)[:1]),
    ]


def _front_row(entry: HitEntry, trim: Trim) -> str:
    """What the front row sees; in words too where it sees more than most."""
    if trim.front_row is None:
        return ""
    said = verdict(trim.front_row, entry.judge)
    return f"{trim.front_row:.2f}{'' if said == trim.verdict else f' {SHOWS[said]}'}"


def _viewer_row(entry: HitEntry, trim: Trim) -> list[str]:
    seen = {each.name: to_viewer(trim.visibility, each, entry.judge) for each in OBSERVERS}
    return [
        f"{trim.count} (from {trim.first})",
        *(f"faster {trim.felt[name]:.1f}, splice {seen[name]:.1f}" for name in seen),
    ]


def _standing(entry: HitEntry, trim: Trim) -> str:
    if entry.decision is not None and entry.decision.trim == trim.frames:
        return "approved"
    if trim.vetoes:
        return "must not"
    if trim == entry.proposal.proposed:
        return f"proposed{_by(trim)}"
    return "best of its count" if trim in entry.best.values() else ""
