"""Synthetic training footage: movement, contacts and labels against physics and the decoder."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pymunk
import pytest
from synthetic import camera, clip, film, motion, paint, physics, splices, truth
from synthetic import stage as stages

QUICK = 1
"""Number of a small, short clip with impacts."""


def empty_stage(duration: float = 2.0) -> Any:
    return stages.Stage(np.random.default_rng(3), motion.clock(duration), 0.5625, 64)


def test_peak_speed_of_a_reach() -> None:
    # Flash & Hogan 1985: a minimum-jerk reach peaks half-way, at 1.875 times its mean speed.
    speed = np.gradient(motion.jerk(np.linspace(0, 1, 2001)), 1 / 2000)
    assert speed.max() == pytest.approx(1.875, abs=1e-4)
    assert speed.argmax() == 1000


def test_contact_of_a_dropped_ball() -> None:
    # Free fall: h = g t^2 / 2.
    stage, space, height, gravity, radius = empty_stage(), pymunk.Space(), 0.4, 3.0, 0.05
    space.gravity = (0, gravity * physics.UNIT)
    floor = pymunk.Segment(space.static_body, (-1000, 500), (1000, 500), 0)
    body = pymunk.Body(1, 100)
    body.position = (500, 500 - (height + radius) * physics.UNIT)
    ball = pymunk.Circle(body, radius * physics.UNIT)
    floor.elasticity = ball.elasticity = 0.5
    space.add(floor, body, ball)
    physics.run(stage, space, [body], [0.0], "ball")
    first = stage.touches[0]
    assert first.time == pytest.approx(np.sqrt(2 * height / gravity), abs=0.003)
    # The jump in speed is (1 + e) times the speed of arrival, sqrt(2 g h); e is the product of both
    # elasticities (Chipmunk manual, cpArbiter).
    assert first.speed == pytest.approx(1.25 * np.sqrt(2 * gravity * height), rel=0.02)


@pytest.mark.parametrize("shutter", [90.0, 180.0, 330.0])
def test_first_still_frame_after_a_dead_stop(shutter: float) -> None:
    """A block that stops dead is still from the frame after the labelled contact on."""
    stage, fps, contact = empty_stage(), Fraction(25), 0.5
    block = paint.Sprite(np.full((12, 12, 4), 255, np.uint8), 64.0, (6.0, 6.0))
    x = 0.5 - 0.8 * np.maximum(contact - stage.t, 0)
    stage.add(block, motion.xy(x, 0.28))
    stage.touch(contact, motion.xy(0.5, 0.28), "block", 0.8)
    shot = film.Shot(stage, camera.still(stage.rng, stage.t), np.zeros((54, 96, 3), np.uint8), 0.25)
    source = splices.Source(fps, 24, shutter, "plain")
    pictures = np.array(list(film.exposures(shot, (64, 36), source.opens, source.length)))
    still = np.abs(np.diff(pictures, axis=0)).max(axis=(1, 2, 3)) < 1e-3
    exact = splices.sources(source, contact)
    closed_before = int(np.ceil(exact + shutter / 720))
    assert still[closed_before:].all()
    assert not still[: int(np.floor(exact)) - 1].any()


def test_labels_count_frames_by_the_middle_of_their_exposure() -> None:
    stage = empty_stage()
    stage.touch(0.5, motion.xy(0.25, 0.2), "block", 1.0)
    shot = film.Shot(stage, camera.still(stage.rng, stage.t), np.zeros((54, 96, 3), np.uint8), 0.25)
    source = splices.Source(Fraction(25), 40, 180.0, "plain")
    zeros = np.zeros(40)
    form = film.Format(64, 36, Fraction(25), 40, 180.0, 20, 1.0, zeros, 0.0, zeros)
    shows = [[(k, 1.0)] for k in range(40)]
    hit = truth.hits_of(shot, form, source, splices.one_shot(40), shows)[0]
    assert hit["contact"] == pytest.approx(0.5 * 25 - 180 / 720)
    assert hit["frame"] == 12
    assert (hit["x"], hit["y"], hit["scored"]) == (0.25, 0.2, True)


@pytest.mark.parametrize("build", list(clip.CALM), ids=lambda build: build.__name__)
def test_calm_scenes_have_no_touches(build: Any) -> None:
    stage = empty_stage()
    build(stage)
    assert stage.layers
    assert not stage.touches


def test_the_same_number_gives_the_same_clip() -> None:
    takes = [clip.take_of(QUICK) for _ in range(2)]
    first, again = (list(take.pictures) for take in takes)
    assert all(np.array_equal(one, other) for one, other in zip(first, again, strict=True))
    told, form = takes[0].hits(), takes[0].form
    assert told and told == takes[1].hits()
    assert first[0].shape[:2] == (form.height, form.width)
    assert all(0 <= hit["frame"] < len(first) for hit in told)
