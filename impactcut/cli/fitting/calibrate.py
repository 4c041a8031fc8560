"""`impactcut calibrate`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.bar import shown_bar
from impactcut.cli.options import debug_option, fov_option, project_option, quiet_option
from impactcut.cli.program import examples
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.core.viewer.calibration import Calibration

_FILE = click.Path(dir_okay=False, path_type=Path)


@click.group(
    epilog=examples("impactcut calibrate make session --pairs 60", "impactcut calibrate forget")
)
@debug_option
def calibrate() -> None:
    """Fit what shows to your own viewers.

    'make' films pairs, 'fit' takes in the sheets that viewers filled in, 'forget' goes back to the
    published numbers. 'impactcut help teaching' says how to ask.
    """


@calibrate.command(epilog=examples("impactcut calibrate make session --pairs 60"))
@click.argument("folder", metavar="DIR", type=click.Path(file_okay=False, path_type=Path))
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
@fov_option
@quiet_option
@debug_option
def make(folder: Path, pairs: int, seed: int, fov: float | None, quiet: bool) -> None:
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

    with shown_bar("filming", "pairs", quiet) as on_progress:
        make_session(folder, pairs, seed, Judge(fov or FOV_DEGREES), on_progress)
    click.echo(f"{counted(pairs, 'pair')} in {folder}; give every viewer a copy of sheet.csv")


@calibrate.command(epilog=examples("impactcut calibrate fit session/key.json anna.csv ben.csv"))
@click.argument("key", type=_FILE)
@click.argument("sheets", nargs=-1, required=True, metavar="SHEET...", type=_FILE)
@click.option("--try", "only_try", is_flag=True, help="Keep nothing; only say what comes out.")
@project_option
@debug_option
def fit(key: Path, sheets: tuple[Path, ...], only_try: bool, project_path: Path) -> None:
    """Fit the model to filled-in sheets, for all that this project proposes from then on."""
    from impactcut.project import Project
    from impactcut.workflow.viewers.session import fit_sheets

    calibration = fit_sheets(key, sheets)
    _show(calibration)
    if not only_try:
        with Project(project_path) as project:
            project.store_calibration(calibration)
    if only_try:
        click.echo("tried, and not kept")
    else:
        _tell(calibration)


@calibrate.command(epilog=examples("impactcut calibrate forget"))
@project_option
@debug_option
def forget(project_path: Path) -> None:
    """Go back to the published numbers."""
    from impactcut.project import Project

    with Project(project_path) as project:
        project.store_calibration(None)
    _tell(None)


def _tell(calibration: Calibration | None) -> None:
    from impactcut.core.viewer.calibration import calibration_note

    click.echo(calibration_note(calibration))


def _show(calibration: Calibration) -> None:
    """The three numbers with their standard errors."""
    step, exponent, ratio = calibration.errors
    click.echo(f"position step  {calibration.position_step:.2f} +- {step:.2f} arcmin")
    click.echo(f"area exponent  {calibration.area_exponent:.3f} +- {exponent:.3f}")
    click.echo(f"viewer ratio   {calibration.viewer_ratio:.2f} +- {ratio:.2f}")
