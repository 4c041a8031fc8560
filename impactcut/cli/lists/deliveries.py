"""`impactcut deliveries`."""

from __future__ import annotations

import click

from impactcut.cli.options.common import Common, command
from impactcut.cli.telling.json_text import print_json
from impactcut.core.words import counted


@command(
    "impactcut deliveries",
    "impactcut deliveries 1",
    "impactcut deliveries --json",
    takes="json project",
)
@click.argument("version", required=False, type=click.IntRange(min=1), metavar="[VERSION]")
def deliveries(version: int | None, common: Common) -> None:
    """List every version that was handed over.

    Each 'impactcut export' of lists is one. With VERSION: its files and whether they are as they
    were written, every trim of it and on whose word, and what has changed since.
    """
    from impactcut.cli.telling.deliveries import deliveries_dict, print_deliveries, print_delivery
    from impactcut.errors import ProjectError

    with common.project(reading=True) as project:
        known = project.deliveries()
        wanted = [each for each in known if version in (None, each.number)]
        if version is not None and not wanted:
            raise ProjectError(
                f"{project.path}: there is no version {version}; 'impactcut deliveries' lists "
                f"{counted(len(known), 'version')}"
            )
        if common.as_json:
            print_json(deliveries_dict(project, wanted))
        elif version is not None:
            print_delivery(project, wanted[0])
        elif wanted:
            print_deliveries(wanted)
        else:
            click.echo("nothing was handed over yet; 'impactcut export DIR' does it")
