"""Find the hits of a measured stretch, with what moves around each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from impactcut.core.arrays import BoolArray
from impactcut.core.detect.channels import Scene, channels_of, scene_of
from impactcut.core.detect.confidence import UNSURE
from impactcut.core.detect.hits import FoundHit
from impactcut.core.detect.landing import follow, hit_of
from impactcut.core.detect.spot import Spot
from impactcut.core.motion.cadence import repeated_intervals
from impactcut.core.motion.measured import HitMotion, Skips
from impactcut.core.motion.pictures import Pictures
from impactcut.core.motion.shots import shot_boundaries
from impactcut.core.sound.speech import Sounds, spoken_frames
from impactcut.core.trims.splice_indices import candidates_around
from impactcut.media.decode.threads import side_by_side
from impactcut.media.measure.skips import measure_skips
from impactcut.media.measure.stretches import Stretch

LIKELY: Final = UNSURE
"""Chance from which what splices show is looked at: those that are not hits cost too much."""


def pictures_of(stretch: Stretch) -> Pictures:
    """Repeats, shot boundaries and brightness of a stretch."""
    return Pictures(
        difference=stretch.difference,
        log_luma=stretch.log_luma,
        repeated=repeated_intervals(stretch.difference),
        boundary=shot_boundaries(stretch.tiles),
    )


def find_hits(
    stretch: Stretch, pictures: Pictures, sounds: Sounds, spots: Iterable[Spot]
) -> list[FoundHit]:
    """The hits whose contact lies in the stretch's own intervals, in order of contacts.

    Parameters
    ----------
    pictures : Pictures
        Of the stretch.
    sounds : Sounds
        Of its clip.
    spots : iterable of Spot
        Of the stretch; those whose contact lies elsewhere are passed over.
    """
    first, last = stretch.cells.frames[[stretch.own.start, stretch.own.stop]]
    own = [spot for spot in spots if first <= spot.contact < last]

    def found(spot: Spot) -> FoundHit:
        landing = follow(spot, stretch.cells, pictures)
        hit = hit_of(spot, landing, stretch.cells)
        scene = scene_of(landing.path, landing.struck, stretch.cells, spot.contact)
        motion = motion_in(scene, pictures, stretch)
        if hit.confidence >= LIKELY:
            motion = replace(motion, skips=skips_in(scene, stretch))
        return FoundHit(hit, replace(motion, speech=_speech(motion, sounds)))

    return side_by_side(found, sorted(own, key=lambda spot: spot.contact))


def _speech(motion: HitMotion, sounds: Sounds) -> BoolArray | None:
    if sounds is None:
        return None
    return spoken_frames(sounds, motion.first, motion.intervals + 1, motion.rate)


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
