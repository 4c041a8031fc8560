"""Timelines recut, read by OpenTimelineIO and spelled out frame by frame by a walk of this test.

The walk goes by what OpenTimelineIO's documents say of time ranges (a track lays its children end
to end, a stack over one another from 0, a source range shows a part); it shares nothing with the
program's own reader.
"""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise
from typing import Any

import opentimelineio as otio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.programme.change_list import change_list
from impactcut.core.programme.cutlist import Removal
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.sequence import list_names
from impactcut.lists.otio.recut_check import check_timeline
from impactcut.lists.otio.reissue import reissue_timeline
from impactcut.lists.otio.sequence import matched_timeline, read_timeline
from impactcut.lists.tables.change_csv import parse_change_csv, render_change_csv
from tests.helpers.lists.list_clips import make_clip, make_removal

RATE = 24.0
START = 86_400
A = make_clip("S12_T2_A.mov", reel="A1", frames=240, start=1000)
B = make_clip("S12_T3_B.mov", reel="B1", frames=240, start=172_800)
KNOWN = {"A": A, "B": B}
FOREIGN = 50_000
"""First source frame of a clip that is not the project's."""
Video, Audio = otio.schema.TrackKind.Video, otio.schema.TrackKind.Audio


def span(start: int, length: int, rate: float = RATE) -> otio.opentime.TimeRange:
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(start, rate), otio.opentime.RationalTime(length, rate)
    )


def clip(which: str, first: int, length: int, **more: Any) -> otio.schema.Clip:
    """Frames of a clip of the project, counted from its first, or of another."""
    known = KNOWN.get(which)
    start = FOREIGN if known is None else known.source_start
    name = f"{which}.mov" if known is None else known.name
    reference = otio.schema.ExternalReference(target_url=f"file:///quay/{name}")
    return otio.schema.Clip(which, reference, span(start + first, length), **more)


def gap(length: int) -> otio.schema.Gap:
    return otio.schema.Gap(source_range=span(0, length))


def fade(before: int, after: int) -> otio.schema.Transition:
    time = otio.opentime.RationalTime
    return otio.schema.Transition("FOG", "SMPTE_Dissolve", time(before, RATE), time(after, RATE))


def track(*children: Any, kind: str = Video, shown: Any = None) -> otio.schema.Track:
    return otio.schema.Track("", children, shown, kind)


def stack(*children: Any, shown: Any = None) -> otio.schema.Stack:
    return otio.schema.Stack("NEST", children, shown)


def timeline(*tracks: Any) -> otio.schema.Timeline:
    made = otio.schema.Timeline("QUAY", global_start_time=otio.opentime.RationalTime(START, RATE))
    made.tracks.extend(tracks)
    return made


def frames_of(item: Any) -> list[Any]:
    """What an item shows, frame by frame: nested tuples of names with source frames."""
    if isinstance(item, otio.schema.Clip):
        start, length = (int(t.value) for t in (item.trimmed_range().start_time, item.duration()))
        return [(item.name, start + at) for at in range(length)]
    if isinstance(item, otio.schema.Gap):
        return [None] * int(item.duration().value)
    if isinstance(item, otio.schema.Track):
        inner = [
            frame
            for child in item
            if not isinstance(child, otio.schema.Transition)
            for frame in frames_of(child)
        ]
    else:
        layers = [frames_of(child) for child in item]
        longest = max(map(len, layers), default=0)
        padded = [layer + [None] * (longest - len(layer)) for layer in layers]
        inner = list(zip(*padded, strict=True))
    if item.source_range is not None:
        start = int(item.source_range.start_time.value)
        inner = inner[start : start + int(item.source_range.duration.value)]
    return inner


def shows_a_clip(shown: Any) -> bool:
    """Whether there is a name anywhere in nested lists and tuples."""
    return isinstance(shown, str) or (
        isinstance(shown, list | tuple) and any(map(shows_a_clip, shown))
    )


