"""What the shell offers while somebody types: names of the project, and parts of lists of words."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.errors import ImpactcutError

if TYPE_CHECKING:
    from impactcut.project import Project

Complete = Callable[[click.Context, click.Parameter, str], list[str]]


def hit_names(ctx: click.Context, _: click.Parameter, begun: str) -> list[str]:
    """Names of hits that are listed, once their clip is named; before that, names of clips."""
    return _of_project(ctx, begun, _hits_or_clips)


def names_of(kind: str) -> Complete:
    """Names of a kind that clips have: section, take or angle."""

    def named(ctx: click.Context, _: click.Parameter, begun: str) -> list[str]:
        return _of_project(ctx, begun, lambda project, _: _names(project, kind))

    return named


def listed_words(words: Iterable[str]) -> Complete:
    """Words with commas between: the last one, and none twice."""
    known = tuple(words)

    def listed(_: click.Context, __: click.Parameter, begun: str) -> list[str]:
        before, comma, last = begun.rpartition(",")
        taken = {word.strip().casefold() for word in before.split(",")}
        free = (word for word in known if word not in taken)
        return [f"{before}{comma}{word}" for word in free if word.startswith(last.casefold())]

    return listed


def _of_project(
    ctx: click.Context, begun: str, names: Callable[[Project, str], Iterable[str]]
) -> list[str]:
    """The names that begin so; none where there is no project to ask: a prompt tells no errors."""
    from impactcut.project import Project

    named = ctx.params.get("project_path") or os.environ.get("IMPACTCUT_PROJECT")
    try:
        with Project(Path(named or "impactcut.db"), reading=True) as project:
            found = list(dict.fromkeys(names(project, begun)))
    except ImpactcutError:
        return []
    return [name for name in found if name.casefold().startswith(begun.casefold())]


def _hits_or_clips(project: Project, begun: str) -> Iterator[str]:
    from impactcut.workflow.hits.hit_filter import ALL_HITS, measured_clips
    from impactcut.workflow.hits.names import hit_name, names_of_clips

    names = names_of_clips(project)
    for stored in measured_clips(project):
        name = names.get(stored.id, "")
        yield name
        if begun.casefold().startswith(f"{name}.".casefold()):
            hits = project.hits(stored.id)
            yield from (hit_name(name, hit) for hit in hits if ALL_HITS.sure_enough(hit))


def _names(project: Project, kind: str) -> Iterable[str]:
    from impactcut.core.takes.names import natural_order
    from impactcut.workflow.hits.hit_filter import measured_clips

    clips = (stored.clip for stored in measured_clips(project))
    return sorted({getattr(clip, kind) for clip in clips} - {""}, key=natural_order)
