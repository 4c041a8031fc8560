"""Recuts of random timelines, judged by a walk that shares nothing with the program's reader."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from typing import Any

import opentimelineio as otio

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.cutlist import Removal
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.hold_length import Hold
from tests.helpers.lists.list_clips import make_entry, make_removal
from tests.helpers.lists.timelines import (
    KNOWN,
    A,
    Audio,
    B,
    Video,
    clip,
    fade,
    frames_of,
    gap,
    recut_made,
    rippled,
    shows_a_clip,
    sides,
    span,
    stack,
    timeline,
    track,
)

WAYS = ("ripple", "hold", "whole sound")
HOLDS: tuple[Hold, ...] = ("tail", "head", "next")


@dataclass(frozen=True)
class TimelineTrial:
    """A random timeline, what is to go of it, and how."""

    made: otio.schema.Timeline
    removals: tuple[Removal, ...]
    hits: tuple[HitEntry, ...]
    hold: Hold | None
    whole_sound: bool


def random_trial(random: Random, way: str) -> TimelineTrial:
    """A trial of one of `WAYS`."""
    nested = 0 if way == "whole sound" else 2
    while True:
        picture = [_track(random, nested) for _ in range(random.randint(1, 2))]
        most = 2 if way == "whole sound" else 1
        sound = [_track(random, 0, Audio) for _ in range(random.randint(most - 1, most))]
        made = timeline(*picture, *sound)
        if shows_a_clip(frames_of(made.tracks)):
            break
    for number, each in enumerate(made.find_clips()):
        each.metadata["quay"] = {"n": number}
        first, length = (
            int(time.value) for time in (each.trimmed_range().start_time, each.duration())
        )
        for name in "ab"[: random.randint(0, 2)]:
            at = first + random.randint(0, length - 1)
            each.markers.append(otio.schema.Marker(name, span(at, 1)))
    hold = random.choice(HOLDS) if way == "hold" else None
    removals = _removals(random, made)
    contacts = {(each.clip, each.hit.impact.contact): each.hit.id for each in removals}
    contacts |= {(random.choice([A, B]), random.randint(0, 98)): 9 for _ in range(3)}
    hits = tuple(make_entry(of, hit, contact, 1.0) for (of, contact), hit in contacts.items())
    return TimelineTrial(made, removals, hits, hold, way == "whole sound")


def _removals(random: Random, made: otio.schema.Timeline) -> tuple[Removal, ...]:
    """Trims, most of them of frames that some clip has."""
    shown = [each for each in made.find_clips() if each.name in KNOWN]
    found: dict[tuple[str, int], Removal] = {}
    for _ in range(random.randint(1, 4)):
        of, first = random.choice([A, B]), random.randint(0, 98)
        if shown and random.randint(0, 4):
            each = random.choice(shown)
            of, own = KNOWN[each.name], each.trimmed_range()
            first = int(own.start_time.value) - of.source_start
            first = max(0, first + random.randint(-1, int(own.duration.value)))
        removal = make_removal(of, first, random.randint(1, 3), hit=len(found) + 1)
        found.setdefault((of.name, first // 3), removal)
    return tuple(found.values())


def _track(random: Random, depth: int, kind: str = Video) -> otio.schema.Track:
    made = track(kind=kind)
    for _ in range(random.randint(1, 4)):
        item = _item(random, depth)
        before = made[-1] if len(made) else None
        room = min(int(each.duration().value) for each in (before or item, item))
        if before is not None and not random.randint(0, 3):
            made.append(fade(random.randint(0, room // 2), random.randint(0, room // 2)))
        made.append(item)
    length = sum(int(i.duration().value) for i in made if isinstance(i, otio.core.Item))
    if length > 1 and not random.randint(0, 4):
        made.source_range = _part(random, length)
    return made


def _item(random: Random, depth: int) -> Any:
    kind = random.choice("ABXGN" if depth else "ABXG")
    if kind == "N":
        made = random.choice([stack, track])()
        for _ in range(random.randint(1, 2)):
            made.append(_track(random, depth - 1))
        length = int(made.duration().value)
        if length > 1 and random.randint(0, 1):
            made.source_range = _part(random, length)
        return made
    length = random.randint(1, random.choice([8, 40]))
    return gap(length) if kind == "G" else clip(kind, random.randint(0, 60), length)


def _part(random: Random, length: int) -> otio.opentime.TimeRange:
    start = random.randint(0, length - 1)
    return span(start, random.randint(1, length - start))


def run_timeline(trial: TimelineTrial) -> tuple[otio.schema.Timeline, Recut]:
    """Recut a timeline and judge the result: the new one, and what was done."""
    made, removals = trial.made, trial.removals
    new, done = recut_made(
        made, *removals, hold=trial.hold, whole=trial.whole_sound, hits=trial.hits
    )
    before, after = frames_of(made.tracks), frames_of(new.tracks)
    assert sides(new) == sides(made), "transitions"
    told_of = [each.removal for each in (*done.made, *done.refused)] + list(done.absent)
    assert all(removal in told_of for removal in removals), "trims that nobody speaks of"
    left = _pieces(new)
    for number, (old, marks) in _pieces(made).items():
        shown, moved = left[number]
        assert shown == sorted(shown), "order"
        lost = [frame for frame in old if frame not in shown]
        for name, frame in marks.items():
            place = next((each for each in shown if each >= frame), frame)
            assert moved[name] == (place if frame in lost else frame), "markers"
        if trial.hold is not None:
            _judge_held(old, shown, trial)
        else:
            assert set(shown) <= set(old), "frames come in"
    if trial.hold is not None:
        assert len(after) == len(before), "length"
        assert bool(done.made) == (after != before), "frames"
    _judge_own_markers(new, trial, done)
    for old_track, new_track in zip(made.tracks, new.tracks, strict=True):
        whole = trial.whole_sound and old_track.kind == Audio
        if trial.hold is None and not whole:
            assert frames_of(new_track) == rippled(old_track, done), "frames"
        if whole:
            found = [frame for frame in frames_of(new_track) if frame is not None]
            wanted = [frame for frame in frames_of(old_track) if frame is not None]
            assert _starts(new_track) == _starts(old_track), "split sound"
            assert set(found) <= set(wanted), "sound"
    return new, done


def _pieces(made: otio.schema.Timeline) -> dict[int, tuple[list[int], dict[str, int]]]:
    """The source frames and markers of each of the old timeline's clips, from all its pieces."""
    found: dict[int, tuple[list[int], dict[str, int]]] = {}
    for each in made.find_clips():
        frames, marks = found.setdefault(each.metadata["quay"]["n"], ([], {}))
        frames += [frame for _, frame in frames_of(each)]
        for marker in (m for m in each.markers if "impactcut" not in m.metadata):
            assert marker.name not in marks, "a marker stands twice"
            marks[marker.name] = int(marker.marked_range.start_time.value)
    return found


