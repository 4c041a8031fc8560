"""Find the hits of a measured stretch, with what moves around each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray
from impactcut.core.cadence import at_finding_rate, repeated_intervals
from impactcut.core.cells import MotionCells
from impactcut.core.channels import Scene, channels_of, scene_of
from impactcut.core.find import Candidate, Landing, contact_frame, follow, pick, refine, weigh
from impactcut.core.hearing import heard
from impactcut.core.hits import Hit
from impactcut.core.impulses import Impulse, find_impulses
from impactcut.core.motion import HitMotion, Skips
from impactcut.core.shots import shot_boundaries
from impactcut.core.speech import spoken_frames
from impactcut.core.splices import candidates_around
from impactcut.core.track import Pictures
from impactcut.media.glimpses import glimpses
from impactcut.media.luma import GreyArray
from impactcut.media.measure import Stretch
from impactcut.media.skips import measure_skips
from impactcut.workflow.hit_weights import glimpse_weights, hit_weights

MARGIN_SECONDS: Final = 0.65
"""Outside a stretch's own intervals, within which contacts are looked at: an impulse whose contact
is found to lie in them, or keeps another apart, comes no later, down to 12.5 frames a second."""

LIKELY: Final = 0.5
"""Chance of a find by itself below which four sure ones around it do not make it sure."""


@dataclass(frozen=True, eq=False)
class FoundHit:
    """A hit and what moves around it."""

    hit: Hit
    motion: HitMotion


@dataclass(frozen=True, eq=False)
class Sounds:
    """Instants of sharp sounds and of syllables, seconds; None where nothing could be heard."""

    sharp: Float64Array
    syllables: Float64Array | None


def pictures_of(stretch: Stretch) -> Pictures:
    """Repeats, shot boundaries and brightness of a stretch."""
    return Pictures(
        difference=stretch.difference,
        luma=stretch.tiles.mean(axis=(1, 2)),
        log_luma=stretch.log_luma,
        repeated=repeated_intervals(stretch.difference),
        boundary=shot_boundaries(stretch.tiles),
    )


def find_hits(stretch: Stretch, pictures: Pictures, sounds: Sounds) -> list[FoundHit]:
    """The hits whose contact lies in the stretch's own intervals.

    Parameters
    ----------
    stretch : Stretch
    pictures : Pictures
        Of the stretch.
    sounds : Sounds
        Of its clip.
    """
    cells, velocity, impulses = impulses_in(stretch, pictures)
    candidates = weigh(impulses, cells, velocity, hit_weights())
    first, last = stretch.cells.frames[[stretch.own.start, stretch.own.stop]]
    frames = int(stretch.cells.frames[-1]) + 1
    rate = float(cells.rate)
    found: list[FoundHit] = []
    likeliest = pick(candidates, rate)
    near = MARGIN_SECONDS * float(stretch.cells.rate)
    looked = [
        _looked_at(each, cells, stretch)
        for each in likeliest
        if first - near <= each.frame <= last + near
    ]
    for chosen in pick(heard(looked, sounds.sharp, rate), rate):
        contact = contact_frame(chosen, frames)
        if first <= contact < last:
            landing = follow(chosen, candidates, stretch.cells, contact)
            hit = refine(chosen, landing, stretch.cells, frames)
            motion = _motion_of(hit, landing, stretch, pictures)
            found.append(FoundHit(hit, replace(motion, speech=_speech(motion, sounds))))
    return found


def _motion_of(hit: Hit, landing: Landing, stretch: Stretch, pictures: Pictures) -> HitMotion:
    """What moves around a hit; what splices show is looked at for likely hits alone."""
    reaction = landing.reaction
    receiver = None if reaction is None else reaction.candidate.impulse.region
    scene = scene_of(landing.path, receiver, stretch.cells, landing.contact)
    motion = motion_in(scene, pictures, stretch)
    if hit.confidence < LIKELY:
        return motion
    return replace(motion, skips=skips_in(scene, stretch))


def _looked_at(candidate: Candidate, cells: MotionCells, stretch: Stretch) -> Candidate:
    """The candidate with its contact, and its chance, as the pictures show the strike landing."""
    net = glimpse_weights()
    sight = net.look(glimpses_of(candidate.impulse, cells, stretch))
    nodes = np.arange(len(cells.frames))
    contact = float(np.interp(candidate.impulse.node + sight.steps, nodes, cells.frames))
    chance = net.blend.chance(candidate.chance, sight.odds)
    return replace(candidate, contact=contact, chance=chance)


def _speech(motion: HitMotion, sounds: Sounds) -> BoolArray | None:
    if sounds.syllables is None:
        return None
    return spoken_frames(sounds.syllables, motion.first, motion.intervals + 1, motion.rate)


def glimpses_of(impulse: Impulse, cells: MotionCells, stretch: Stretch) -> GreyArray:
    """Glimpses around an impulse of ``cells``, which are at the finding rate.

    Returns
    -------
    uint8
        As `impactcut.media.glimpses.glimpses`.
    """
    first = int(stretch.cells.frames[0])
    pictures = [stretch.pictures[int(frame) - first] for frame in cells.frames]
    return glimpses(pictures, cells, impulse.node, impulse.place, bool(impulse.direction[0] >= 0))


def impulses_in(
    stretch: Stretch, pictures: Pictures
) -> tuple[MotionCells, FloatArray, tuple[Impulse, ...]]:
    """The impulses of a stretch, with the cells at the finding rate and their velocity."""
    cells = at_finding_rate(stretch.cells, pictures.repeated)
    velocity = cells.velocity()
    blocked = _blocked(stretch.cells, pictures.boundary, cells)
    return cells, velocity, find_impulses(cells, velocity, blocked)


def _blocked(cells: MotionCells, boundary: BoolArray, coarse: MotionCells) -> BoolArray:
    """Intervals of ``coarse`` that contain a shot boundary of ``cells``."""
    blocked = np.zeros(coarse.intervals, bool)
    at = np.searchsorted(coarse.frames, cells.frames[:-1][boundary], side="right") - 1
    blocked[np.clip(at, 0, max(0, coarse.intervals - 1))] = True
    return blocked


def motion_in(scene: Scene, pictures: Pictures, stretch: Stretch) -> HitMotion:
    """What moves in a scene of a stretch with these pictures."""
    first = int(scene.window.frames[0])
    start = first - int(stretch.cells.frames[0])
    stop = start + scene.window.intervals
    return HitMotion(
        first=first,
        rate=scene.window.rate,
        channels=channels_of(scene),
        repeated=pictures.repeated[start:stop],
        boundary=pictures.boundary[start:stop],
        difference=pictures.difference[start:stop],
        luma=pictures.log_luma[start : stop + 1],
    )


def skips_in(scene: Scene, stretch: Stretch) -> Skips:
    """What shows directly across each splice that may be proposed for a hit.

    It costs a flow for every candidate, so it is measured for likely hits alone.
    """
    window, bodies = scene.window, scene.bodies
    start = int(window.frames[0]) - int(stretch.cells.frames[0])
    return measure_skips(
        stretch.pictures[start : start + window.intervals + 1],
        window,
        bodies.striker | bodies.receiver,
        candidates_around(scene.contact, window.intervals + 1),
    )
