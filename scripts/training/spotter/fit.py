"""One fit of the network, and what it says of clips."""

from __future__ import annotations

import copy
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import torch
from filming.films import WITH_FEINTS
from filming.truths import KINDS
from numpy.typing import NDArray
from torch import Tensor, nn
from torch.nn import functional as fn

from impactcut.core.detect.contact import peaks
from impactcut.core.detect.planes import PLANES
from impactcut.core.detect.spotter import LAGS

from .batches import Batch, Draw, Planes, doubled, drawn_from, sent
from .network import Network, Seen, Size

WARM_UP: Final = 150
"""Steps over which the rate of learning rises."""
PLACE_WIDTH: Final = 0.11
"""Standard deviation of a labelled place, half grids."""
MOST_SEEN: Final = 384
"""Frames of contacts in a batch, usually: so that a GPU's tensors keep their shape."""
LAG_WIDTH: Final = 1.5
"""Standard deviation of a labelled reaction, frames: the labels are rough."""


@dataclass(frozen=True)
class Recipe:
    """How a network is fitted.

    Parameters
    ----------
    fold : int or None
        Left out; None: fitted on everything.
    steps, stretches : int
        So many batches of so many stretches.
    seconds : float
        The fit ends earlier when it has taken so long; the rate of learning falls with whichever
        is nearer.
    films : float
        Share of films.
    contact_weight : float
        How much more a contact's frames weigh than others.
    hardens : tuple of float
        Shares of the fit after which clips with wrong finds are looked for, to be drawn `harder`
        times as often and around those finds.
    double : float
        Share of stretches that another one shines through, as in a double exposure.
    decay : float
        Of the running mean of the weights, which is what is kept.
    without : tuple of str
        Sources left out.
    plain, feints : tuple of str
        Kinds of its films: of those without strikes that stop short, and of those with them and
        with people who act on things (`films.WITH_FEINTS`).
    start : str or None
        Name of a fit of the same fold to go on from.
    teachers : tuple of str
        Names of fits of the same fold whose mean is what is wanted of this one, too.
    taught : float
        How much that counts against the labels, 0 to 1.
    """

    name: str
    fold: int | None
    seed: int = 0
    size: Size = Size()  # noqa: RUF009 - frozen
    steps: int = 3000
    stretches: int = 20
    seconds: float = 200.0
    rate: float = 1e-3
    films: float = 0.3
    contact_weight: float = 4.0
    place_weight: float = 0.15
    kind_weight: float = 0.04
    lag_weight: float = 0.04
    weight_decay: float = 0.05
    dropout: float = 0.3
    decay: float = 0.999
    sharpness: float = 0.9
    calm: float = 1.0
    hardens: tuple[float, ...] = (0.45, 0.75)
    harder: float = 3.0
    double: float = 0.0
    without: tuple[str, ...] = ()
    plain: tuple[str, ...] = KINDS
    feints: tuple[str, ...] = ()
    start: str | None = None
    teachers: tuple[str, ...] = ()
    taught: float = 0.7

    def kinds(self, feints: bool) -> tuple[str, ...]:
        """Kinds of its films with or without feints."""
        return self.feints if feints else self.plain

    @property
    def needs(self) -> tuple[str, ...]:
        """Names of the fits of its fold that have to be there before it begins."""
        return self.teachers if self.start is None else (self.start, *self.teachers)