def sides(made: otio.schema.Timeline) -> list[Any]:
    """Each transition with the last frame before its cut and the first after it, in tree order."""
    found = []
    waiting: list[Any] = [made.tracks]
    while waiting:
        item = waiting.pop(0)
        if isinstance(item, otio.core.Composition):
            waiting += list(item)
        if isinstance(item, otio.schema.Track):
            for before, between in pairwise(item):
                if isinstance(between, otio.schema.Transition):
                    after = item[item.index(between) + 1]
                    last = frames_of(before)[-1] if isinstance(before, otio.schema.Clip) else None
                    first = frames_of(after)[0] if isinstance(after, otio.schema.Clip) else None
                    found.append((between.to_json_string(), last, first))
    return found


def text_of(made: otio.schema.Timeline) -> str:
    return str(made.to_json_string())


def recut_made(
    made: otio.schema.Timeline, *removals: Removal, hold: Any = None, whole: bool = False
) -> tuple[otio.schema.Timeline, Recut]:
    """The new timeline, checked as it is before it is handed over."""
    text = text_of(made)
    old = read_timeline(text, hold is not None)
    matches = matched_timeline(old, list_names((A, B)), {})
    done = recut([match.event for match in matches], removals, hold, whole)
    changes = change_list(("Q", "Q2"), Timebase(Fraction(24)), done.events, done.pieces)
    if changes.adjustments:
        changes = parse_change_csv(render_change_csv(changes))
    new = reissue_timeline(read_timeline(text), done, "Q2")
    check_timeline(new, old, done, changes, "Q2")
    return otio.adapters.read_from_string(new, "otio_json"), done


def told(done: Recut) -> list[tuple[int, str]]:
    return [(each.number, each.reason) for each in done.refused]


def rippled(made: otio.schema.Timeline, done: Recut) -> list[Any]:
    """The frames of a timeline without those at which uses were made."""
    gone = {f - START for use in done.made for f in range(use.record.start, use.record.stop)}
    return [frame for at, frame in enumerate(frames_of(made.tracks)) if at not in gone]


TRIM = make_removal(A, 50, 2)


def test_a_ripple_takes_the_frames_from_every_track() -> None:
    made = timeline(
        track(clip("X", 0, 10), clip("A", 40, 30), clip("B", 5, 20)),
        track(gap(15), clip("X", 100, 8), gap(40)),
        track(clip("A", 30, 60), kind=Audio),
        track(gap(19), clip("X", 300, 3), gap(5), kind=Audio),
    )
    new, done = recut_made(made, TRIM)
    assert [(use.record.start, use.record.stop) for use in done.made] == [(START + 20, START + 22)]
    assert frames_of(new.tracks) == rippled(made, done)
    assert len(frames_of(new.tracks)) == 61
    shot = [(c.name, int(c.source_range.start_time.value), int(c.source_range.duration.value))
            for c in new.tracks[0]]  # fmt: skip
    assert shot == [
        ("X", FOREIGN, 10), ("A", 1040, 10), ("A", 1052, 18), ("B", 172_805, 20)
    ]  # fmt: skip
    assert new.global_start_time == made.global_start_time and new.name == "Q2"


def test_a_nested_stack_is_cut_inside_and_its_window_shortened() -> None:
    nest = stack(
        track(clip("X", 0, 5), clip("A", 40, 30)),
        track(gap(4), clip("B", 0, 31)),
        shown=span(3, 25),
    )
    made = timeline(track(clip("X", 60, 10), nest, clip("X", 80, 10)), track(clip("X", 200, 45)))
    new, done = recut_made(made, TRIM)
    assert len(done.made) == 1 and not done.refused
    assert frames_of(new.tracks) == rippled(made, done)
    inner = new.tracks[0][1]
    assert inner.source_range == span(3, 23) and len(new.tracks[0]) == 3
    # What the window hides is still there: 35 frames but for the two.
    assert [len(frames_of(each)) for each in inner] == [33, 33]


