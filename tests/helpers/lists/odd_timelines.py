"""Random timelines with what real ones hold beside clips and gaps: for as many recuts as one likes.

Effects in time and others, on clips, gaps, tracks and stacks; markers on all of them; several media
references, none, generators; clips without a range of their own; what is switched off; sound in
nested stacks; tracks of unusual kinds.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Any

import opentimelineio as otio

from tests.helpers.lists.timeline_trials import TimelineTrial, random_trial
from tests.helpers.lists.timelines import frames_of, span, track

_OTHER = "OTHER"


def odd_trial(random: Random, way: str) -> TimelineTrial:
    """A trial of one of `WAYS`, made odd; without marks of hits."""
    trial = random_trial(random, way)
    made = trial.made
    for item in [made.tracks, *made.find_children()]:
        if isinstance(item, otio.schema.Transition):
            item.metadata["quay"] = {"fog": random.randint(0, 99)}
            continue
        if random.random() < 0.08:
            item.effects.append(_effect(random, isinstance(item, otio.schema.Clip)))
        if random.random() < 0.05:
            item.enabled = False
        if isinstance(item, otio.schema.Clip):
            _dress(random, item)
        elif random.random() < 0.3:
            _mark(random, item)
    if random.random() < 0.2:
        made.tracks.append(track(kind="Subtitle"))
    return replace(trial, hits=())


def _effect(random: Random, timed: bool) -> otio.schema.Effect:
    kinds: list[Any] = [otio.schema.Effect("BLUR", "Blur", {"quay": {"by": random.randint(0, 99)}})]
    if timed or random.random() < 0.3:
        kinds += [
            otio.schema.LinearTimeWarp("FAST", time_scalar=random.choice([2.0, -1.0, 0.5, 1.0])),
            otio.schema.FreezeFrame("STILL"),
        ]
    return random.choice(kinds)


def _dress(random: Random, clip: otio.schema.Clip) -> None:
    """Media of many kinds for a clip; what it shows stays the same."""
    own, was = clip.trimmed_range(), clip.media_reference
    kind = random.choice(["plain"] * 12 + ["range", "bounded", "several", "missing", "generated"])
    if kind == "range":
        was.available_range = own
        clip.source_range = None
    elif kind == "bounded":
        start = int(own.start_time.value) - random.randint(0, 4)
        was.available_range = span(start, int(own.duration.value) + random.randint(4, 9))
    elif kind == "several":
        proxy = otio.schema.ExternalReference(target_url="file:///quay/proxy/COPY.mov")
        clip.set_media_references({"DEFAULT_MEDIA": was, _OTHER: proxy}, "DEFAULT_MEDIA")
        if random.random() < 0.3:
            clip.active_media_reference_key = _OTHER
    elif kind == "missing":
        clip.media_reference = otio.schema.MissingReference(name=clip.name)
    elif kind == "generated":
        clip.media_reference = otio.schema.GeneratorReference("BARS", "SMPTEBars")
    if random.random() < 0.2:
        clip.metadata["cmx_3600"] = {"reel": random.choice(["A1", "B1", "X9"])}


def _mark(random: Random, item: Any) -> None:
    """Up to two markers inside an item, one behind it."""
    own = item.trimmed_range()
    first, length = int(own.start_time.value), int(own.duration.value)
    for name in "pq"[: random.randint(1, 2)]:
        if length:
            at = first + random.randint(0, length - 1)
            item.markers.append(otio.schema.Marker(name, span(at, random.randint(0, 2))))
    if random.random() < 0.2:
        item.markers.append(otio.schema.Marker("z", span(first + length + 3, 1)))


def nests(made: otio.schema.Timeline) -> list[Any]:
    """All stacks and tracks."""
    return [made.tracks, *made.find_children(descended_from_type=otio.core.Composition)]


def marked(made: otio.schema.Timeline) -> dict[tuple[int, str], Any]:
    """What lies at each marker of a track or stack, by the place of that in the tree."""
    found: dict[tuple[int, str], Any] = {}
    for at, item in enumerate(nests(made)):
        shown = frames_of(item)
        start = int(item.trimmed_range().start_time.value)
        for marker in item.markers:
            place = int(marker.marked_range.start_time.value) - start
            inside = 0 <= place < len(shown)
            found[at, marker.name] = shown[place] if inside else place - len(shown)
    return found
