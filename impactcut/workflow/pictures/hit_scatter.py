"""The panel of a hit's picture that weighs its trims: gain against visibility."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from impactcut.core.fight.entries import HitEntry
from impactcut.core.palette import BLACK
from impactcut.core.time.frames import frames_in_words
from impactcut.core.trims.reasons import SHOWS
from impactcut.core.trims.splice_indices import COUNTS
from impactcut.core.viewer.judge import ATTENTIVE, CASUAL, FRONT_ROW_DEGREES, Judge
from impactcut.workflow.pictures.hit_panels import MARKS, signed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LEAST_SHOWN: Final = 4.0
MOST_SHOWN: Final = 12.0
"""Visibility up to which the axis reaches at least and at most."""


def draw_trims(axes: Axes, entry: HitEntry) -> None:
    """Every trim: how much faster it looks, against how much its splice shows."""
    trims = entry.proposal.trims
    most = min(max([LEAST_SHOWN, *(trim.visibility * 1.1 for trim in trims)]), MOST_SHOWN)
    axes.set_xscale("function", functions=(np.sqrt, np.square))
    axes.set_xlim(0, most)
    highest = max([1.25, *(trim.speed_gain for trim in trims)])
    lowest = min([0.98, *(trim.speed_gain for trim in trims)])
    axes.set_ylim(lowest - 0.1 * (highest - lowest), highest + 0.15 * (highest - lowest))
    _warning_lines(axes, entry.judge, most)
    _gain_lines(axes, entry.judge)
    for count in COUNTS:
        _marks(axes, entry, count, most)
    _front_row(axes, entry, most)
    axes.plot([], [], marker="$-1$", color=BLACK, linestyle="", markersize=15,
              label="first frame out, from contact")  # fmt: skip
    if any(trim.vetoes for trim in trims):
        axes.plot([], [], marker="o", color="white", markeredgecolor=BLACK, linestyle="",
                  markersize=14, label="hollow: must not be made")  # fmt: skip
    _named(axes, entry, most)
    axes.set_xlabel("visibility of the splice (1 = a trained observer can just tell)", fontsize=12)
    axes.set_ylabel("how many times\nas fast it looks", fontsize=12)
    axes.tick_params(labelsize=11)
    ticks = [tick for tick in (0, 0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8, 10, 12) if tick <= most]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.text(
        0.0, 1.19, "What every trim gains and shows (better: higher, and further left)",
        transform=axes.transAxes, fontsize=13, weight="bold",
    )  # fmt: skip
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, -0.22), fontsize=11.5, ncols=5, frameon=False
    )


def _warning_lines(axes: Axes, judge: Judge, most: float) -> None:
    lines = (0.0, 1.0, judge.attentive_ratio, judge.audience_ratio, most)
    names = (f"shows {SHOWS['clean']}", *list(SHOWS.values())[1:])
    for shade, name, left, right in zip(
        ("1.0", "0.955", "0.90", "0.83"), names, lines, lines[1:], strict=False
    ):
        axes.axvspan(left, right, color=shade, zorder=0, linewidth=0)
        middle = ((left**0.5 + right**0.5) / 2) ** 2
        axes.text(
            middle, 1.03, name, transform=axes.get_xaxis_transform(), ha="center", va="bottom",
            fontsize=12,
        )  # fmt: skip
    axes.axvline(1.0, color="0.4", linewidth=1.2, linestyle=":", gid="clean line")
    axes.axvline(judge.attentive_ratio, color=BLACK, linewidth=2.4, gid="warning line")
    axes.axvline(judge.audience_ratio, color=BLACK, linewidth=2.4, linestyle="--", gid="jump")
    axes.annotate(
        "warning line", (judge.attentive_ratio, 0.97), xycoords=("data", "axes fraction"),
        xytext=(-4, 0), textcoords="offset points", rotation=90, ha="right", va="top", fontsize=11,
    )  # fmt: skip


def _gain_lines(axes: Axes, judge: Judge) -> None:
    lines = (
        (judge.least_gain, "side by side"),
        (1 + ATTENTIVE.weber, "attentive viewers feel it"),
        (1 + CASUAL.weber, "anybody feels it"),
        (judge.believable_gain, "still believable?"),
    )
    low, high = axes.get_ylim()
    for gain, name in lines:
        if low < gain < high:
            axes.axhline(gain, color="0.55", linewidth=1, linestyle=(0, (6, 3)), zorder=1)
            axes.text(
                0.004, gain, f"{gain:.2f} {name}", transform=axes.get_yaxis_transform(),
                va="top" if gain == judge.least_gain else "bottom", fontsize=10.5,
                color="0.3",
            )  # fmt: skip


def _marks(axes: Axes, entry: HitEntry, count: int, most: float) -> None:
    form, colour = MARKS[count]
    trims = [trim for trim in entry.proposal.trims if trim.count == count]
    free = [trim for trim in trims if not trim.vetoes]
    barred = [trim for trim in trims if trim.vetoes]
    names = f"{frames_in_words(count)} out"
    for group, inside, label in ((free, colour, names), (barred, "white", "_barred")):
        axes.plot(
            [min(trim.visibility, most) for trim in group], [trim.speed_gain for trim in group],
            linestyle="", marker=form, markersize=14.5 if form == "D" else 16, color=inside,
            markeredgecolor=colour if inside == "white" else BLACK, markeredgewidth=1.2,
            label=label, gid=f"trims {count} {label}",
            clip_on=False, zorder=3,
        )  # fmt: skip
    for trim in trims:
        axes.annotate(
            signed(trim.first - entry.impact.contact),
            (min(trim.visibility, most), trim.speed_gain),
            ha="center", va="center", fontsize=8.5, zorder=4, weight="bold",
            color=colour if trim.vetoes else "white" if count != 2 else BLACK,
        )  # fmt: skip


def _front_row(axes: Axes, entry: HitEntry, most: float) -> None:
    """How far the best of each count shows to somebody who sits in front."""
    label = f"as far as it shows in the front row ({FRONT_ROW_DEGREES:.0f} degrees)"
    for trim in entry.best.values():
        if trim.front_row is not None:
            reach = (min(trim.visibility, most), min(trim.front_row, most))
            axes.plot(
                reach, (trim.speed_gain, trim.speed_gain), color="0.2", linewidth=1.8,
                marker="|", markersize=13, markeredgewidth=2.4, markevery=[1], zorder=2,
                clip_on=False, label=label, gid=f"front row {trim.count}",
            )  # fmt: skip
            label = "_again"


def _named(axes: Axes, entry: HitEntry, most: float) -> None:
    trim = entry.proposal.proposed
    if trim is None:
        return
    place = (min(trim.visibility, most), trim.speed_gain)
    axes.plot(
        *place, marker="o", markersize=30, color=BLACK, markerfacecolor="none",
        markeredgewidth=2.6, linestyle="", zorder=5, clip_on=False, gid="proposed",
    )  # fmt: skip
    axes.annotate(
        "proposed", place, xytext=(0, 20), textcoords="offset points", ha="center",
        fontsize=12, weight="bold", zorder=6,
    )  # fmt: skip
