"""A whole fight as one picture, in SVG.

Every state has a colour of `impactcut.core.palette` and a shape of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape

from impactcut.core.fight.overview import ClipSpan, FightOverview, HitMark, TrimState
from impactcut.core.palette import BLACK, BLUE, GREEN, ORANGE, PURPLE, VERMILION
from impactcut.core.time.frames import frames_in_words
from impactcut.core.words import counted
from impactcut.lists.csv_text import well_formed
from impactcut.lists.svg_shapes import INK, box, line, polygon, words

_GREY, _PALE = "#6b6b6b", "#ececec"

_LEFT, _RIGHT, _WIDTH = 112, 44, 1200
_CLIPS, _HITS, _TRIMS, _OFFSET, _AXIS = (54, 40), (104, 190), (318, 70), (412, 96), 530
_HEIGHT = 600
_TICKS: Final = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)
_MOST_TICKS = 12
_LEAST_LABEL = 30.0
_LETTER = 7.0


@dataclass(frozen=True)
class _Scale:
    """From seconds of the programme to places across the picture."""

    seconds: float

    def x(self, second: float) -> float:
        room = _WIDTH - _LEFT - _RIGHT
        return _LEFT + room * second / max(self.seconds, 1e-9)


def render_overview(title: str, overview: FightOverview) -> str:
    """The picture as an SVG document."""
    scale = _Scale(float(overview.seconds))
    body = [
        *_headings(title, overview),
        *_clips(overview.clips, scale),
        *_crowds(overview, scale),
        *_hits(overview, scale),
        *_trims(overview.hits, scale),
        *_offsets(overview, scale),
        *_time_axis(scale),
        *_legend(),
    ]
    told = escape(well_formed(_in_words(title, overview)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
        f'width="{_WIDTH}" height="{_HEIGHT}" role="img" font-family="system-ui, sans-serif" '
        f'font-size="13" fill="{INK}"><title>{told}</title>'
        f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#ffffff"/>{"".join(body)}</svg>\n'
    )


def _in_words(title: str, overview: FightOverview) -> str:
    hits = overview.hits
    parts = [f"{title}: {counted(len(hits), 'hit')} in {_clock(float(overview.seconds))}"]
    for name in ("weak", "late", "early"):
        parts.append(f"{sum(bool(getattr(hit.reading, name)) for hit in hits)} {name}")
    return ", ".join(parts)


def _headings(title: str, overview: FightOverview) -> Iterator[str]:
    yield words(_LEFT, 30, title, size=20)
    approved = overview.frames_out(("approved",))[-1:] or (0,)
    both = overview.frames_out(("approved", "proposed"))[-1:] or (0,)
    seconds = float(overview.seconds_out(("approved", "proposed")))
    out = frames_in_words(approved[0])
    told = f"{out} out approved, {both[0]} with proposals ({seconds:.2f} s)"
    yield words(_WIDTH - _RIGHT, 30, told, anchor="end")
    names = ((_CLIPS, "Clips"), (_HITS, "Hits"), (_TRIMS, "Frames out"), (_OFFSET, "Offset so far"))
    for (top, _), name in names:
        yield words(8, top + 14, name, colour=_GREY)
    yield words(8, _HITS[0] + 30, "widths/s", colour=_GREY, size=11)
    yield words(8, _OFFSET[0] + 30, "frames", colour=_GREY, size=11)


def _clips(clips: Sequence[ClipSpan], scale: _Scale) -> Iterator[str]:
    top = _CLIPS[0]
    for number, clip in enumerate(clips):
        left, right = scale.x(float(clip.start)), scale.x(float(clip.start + clip.seconds))
        fill = _PALE if number % 2 == 0 else "#ffffff"
        yield box(left, top, right - left, _AXIS - top, fill)
        label = " ".join(part for part in (clip.take, clip.angle) if part)
        if right - left >= _LEAST_LABEL:
            yield words((left + right) / 2, top + 34, label, anchor="middle", size=11)
    for name, left, right in _sections(clips, scale):
        yield line(left, top, left, _AXIS, _GREY)
        told = f"section {name}" if name else "no section"
        fitting = (label for label in (told, name) if _LETTER * len(label) + 6 <= right - left)
        yield words(left + 4, top + 14, next(fitting, ""))


def _sections(clips: Sequence[ClipSpan], scale: _Scale) -> list[tuple[str, float, float]]:
    runs: list[tuple[str, float, float]] = []
    for clip in clips:
        left, right = scale.x(float(clip.start)), scale.x(float(clip.start + clip.seconds))
        if runs and runs[-1][0] == clip.section:
            runs[-1] = (clip.section, runs[-1][1], right)
        else:
            runs.append((clip.section, left, right))
    return runs


def _crowds(overview: FightOverview, scale: _Scale) -> Iterator[str]:
    top, height = _HITS
    for crowd in overview.crowds():
        left, right = scale.x(float(crowd[0].at)) - 7, scale.x(float(crowd[-1].at)) + 7
        yield line(left, top + height + 8, right, top + height + 8, BLACK, width=4)
        yield words((left + right) / 2, top + height + 21, str(len(crowd)), "middle", size=11)


def _hits(overview: FightOverview, scale: _Scale) -> Iterator[str]:
    top, height = _HITS
    fastest = max((hit.speed for hit in overview.hits), default=1.0) or 1.0
    base = top + height
    yield line(_LEFT, base, _WIDTH - _RIGHT, base, _GREY)
    for speed in _round_values(fastest):
        y = base - (height - 12) * speed / fastest
        yield words(_LEFT - 6, y + 4, f"{speed:g}", "end", _GREY, 11)
    if overview.usual_speed is not None:
        y = base - (height - 12) * min(overview.usual_speed, fastest) / fastest
        yield line(_LEFT, y, _WIDTH - _RIGHT, y, _GREY, dash="2 4")
        yield words(_WIDTH - _RIGHT + 4, y + 4, "usual", size=11, colour=_GREY)
    for hit in overview.hits:
        x, y = scale.x(float(hit.at)), base - (height - 12) * hit.speed / fastest
        yield line(x, base, x, y, _GREY)
        yield _head(x, y, hit)


def _head(x: float, y: float, hit: HitMark) -> str:
    kind = next((name for name in ("early", "late", "weak") if getattr(hit.reading, name)), "")
    told = "; ".join(hit.reading.remarks) or "nothing unusual"
    return f"<g><title>{escape(f'hit {hit.called}: {told}')}</title>{_mark(kind, x, y)}</g>"


def _mark(kind: str, x: float, y: float) -> str:
    if kind == "weak":
        return polygon([(x - 7, y - 5), (x + 7, y - 5), (x, y + 7)], ORANGE)
    if kind == "late":
        return polygon([(x - 6, y - 6), (x + 6, y - 6), (x + 6, y + 6), (x - 6, y + 6)], VERMILION)
    if kind == "early":
        return polygon([(x - 8, y), (x, y - 8), (x + 8, y), (x, y + 8)], PURPLE)
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{BLUE}"/>'


def _trims(hits: Sequence[HitMark], scale: _Scale) -> Iterator[str]:
    top, height = _TRIMS
    base, unit = top + height, height / 3
    yield line(_LEFT, base, _WIDTH - _RIGHT, base, _GREY)
    for count in (1, 2, 3):
        yield words(_LEFT - 6, base - count * unit + 4, str(count), "end", _GREY, 11)
    for hit in hits:
        yield _bar(scale.x(float(hit.at)), base, hit.state, hit.frames * unit)


def _bar(x: float, base: float, state: TrimState, tall: float) -> str:
    if state == "approved":
        return box(x - 4, base - tall, 8, tall, GREEN)
    if state == "proposed":
        return box(x - 3.5, base - tall, 7, tall, "#ffffff", stroke=GREEN)
    if state == "declined":
        return line(x - 5, base - 4, x + 5, base - 4, BLACK, width=2)
    return line(x - 4, base - 8, x + 4, base, _GREY) + line(x - 4, base, x + 4, base - 8, _GREY)


def _offsets(overview: FightOverview, scale: _Scale) -> Iterator[str]:
    top, height = _OFFSET
    both = overview.frames_out(("approved", "proposed"))
    approved = overview.frames_out(("approved",))
    most = max(both, default=0)
    yield line(_LEFT, top + height, _WIDTH - _RIGHT, top + height, _GREY)
    if most == 0:
        return
    for frames in _round_values(most):
        yield words(
            _LEFT - 6, top + height * (1 - frames / most) + 4, f"{frames:g}", "end", _GREY, 11
        )
    for sums, dash, colour in ((both, "6 4", GREEN), (approved, "", GREEN)):
        yield _steps(overview.hits, sums, most, scale, colour, dash)


def _steps(
    hits: Sequence[HitMark],
    sums: Sequence[int],
    most: int,
    scale: _Scale,
    colour: str,
    dash: str,
) -> str:
    top, height = _OFFSET
    points, last = [(float(_LEFT), float(top + height))], float(top + height)
    for hit, frames in zip(hits, sums, strict=True):
        x, y = scale.x(float(hit.at)), top + height * (1 - frames / most)
        points += [(x, last), (x, y)]
        last = y
    points.append((float(_WIDTH - _RIGHT), last))
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"{dashed}/>'


def _time_axis(scale: _Scale) -> Iterator[str]:
    yield line(_LEFT, _AXIS, _WIDTH - _RIGHT, _AXIS, INK)
    fitting = (tick for tick in _TICKS if scale.seconds / tick <= _MOST_TICKS)
    step = next(fitting, max(1, math.ceil(scale.seconds / _MOST_TICKS)))
    for number in range(int(scale.seconds // step) + 1):
        x = scale.x(number * step)
        yield line(x, _AXIS, x, _AXIS + 5, INK)
        yield words(x, _AXIS + 19, _clock(number * step), "middle", size=11)


def _legend() -> Iterator[str]:
    y = _HEIGHT - 20
    x = float(_LEFT)
    entries = (("", "hit"), ("weak", "reads weak"), ("late", "late reaction"), ("early", "early"))
    for kind, told in entries:
        yield _mark(kind, x + 7, y - 4)
        yield words(x + 20, y, told, size=12)
        x += 34 + 7.2 * len(told)
    states: tuple[tuple[TrimState, str], ...] = (
        ("approved", "trim approved"), ("proposed", "proposed"), ("declined", "as shot"),
        ("none", "none to make"),
    )  # fmt: skip
    for state, told in states:
        yield _bar(x + 7, y + 1, state, 12)
        yield words(x + 20, y, told, size=12)
        x += 34 + 7.2 * len(told)
    yield line(x, y - 4, x + 18, y - 4, BLACK, width=4)
    yield words(x + 24, y, "hits crowd", size=12)


def _round_values(most: float) -> list[float]:
    """One to four round values up to ``most``."""
    power = 10.0 ** math.floor(math.log10(most))
    step = next(part * power for part in (0.5, 1, 2, 5) if most / (part * power) < 5)
    return [step * number for number in range(1, int(most / step + 1e-9) + 1)]


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
