"""Softened blows of the warehouse that no fit saw: slower, answered early, people walking behind.

The films are staged by the project itself (``scripts/training/filming/fights.py``, odd numbers), so
that this tells whether finding holds, not what it is worth: for that see its README.
"""

from __future__ import annotations

import importlib

import numpy as np

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.spotter import Opinions, describe, spots_of
from impactcut.workflow.scan.spotting import fitted_spotter

fights, shown = (importlib.import_module(name) for name in ("filming.fights", "spotter.shown"))
UNSEEN = (1007, 1009, 1011, 1013)
"""A fit takes numbers below 1000; these have hits, at 15 to 30 frames a second."""


def test_of_softened_blows_half_are_found_with_few_others() -> None:
    spotter = fitted_spotter()
    asked_for = found = others = 0
    for number in UNSEEN:
        film = fights.film_fight(number, feints=False)
        planes, _ = shown.planes_of(film.frames)
        described = describe(planes, spotter.trunk)
        rate = float(film.rate)
        said = Opinions(spotter).of(described, planes, rate)
        height, width = film.frames[0].shape
        frames = np.arange(len(planes))
        spots = spots_of(said, described, frames, rate, (width, height), spotter, SURE)
        contacts = [spot.contact for spot in spots]
        hits = [hit["frame"] for hit in film.hits if hit["scored"]]
        asked_for += len(hits)
        found += sum(any(abs(contact - hit) <= 2 for contact in contacts) for hit in hits)
        others += sum(
            all(abs(contact - hit["frame"]) > 2 for hit in film.hits) for contact in contacts
        )
    assert asked_for == 12
    assert found >= 6
    assert others <= 8
