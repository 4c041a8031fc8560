"""The `impactcut` command."""

import click

from impactcut import __version__
from impactcut.cli.clips.mark import drop, mark, same
from impactcut.cli.clips.scan import scan
from impactcut.cli.clips.shots import shots
from impactcut.cli.hits.by_hand import add, move
from impactcut.cli.hits.compare import compare
from impactcut.cli.hits.decide import decide
from impactcut.cli.hits.hits import hits
from impactcut.cli.hits.trims import trims
from impactcut.cli.lists.deliveries import deliveries
from impactcut.cli.lists.export import export
from impactcut.cli.lists.recut import recut
from impactcut.cli.pages.page import page
from impactcut.cli.pages.preview import preview
from impactcut.cli.pages.review import review
from impactcut.cli.program import Program
from impactcut.cli.project.demo import demo
from impactcut.cli.project.history import history, undo
from impactcut.cli.project.manual import manual
from impactcut.cli.project.status import status
from impactcut.cli.teaching.calibrate import calibrate
from impactcut.cli.teaching.learn import learn

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
    demo, scan, shots, mark, drop, same, hits, add, move, trims, compare, decide, history, undo,
    review, page, preview, export, deliveries, recut, learn, calibrate, status, manual,
):  # fmt: skip
    main.add_command(_command)