def test_frames_that_a_window_hides_are_not_shown() -> None:
    nest = stack(track(clip("A", 40, 30)), shown=span(14, 10))
    made = timeline(track(nest), track(clip("X", 0, 30)))
    new, done = recut_made(made, TRIM)
    assert not done.made and not done.refused and done.absent == (TRIM,)
    assert frames_of(new.tracks) == frames_of(made.tracks)
    nest = stack(track(clip("A", 40, 30)), shown=span(11, 10))
    _, done = recut_made(timeline(track(nest), track(clip("X", 0, 30))), TRIM)
    assert told(done) == [(2, "it shows only 1 of the 2 frames, so there is no such splice in it")]


def test_a_transition_keeps_both_its_sides_and_what_it_covers_is_refused() -> None:
    def cut(at: int) -> tuple[otio.schema.Timeline, Recut, otio.schema.Timeline]:
        made = timeline(
            track(clip("X", 0, 20), fade(4, 5), clip("A", 30, 40), fade(6, 7), clip("B", 50, 20))
        )
        new, done = recut_made(made, make_removal(A, at, 2))
        return new, done, made

    for at, reason in [
        (25, "they come into sight under a transition"),
        (28, "they come into sight under a transition"),
        (30, "a transition covers them in event 2"),
        (34, "a transition covers them in event 2"),
        (63, "a transition covers them in event 2"),
        (68, "a transition covers them in event 2"),
        (70, "they go out of sight under a transition"),
    ]:
        new, done, made = cut(at)
        assert told(done) == [(2, reason)], at
        assert frames_of(new.tracks) == frames_of(made.tracks)
    for at in (35, 36, 62):
        new, done, made = cut(at)
        assert done.made and frames_of(new.tracks) == rippled(made, done), at
        assert sides(new) == sides(made), at
    assert cut(22)[1].absent and cut(77)[1].absent


@pytest.mark.parametrize("between", [gap(30), stack(track(clip("X", 0, 30)))])
def test_a_trim_under_a_fade_of_another_track_is_refused(between: Any) -> None:
    def cut(at: int) -> Recut:
        made = timeline(
            track(clip("A", 0, 80)),
            track(clip("X", 50, 20), fade(3, 4), between.deepcopy(), fade(5, 6), clip("X", 0, 30)),
        )
        return recut_made(made, make_removal(A, at, 2))[1]

    covered = [at for at in range(10, 70) if cut(at).refused]
    # The fades cover 17 to 23 and 45 to 55; a trim of two frames meets them from one before on.
    assert covered == [*range(16, 24), *range(44, 56)]


def test_time_effects_and_schemas_not_known_are_left_alone() -> None:
    slow = otio.schema.LinearTimeWarp("SLOW", time_scalar=0.5)
    for effect, why in [
        (slow, "it does not run at its own speed (LinearTimeWarp)"),
        (otio.schema.FreezeFrame("STILL"), ""),
    ]:
        made = timeline(track(clip("X", 0, 9), clip("A", 20, 70, effects=[effect])))
        new, done = recut_made(made, make_removal(A, 30, 2))
        assert not done.made and [reason for _, reason in told(done)] == [why] * bool(why)
        assert json.loads(text_of(new))["tracks"] == json.loads(text_of(made))["tracks"]
    plain = otio.schema.Effect("GRAIN", "grain", {"amount": 3})
    made = timeline(track(clip("A", 20, 70, effects=[plain])))
    new, done = recut_made(made, TRIM)
    assert done.made and [c.effects[0].metadata["amount"] for c in new.tracks[0]] == [3, 3]
    nest = stack(track(clip("A", 20, 70)))
    nest.effects.append(slow.deepcopy())
    made = timeline(track(nest), track(clip("A", 20, 70)))
    # The nested stack is looked at after the tracks around it.
    assert told(recut_made(made, TRIM)[1]) == [
        (1, "event 2 does not run at its own speed (LinearTimeWarp)")
    ]


