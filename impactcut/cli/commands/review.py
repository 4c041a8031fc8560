"""`impactcut review`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.bar import propose_missing
from impactcut.cli.filters import check_filter, hit_filter_options
from impactcut.cli.options import debug_option, fov_option, project_option
from impactcut.cli.program import complain, examples

if TYPE_CHECKING:
    from impactcut.workflow.hits.choosing import HitFilter


@click.command(
    epilog=examples(
        "impactcut review",
        "impactcut review --section 2 --no-browser",
    )
)
@click.option("--no-browser", is_flag=True, help="Only print the address.")
@click.option(
    "--port",
    type=click.IntRange(1024, 65535),
    metavar="N",
    help="Port to listen on.  [default: one that stays the same for the project]",
)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="Interface to listen on. Any but this machine's own lets others on the network in who "
    "know the address, unencrypted.",
)
@hit_filter_options
@fov_option
@project_option
@debug_option
def review(
    no_browser: bool,
    port: int | None,
    host: str,
    wanted: HitFilter,
    fov: float | None,
    project_path: Path,
) -> None:
    """Open the page on which a director judges the hits.

    It is served from this machine, to this machine only, at an address that is new each time, until
    it is stopped with Ctrl+C. Answers go into the project at once; those given while it is stopped
    are kept by the browser and sent when the page is opened again.

    It judges pictures, never whether a move was or is safe.
    """
    from impactcut.project import Project
    from impactcut.review.cache import PictureCache, cache_folder
    from impactcut.review.material import Material
    from impactcut.review.serve import is_loopback, receive, serve

    with Project(project_path, reading=True, fov=fov) as project:
        check_filter(project, wanted)
        propose_missing(project, wanted)
    reception = receive(project_path, host, port)
    if not is_loopback(host):
        complain(
            f"listening on {host}: whoever on that network learns the address can see the pictures "
            "and answer; nothing is encrypted"
        )
    cache = PictureCache(cache_folder() / "pictures")
    material = Material(project_path, cache, wanted, fov)
    click.echo(reception.address)
    click.echo("Ctrl+C stops it.", err=True)
    serve(material, reception, not no_browser)
