"""The `impactcut` command."""

import click

from impactcut import __version__
from impactcut.cli.commands.add import add, move
from impactcut.cli.commands.compare import compare
from impactcut.cli.commands.decide import decide
from impactcut.cli.commands.demo import demo
from impactcut.cli.commands.export import deliveries, export
from impactcut.cli.commands.hits import hits
from impactcut.cli.commands.manual import manual
from impactcut.cli.commands.mark import drop, mark, same
from impactcut.cli.commands.page import page
from impactcut.cli.commands.preview import preview
from impactcut.cli.commands.recut import recut
from impactcut.cli.commands.review import review
from impactcut.cli.commands.scan import scan
from impactcut.cli.commands.shots import shots
from impactcut.cli.commands.status import history, status, undo
from impactcut.cli.commands.trims import trims
from impactcut.cli.fitting.calibrate import calibrate
from impactcut.cli.fitting.learn import learn
from impactcut.cli.program import Program

__all__ = ["main"]


@click.group(cls=Program, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="impactcut")
def main() -> None:
    """Find the contact frame of every staged hit, and the frames to take out so that it lands.

    Start with 'impactcut demo', or with 'impactcut scan FOLDER' on footage of your own; then
    'impactcut hits', 'impactcut decide' and 'impactcut export'.

    It judges pictures, never whether a move was or is safe. Stunts are planned and supervised by
    qualified stunt people under local law, union and insurance rules.

    Exit codes: 0 done; 1 done, with something left out, which is named; 2 wrong use, or nothing
    could be done; 130 stopped with Ctrl-C, and what was done before is kept.
    """


for _command in (
    demo,
    scan,
    shots,
    mark,
    drop,
    same,
    hits,
    add,
    move,
    trims,
    compare,
    decide,
    history,
    undo,
    review,
    page,
    preview,
    export,
    deliveries,
    recut,
    learn,
    calibrate,
    status,
    manual,
):
    main.add_command(_command)
