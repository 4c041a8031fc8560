"""What was handed over, told in tables and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from impactcut.cli.layout import Column, print_table
from impactcut.cli.program import printable
from impactcut.cli.tables import named_frames
from impactcut.core.programme.delivery import DeliveredList, Delivery, in_force
from impactcut.core.words import counted
from impactcut.project import Project
from impactcut.workflow.hits.views import SCHEMA
from impactcut.workflow.reports.handed_over import changed_since, file_state

_VERSIONS: tuple[Column, ...] = (
    ("Version", "right", False),
    ("When", "left", False),
    ("Who", "left", True),
    ("Title", "left", True),
    ("Of", "left", True),
    ("Trims", "right", False),
    ("Frames", "right", False),
    ("Into", "left", True),
)
_TRIMS: tuple[Column, ...] = (
    ("Hit", "left", False),
    ("Clip", "left", True),
    ("Contact", "right", False),
    ("Out", "left", False),
    ("On whose word", "left", True),
)


def print_deliveries(deliveries: Sequence[Delivery]) -> None:
    """One line for each version."""
    print_table(_VERSIONS, [_row(delivery) for delivery in deliveries])


def print_delivery(project: Project, delivery: Delivery) -> None:
    """One version: its files, what went out of which hit, and what has changed since."""
    print_deliveries([delivery])
    click.echo()
    for file in delivery.files:
        click.echo(printable(f"{file.path}: {file_state(file)}"))
    click.echo()
    print_table(_TRIMS, [row for each in delivery.lists for row in _trim_rows(each)])
    if delivery not in in_force(project.deliveries()):
        click.echo("a later version was delivered")
        return
    since = changed_since(project, delivery)
    for what, names in asdict(since).items():
        if names:
            click.echo(printable(f"{what} changed since: {', '.join(names)}"))
    if not since:
        click.echo("nothing has changed since")


def deliveries_dict(path: Path, project: Project, deliveries: Sequence[Delivery]) -> dict[str, Any]:
    """Versions in the published JSON form."""
    last = in_force(project.deliveries())
    return {
        "schema": SCHEMA,
        "project": str(path.resolve()),
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


def _row(delivery: Delivery) -> list[str]:
    scope = delivery.scope
    parts = [
        f"{word} {name}"
        for word, name in (("section", scope.section), ("take", scope.take), ("angle", scope.angle))
        if name is not None
    ]
    parts += ["circled takes"] if scope.circled else []
    parts += ["a list a clip"] if scope.per_clip else []
    parts += ["with proposals"] if delivery.proposed else []
    folders = dict.fromkeys(str(Path(file.path).parent) for file in delivery.files)
    return [
        str(delivery.number),
        delivery.when.replace("T", " ").removesuffix("Z"),
        delivery.who,
        scope.title,
        ", ".join(parts) or "everything",
        str(sum(len(each.trims) for each in delivery.lists)),
        str(sum(each.frames_out for each in delivery.lists)),
        f"{', '.join(folders)} ({counted(len(delivery.files), 'file')})",
    ]


def _trim_rows(listed: DeliveredList) -> list[list[str]]:
    clips = {clip.number: clip.name for clip in listed.clips}
    return [
        [
            hit.name,
            clips.get(hit.clip, ""),
            str(hit.contact),
            "" if hit.gone is None else named_frames(hit.gone),
            hit.words.partition(", ")[2],
        ]
        for hit in listed.trims
    ]
