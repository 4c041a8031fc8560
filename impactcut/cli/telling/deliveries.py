"""What was handed over, told in tables and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from impactcut.cli.program import printable
from impactcut.cli.telling.layout import Column, column_of_times, print_table
from impactcut.cli.telling.tables import named_frames
from impactcut.core.programme.delivery import DeliveredHit, Delivery, in_force
from impactcut.core.words import counted
from impactcut.project import Project
from impactcut.workflow.hits.views import form_head
from impactcut.workflow.reports.handed_over import changed_since, file_state


def print_deliveries(deliveries: Sequence[Delivery]) -> None:
    """One line for each version."""
    print_table(_VERSIONS, deliveries)


def print_delivery(project: Project, delivery: Delivery) -> None:
    """One version: its files, what went out of which hit, and what has changed since."""
    print_deliveries([delivery])
    click.echo()
    for file in delivery.files:
        click.echo(printable(f"{file.path}: {file_state(file)}"))
    click.echo()
    names = {clip.number: clip.name for each in delivery.lists for clip in each.clips}
    columns: tuple[Column[DeliveredHit], ...] = (
        Column("Hit", lambda hit: hit.name),
        Column("Clip", lambda hit: names.get(hit.clip, ""), breaks=True),
        Column("Contact", lambda hit: str(hit.contact), "right"),
        Column("Out", lambda hit: "" if hit.gone is None else named_frames(hit.gone)),
        Column("On whose word", lambda hit: hit.words.partition(", ")[2], breaks=True),
    )
    print_table(columns, [hit for each in delivery.lists for hit in each.trims])
    if delivery not in in_force(project.deliveries()):
        click.echo("a later version was delivered")
        return
    since = changed_since(project, delivery)
    for what, names in asdict(since).items():
        if names:
            click.echo(printable(f"{what} changed since: {', '.join(names)}"))
    if not since:
        click.echo("nothing has changed since")


def deliveries_dict(project: Project, deliveries: Sequence[Delivery]) -> dict[str, Any]:
    """Versions in the published JSON form."""
    last = in_force(project.deliveries())
    return {
        **form_head(project.path),
        "deliveries": [
            {
                "version": delivery.number,
                "who": delivery.who,
                "when": delivery.when,
                **asdict(delivery.scope),
                "fov_degrees": delivery.fov,
                "with_proposals": delivery.proposed,
                "files": [{**asdict(file), "state": file_state(file)} for file in delivery.files],
                "lists": [
                    {
                        "name": each.name,
                        "rate": str(each.rate),
                        "drop_frame": each.drop_frame,
                        "start": each.timebase.label(each.record_start),
                        "clips": [clip.path for clip in each.clips],
                        "hits": [asdict(hit) for hit in each.hits],
                    }
                    for each in delivery.lists
                ],
                "changed_since": asdict(changed_since(project, delivery))
                if delivery in last
                else None,
            }
            for delivery in deliveries
        ],
    }


def _scope(delivery: Delivery) -> str:
    scope = delivery.scope
    places = (("section", scope.section), ("take", scope.take), ("angle", scope.angle))
    parts = [f"{word} {name}" for word, name in places if name is not None]
    parts += ["circled takes"] if scope.circled else []
    parts += ["a list a clip"] if scope.per_clip else []
    parts += ["with proposals"] if delivery.proposed else []
    return ", ".join(parts) or "everything"


def _folders(delivery: Delivery) -> str:
    folders = dict.fromkeys(str(Path(file.path).parent) for file in delivery.files)
    return f"{', '.join(folders)} ({counted(len(delivery.files), 'file')})"


_VERSIONS: tuple[Column[Delivery], ...] = (
    Column("Version", lambda each: str(each.number), "right"),
    column_of_times(lambda each: each.when),
    Column("Who", lambda each: each.who, breaks=True),
    Column("Title", lambda each: each.scope.title, breaks=True),
    Column("Of", _scope, breaks=True),
    Column("Trims", lambda each: str(sum(len(one.trims) for one in each.lists)), "right"),
    Column("Frames", lambda each: str(sum(one.frames_out for one in each.lists)), "right"),
    Column("Into", _folders, breaks=True),
)
