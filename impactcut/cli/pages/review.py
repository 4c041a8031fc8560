"""`impactcut review`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import HITS, Common, check_filter, command
from impactcut.cli.program import complain
from impactcut.cli.telling.bar import propose_missing

if TYPE_CHECKING:
    from impactcut.workflow.hits.hit_filter import HitFilter


@command(
    "impactcut review",
    "impactcut review --section 2 --no-browser",
    takes=f"{HITS} taste fov project",
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
    help="Interface to listen on. Any but this machine's own lets in everybody on the network who "
    "knows the address, unencrypted.",
)
def review(
    no_browser: bool, port: int | None, host: str, wanted: HitFilter, common: Common
) -> None:
    """Open the page on which a director judges the hits.

    It is served from this machine, to this machine only, at an address that is new each time, until
    it is stopped with Ctrl+C. Answers go into the project at once; those given while it is stopped
    are kept by the browser and sent when the page is opened again.

    It judges pictures, never whether a move was or is safe.
    """
    from impactcut.review.cache import PictureCache, cache_folder
    from impactcut.review.material import Material
    from impactcut.review.serve import is_loopback, receive, serve
    from impactcut.workflow.hits.tasting import taste_asked_for

    with common.project(reading=True) as project:
        check_filter(project, wanted)
        taste_asked_for(project)
        propose_missing(project, wanted)
    reception = receive(common.project_path, host, port)
    if not is_loopback(host):
        complain(
            f"listening on {host}: whoever on that network learns the address can see the pictures "
            "and answer; nothing is encrypted"
        )
    cache = PictureCache(cache_folder() / "pictures")
    material = Material(common.project_path, cache, wanted, common.fov, common.taste)
    click.echo(reception.address)
    click.echo("Ctrl+C stops it.", err=True)
    serve(material, reception, not no_browser)