def fit(
    recipe: Recipe, planes: Planes, start: Network | None = None, teachers: Sequence[Network] = ()
) -> tuple[Network, str]:
    """A fitted network, which goes on from ``start`` if there is one, and how the fit went."""
    torch.manual_seed(1000 * recipe.seed + (recipe.fold or 0))
    began = time.monotonic()
    may_see = [
        index
        for index, clip in enumerate(planes.clips)
        if (recipe.fold is None or clip.fold != recipe.fold)
        and clip.source not in (*recipe.without, "rendered")
        and (clip.film is None or clip.film[0] in recipe.kinds(clip.film[1] >= WITH_FEINTS))
    ]
    which, chance = drawn_from(planes.clips, may_see, recipe.films, recipe.calm)
    draw = Draw(planes, which, chance, 77 * recipe.seed + (recipe.fold or 0), recipe.sharpness)
    network = Network(recipe.size, recipe.dropout).to(planes.device)
    network = network.to(memory_format=torch.channels_last)
    if start is not None:
        network.load_state_dict(start.state_dict())
    kept = copy.deepcopy(network).eval()
    cuda = planes.device.startswith("cuda")
    learn = torch.optim.AdamW(
        network.parameters(), recipe.rate, weight_decay=recipe.weight_decay, fused=cuda
    )
    losses: list[Tensor] = []
    hardens = recipe.hardens
    step, half = 0, (began, 0)
    while True:
        done = max(step / recipe.steps, (time.monotonic() - began) / recipe.seconds)
        if done >= 1:
            break
        if done < 0.5:
            half = time.monotonic(), step
        pace = min(1.0, (step + 1) / WARM_UP) * (0.5 + 0.5 * math.cos(math.pi * done))
        if hardens and done >= hardens[0]:
            hardens = hardens[1:]
            draw.harden(wrong_finds(kept, planes, may_see), recipe.harder)
        for group in learn.param_groups:
            group["lr"] = recipe.rate * pace
        network.train()
        with torch.no_grad():
            batch = doubled(draw.batch(recipe.stretches), recipe.double, draw.rng)
            inputs = _inputs(batch.planes, recipe.size, cuda)
        with torch.autocast(planes.device.split(":")[0], torch.bfloat16):
            with torch.no_grad():
                taught = [each(inputs, recipe.stretches) for each in teachers]
            seen = network(inputs, recipe.stretches)
        loss = _loss(seen, batch, recipe, taught)
        learn.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        learn.step()
        _follow(kept, network, min(recipe.decay, (1 + step) / (10 + step)))
        step += 1
        if step % 10 == 1:
            losses.append(loss.detach())
    early, late = (float(torch.stack(part).mean()) for part in (losses[:20], losses[-20:]))
    pace = 1000 * (time.monotonic() - half[0]) / max(1, step - half[1])
    took = f"{step} steps in {time.monotonic() - began:.0f} s, {pace:.1f} ms each late"
    return kept, f"{took}, loss {early:.4f} to {late:.4f}"


def _inputs(planes: Tensor, size: Size, cuda: bool) -> Tensor:
    planes = planes if len(size.planes) == PLANES else planes[:, list(size.planes)]
    planes = planes if cuda else planes.float()
    return planes.contiguous(memory_format=torch.channels_last)


def _loss(seen: Seen, batch: Batch, recipe: Recipe, taught: Sequence[Seen]) -> Tensor:
    loss = _odds_loss(seen.odds, batch.wanted, batch.judged, recipe.contact_weight)
    if taught:
        with torch.no_grad():
            mean = torch.stack([each.odds.float() for each in taught]).mean(0).sigmoid()
            where = torch.stack([_likely(each.places) for each in taught]).mean(0)
        told = _odds_loss(seen.odds, mean, torch.ones_like(mean), recipe.contact_weight)
        wrong = -(where * fn.log_softmax(seen.places.float().flatten(2), 2)).sum(2)
        told = told + recipe.place_weight * (wrong * mean).sum() / mean.sum().clamp(min=1)
        loss = (1 - recipe.taught) * loss + recipe.taught * told
    return loss + _detail_loss(seen, batch, recipe)


def _odds_loss(odds: Tensor, wanted: Tensor, judged: Tensor, more: float) -> Tensor:
    weight = judged * (1 + more * wanted)
    each = fn.binary_cross_entropy_with_logits(odds.float(), wanted, reduction="none")
    return (each * weight).sum() / weight.sum().clamp(min=1)


def _likely(places: Tensor) -> Tensor:
    return fn.softmax(places.float().flatten(2), 2)


