"""What was handed over, and what has changed since."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from impactcut.core.grouping import grouped
from impactcut.core.programme.delivery import (
    DeliveredClip,
    DeliveredFile,
    DeliveredHit,
    Delivery,
    in_force,
)
from impactcut.core.takes.names import natural_order
from impactcut.lists.reels import reel_names
from impactcut.project import Project
from impactcut.workflow.export.delivering import delivered_clip, delivered_hit, file_digest
from impactcut.workflow.files.files_since import Oddity, has_changed
from impactcut.workflow.hits.hit_filter import HitFilter
from impactcut.workflow.hits.removals import Selection, select_removals

FileState = Literal["as written", "changed", "gone"]


@dataclass(frozen=True)
class Since:
    """What has changed since a version was handed over, by name.

    Parameters
    ----------
    answers : tuple of str
        Hits of which other frames go out, or that came or went.
    shots : tuple of str
        Clips that are called, counted or placed otherwise, or came or went.
    media : tuple of str
        Clips whose files changed.
    """

    answers: tuple[str, ...]
    shots: tuple[str, ...]
    media: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.answers or self.shots or self.media)


def changed_since(project: Project, delivery: Delivery) -> Since:
    """What would be handed over otherwise now."""
    scope = delivery.scope
    wanted = HitFilter((), scope.section, scope.take, scope.angle, scope.circled)
    now = select_removals(project, delivery.proposed, wanted)
    then = {clip.number: clip for each in delivery.lists for clip in each.clips}
    numbers = {clip.path: clip.id for clip in project.clips()}
    clips = _clips(project, numbers, now, delivery)
    both = [number for number in then if number in clips]
    came_or_went = [*(then[n] for n in then if n not in clips)]
    if not scope.per_clip:
        came_or_went += [clips[number] for number in clips if number not in then]
    return Since(
        answers=_ordered(_answers(now, numbers, clips, delivery)),
        shots=_ordered(
            each.name
            for each in (*came_or_went, *(clips[n] for n in both if clips[n].shot != then[n].shot))
        ),
        media=_ordered(
            then[number].name
            for number in both
            if clips[number].digest != then[number].digest or has_changed(project.clip(number))
        ),
    )


def handed_over_before(project: Project) -> Iterator[Oddity]:
    """The versions in force that are no longer what would be handed over."""
    for delivery in in_force(project.deliveries()):
        since, version = changed_since(project, delivery), f"since version {delivery.number}"
        remedy = "'impactcut export' hands over the next version, with a change list from this one"
        one = f"hit is answered otherwise {version} was delivered"
        yield Oddity(
            one, f"hits are answered otherwise {version} was delivered", remedy, since.answers
        )
        one = f"clip came, went or has another name, timecode or shot {version} was delivered"
        many = f"clips came, went or have other names, timecode or shots {version} was delivered"
        yield Oddity(one, many, remedy, since.shots)
        one = f"clip's file has changed {version} was delivered"
        many = f"clips' files have changed {version} was delivered"
        yield Oddity(one, many, remedy, since.media)


def file_state(file: DeliveredFile) -> FileState:
    """Whether a file is still what was handed over."""
    try:
        same = file_digest(Path(file.path)) == file.digest
    except OSError:
        return "gone"
    return "as written" if same else "changed"


def _clips(
    project: Project, numbers: Mapping[str, int], now: Selection, delivery: Delivery
) -> dict[int, DeliveredClip]:
    """The clips that lists of these rates would hold now, by number."""
    rates = {each.timebase for each in delivery.lists}
    then = {clip.number for each in delivery.lists for clip in each.clips}
    groups = grouped(
        (clip.timebase, clip)
        for clip in now.clips
        if clip.timebase in rates or numbers[clip.path] in then
    )
    found = {}
    for clips in groups.values():
        for clip, reel in reel_names(clips).items():
            number = numbers[clip.path]
            found[number] = delivered_clip(clip, reel, number, project.clip(number).measured)
    return found


def _answers(
    now: Selection, numbers: Mapping[str, int], clips: Container[int], delivery: Delivery
) -> Iterator[str]:
    out = {removal.hit.id: removal for removal in now.removals}
    hits = {
        hit.id: delivered_hit(hit, numbers[hit.clip.path], out.get(hit.id))
        for hit in now.hits
        if numbers[hit.clip.path] in clips
    }
    then = {hit.number: hit for each in delivery.lists for hit in each.hits}
    listed = {clip.number for each in delivery.lists for clip in each.clips}
    for hit in then.keys() | hits.keys():
        before, after = then.get(hit), hits.get(hit)
        if not _same(before, after, listed):
            yield (after or then[hit]).name


def _same(before: DeliveredHit | None, after: DeliveredHit | None, listed: Iterable[int]) -> bool:
    """Whether a hit is as it was; a new one in a clip that was not listed counts if trimmed."""
    if before is None:
        assert after is not None
        return after.clip not in listed and after.gone is None
    if after is None or before.contact != after.contact:
        return False
    by_taste = before.standing == "proposed by taste"  # without it, others may be proposed now
    return before.told == after.told or (by_taste and after.standing != "approved")


def _ordered(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(names), key=natural_order))
