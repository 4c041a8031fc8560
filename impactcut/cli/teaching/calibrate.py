"""`impactcut calibrate`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import FILE, FOLDER, SHARED, Common, command, examples
from impactcut.cli.telling.bar import shown_bar
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.core.viewer.calibration import Calibration


@click.group(
    epilog=examples("impactcut calibrate make session --pairs 60", "impactcut calibrate forget"),
    params=[SHARED["debug"]],
)
def calibrate() -> None:
    """Fit what shows to your own viewers.

    'make' films pairs, 'fit' takes in the sheets that viewers filled in, 'forget' goes back to the
    published numbers. 'impactcut help teaching' says how to ask.
    """


@command("impactcut calibrate make session --pairs 60", takes="quiet", of=calibrate)
@click.argument("folder", metavar="DIR", type=FOLDER)
@click.option(
    "--pairs",
    type=click.IntRange(1, 999),
    default=120,
    show_default=True,
    metavar="N",
    help="Pairs of films.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    metavar="N",
    help="Another number makes another session.",
)
@click.option(
    "--fov",
    type=SHARED["fov"].type,
    metavar="DEG",
    help="Horizontal angle that the picture fills for the viewer, in degrees.  [default: 33]",
)
def make(folder: Path, pairs: int, seed: int, common: Common) -> None:
    """Film the pairs of a session, with an answer sheet and a key.

    DIR gets pair_001.mp4 and so on (a first film, a grey pause, a second film), sheet.csv to copy
    for every viewer, and key.json, which nobody sees before answering. A viewer sits where the
    picture fills --fov degrees across, plays each pair once, at full speed and full size, and
    writes 1 or 2 under "answer": the film in which the patch jumps; who cannot tell guesses. Keep
    to short sittings, and stop when anybody feels unwell: a textured patch flickers as it moves,
    though it does not flash.
    """
    from impactcut.core.viewer.judge import FOV_DEGREES, Judge
    from impactcut.workflow.viewers.session import make_session

    with shown_bar("filming", "pairs", common.quiet) as on_progress:
        make_session(folder, pairs, seed, Judge(common.fov or FOV_DEGREES), on_progress)
    click.echo(f"{counted(pairs, 'pair')} in {folder}; give every viewer a copy of sheet.csv")


@command("impactcut calibrate fit session/key.json anna.csv ben.csv", takes="project", of=calibrate)
@click.argument("key", type=FILE)
@click.argument("sheets", nargs=-1, required=True, metavar="SHEET...", type=FILE)
@click.option("--try", "only_try", is_flag=True, help="Keep nothing; only say what comes out.")
def fit(key: Path, sheets: tuple[Path, ...], only_try: bool, common: Common) -> None:
    """Fit the model to filled-in sheets, for all that this project proposes from then on."""
    from impactcut.workflow.viewers.session import fit_sheets

    calibration = fit_sheets(key, sheets)
    _show(calibration)
    if only_try:
        click.echo("tried, and not kept")
    else:
        _keep(calibration, common)


@command("impactcut calibrate forget", takes="project", of=calibrate)
def forget(common: Common) -> None:
    """Go back to the published numbers."""
    _keep(None, common)


def _keep(calibration: Calibration | None, common: Common) -> None:
    from impactcut.core.viewer.calibration import calibration_note

    with common.project() as project:
        project.store_calibration(calibration)
    click.echo(calibration_note(calibration))


def _show(calibration: Calibration) -> None:
    """The three numbers with their standard errors."""
    step, exponent, ratio = calibration.errors
    click.echo(f"position step  {calibration.position_step:.2f} +- {step:.2f} arcmin")
    click.echo(f"area exponent  {calibration.area_exponent:.3f} +- {exponent:.3f}")
    click.echo(f"viewer ratio   {calibration.viewer_ratio:.2f} +- {ratio:.2f}")
