"""The second look: what the glimpses show makes a find likelier or less likely, and says when."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from scipy.special import logit

from impactcut.core.glimpse_net import FIRST, STEP, Blend, GlimpseNet, Reader
from impactcut.media.frames import read_frames
from impactcut.media.measure import Stretch, measure
from impactcut.workflow import finding
from impactcut.workflow.finding import FoundHit, Sounds, find_hits, pictures_of
from impactcut.workflow.hit_weights import glimpse_weights
from physics_scenes import film, struck_ball

RATE = Fraction(24)
SILENT = Sounds(np.zeros(0), None)


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Stretch, int]:
    """A struck ball, measured, and the frame of the engine's first contact."""
    path = tmp_path_factory.mktemp("quay") / "quay.mp4"
    contact = film(path, struck_ball(), RATE, 0.0)[0]
    (stretch,) = measure(read_frames(Path(path)), RATE)
    return stretch, contact


def net_that_says(odds: float, steps: float = 0.0, blend: Blend | None = None) -> GlimpseNet:
    """The fitted network, but for what it reads off moments: always the same."""
    fitted = glimpse_weights()
    instants = np.zeros_like(fitted.contact.bias)
    instants[round((steps - FIRST) / STEP)] = 60
    return replace(
        fitted,
        contact=constant(fitted.contact, instants),
        hit=constant(fitted.hit, np.array([odds], np.float32)),
        blend=blend or fitted.blend,
    )


def constant(reader: Reader, answers: np.ndarray) -> Reader:
    return replace(reader, weights=np.zeros_like(reader.weights), bias=answers)


def found_with(
    monkeypatch: pytest.MonkeyPatch, stretch: Stretch, net: GlimpseNet, sounds: Sounds = SILENT
) -> list[FoundHit]:
    monkeypatch.setattr(finding, "glimpse_weights", lambda: net)
    return find_hits(stretch, pictures_of(stretch), sounds)


def surest(found: list[FoundHit]) -> FoundHit:
    return max(found, key=lambda each: each.hit.confidence)


def test_the_more_it_looks_like_a_hit_the_surer_the_find(
    monkeypatch: pytest.MonkeyPatch, filmed: tuple[Stretch, int]
) -> None:
    confidences = [
        surest(found_with(monkeypatch, filmed[0], net_that_says(odds))).hit.confidence
        for odds in (-1.0, 0.0, 1.0, 4.0)
    ]
    assert confidences == sorted(set(confidences))


def test_what_looks_like_no_hit_at_all_is_forgotten(
    monkeypatch: pytest.MonkeyPatch, filmed: tuple[Stretch, int]
) -> None:
    assert found_with(monkeypatch, filmed[0], net_that_says(-60.0)) == []


def test_a_look_that_counts_for_nothing_leaves_the_chance_of_the_movement(
    monkeypatch: pytest.MonkeyPatch, filmed: tuple[Stretch, int]
) -> None:
    deaf = Blend(motion=1.0, sight=0.0, shift=0.0)
    chances = {
        surest(found_with(monkeypatch, filmed[0], net_that_says(odds, 0.0, deaf))).hit.confidence
        for odds in (-9.0, 9.0)
    }
    assert len(chances) == 1


def test_the_contact_lies_where_the_glimpses_show_it(
    monkeypatch: pytest.MonkeyPatch, filmed: tuple[Stretch, int]
) -> None:
    exact = [
        surest(found_with(monkeypatch, filmed[0], net_that_says(3.0, steps))).hit.contact_exact
        for steps in (-2.0, 0.0, 1.5)
    ]
    assert np.diff(exact) == pytest.approx([2.0, 1.5], abs=2e-3)


def test_a_sound_is_set_beside_the_contact_that_was_seen_and_does_not_move_it(
    monkeypatch: pytest.MonkeyPatch, filmed: tuple[Stretch, int]
) -> None:
    stretch, contact = filmed
    net = net_that_says(0.0, 3.0, Blend(1.0, 1.0, 0.0))
    silent = surest(found_with(monkeypatch, stretch, net))
    at_the_seen = Sounds(np.array([silent.hit.contact_exact / float(RATE)]), None)
    heard = surest(found_with(monkeypatch, stretch, net, at_the_seen))
    assert heard.hit.contact_exact == silent.hit.contact_exact > contact + 1.5
    raised = logit(heard.hit.confidence) - logit(silent.hit.confidence)
    assert raised == pytest.approx(2.0, abs=0.02)
    elsewhere = Sounds(np.array([(silent.hit.contact_exact - 5.0) / float(RATE)]), None)
    assert surest(found_with(monkeypatch, stretch, net, elsewhere)).hit == silent.hit
