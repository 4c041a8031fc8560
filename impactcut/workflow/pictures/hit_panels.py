"""The panels of a hit's moment in its picture; each draws on axes that it is given."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from impactcut.core.fight.entries import HitEntry
from impactcut.core.motion.curves import channel_speed
from impactcut.core.motion.measured import HitMotion
from impactcut.core.palette import BLACK, BLUE, GREEN, ORANGE, VERMILION
from impactcut.core.trims.splice_indices import COUNTS
from impactcut.core.trims.trim import Trim

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CURVES: Final = (
    ("strike", "striking limb", BLUE, "-", "o", 2.6),
    ("receiver", "receiver", VERMILION, "--", "s", 2.2),
    ("background", "background (camera)", "0.45", ":", "", 2.2),
)
MARKS: Final = {1: ("o", BLUE), 2: ("s", ORANGE), 3: ("D", GREEN)}
"""Form and colour of a trim by the frames that it takes out."""
SIDE: Final = 9
BEYOND: Final = 3
"""Frames drawn on either side of the contact, and beyond onset, settling and reaction."""


def draw_motion(axes: Axes, entry: HitEntry, motion: HitMotion) -> None:
    """Speeds of strike, receiver and background, with the moments of the hit."""
    first, last = _extent(entry, motion)
    middle = motion.first + np.arange(motion.intervals) + 0.5
    for name, label, colour, line, mark, width in CURVES:
        speed = channel_speed(motion, name)
        if speed is not None:
            axes.plot(
                middle, speed, linestyle=line, marker=mark, color=colour, linewidth=width,
                markersize=6, label=label, gid=name,
            )  # fmt: skip
    _fastest_part(axes, entry)
    axes.set_xlim(first - 0.5, last + 0.5)
    _fit_height(axes, entry, motion, first, last)
    _moments(axes, entry)
    axes.set_ylabel("speed\n(picture widths a second)", fontsize=12)
    axes.tick_params(labelbottom=False, labelsize=11)
    axes.grid(axis="y", color="0.9")
    axes.set_axisbelow(True)
    axes.set_title("What moves around the contact", fontsize=13, weight="bold", loc="left")
    axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 0.99), fontsize=11.5, ncols=4, frameon=False,
        columnspacing=1.4,
    )  # fmt: skip


def draw_removals(axes: Axes, entry: HitEntry) -> None:
    """Which frames the best trim of each count takes out, on the axis of the speeds."""
    best = entry.best
    for count in COUNTS:
        if count in best:
            _removed(axes, entry, best[count], row=COUNTS.index(count))
    axes.axvline(entry.impact.contact, color=BLACK, linewidth=2, zorder=1)
    axes.set_ylim(len(COUNTS) - 0.5, -0.5)
    axes.set_yticks(range(len(COUNTS)), [f"{count} out" for count in COUNTS], fontsize=11)
    first, last = (round(edge) for edge in axes.get_xlim())
    frames = [frame for frame in range(first, last + 1) if (frame - entry.impact.contact) % 2 == 0]
    axes.set_xticks(
        frames, [f"{signed(f - entry.impact.contact)}\n{f}" for f in frames], fontsize=11
    )
    axes.set_xlabel("frames from contact, and frames of the clip", fontsize=12, loc="right")


def _extent(entry: HitEntry, motion: HitMotion) -> tuple[int, int]:
    """First and last frame drawn."""
    hit = entry.impact
    reaction = hit.contact if hit.reaction is None else hit.reaction
    first = min(hit.contact - SIDE, hit.onset - BEYOND)
    last = max(hit.contact + SIDE, hit.settle + BEYOND, reaction + BEYOND)
    return max(first, motion.first), min(last, motion.first + motion.intervals)


def _fastest_part(axes: Axes, entry: HitEntry) -> None:
    """The speed that tables give: not the mean of the limb, but its fastest part."""
    axes.plot(
        entry.impact.peak + 0.5, entry.impact.peak_speed, linestyle="", marker="^", color=BLUE,
        markerfacecolor="white", markersize=11, markeredgewidth=2.2, clip_on=False,
        label="the limb's fastest part (speed in tables)", gid="fastest part",
    )  # fmt: skip


def _fit_height(axes: Axes, entry: HitEntry, motion: HitMotion, first: int, last: int) -> None:
    shown = slice(first - motion.first, last - motion.first)
    curves = [channel_speed(motion, name) for name, *_ in CURVES]
    fastest = [float(speed[shown].max(initial=0.1)) for speed in curves if speed is not None]
    axes.set_ylim(0, 1.3 * max(*fastest, entry.impact.peak_speed))


def _moments(axes: Axes, entry: HitEntry) -> None:
    hit = entry.impact
    moments = [
        ("onset", hit.onset, BLUE, "-.", 0.90),
        ("contact", hit.contact, BLACK, "-", 0.965),
        ("settled", hit.settle, BLUE, (0, (1, 3)), 0.835),
    ]
    if hit.reaction is not None:
        moments.append(("receiver reacts", hit.reaction, VERMILION, "--", 0.90))
    for name, frame, colour, line, height in moments:
        axes.axvline(frame, color=colour, linestyle=line, linewidth=2, zorder=1, gid=name)
        axes.annotate(
            name, (frame, height), xycoords=("data", "axes fraction"), xytext=(5, 0),
            textcoords="offset points", fontsize=12, color=colour, va="center", weight="bold",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5, "alpha": 0.85},
        )  # fmt: skip


def _removed(axes: Axes, entry: HitEntry, trim: Trim, row: int) -> None:
    _, colour = MARKS[trim.count]
    proposed = trim == entry.proposal.proposed
    axes.barh(
        row, trim.count, left=trim.first - 0.5, height=0.72, color=colour, zorder=3,
        edgecolor=BLACK, linewidth=2.5 if proposed else 0.5, gid=f"removed {trim.count}",
    )  # fmt: skip
    words = f"{trim.speed_gain:.2f}x, visibility {trim.visibility:.1f}"
    axes.annotate(
        f"{words}  proposed" if proposed else words, (trim.first + trim.count - 0.5, row),
        xytext=(8, 0), textcoords="offset points", va="center", fontsize=12, zorder=4,
        weight="bold" if proposed else "normal",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )  # fmt: skip


def signed(offset: int) -> str:
    """Frames from the contact as a label, with a true minus."""
    return "0" if offset == 0 else f"{offset:+d}".replace("-", "−")