def _judge_own_markers(new: otio.schema.Timeline, trial: TimelineTrial, done: Recut) -> None:
    """A contact is marked wherever its frame is seen, and at the splice where it went."""
    seen = Counter(
        frame
        for each in new.tracks
        if each.kind == Video
        for shown in frames_of(each)
        for frame in leaves(shown)
    )
    wanted: Counter[tuple[str, str, int]] = Counter()
    for hit in trial.hits:
        source = hit.clip.source_start + hit.impact.contact
        name = next(name for name, known in KNOWN.items() if known == hit.clip)
        wanted[f"hit {hit.id}", name, source] += seen[name, source]
    found: Counter[tuple[str, str, int]] = Counter()
    gone: Counter[str] = Counter()
    for each in new.find_clips():
        for marker in (m for m in each.markers if "impactcut" in m.metadata):
            at = int(marker.marked_range.start_time.value)
            assert (each.name, at) in frames_of(each), "a mark beside its clip"
            if marker.metadata["impactcut"].get("contact_taken_out") is False:
                found[marker.name, each.name, at] += 1
            else:
                gone[marker.name] += 1
    assert found == +wanted, "contacts"
    assert gone == Counter(f"splice of hit {use.removal.hit.id}" for use in done.made) + Counter(
        f"hit {hit.id}"
        for use in done.made
        for hit in trial.hits
        if hit.clip == use.removal.clip and hit.impact.contact in use.removal.frames
    ), "splices"


def leaves(shown: Any) -> Iterator[tuple[str, int]]:
    """The frames of clips in what a composition shows; none where that is no frame at all."""
    if isinstance(shown, int):
        return
    if shown is not None and isinstance(shown[0], str):
        yield shown
    elif shown is not None:
        for layer in shown:
            yield from leaves(layer)


def _judge_held(old: list[int], shown: list[int], trial: TimelineTrial) -> None:
    """A clip loses whole trims, and comes by as many frames at the end that pays for them."""
    lost, come = set(old) - set(shown), set(shown) - set(old)
    trims = [
        set(
            range(frames.start + removal.clip.source_start, frames.stop + removal.clip.source_start)
        )
        for removal in trial.removals
        if (frames := removal.frames)
    ]
    assert lost == set().union(*(trim for trim in trims if trim <= lost)), "parts of trims"
    assert sorted(come | set(old)) == list(range(min(*old, *shown), max(*old, *shown) + 1)), "holes"
    if trial.hold == "tail":
        assert all(frame > old[-1] for frame in come) and len(shown) == len(old), "tail"
    else:
        assert all(frame < old[0] for frame in come), "head"
        assert trial.hold == "next" or len(shown) == len(old), "head"


def _starts(item: otio.schema.Track) -> list[tuple[str, int]]:
    return [
        (each.name, int(each.trimmed_range().start_time.value))
        for each in item
        if isinstance(each, otio.schema.Clip)
    ]
