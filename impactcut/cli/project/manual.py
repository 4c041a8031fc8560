"""`impactcut help`: the manual's pages."""

from __future__ import annotations

import click

from impactcut.cli.options.common import Common, command


@command("impactcut help numbers", "impactcut help", name="help")
@click.argument("topic", required=False)
def manual(topic: str | None, common: Common) -> None:
    """Print a page of the manual; without TOPIC, what pages there are."""
    from impactcut.manual import TOPICS, page

    if topic is None:
        for name, about in TOPICS.items():
            click.echo(f"{name:12}{about}")
        return
    if topic not in TOPICS:
        raise click.UsageError(
            f"there is no page on {topic!r}; there are pages on {', '.join(TOPICS)}, and "
            "'impactcut COMMAND --help' explains each command"
        )
    click.echo(page(topic), nl=False)
