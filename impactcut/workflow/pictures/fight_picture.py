"""A whole fight as one picture, in SVG: hits over time, trims, and frames taken out so far.

Every state has a colour of `impactcut.core.palette` and a shape of its own.
"""

from __future__ import annotations

import io
import math
import warnings
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final
from xml.sax.saxutils import escape

from impactcut.core.fight.overview import FightOverview
from impactcut.core.fight.reading import KINDS
from impactcut.core.palette import BLACK, BLUE, GREEN, ORANGE, PURPLE, VERMILION
from impactcut.core.time.frames import frames_in_words
from impactcut.core.words import counted
from impactcut.lists.csv_text import well_formed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH, HEIGHT = 1200, 600
"""Pixels, as the lengths below."""
_DOTS: Final = 96
"""Pixels to the inch, as browsers have them."""
_LEFT, _RIGHT = 112, 44
_ROOM: Final = WIDTH - _LEFT - _RIGHT
_WHOLE, _HITS, _TRIMS, _OFFSET = (54, 476), (96, 198), (318, 70), (412, 96)
"""Top and height of the panels."""
_GREY, _PALE = "#6b6b6b", "#ececec"
_HEADS: Final = {
    "": ("hit", "o", BLUE),
    "weak": ("reads weak", "v", ORANGE),
    "late": ("late reaction", "s", VERMILION),
    "early": ("early", "D", PURPLE),
}
_STATES: Final[dict[str, tuple[str, dict[str, Any]]]] = {
    "approved": ("trim approved", {"marker": "s", "color": GREEN}),
    "proposed": ("proposed", {"marker": "s", "color": GREEN, "markerfacecolor": "white"}),
    "declined": ("as shot", {"marker": "_", "color": BLACK, "markeredgewidth": 2}),
    "none": ("none to make", {"marker": "x", "color": _GREY}),
}
_TICKS: Final = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)
_MOST_TICKS: Final = 12
_LETTER: Final = 7.0
"""What a letter takes; labels that do not fit are left out."""


