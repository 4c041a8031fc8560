"""Shapes of a picture in SVG, as text; places in the picture's own units."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from xml.sax.saxutils import escape

from impactcut.lists.csv_text import well_formed

INK: Final = "#1c1c1c"


def words(
    x: float, y: float, text: str, anchor: str = "start", colour: str = INK, size: int = 13
) -> str:
    """Text at a place: its start, middle or end there."""
    told = escape(well_formed(text))
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text {place} fill="{colour}" font-size="{size}">{told}</text>'


def line(
    x1: float, y1: float, x2: float, y2: float, colour: str, width: float = 1, dash: str = ""
) -> str:
    """A straight line."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    place = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
    return f'<line {place} stroke="{colour}" stroke-width="{width:g}"{dashed}/>'


def box(x: float, y: float, wide: float, high: float, fill: str, stroke: str = "none") -> str:
    """A rectangle."""
    place = f'x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}"'
    return f'<rect {place} fill="{fill}" stroke="{stroke}" stroke-width="1.5"/>'


def polygon(points: Sequence[tuple[float, float]], fill: str) -> str:
    """A filled outline."""
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polygon points="{path}" fill="{fill}"/>'