def _detail_loss(seen: Seen, batch: Batch, recipe: Recipe) -> Tensor:
    """Of place, kind and lag in the frames of contacts."""
    device = seen.odds.device
    table = np.full((max(MOST_SEEN, len(batch.seen)), 7), np.nan, np.float32)
    table[:, [0, 1, 4]], table[:, 6] = (0, 0, -1), 0
    if batch.seen:
        table[: len(batch.seen), :6], table[: len(batch.seen), 6] = batch.seen, 1
    b, t, x, y, kind, lag, there = sent(table.T, str(device))
    b, t = b.long(), t.long()
    rows, columns = seen.places.shape[2:]
    across = (torch.arange(columns, device=device) + 0.5) / columns * 2 - 1
    down = (torch.arange(rows, device=device) + 0.5) / rows * 2 - 1
    far = (across[None, None] - x[:, None, None]) ** 2
    far = far + ((down[None, :, None] - y[:, None, None]) * rows / columns) ** 2
    bell = torch.exp(-far.nan_to_num(0) / (2 * PLACE_WIDTH**2)).flatten(1)
    bell = bell / bell.sum(1, keepdim=True).clamp(min=1e-6)
    inside = there * ((x.abs() < 1) & (y.abs() < 1))
    wrong = -(bell * fn.log_softmax(seen.places[b, t].float().flatten(1), 1)).sum(1)
    loss = recipe.place_weight * _mean_of(wrong, inside)
    named = there * (kind >= 0)
    wrong = fn.cross_entropy(seen.kinds[b, t].float(), kind.long().clamp(min=0), reduction="none")
    loss = loss + recipe.kind_weight * _mean_of(wrong, named)
    steps = torch.arange(LAGS[0], LAGS[-1] + 1, dtype=torch.float32, device=device)
    clipped = lag.nan_to_num(0).clamp(LAGS[0], LAGS[-1])
    likely = fn.softmax(-0.5 * ((steps[None] - clipped[:, None]) / LAG_WIDTH) ** 2, 1)
    wrong = -(likely * fn.log_softmax(seen.lags[b, t].float(), 1)).sum(1)
    return loss + recipe.lag_weight * _mean_of(wrong, there * ~lag.isnan())


def _mean_of(wrong: Tensor, counted: Tensor) -> Tensor:
    return (wrong * counted).sum() / counted.sum().clamp(min=1)


@torch.no_grad()
def _follow(kept: Network, network: Network, decay: float) -> None:
    """Move the running mean of the weights a little towards those of now."""
    new = list(network.parameters())
    torch._foreach_mul_(list(kept.parameters()), decay)
    torch._foreach_add_(list(kept.parameters()), new, alpha=1 - decay)
    for mean, now in zip(kept.buffers(), network.buffers(), strict=True):
        if mean.dtype.is_floating_point:
            mean.lerp_(now, 1 - decay)
        else:
            mean.copy_(now)


def wrong_finds(
    network: Network, planes: Planes, which: Sequence[int], least: float = -1.5
) -> dict[int, list[int]]:
    """Frames of a network's wrong finds in clips that it is fitted on, the surest eight of each."""
    quick = torch.backends.cudnn.benchmark
    torch.backends.cudnn.benchmark = False
    wrong: dict[int, list[int]] = {}
    for index in which:
        clip = planes.clips[index]
        if not clip.complete or (clip.film is not None and clip.source != "calm"):
            continue
        odds = answers(network, planes, index)["odds"]
        frames = [
            peak.contact
            for peak in sorted(
                peaks(odds, np.arange(len(odds)), float(clip.rate), least), key=lambda p: -p.odds
            )
            if all(abs(peak.contact - mark.frame) > 4 + mark.off for mark in clip.marks)
            and not any(a - 3 <= peak.contact <= b + 3 for a, b in clip.unsure)
        ]
        if frames:
            wrong[index] = frames[:8]
    torch.backends.cudnn.benchmark = quick
    return wrong


Answer = dict[str, NDArray[Any]]


@torch.no_grad()
def answers(network: Network, planes: Planes, index: int) -> Answer:
    """What a network says of every frame of a clip: odds, places, hidden, pooled, kinds, lags."""
    frames = np.arange(planes.frames[index])
    at = (frames + planes.start[index])[None]
    earlier = np.maximum(frames - 1, 0)[None] + planes.start[index]
    shown = planes.take(at, earlier, np.ones_like(at, bool))
    seen = network(_inputs(shown.float(), network.size, False))
    return {
        name: getattr(seen, name)[0].float().cpu().numpy()
        for name in ("odds", "places", "hidden", "pooled", "kinds", "lags")
    }
