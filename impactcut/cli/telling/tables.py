"""Tables of hits and trims for a terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

import click

from impactcut.cli.telling.layout import Column, print_table
from impactcut.core.fight.entries import ClipEntry, HitEntry
from impactcut.core.fight.ranking import ComparedBeat, Ranked
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import WORDS, Decision
from impactcut.core.trims.reasons import SHOWS, shows, worst_channel
from impactcut.core.trims.trim import Trim
from impactcut.core.trims.visibility import to_viewer, verdict
from impactcut.core.viewer.judge import OBSERVERS, Observer
from impactcut.project import Clearing

if TYPE_CHECKING:
    from impactcut.workflow.takes.shots import Shot, ShotPlan


def print_hits(entries: Iterable[ClipEntry]) -> None:
    """One line for each hit."""
    print_table(_HIT_COLUMNS, [hit for entry in entries for hit in entry.hits])


def print_shots(plan: ShotPlan) -> None:
    """One line for each clip, marked where it would be known otherwise than now."""
    print_table(_SHOT_COLUMNS, plan.shots)


def print_trims(entry: HitEntry) -> None:
    """One line for each trim of a hit."""
    columns: tuple[Column[Trim], ...] = (
        Column("Take out", lambda trim: named_frames(trim.frames)),
        Column("From", lambda trim: entry.clip.timecode(trim.first) or ""),
        Column("Gain", _gain, "right"),
        Column(
            "Visibility",
            lambda trim: f"{trim.visibility:.2f}{'?' if trim.confident is False else ''}",
            "right",
        ),
        Column("Front row", lambda trim: _front_row(entry, trim), breaks=True),
        Column("Shows", shows, breaks=True),
        Column("Most in", lambda trim: worst_channel(trim) if trim.channels else "", breaks=True),
        Column("", lambda trim: _standing(entry, trim), breaks=True),
        Column("Why", lambda trim: "; ".join((trim.vetoes or trim.reasons)[:1]), breaks=True),
    )
    print_table(columns, sorted(entry.proposal.trims, key=lambda trim: (trim.count, trim.first)))


def print_viewers(entry: HitEntry) -> None:
    """The best trim of each count to every kind of viewer, in steps that each can just tell."""

    def told(viewer: Observer) -> Callable[[Trim], str]:
        return lambda trim: (
            f"faster {trim.felt[viewer.name]:.1f}, "
            f"splice {to_viewer(trim.visibility, viewer, entry.judge):.1f}"
        )

    trims = [trim for _, trim in sorted(entry.best.items()) if trim.felt]
    if trims:
        click.echo("In steps that each kind of viewer can just tell; less than 1 cannot be told:")
        best: Column[Trim] = Column("Best of", lambda trim: f"{trim.count} (from {trim.first})")
        viewers = (Column(f"For the {each.name} viewer", told(each)) for each in OBSERVERS)
        print_table((best, *viewers), trims)


def print_beats(beats: Iterable[ComparedBeat]) -> None:
    """One line for each take or angle of each beat, the best first."""
    print_table(_BEAT_COLUMNS, [(beat, ranked) for beat in beats for ranked in beat.ranked])


def named_frames(frames: FrameRange) -> str:
    """How many frames, and the first of them."""
    return f"{len(frames)} from {frames.start}"


def placed(clip: Clip, frame: int) -> str:
    """A frame of a clip, with its source timecode where it has one."""
    label = clip.timecode(frame)
    return f"frame {frame}" + (f" ({label})" if label else "")


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


def _gain(trim: Trim | None) -> str:
    return "" if trim is None else f"{trim.speed_gain:.2f}x"


def _proposed(entry: HitEntry) -> str:
    proposed = entry.proposal.proposed
    return "nothing" if proposed is None else f"{named_frames(proposed.frames)}{_by(proposed)}"


def _by(proposed: Trim) -> str:
    return " by taste" if proposed.by_taste else ""


def _shows(entry: HitEntry) -> str:
    if entry.taken is None:
        return ""
    return f"{shows(entry.taken)}{'; counter jumps' if entry.clip.counter_jumps else ''}"


def _lag(entry: HitEntry) -> str:
    lag = entry.impact.reaction_lag
    if lag is None:
        return ""
    word = " late" if entry.reading.late else " early" if entry.reading.early else ""
    return f"{lag}{word}"


def _front_row(entry: HitEntry, trim: Trim) -> str:
    """What the front row sees; in words too where it sees more than most."""
    if trim.front_row is None:
        return ""
    said = verdict(trim.front_row, entry.judge)
    return f"{trim.front_row:.2f}{'' if said == trim.verdict else f' {SHOWS[said]}'}"


def _standing(entry: HitEntry, trim: Trim) -> str:
    if entry.decision is not None and entry.decision.trim == trim.frames:
        return "approved"
    if trim.vetoes:
        return "must not"
    if trim == entry.proposal.proposed:
        return f"proposed{_by(trim)}"
    return "best of its count" if trim in entry.best.values() else ""


_HIT_COLUMNS: tuple[Column[HitEntry], ...] = (
    Column("Hit", lambda entry: entry.called),
    Column("Clip", lambda entry: entry.clip.name, breaks=True),
    Column("Contact", lambda entry: entry.clip.timecode(entry.impact.contact) or ""),
    Column("Frame", lambda entry: str(entry.impact.contact), "right"),
    Column("Conf.", lambda entry: entry.sureness, "right", breaks=True),
    Column(
        "Speed",
        lambda entry: f"{entry.impact.peak_speed:.2f}{' weak' if entry.reading.weak else ''}",
        "right",
    ),
    Column("Lag", _lag, "right"),
    Column("Propose", _proposed),
    Column("Gain", lambda entry: _gain(entry.taken), "right"),
    Column("Shows", _shows, breaks=True),
    Column("Decision", lambda entry: named_decision(entry.decision), breaks=True),
)
_SHOT_COLUMNS: tuple[Column[Shot], ...] = (
    Column("", lambda shot: "" if shot.before == shot.after else ">"),
    Column("Clip", lambda shot: shot.after.name, breaks=True),
    Column("Section", lambda shot: shot.after.section),
    Column("Slate", lambda shot: shot.after.slate),
    Column("Take", lambda shot: shot.after.take),
    Column("Angle", lambda shot: shot.after.angle),
    Column("Circled", lambda shot: "yes" if shot.after.circled else ""),
    Column("Metres", lambda shot: str(shot.after.scale or "")),
    Column(
        "Said of it",
        lambda shot: ", ".join(
            "metres" if name == "scale" else name for name in shot.stored.said.known
        ),
        breaks=True,
    ),
)


def _of(tell: Callable[[HitEntry], str]) -> Callable[[tuple[ComparedBeat, Ranked]], str]:
    return lambda line: tell(line[1].showing.entry)


def _reaction(entry: HitEntry) -> str:
    return "" if entry.impact.reaction_lag is None else str(entry.impact.reaction_lag)


_BEAT_COLUMNS: tuple[Column[tuple[ComparedBeat, Ranked]], ...] = (
    Column("Beat", lambda line: line[0].name if line[1].place == 1 else ""),
    Column("Rank", lambda line: str(line[1].place), "right"),
    Column("Hit", _of(lambda entry: entry.called)),
    Column(
        "Take", _of(lambda entry: f"{entry.clip.take}{' circled' if entry.clip.circled else ''}")
    ),
    Column("Angle", _of(lambda entry: entry.clip.angle)),
    Column("Clip", _of(lambda entry: entry.clip.name), breaks=True),
    Column("Speed", _of(lambda entry: f"{entry.impact.peak_speed:.2f}"), "right"),
    Column("Trim", _of(lambda entry: named_frames(entry.taken.frames) if entry.taken else "none")),
    Column("Gain", _of(lambda entry: _gain(entry.taken)), "right"),
    Column("Then", lambda line: f"{line[1].showing.speed:.2f}", "right"),
    Column("Shows", _of(lambda entry: shows(entry.taken) if entry.taken else ""), breaks=True),
    Column("Stops", lambda line: f"{line[1].showing.crispness:.1f}", "right"),
    Column("Lag", _of(_reaction), "right"),
    Column("Camera", _of(lambda entry: entry.impact.camera)),
    Column("Why", lambda line: line[1].reason, breaks=True),
)
