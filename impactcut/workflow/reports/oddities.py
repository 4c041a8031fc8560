"""What in a project is odd without being wrong: clips unnamed, hits that read badly, and such."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from impactcut.core.fight.entries import ClipEntry
from impactcut.core.grouping import grouped
from impactcut.core.takes.same_take import TELL_APART, mistakable, perhaps_same
from impactcut.project import Project
from impactcut.workflow.files.files_since import Oddity, files_since
from impactcut.workflow.hits.hit_filter import ALL_HITS, measured_clips
from impactcut.workflow.hits.listing import list_chosen
from impactcut.workflow.hits.names import names_of
from impactcut.workflow.hits.removals import select_removals
from impactcut.workflow.reports.handed_over import handed_over_before
from impactcut.workflow.takes.shots import rate_waits


def oddities(project: Project) -> tuple[Oddity, ...]:
    """Everything odd in a project, the most pressing first."""
    entries = list_chosen(project, ALL_HITS)
    found = (
        *files_since(project),
        _decided_before_a_change(project),
        *_unfitting(project),
        *handed_over_before(project),
        _waiting_rates(project),
        _mistakable(entries),
        _perhaps_same(entries),
        *_warned(entries),
        *_clocks(entries),
        *_without_hits(entries),
        *_nameless(entries),
        *_reading(entries),
        *_lost_marks(project, entries),
    )
    return tuple(each for each in found if each.names)


def _unfitting(project: Project) -> Iterator[Oddity]:
    for refusal in select_removals(project, proposed=False).refusals:
        what = f"approved trim cannot go out, as {refusal.error}"
        yield Oddity(what, what, refusal.remedy, (refusal.name,))


def _decided_before_a_change(project: Project) -> Oddity:
    """Hits on which the latest decision is about what the file held before it changed."""
    remedy = "look again, and 'impactcut decide' again"
    names = names_of(project, project.decided_on_other_content())
    return Oddity(
        "hit was decided on before its file changed",
        "hits were decided on before their files changed",
        remedy,
        names,
    )


def _waiting_rates(project: Project) -> Oddity:
    """Clips of which another rate was stated in a shot log than they are measured at."""
    names = tuple(clip.path for clip in measured_clips(project) if rate_waits(clip))
    one = "clip is stated to run at another rate than it was measured at"
    many = "clips are stated to run at other rates than they were measured at"
    return Oddity(one, many, "'impactcut scan' measures it again", names)


def _mistakable(entries: Sequence[ClipEntry]) -> Oddity:
    pairs = mistakable(entry.clip for entry in entries)
    names = tuple(f"{other.name} (as {one.name})" for one, other in pairs)
    one = "clip states the reel and timecode of another, so no list tells them apart"
    many = "clips state the reels and timecode of others, so no list tells them apart"
    return Oddity(one, many, TELL_APART, names)


def _perhaps_same(entries: Sequence[ClipEntry]) -> Oddity:
    pairs = perhaps_same(entry.clip for entry in entries)
    names = tuple(f"{other.name} (as {one.name})" for one, other in pairs)
    one = "clip has the timecode and length of another, and one of the two has no reel"
    many = "clips have the timecode and length of others, and one of each two has no reel"
    remedy = "if they are an original and its proxy, 'impactcut same' makes one clip of them"
    return Oddity(one, many, remedy, names)


def _warned(entries: Sequence[ClipEntry]) -> Iterator[Oddity]:
    clips = [entry.clip for entry in entries]
    warned = grouped((warning, clip.name) for clip in clips for warning in clip.warnings)
    for warning, names in warned.items():
        yield Oddity(f"clip: {warning}", f"clips: each {warning}", "", tuple(names))


def _clocks(entries: Sequence[ClipEntry]) -> Iterator[Oddity]:
    names = tuple(entry.clip.name for entry in entries if entry.clip.clock)
    remedy = (
        "it jumps at every trim unless the finished picture is made from clean ones; 'impactcut "
        "mark CLIP --no-clock' says that it is, and --clock bars trims"
    )
    one = "clip has a clock or timecode in the picture"
    yield Oddity(one, "clips have a clock or timecode in the picture", remedy, names)


def _without_hits(entries: Sequence[ClipEntry]) -> Iterator[Oddity]:
    names = tuple(entry.clip.name for entry in entries if not entry.hits)
    remedy = "'impactcut hits --confidence 0.3' shows what was less sure"
    yield Oddity("clip has no hit", "clips have no hit", remedy, names)


def _nameless(entries: Sequence[ClipEntry]) -> Iterator[Oddity]:
    names = tuple(entry.clip.name for entry in entries if not entry.clip.section)
    remedy = "'impactcut shots' shows how names are read, and takes another pattern or a shot log"
    yield Oddity("clip has no known section", "clips have no known section", remedy, names)


def _reading(entries: Sequence[ClipEntry]) -> Iterator[Oddity]:
    hits = [hit for entry in entries for hit in entry.hits]
    for kind, one, many in (
        ("weak", "hit reads weak", "hits read weak"),
        ("late", "hit has a late reaction", "hits have a late reaction"),
        ("early", "hit has an early reaction", "hits have an early reaction"),
    ):
        names = tuple(hit.called for hit in hits if kind in hit.reading.kinds)
        remedy = f"'impactcut hits --{kind}' and 'impactcut compare' tell more"
        yield Oddity(one, many, remedy, names)


def _lost_marks(project: Project, entries: Sequence[ClipEntry]) -> Iterator[Oddity]:
    known = {hit.id for entry in entries for hit in entry.hits}
    marks = project.beat_marks().items()
    lost = names_of(project, (hit for hit, with_ in marks if not {hit, with_} <= known))
    remedy = "'impactcut compare' shows the beats as they are, and puts others together"
    yield Oddity(
        "hit was put into a beat by hand and is no longer found, or less surely",
        "hits were put into beats by hand and are no longer found, or less surely",
        remedy,
        lost,
    )