def render_overview(title: str, overview: FightOverview) -> str:
    """The picture as an SVG document; a pointer on a hit is told what is unusual about it."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    seconds = max(float(overview.seconds), 1e-9)
    figure = Figure(figsize=(WIDTH / _DOTS, HEIGHT / _DOTS), dpi=_DOTS)
    styles: dict[Any, Any] = {
        "svg.fonttype": "none", "svg.hashsalt": "impactcut", "font.size": 9,
        "text.parse_math": False,
    }  # fmt: skip
    with rc_context(styles), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph")  # the reader's fonts draw the letters
        ground = _panel(figure, _WHOLE, seconds)
        _draw_clips(ground, overview)
        _draw_crowds(ground, overview)
        _draw_hits(_panel(figure, _HITS, seconds, "Hits", "widths/s"), overview)
        _draw_trims(_panel(figure, _TRIMS, seconds, "Frames out"), overview)
        _draw_offsets(_panel(figure, _OFFSET, seconds, "Offset so far", "frames"), overview)
        _draw_words(figure, title, overview)
        out = io.StringIO()
        told = {"Title": well_formed(_in_words(title, overview)), "Date": None}
        figure.savefig(out, format="svg", metadata=told)
    svg = out.getvalue()
    for _, hit in overview.hits:
        words = "; ".join(hit.reading.remarks) or "nothing unusual"
        group = f'<g id="hit {hit.id}">'
        named = f"<title>{escape(well_formed(f'hit {hit.called}: {words}'))}</title>"
        svg = svg.replace(group, group + named, 1)
    return svg


def _panel(
    figure: Figure, rows: tuple[int, int], seconds: float, name: str = "", unit: str = ""
) -> Axes:
    top, height = rows
    place = (_LEFT / WIDTH, 1 - (top + height) / HEIGHT, _ROOM / WIDTH, height / HEIGHT)
    axes = figure.add_axes(place, facecolor="none", xlim=(0, seconds))
    axes.spines[["left", "right", "top"]].set_visible(False)
    axes.spines["bottom"].set_color(_GREY if name else BLACK)
    axes.tick_params(
        left=False, pad=1, bottom=not name, labelbottom=not name, labelcolor=_GREY, labelsize=8
    )
    for row, text in enumerate((name, unit)):
        line = 1 - (top + 16 * row + 14) / HEIGHT
        figure.text(8 / WIDTH, line, text, color=_GREY, fontsize=9.5 - 1.5 * row)
    return axes


def _draw_clips(axes: Axes, overview: FightOverview) -> None:
    width = axes.get_xlim()[1] / _ROOM
    axes.set(ylim=(_WHOLE[1], 0), yticks=[])
    for number, (begins, clip) in enumerate(overview.clips):
        start, stop = float(begins), float(begins + clip.seconds)
        if number % 2 == 0:
            axes.axvspan(start, stop, color=_PALE, linewidth=0)
        label = " ".join(part for part in (clip.take, clip.angle) if part)
        if _LETTER * len(label) < (stop - start) / width:
            axes.text((start + stop) / 2, 34, well_formed(label), ha="center", fontsize=8)
    for section, group in groupby(overview.clips, key=lambda placed: placed[1].section):
        clips = list(group)
        (begins, _), (last, clip) = clips[0], clips[-1]
        start, stop = float(begins), float(last + clip.seconds)
        axes.axvline(start, color=_GREY, linewidth=1)
        told = f"section {section}" if section else "no section"
        room = (stop - start) / width - 6
        fitting = (label for label in (told, section) if _LETTER * len(label) <= room)
        axes.text(start + 4 * width, 14, well_formed(next(fitting, "")))
    steps = (tick for tick in _TICKS if width * _ROOM / tick <= _MOST_TICKS)
    step = next(steps, max(1, math.ceil(width * _ROOM / _MOST_TICKS)))
    ticks = range(0, int(width * _ROOM) + 1, step)
    axes.set_xticks(ticks, list(map(_clock, ticks)), color=BLACK)


def _draw_crowds(axes: Axes, overview: FightOverview) -> None:
    beyond = 7 * axes.get_xlim()[1] / _ROOM
    for crowd in overview.crowds():
        first, last = float(crowd[0]), float(crowd[-1])
        axes.hlines(248, first - beyond, last + beyond, color=BLACK, linewidth=3)
        axes.text((first + last) / 2, 261, str(len(crowd)), ha="center", fontsize=8)


def _draw_hits(axes: Axes, overview: FightOverview) -> None:
    fastest = max((hit.impact.peak_speed for _, hit in overview.hits), default=1.0) or 1.0
    axes.set_ylim(0, fastest * _HITS[1] / (_HITS[1] - 20))
    _few_ticks(axes)
    if overview.usual_speed is not None:
        usual = min(overview.usual_speed, fastest)
        axes.axhline(usual, color=_GREY, linewidth=1, linestyle=":")
        axes.annotate("usual", (1, usual), (4, -3), ("axes fraction", "data"), "offset points",
                      color=_GREY, fontsize=8)  # fmt: skip
    for at, hit in overview.hits:
        _, marker, colour = _HEADS[("", *hit.reading.kinds)[-1]]
        speed = hit.impact.peak_speed
        axes.vlines(float(at), 0, speed, color=_GREY, linewidth=0.8)
        axes.plot(float(at), speed, marker, color=colour, markersize=8, clip_on=False,
                  gid=f"hit {hit.id}")  # fmt: skip


def _draw_trims(axes: Axes, overview: FightOverview) -> None:
    axes.set(ylim=(0, 3), yticks=(1, 2, 3))
    wide = 8 * axes.get_xlim()[1] / _ROOM
    for at, hit in overview.hits:
        _, style = _STATES[hit.trim_state]
        if hit.going_out is not None:
            out, inside = len(hit.going_out), style.get("markerfacecolor", GREEN)
            axes.bar(float(at), out, wide, color=inside, edgecolor=GREEN, clip_on=False)
        else:
            axes.plot(float(at), 0.17, linestyle="", markersize=7, **style)


def _draw_offsets(axes: Axes, overview: FightOverview) -> None:
    both = overview.frames_out("approved", "proposed")
    most = max(both, default=0)
    axes.set_ylim(0, most or 1)
    axes.set_yticks([])
    if most:
        _few_ticks(axes)
    seconds = axes.get_xlim()[1]
    at = [0.0, *(float(at) for at, _ in overview.hits), seconds]
    for sums, line in ((both, "--"), (overview.frames_out("approved"), "-")):
        axes.step(at, [0, *sums, *(sums[-1:] or (0,))], line, where="post", color=GREEN,
                  linewidth=1.6, clip_on=False)  # fmt: skip


def _draw_words(figure: Figure, title: str, overview: FightOverview) -> None:
    from matplotlib.lines import Line2D

    top = 1 - 30 / HEIGHT
    approved = max(overview.frames_out("approved"), default=0)
    both = max(overview.frames_out("approved", "proposed"), default=0)
    seconds = float(overview.seconds_out("approved", "proposed"))
    told = f"{frames_in_words(approved)} out approved, {both} with proposals ({seconds:.2f} s)"
    figure.text(_LEFT / WIDTH, top, well_formed(title), fontsize=15)
    figure.text(1 - _RIGHT / WIDTH, top, told, ha="right", fontsize=10)
    figure.text(8 / WIDTH, 1 - 68 / HEIGHT, "Clips", color=_GREY, fontsize=9.5)
    heads = [
        Line2D([], [], linestyle="", marker=marker, color=colour, label=label)
        for label, marker, colour in _HEADS.values()
    ]
    states = [
        Line2D([], [], linestyle="", label=label, **style) for label, style in _STATES.values()
    ]
    crowd = Line2D([], [], color=BLACK, linewidth=3, label="hits crowd")
    figure.legend(
        handles=[*heads, *states, crowd], loc="lower left", ncols=9, frameon=False,
        bbox_to_anchor=(_LEFT / WIDTH, 0), borderaxespad=0.6, handletextpad=0.5,
        columnspacing=1.0, handlelength=1.4, borderpad=0.2,
    )  # fmt: skip


def _few_ticks(axes: Axes) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10], prune="lower"))


def _in_words(title: str, overview: FightOverview) -> str:
    hits = overview.hits
    counts = (f"{sum(kind in hit.reading.kinds for _, hit in hits)} {kind}" for kind in KINDS)
    told = f"{title}: {counted(len(hits), 'hit')} in {_clock(float(overview.seconds))}"
    return ", ".join((told, *counts))


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
