"""A page on the model of apparent speed and visibility, its curves drawn by the model itself.

    python scripts/model_page.py FOLDER [--project FILE]

Writes ``model.md`` and its PNG curves into FOLDER. With ``--project`` the numbers are those that
the project was calibrated with. Only the words are typed in by hand: every number and every curve
is asked of the code that judges trims.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import numpy as np
from cycler import cycler
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from impactcut.core.palette import BLACK, BLUE, GREEN, ORANGE, VERMILION
from impactcut.core.trims.reasons import FELT, SHOWS
from impactcut.core.trims.speed import felt_by, just_noticeable_differences
from impactcut.core.trims.visibility import verdict
from impactcut.core.viewer.calibration import Calibration, calibrated, calibration_note
from impactcut.core.viewer.forced_choice import Jump, chance_found, jump_visibility
from impactcut.core.viewer.judge import ATTENTIVE, CASUAL, TRAINED, Judge
from impactcut.core.viewer.lowpass import peak_step_response
from impactcut.errors import ImpactcutError
from impactcut.project import Project

RATES = np.arange(12.0, 121.0)
LINES = cycler(
    color=[BLUE, VERMILION, GREEN, ORANGE], linestyle=["-", "--", "-.", ":"], linewidth=[2.5] * 4
)
SPEED = 30.0
"""Degrees per second, for curves at one speed: where speeds are told apart best."""


def least_skip(rate: float, judge: Judge) -> float:
    """The skip (ms) in an even movement of `SPEED` that a trained observer just sees."""
    shown = jump_visibility([Jump(1.0, SPEED, 60.0, rate)], judge)
    return float(1000 / SPEED / shown[0])


def draw_skips(axes: Axes, judge: Judge) -> None:
    """Least visible skip against the frame rate, and what one frame is."""
    skips = [least_skip(float(rate), judge) for rate in RATES]
    axes.plot(RATES, skips, label="skip just seen, 1 square degree")
    axes.plot(RATES, 1000 / RATES, label="one frame")
    axes.set(xlabel="frames per second", ylabel="milliseconds", ylim=(0, 90))


def draw_response(axes: Axes, judge: Judge) -> None:
    """Peak of the eye's smoothed velocity after a step within one frame."""
    axes.plot(RATES, [peak_step_response(float(rate), judge) for rate in RATES])
    axes.set(xlabel="frames per second", ylabel="peak response, per second")


def draw_gain(axes: Axes, judge: Judge) -> None:
    """Just noticeable differences of three viewers against the gain, with the bands."""
    gains = np.linspace(1.0, 1.8, 161)
    for viewer in (TRAINED, ATTENTIVE, CASUAL):
        units = [just_noticeable_differences(float(gain), viewer, 1.0) for gain in gains]
        axes.plot(gains, units, label=viewer.name)
    bands = [felt_by(float(gain), judge) for gain in gains]
    for before, after, gain in zip(bands, bands[1:], gains[1:], strict=False):
        if before != after:
            axes.axvline(gain, color="0.6", linewidth=1, linestyle="-")
            axes.text(gain, 7.8, f" {FELT[after]}", rotation=90, va="top", fontsize=8)
    axes.axhline(1, color=BLACK, linewidth=1, linestyle=":")
    axes.set(xlabel="gain", ylabel="just noticeable differences", ylim=(0, 8), xlim=(1, 1.8))


def draw_visibility(axes: Axes, judge: Judge) -> None:
    """Visibility of a jump against its length, at rest and moving, with the lines of the words."""
    jumps = np.geomspace(0.5, 300, 120)
    for speed in (0.0, 2.0, 8.0, 30.0):
        shown = jump_visibility([Jump(1.0, speed, float(jump), 24.0) for jump in jumps], judge)
        axes.loglog(jumps, shown, label=f"at {speed:g} degrees/s" if speed else "at rest")
    for height, name in verdict_lines(judge):
        axes.axhline(height, color="0.4", linewidth=1, linestyle="-")
        axes.text(0.52, height * 1.06, name, fontsize=9)
    axes.set(xlabel="jump, minutes of arc (1 square degree, 24 frames/s)", ylabel="visibility")
    axes.set_ylim(0.1, 30)


