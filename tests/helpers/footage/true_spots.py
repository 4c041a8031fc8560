"""Spots at contacts that are known: what a spotter would say that is never wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from impactcut.core.detect.spot import Kind, Spot
from impactcut.core.motion.pictures import Pictures
from impactcut.core.takes.clip import Clip
from impactcut.media.measure.stretches import Stretch
from warehouse.camera import Camera, set_up
from warehouse.choreography import perform
from warehouse.fighter import Fighter
from warehouse.figure import Joint
from warehouse.spec import FightSpec

STRIKING = (
    Joint.HAND_L,
    Joint.HAND_R,
    Joint.ELBOW_L,
    Joint.ELBOW_R,
    Joint.KNEE_L,
    Joint.KNEE_R,
    Joint.ANKLE_L,
    Joint.ANKLE_R,
)


def spotter(spots: Iterable[Spot]) -> Callable[[Stretch, Pictures], list[Spot]]:
    """A spotter that sees those and no others, wherever they lie."""
    known = list(spots)
    return lambda stretch, pictures: known


def fight_spots(spec: FightSpec) -> list[Spot]:
    """The hits of a clip of `samples/warehouse`.

    A hit's place is that of the striker's hand, elbow or foot that is nearest to the receiver's
    body at the contact.
    """
    camera = set_up(spec.camera, spec.width, spec.height, spec.duration, spec.seed)
    performance = perform(spec, camera.position)
    return [_spot(spec, camera, performance.cast, hit) for hit in performance.hits]


def acted_spots(labels: dict[str, Any], clip: Clip) -> list[Spot]:
    """The labelled hits of a clip of the bench's real people, in which pixels are square."""
    shape = clip.height / clip.width
    return [
        Spot(hit["frame"] - 0.5, hit["frame"], 1.0, (hit["x"], hit["y"] * shape), _kind(hit))
        for hit in labels["hits"]
    ]


def _kind(hit: dict[str, Any]) -> Kind:
    return "push" if hit["kind"] == "push" else "blow"


def _spot(spec: FightSpec, camera: Camera, cast: tuple[Fighter, ...], hit: dict[str, Any]) -> Spot:
    seconds = (hit["contact"] + spec.shutter / 720) / float(spec.rate)
    now = np.array([seconds])
    striker, receiver = (cast[hit[who]].joints(now)[0] for who in ("striker", "receiver"))
    apart = np.linalg.norm(striker[list(STRIKING), None] - receiver[None], axis=-1)
    tip = striker[STRIKING[int(apart.min(axis=1).argmin())]]
    x, y = camera.place(tip, seconds)
    return Spot(hit["contact"], hit["frame"], 1.0, (x, y * spec.height / spec.width))