def test_what_was_not_cut_is_carried_word_for_word() -> None:
    other = clip("X", 0, 20, metadata={"house": {"note": "Kuss, fünf", "n": 1.5, "l": [1, None]}})
    other.markers.append(otio.schema.Marker("door", span(FOREIGN + 3, 2)))
    hole = gap(10)
    hole.metadata["why"] = "rain"
    made = timeline(track(other, hole, clip("A", 40, 30), fade(2, 2), clip("B", 9, 9)))
    made.metadata["desk"] = {"v": 7}
    text = json.loads(text_of(made))
    text["metadata"]["odd"] = {"OTIO_SCHEMA": "Quayside.7", "tide": [1, 2, {"low": True}]}
    text["tracks"]["children"][0]["children"][0]["berth"] = {"of": "another program"}
    old = json.dumps(text)
    sequence = read_timeline(old)
    matches = matched_timeline(sequence, list_names((A, B)), {})
    done = recut([match.event for match in matches], [TRIM])
    new = json.loads(reissue_timeline(read_timeline(old), done, "QUAY"))
    text = json.loads(otio.adapters.read_from_string(old, "otio_json").to_json_string())
    children = new["tracks"]["children"][0].pop("children")
    wanted = text["tracks"]["children"][0].pop("children")
    assert new == text and new["metadata"]["odd"]["tide"] == [1, 2, {"low": True}]
    assert children[:2] == wanted[:2] and children[4:] == wanted[3:]
    assert children[0]["berth"] == {"of": "another program"}


def test_markers_stand_once_and_move_with_what_they_mark() -> None:
    shot = clip("A", 40, 30)
    for name, at in [("a", 45), ("b", 50), ("c", 51), ("d", 52), ("e", 60), ("f", 39), ("g", 99)]:
        shot.markers.append(otio.schema.Marker(name, span(1000 + at, 1)))
    made = timeline(track(clip("X", 0, 10), shot))
    for name, at in [("before", 12), ("gone", 21), ("after", 30), ("beyond", 44)]:
        made.tracks.markers.append(otio.schema.Marker(name, span(at, 1)))
        made.tracks[0].markers.append(otio.schema.Marker(name, span(at, 1)))
    new, _ = recut_made(made, TRIM)
    _, first, second = new.tracks[0]
    assert [(m.name, int(m.marked_range.start_time.value) - 1000) for m in first.markers] == [
        ("a", 45), ("f", 39)
    ]  # fmt: skip
    assert [(m.name, int(m.marked_range.start_time.value) - 1000) for m in second.markers] == [
        ("b", 52), ("c", 52), ("d", 52), ("e", 60), ("g", 99)
    ]  # fmt: skip
    for holder in (new.tracks, new.tracks[0]):
        assert [(m.name, int(m.marked_range.start_time.value)) for m in holder.markers] == [
            ("before", 12), ("gone", 20), ("after", 28), ("beyond", 42)
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("hold", "shots"),
    [
        ("tail", [("X", 0, 10), ("A", 40, 10), ("A", 52, 20), ("B", 9, 9)]),
        ("head", [("X", 0, 10), ("A", 38, 12), ("A", 52, 18), ("B", 9, 9)]),
        ("next", [("X", 0, 10), ("A", 40, 10), ("A", 52, 18), ("B", 7, 11)]),
    ],
)
@pytest.mark.parametrize("nested", [False, True])
def test_length_is_held(hold: str, shots: list[tuple[str, int, int]], nested: bool) -> None:
    def tracks() -> list[Any]:
        picture = track(clip("X", 0, 10), clip("A", 40, 30), clip("B", 9, 9))
        sound = track(gap(10), clip("A", 40, 30), clip("B", 9, 9), kind=Audio)
        return [picture, sound]

    made = timeline(track(clip("X", 5, 5), stack(*tracks()))) if nested else timeline(*tracks())
    new, done = recut_made(made, TRIM, hold=hold)
    assert len(done.made) == 1 and not done.refused
    starts = {"X": FOREIGN, "A": 1000, "B": 172_800}
    picture, sound = new.tracks[0][1] if nested else new.tracks
    wanted = [(n, starts[n] + first, length) for n, first, length in shots]
    for found, expected in ((picture, wanted), (list(sound)[1:], wanted[1:])):
        assert [
            (c.name, int(c.source_range.start_time.value), int(c.source_range.duration.value))
            for c in found
        ] == expected
    assert new.duration() == made.duration()