def draw_area(axes: Axes, judge: Judge) -> None:
    """How a jump's visibility grows with the area that makes it."""
    areas = np.geomspace(0.01, 100, 120)
    base = jump_visibility([Jump(1.0, SPEED, 60.0, 24.0)], judge)[0]
    shown = jump_visibility([Jump(float(a), SPEED, 60.0, 24.0) for a in areas], judge)
    axes.semilogx(areas, shown / base)
    axes.set(xlabel="square degrees", ylabel="factor on visibility", ylim=(0, 2.5))


def draw_viewers(axes: Axes, judge: Judge) -> None:
    """Chance that viewers find the jump among two films, by its visibility."""
    shown = np.linspace(0, 6, 200)
    axes.plot(shown, chance_found(shown, 1.0), label="trained observer")
    axes.plot(shown, chance_found(shown, judge.attentive_ratio), label="attentive viewer")
    axes.plot(shown, chance_found(shown, judge.audience_ratio), label="audience")
    axes.set(xlabel="visibility", ylabel="right answers of two", ylim=(0.45, 1))


def verdict_lines(judge: Judge) -> list[tuple[float, str]]:
    """Where the words change, and the word from there on."""
    lines = (1.0, judge.attentive_ratio, judge.audience_ratio)
    return [(line, SHOWS[verdict(np.nextafter(line, 99), judge)]) for line in lines]


PICTURES: dict[str, tuple[str, Callable[[Axes, Judge], None]]] = {
    "skip": ("The shortest skip that shows, by frame rate", draw_skips),
    "response": ("The eye's answer to a step within one frame", draw_response),
    "gain": ("What viewers make of a gain", draw_gain),
    "visibility": ("How much a jump shows", draw_visibility),
    "area": ("The part that area plays", draw_area),
    "viewers": ("Who finds a jump", draw_viewers),
}


def page(calibration: Calibration | None) -> str:
    """The page as Markdown."""
    judge = calibrated(calibration)
    pictures = "\n\n".join(
        f"## {title}\n\n{draw.__doc__}\n\n![{title}]({name}.png)"
        for name, (title, draw) in PICTURES.items()
    )
    values = "\n".join(
        f"| `{each.name}` | {getattr(judge, each.name):.6g} |" for each in fields(judge)
    )
    skips = "\n".join(
        f"| {rate} | {least_skip(rate, judge):.1f} |" for rate in (24, 25, 30, 48, 60)
    )
    return f"""# How a trim is judged

Reasoned from research on related questions; no published experiment measures frames taken out at \
an impact. {calibration_note(calibration)}

{pictures}

| frames/s | skip just seen, ms |
|---|---|
{skips}

## Every number

What each is and where it comes from stands in `impactcut/core/viewer/judge.py`.

| number | value |
|---|---|
{values}
"""


def picture(name: str, judge: Judge) -> Figure:
    """One of `PICTURES`."""
    title, draw = PICTURES[name]
    figure = Figure(figsize=(8, 5), dpi=100, layout="constrained")
    axes = figure.add_subplot()
    axes.set_prop_cycle(LINES)
    draw(axes, judge)
    if axes.get_legend_handles_labels()[0]:
        axes.legend()
    axes.set_title(title, loc="left", weight="bold")
    axes.grid(color="0.92")
    return figure


def write_page(folder: Path, calibration: Calibration | None) -> None:
    """Write the page and its pictures."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in PICTURES:
        picture(name, calibrated(calibration)).savefig(folder / f"{name}.png")
    (folder / "model.md").write_text(page(calibration), encoding="utf-8")


def main() -> int:
    """Write the page asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--project", type=Path)
    given = parser.parse_args()
    try:
        calibration = None
        if given.project is not None:
            with Project(given.project) as project:
                calibration = project.calibration()
        write_page(given.folder, calibration)
    except (ImpactcutError, OSError) as error:
        print(f"{error}; name another folder or project", file=sys.stderr)
        return 2
    print(given.folder / "model.md")
    return 0


if __name__ == "__main__":
    sys.exit(main())
