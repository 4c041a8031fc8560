"""Fit what tells hits off glimpses, and weigh it with the hit model and with what is found nearby.

    python scripts/training/fit_hit.py NET.json NEIGHBOURS.json \\
        --fights VIEWS.npz... --things VIEWS.npz... [--folds 4]

NET is what `fit_contact.py` wrote, NEIGHBOURS is written anew; VIEWS come from `glimpse_views.py`,
of films on which the hit model was not fitted: it is surer of those than it is of others. A view
shows a hit where the contact that NET reads off it lies at one. Films of things are judged by fits
that have not seen them, fights by fits that have seen none filmed in the same way, each way in a
file of its own, since users film in ways that no fit has seen. The two opinions are weighed by a
line through their log odds, what sure finds nearby add to that by another, and a table shows how
often finds of a confidence are right then. For all of it, films without hits count as often as
makes as much footage of them as of the others. Needs PyTorch and scikit-learn.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from fractions import Fraction
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import torch
from calibrate import (
    Finds,
    calm_times,
    finds_in,
    is_calm,
    joined,
    log_odds_weights,
    neighbours_of,
    reliability,
    short,
)
from fit_contact import plain_reader
from learn import Course, learn
from numpy.typing import NDArray
from scipy.special import logit
from torch import nn
from torch.nn.functional import binary_cross_entropy_with_logits
from views import Views, answers, held_out, read_views, turned, varied

from impactcut.core.glimpse_net import (
    AFTER,
    BEFORE,
    Blend,
    Reader,
    contact_steps,
    moments_of,
    reader_from,
    space_from,
)

COPIES: tuple[tuple[float, tuple[float, float]], ...] = (
    (0, (1, 1)), (0, (0.64, 1.8)), (30, (0.64, 1.8)), (90, (0.64, 1.8)), (90, (1, 1)),
)  # fmt: skip
"""Most degrees by which each copy of a view is turned, and by how much it is enlarged, so that it
matters neither which way a strike goes nor how near it is."""
WIDTH, DROPS = 64, (0.15, 0.4)
CUTS, CUT_SECONDS = 2, (1.0, 3.0)
"""How often each film is cut short, and to how much, to see what finds with few others are worth:
the films show several impacts each, but a take may hold a single blow."""
COURSE = Course(epochs=80, batch=64, rate=3e-3, decay=0.1)


class HitReader(nn.Module):
    """As `impactcut.core.glimpse_net.Reader`, while it learns."""

    def __init__(self, channels: int) -> None:
        super().__init__()
        self.layers = nn.ModuleList(
            [nn.Conv1d(channels, WIDTH, 3, padding=1), nn.Conv1d(WIDTH, WIDTH, 3, padding=1)]
        )
        self.forget = nn.ModuleList(nn.Dropout(drop) for drop in (DROPS[0], DROPS[0], DROPS[1]))
        self.answer = nn.Linear(WIDTH * (BEFORE + AFTER + 1), 1)

    def forward(self, moments: torch.Tensor) -> torch.Tensor:
        """Log odds of a hit, shape (n,), for moments of shape (n, channels, time)."""
        for layer, forget in zip(self.layers, self.forget, strict=False):
            moments = torch.relu(layer(forget(moments)))
        odds: torch.Tensor = self.answer(self.forget[-1](moments).flatten(1))[:, 0]
        return odds


def moments_in(space: Any, views: Views) -> NDArray[np.float32]:
    """Moments of every view as it is and of its copies, float32 (copies, n, channels, time)."""
    rng, inputs = np.random.default_rng(1), views.inputs()
    copies = (varied(turned(inputs, *copy, rng), rng) for copy in COPIES)
    return np.stack(
        [np.stack([moments_of(space, each) for each in copy]) for copy in chain([inputs], copies)]
    )


def fitted(moments: NDArray[np.float32], hit: NDArray[np.bool_], seed: int) -> HitReader:
    """The reader, fitted on moments (copies, n, channels, time) and whether each is a hit (n,)."""
    torch.manual_seed(seed)
    seen, answer = torch.from_numpy(moments), torch.from_numpy(hit.astype(np.float32))
    reader = HitReader(moments.shape[2])

    def loss_of(batch: NDArray[np.int64], rng: np.random.Generator) -> torch.Tensor:
        odds = reader(seen[rng.integers(len(seen), size=len(batch)), batch])
        return binary_cross_entropy_with_logits(odds, answer[batch])

    learn(reader, len(hit), loss_of, COURSE, seed)
    return reader


def contacts_in(contact: Reader, moments: NDArray[np.float32], views: Views) -> NDArray[np.float64]:
    """The contact that is read off every view, clip frames."""
    steps = np.array([contact_steps(contact.of(each)) for each in moments])
    found: NDArray[np.float64] = views["frame"] + steps * views["step"]
    return found


def odds_of(reader: HitReader, moments: NDArray[np.float32]) -> NDArray[np.float64]:
    """Log odds of a hit for moments (n, channels, time)."""
    with torch.no_grad():
        return np.asarray(reader(torch.from_numpy(moments)).numpy(), np.float64)


def blended(
    views: Views, odds: NDArray[np.float64], answer: NDArray[np.int64], times: int
) -> Blend:
    """How much the hit model and the network say, by views that the finder looks at."""
    judged = views["picked"] & (answer >= 0)
    calm = np.array([is_calm(labels) for labels in views.films])[views["film"]]
    both = np.column_stack([logit(views["chance"]), odds])
    count = np.where(calm, times, 1)
    return Blend(*short(log_odds_weights(both[judged], answer[judged], count[judged])))


def finds_of(
    views: Views,
    contacts: NDArray[np.float64],
    chance: NDArray[np.float64],
    times: int,
    rng: np.random.Generator | None = None,
) -> Finds:
    """What a person would see of all films, each cut short at random if ``rng`` is given."""
    parts: list[Finds] = []
    for film, labels in enumerate(views.films):
        start, stop = (-np.inf, np.inf) if rng is None else _cut(labels, rng)
        shown = views["picked"] & (views["film"] == film) & (contacts >= start) & (contacts < stop)
        found = finds_in(labels, chance[shown], contacts[shown])
        parts += [found] * (times if is_calm(labels) else 1)
    return joined(parts)


def _cut(labels: dict[str, Any], rng: np.random.Generator) -> tuple[float, float]:
    """Some seconds of a film, as frames; half of them at least are in it."""
    length = rng.uniform(*CUT_SECONDS) * float(Fraction(labels["fps"]))
    start = rng.uniform(-length / 2, labels["frames"] - length / 2)
    return start, start + length


def main() -> None:
    """Judge by folds, fit on everything, add to the weights."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("net", type=Path)
    parser.add_argument("neighbours", type=Path)
    parser.add_argument("--fights", type=Path, nargs="+", required=True, metavar="VIEWS.npz")
    parser.add_argument("--things", type=Path, nargs="+", required=True, metavar="VIEWS.npz")
    parser.add_argument("--folds", type=int, default=4)
    options = parser.parse_args()
    torch.set_num_threads(1)
    plain = json.loads(options.net.read_text())
    views = read_views([*options.fights, *options.things])
    moments = moments_in(space_from(plain), views)
    contacts = contacts_in(reader_from(plain["contact"]), moments[0], views)
    answer = answers(views, contacts)
    odds, used = np.zeros(len(answer)), answer >= 0
    for unseen in held_out(views, len(options.fights), options.folds):
        learned = used & ~unseen
        reader = fitted(moments[:, learned], answer[learned] == 1, 1)
        odds[unseen] = odds_of(reader, moments[0, unseen])
    times = calm_times(views.films)
    blend = blended(views, odds, answer, times)
    chance = np.array([blend.chance(*both) for both in zip(views["chance"], odds, strict=True)])
    print(f"films without hits count {times} times")
    finds, rng = finds_of(views, contacts, chance, times), np.random.default_rng(1)
    cut_short = [finds_of(views, contacts, chance, times, rng) for _ in range(CUTS)]
    neighbours = neighbours_of(joined([finds, *cut_short]))
    weighed = replace(finds, chance=neighbours.chances(finds.chance, finds.others))
    print(reliability(weighed, 1.0, 0.0))
    reader = fitted(moments[:, used], answer[used] == 1, 1)
    plain |= {"hit": plain_reader(reader.layers, reader.answer), "blend": vars(blend)}
    options.net.write_text(json.dumps(plain, separators=(",", ":")) + "\n")
    options.neighbours.write_text(json.dumps(vars(neighbours)) + "\n")
    print(f"{options.net}: {used.sum()} views of {len(views.films)} films, {blend}, {neighbours}")


if __name__ == "__main__":
    main()