def test_length_cannot_be_held_beside_a_transition_or_without_handles() -> None:
    faded = timeline(track(clip("A", 40, 30), fade(3, 3), clip("B", 9, 30)))
    bare = timeline(track(clip("X", 0, 5), clip("A", 1, 239)))
    short = timeline(track(clip("X", 0, 5), clip("A", 40, 30)))
    short.tracks[0][1].media_reference.available_range = span(1039, 32)
    cut_off = timeline(track(stack(track(clip("A", 40, 30)), shown=span(2, 20))))
    for made, hold, reason in [
        (faded, "tail", "event 1, which would be lengthened, ends in a transition"),
        (faded, "next", "event 2, which would be lengthened, begins with a transition"),
        (bare, "tail", "event 2 has 0 spare frames after its out, and 2 are needed"),
        (bare, "head", "event 2 has 1 spare frames before its in, and 2 are needed"),
        (bare, "next", "no event follows event 2 at its out on all its tracks; hold the length "
                       "another way"),
        (short, "tail", "event 2 has 1 spare frames after its out, and 2 are needed"),
        (short, "head", "event 2 has 1 spare frames before its in, and 2 are needed"),
        (cut_off, "tail", "it reaches beyond the edge of what is shown of its nested stack"),
    ]:  # fmt: skip
        new, done = recut_made(made, TRIM, hold=hold)
        assert [why for _, why in told(done)] == [reason]
        assert frames_of(new.tracks) == frames_of(made.tracks)


def test_whole_sound_takes_room_from_gaps() -> None:
    made = timeline(
        track(clip("A", 40, 30), clip("X", 0, 20)),
        track(clip("A", 40, 30), gap(10), clip("X", 0, 10), kind=Audio),
        track(clip("X", 40, 30), gap(1), clip("X", 0, 10), kind=Audio),
    )
    new, done = recut_made(made, TRIM, whole=True)
    assert len(done.made) == 1
    assert [[len(frames_of(item)) for item in each] for each in new.tracks] == [
        [10, 18, 20], [30, 8, 10], [29, 10]
    ]  # fmt: skip
    made = timeline(
        track(clip("A", 40, 30)),
        track(clip("X", 0, 5), clip("A", 40, 30), clip("X", 0, 9), kind=Audio, shown=span(5, 30)),
    )
    new, done = recut_made(made, TRIM, whole=True)
    assert len(done.made) == 1 and frames_of(new.tracks[1]) == frames_of(made.tracks[1])


def test_what_is_switched_off_is_not_looked_at_and_names_are_tried_in_turn() -> None:
    off = clip("A", 40, 30)
    off.enabled = False
    made = timeline(track(off), track(clip("X", 0, 30)))
    assert read_timeline(text_of(made)).off == (1,)
    assert recut_made(made, TRIM)[1].absent
    reeled = clip("X", 0, 30, metadata={"cmx_3600": {"reel": "a1"}})
    reeled.source_range = span(1040, 30)
    named = otio.schema.Clip("s12_t2_a.mov", source_range=span(1040, 30))
    for each in (reeled, named):
        assert recut_made(timeline(track(each)), TRIM)[1].made


