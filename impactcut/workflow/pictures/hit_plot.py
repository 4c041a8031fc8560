"""One hit as a picture: what moves, what could be taken out, and what that gains and shows.

On top, the splice strip. Below it, the speeds around the contact, and under them the frames that
the best trim of each count takes out. At the foot, every trim by how much it shows and how much
faster it looks. The colours are those of Okabe & Ito, Color Universal Design (2002, revised 2008),
which people with any common colour blindness tell apart; lines and marks differ in form as well.
"""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Final

from impactcut.core.fight.entries import HitEntry
from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.reasons import gain_in_words, verdict_words, where
from impactcut.media.render.pictures import Pixels
from impactcut.workflow.files.writing import write_files
from impactcut.workflow.pictures.hit_panels import draw_motion, draw_removals
from impactcut.workflow.pictures.hit_scatter import draw_trims

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZE: Final = (1600, 1200)
"""Width and height of the picture without the strip, pixels."""
STRIP_WIDTH: Final = 1440
_GAP: Final = 20
_DOTS_PER_INCH: Final = 100
_LEFT: Final = 0.075
_WIDTH: Final = 0.9
_LINE: Final = 125
_CAUTION: Final = "No number here is a measured probability: look before you lock."


def hit_figure(entry: HitEntry, motion: HitMotion, strip: Pixels | None = None) -> Figure:
    """Draw a hit with every trim that was judged.

    Parameters
    ----------
    entry : HitEntry
        The hit with its proposal.
    motion : HitMotion
        What moves around it.
    strip : uint8, shape (height, `STRIP_WIDTH`, 3), or None
        Its splice strip, blue, green, red.
    """
    from matplotlib.figure import Figure

    wide, high = SIZE[0], SIZE[1] + (0 if strip is None else strip.shape[0] + _GAP)
    inches = (wide / _DOTS_PER_INCH, high / _DOTS_PER_INCH)
    figure = Figure(figsize=inches, dpi=_DOTS_PER_INCH, facecolor="white")

    def place(bottom: float, height: float) -> tuple[float, float, float, float]:
        return (_LEFT, bottom * SIZE[1] / high, _WIDTH, height * SIZE[1] / high)

    moving = figure.add_axes(place(0.555, 0.325))
    draw_motion(moving, entry, motion)
    draw_removals(figure.add_axes(place(0.455, 0.1), sharex=moving), entry)
    draw_trims(figure.add_axes(place(0.125, 0.22)), entry)
    if strip is not None:
        figure.figimage(strip[:, :, ::-1], round(_LEFT * wide), round(0.92 * SIZE[1]))
    figure.text(_LEFT, 1 - 36 / high, _title(entry), fontsize=18, weight="bold", va="center")
    words = "\n".join(wrap(_verdict(entry), _LINE)[:2])
    figure.text(_LEFT, 1 - 66 / high, words, fontsize=13, va="top")
    seen = f"For a picture that fills {entry.judge.fov_degrees:g} degrees of the viewer's sight. "
    said = f"{seen}{entry.judging} {_CAUTION}"
    figure.text(_LEFT, 14 / high, said, fontsize=10.5, color="0.35")
    return figure


def write_plot(path: Path, figure: Figure, replace: bool) -> None:
    """Write a figure as a PNG file.

    Raises
    ------
    OutputError
        If the file is there already and ``replace`` is not given, or it cannot be written.
    """

    def write(part: Path) -> None:
        figure.savefig(part, format="png", dpi=_DOTS_PER_INCH, metadata={"Software": "impactcut"})

    write_files(path.parent, {path.name: write}, replace)


def _title(entry: HitEntry) -> str:
    label = entry.clip.timecode(entry.impact.contact)
    place = f"contact frame {entry.impact.contact}" + (f", {label}" if label else "")
    return f"Hit {entry.called} in {entry.clip.name}: {place}, {entry.impact.camera} camera"


def _verdict(entry: HitEntry) -> str:
    trim = entry.proposal.proposed
    if trim is None:
        return f"Nothing proposed: {entry.proposal.no_trim}"
    gain = gain_in_words(trim.speed_gain, entry.judge)
    return (
        f"Proposed: take out {where(entry.impact, trim)} (from frame {trim.first}); {gain}; "
        f"visibility {trim.visibility:.1f}, {verdict_words(trim)}"
    )