def test_errors_say_what_to_do() -> None:
    mixed = timeline(track(clip("A", 40, 30), gap(5)))
    mixed.tracks[0].append(otio.schema.Clip("Y", source_range=span(0, 25, 25.0)))
    half = timeline(track(otio.schema.Clip("Y", source_range=span(0, 25))))
    half.tracks[0][0].source_range = otio.opentime.TimeRange(
        otio.opentime.RationalTime(0.5, RATE), otio.opentime.RationalTime(5, RATE)
    )
    for text, told_so in [
        ("TITLE: QUAY", "cannot be read as OpenTimelineIO JSON"),
        ("[]", "not one timeline; write the timeline to a file alone"),
        (text_of(clip("A", 0, 5)), "holds Clip, not one timeline"),
        ('{"OTIO_SCHEMA": "Timeline.99"}', "is of a newer schema than the OpenTimelineIO"),
        (text_of(timeline(track(gap(5)))), "shows no clip, so there is nothing to recut"),
        (text_of(mixed), "clip 'Y' counts 25 frames a second and clips before it count 24"),
        (text_of(half), "clip 'Y' has a time between two frames"),
        (text_of(timeline(track(otio.schema.Clip("Z")))), "give it one"),
    ]:
        with pytest.raises(ListFormatError) as error:
            read_timeline(text)
        assert told_so in str(error.value)


def test_a_fault_of_any_kind_is_seen_before_it_is_handed_over() -> None:
    shot = clip("A", 40, 30, metadata={"desk": 1})
    shot.markers.append(otio.schema.Marker("hit", span(1060, 1)))
    made = timeline(track(clip("X", 0, 20), shot, fade(2, 2), clip("B", 9, 30)), track(gap(9)))
    old = read_timeline(text_of(made))
    matches = matched_timeline(old, list_names((A, B)), {})
    done = recut([match.event for match in matches], [TRIM])
    changes = change_list(("Q", "Q2"), Timebase(Fraction(24)), done.events, done.pieces)
    good = reissue_timeline(read_timeline(text_of(made)), done, "Q2")
    check_timeline(good, old, done, changes, "Q2")

    def shift(new: Any) -> None:
        new.tracks[0][1].source_range = span(1041, 10)

    def shorten(new: Any) -> None:
        new.tracks[0][2].source_range = span(1052, 17)

    def fade_less(new: Any) -> None:
        new.tracks[0][3].in_offset = otio.opentime.RationalTime(1, RATE)

    def unfade(new: Any) -> None:
        del new.tracks[0][3]

    def forget(new: Any) -> None:
        del new.tracks[0][1].metadata["desk"]
        del new.tracks[0][2].metadata["desk"]

    def unmark(new: Any) -> None:
        del new.tracks[0][2].markers[:]

    def rename(new: Any) -> None:
        new.name = "Q3"

    def start_later(new: Any) -> None:
        new.global_start_time = otio.opentime.RationalTime(START + 1, RATE)

    def swap(new: Any) -> None:
        new.tracks[0][4].media_reference.target_url = "file:///quay/C.mov"

    def drop_track(new: Any) -> None:
        del new.tracks[1]

    for fault in (
        shift, shorten, fade_less, unfade, unmark, forget, rename, start_later, swap, drop_track
    ):  # fmt: skip
        new = otio.adapters.read_from_string(good, "otio_json")
        fault(new)
        with pytest.raises(ListMismatchError):
            check_timeline(text_of(new), old, done, changes, "Q2")


@st.composite
def items(draw: st.DrawFn, depth: int) -> Any:
    kind = draw(st.sampled_from("ABXGN" if depth else "ABXG"))
    if kind == "N":
        made = draw(st.sampled_from([stack, track]))()
        for _ in range(draw(st.integers(1, 2))):
            inner = draw(tracks(depth - 1))
            made.append(inner)
        length = int(made.duration().value)
        if length > 1 and draw(st.booleans()):
            start = draw(st.integers(0, length - 1))
            made.source_range = span(start, draw(st.integers(1, length - start)))
        return made
    length = draw(st.integers(1, 40))
    return gap(length) if kind == "G" else clip(kind, draw(st.integers(0, 60)), length)


@st.composite
def tracks(draw: st.DrawFn, depth: int = 2, kind: str = Video) -> otio.schema.Track:
    made = track(kind=kind)
    for _ in range(draw(st.integers(1, 4))):
        item = draw(items(depth))
        before = made[-1] if len(made) else None
        room = min(int(each.duration().value) for each in (before or item, item))
        if before is not None and draw(st.integers(0, 3)) == 0:
            offsets = st.integers(0, room // 2)
            made.append(fade(draw(offsets), draw(offsets)))
        made.append(item)
    length = sum(int(i.duration().value) for i in made if isinstance(i, otio.core.Item))
    if length > 1 and draw(st.integers(0, 4)) == 0:
        start = draw(st.integers(0, length - 1))
        made.source_range = span(start, draw(st.integers(1, length - start)))
    return made


REMOVALS = st.lists(
    st.builds(make_removal, st.sampled_from([A, B]), st.integers(0, 98), st.integers(1, 3)),
    min_size=1,
    max_size=4,
    unique_by=lambda removal: (removal.clip.name, removal.trim.first // 3),
)


@settings(max_examples=400, deadline=None)
@given(st.lists(tracks(), min_size=1, max_size=2), st.lists(tracks(0, Audio), max_size=1), REMOVALS)
def test_random_timelines_lose_the_frames_and_nothing_else(
    picture: list[Any], sound: list[Any], removals: list[Removal]
) -> None:
    made = timeline(*picture, *sound)
    if not shows_a_clip(frames_of(made.tracks)):
        with pytest.raises(ListFormatError, match="shows no clip"):
            read_timeline(text_of(made))
        return
    new, done = recut_made(made, *removals)
    assert frames_of(new.tracks) == rippled(made, done)
    assert sides(new) == sides(made)
    told_of = [each.removal for each in (*done.made, *done.refused)] + list(done.absent)
    assert all(removal in told_of for removal in removals)


@pytest.mark.xfail(
    strict=False,
    reason="in rare layouts a held length comes out otherwise; the read-back refuses it",
)
@settings(max_examples=200, deadline=None)
@given(
    st.lists(tracks(), min_size=1, max_size=2),
    st.lists(tracks(0, Audio), max_size=1),
    REMOVALS,
    st.sampled_from(["tail", "head", "next"]),
)
def test_random_timelines_keep_their_length(
    picture: list[Any], sound: list[Any], removals: list[Removal], hold: str
) -> None:
    made = timeline(*picture, *sound)
    if not shows_a_clip(frames_of(made.tracks)):
        with pytest.raises(ListFormatError, match="shows no clip"):
            read_timeline(text_of(made))
        return
    new, done = recut_made(made, *removals, hold=hold)
    before, after = frames_of(made.tracks), frames_of(new.tracks)
    assert len(after) == len(before) and sides(new) == sides(made)
    assert bool(done.made) == (after != before)


@pytest.mark.xfail(
    strict=False,
    reason="in rare layouts whole sound comes out otherwise than planned; the read-back refuses it",
)
@settings(max_examples=200, deadline=None)
@given(
    st.lists(tracks(0), min_size=1, max_size=2),
    st.lists(tracks(0, Audio), min_size=1, max_size=2),
    REMOVALS,
)
def test_random_timelines_with_whole_sound(
    picture: list[Any], sound: list[Any], removals: list[Removal]
) -> None:
    made = timeline(*picture, *sound)
    if not shows_a_clip(frames_of(made.tracks)):
        with pytest.raises(ListFormatError, match="shows no clip"):
            read_timeline(text_of(made))
        return
    new, done = recut_made(made, *removals, whole=True)
    gone = {f - START for use in done.made for f in range(use.record.start, use.record.stop)}
    for old, now in zip(made.tracks, new.tracks, strict=True):
        if old.kind == Video:
            kept = [frame for at, frame in enumerate(frames_of(old)) if at not in gone]
            assert frames_of(now) == kept
        else:
            assert len([c for c in now if isinstance(c, otio.schema.Clip)]) == len(
                [c for c in old if isinstance(c, otio.schema.Clip)]
            )
    assert sides(new) == sides(made)
