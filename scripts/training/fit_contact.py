"""Fit the network that reads the instant of contact off glimpses.

    python scripts/training/fit_contact.py OUT.json VIEWS.npz... [--folds 4] [--most 3000]

VIEWS come from `contact_views.py`; of each file MOST are drawn at random, so that things do not
outnumber strikes. Needs PyTorch, which the program itself does not. Before the fit
on everything, each strike is judged by a fit that has not seen it, and how far off that was is
printed.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray
from torch import nn

from impactcut.core.contact_net import AFTER, BEFORE, FIRST, STEP, scaled

INSTANTS = 37
"""Instants told apart: from FIRST in steps of STEP."""
SPREAD = 0.35
"""Standard deviation of the answer that is asked for, nodes: labels are no truer."""
EPOCHS, BATCH, RATE = 12, 32, 4e-3
SHIFT = 2
"""Pixels by which a view is moved at random, either way."""
EARLY = 0.25
"""Frames by which a contact may follow a frame's middle and still be read in it."""


class Network(nn.Module):
    """As `impactcut.core.contact_net.ContactNet`, while it learns."""

    def __init__(self, width: int = 12, drop: float = 0.3) -> None:
        super().__init__()
        wide = 2 * width
        self.space = nn.ModuleList(
            [
                _layer(2, width, 1, 1),
                _layer(width, width, 3, 2),
                _layer(width, wide, 3, 2),
                _layer(wide, wide, 1, 1),
            ]
        )
        self.forget_places = nn.Dropout3d(drop)
        self.time = nn.Conv1d(2 * wide, 32, 3, padding=1)
        self.forget = nn.Dropout(drop)
        self.answer = nn.Linear(32 * (BEFORE + AFTER + 1), INSTANTS)

    def forward(self, values: torch.Tensor) -> torch.Tensor:
        """Log chances of the instants for views of shape (n, 2, time, rows, columns)."""
        for index, layer in enumerate(self.space):
            values = torch.relu(layer(values))
            if index == len(self.space) - 2:
                values = self.forget_places(values)
        moments = torch.cat([values.amax((3, 4)), values.mean((3, 4))], 1)
        return self.answer(self.forget(torch.relu(self.time(moments))).flatten(1))


def _layer(inner: int, outer: int, time: int, stride: int) -> nn.Sequential:
    kernel, steps = (time, 3, 3), (1, stride, stride)
    conv = nn.Conv3d(inner, outer, kernel, steps, (time // 2, 1, 1))
    return nn.Sequential(conv, nn.BatchNorm3d(outer))


def fitted(views: NDArray[np.float32], steps: NDArray[np.float64], seed: int) -> Network:
    """The network, fitted on views (n, 2, time, rows, columns) and steps to the contact (n,)."""
    torch.manual_seed(seed)
    rng = np.random.default_rng(seed)
    net = Network()
    learner = torch.optim.AdamW(net.parameters(), weight_decay=0.02)
    batches = len(views) // BATCH
    pace = torch.optim.lr_scheduler.OneCycleLR(learner, RATE, total_steps=EPOCHS * batches)
    asked = _asked(steps)
    net.train()
    for _ in range(EPOCHS):
        order = rng.permutation(len(views))
        for batch in np.array_split(order[: batches * BATCH], batches):
            chances = torch.log_softmax(net(_varied(views[batch], rng)), 1)
            loss = -(asked[batch] * chances).sum(1).mean()
            learner.zero_grad()
            loss.backward()
            learner.step()
            pace.step()
    return net.eval()


def _asked(steps: NDArray[np.float64]) -> torch.Tensor:
    instants = FIRST + STEP * np.arange(INSTANTS)
    near = np.exp(-0.5 * ((instants - steps[:, None]) / SPREAD) ** 2) + 1e-9
    return torch.from_numpy((near / near.sum(1, keepdims=True)).astype(np.float32))


def _varied(views: NDArray[np.float32], rng: np.random.Generator) -> torch.Tensor:
    moved = np.zeros_like(views)
    for index, view in enumerate(views):
        right, down = rng.integers(-SHIFT, SHIFT + 1, 2)
        moved[index] = np.roll(view, (down, right), (2, 3))
    strength = np.exp(rng.normal(0, 0.15, (len(views), 1, 1, 1, 1))).astype(np.float32)
    return torch.from_numpy(moved * strength)


def read_steps(net: Network, views: NDArray[np.float32]) -> NDArray[np.float64]:
    """Expected steps to the contact for each view."""
    instants = FIRST + STEP * np.arange(INSTANTS)
    with torch.no_grad():
        parts = [
            torch.softmax(net(torch.from_numpy(views[at : at + 64])), 1)
            for at in range(0, len(views), 64)
        ]
    return np.asarray(torch.cat(parts).numpy() @ instants, np.float64)


def plain_net(net: Network) -> dict[str, Any]:
    """The fitted network in the form that `impactcut.core.contact_net.contact_net_from` reads."""
    return {
        "first": FIRST,
        "step": STEP,
        "space": [_plain(layer) for layer in net.space],
        "time": {
            "weights": _short(net.time.weight[:, :, :, None, None]),
            "bias": _short(net.time.bias),
            "stride": 1,
        },
        "weights": _short(net.answer.weight),
        "bias": _short(net.answer.bias),
    }


def _plain(layer: Any) -> dict[str, Any]:
    conv, norm = layer
    factor = norm.weight / torch.sqrt(norm.running_var + norm.eps)
    return {
        "weights": _short(conv.weight * factor[:, None, None, None, None]),
        "bias": _short((conv.bias - norm.running_mean) * factor + norm.bias),
        "stride": conv.stride[1],
    }


def _short(values: torch.Tensor) -> Any:
    return np.vectorize(lambda value: float(f"{value:.4g}"))(values.detach().numpy()).tolist()


def report(name: str, found: NDArray[np.float64], data: dict[str, Any], which: Any) -> str:
    """How far off the chosen impulses' contacts are, one line."""
    step, true = data["step"][which], data["steps"][which]
    apart = (found - true) * step
    frame = data["frame"][which]
    wrong = np.ceil(frame + found * step - EARLY) - np.ceil(frame + true * step - EARLY)
    return (
        f"{name:30s} {len(apart):5d}  sd {apart.std():.2f}  mean {apart.mean():+.2f}  "
        f"exact {np.mean(wrong == 0):.2f}  within one {np.mean(np.abs(wrong) <= 1):.2f}"
    )


def main() -> None:
    """Judge by folds, fit on everything, write the weights."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("views", type=Path, nargs="+")
    parser.add_argument("--folds", type=int, default=4)
    parser.add_argument("--most", type=int, default=3000)
    options = parser.parse_args()
    torch.set_num_threads(1)
    parts = [_drawn(path, options.most) for path in options.views]
    data = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    views = np.stack([scaled(glimpses) for glimpses in data["glimpses"]])
    groups = {name: number for number, name in enumerate(sorted(set(data["group"])))}
    fold = np.array([groups[name] for name in data["group"]]) % max(1, options.folds)
    judged = np.full(len(fold), np.nan)
    for held in range(options.folds):
        out = fold == held
        net = fitted(views[~out], data["steps"][~out], 1)
        judged[out] = read_steps(net, views[out])
        print(report(f"fold {held}", judged[out], data, out), flush=True)
    if options.folds:
        _compare(judged, data)
    options.out.write_text(
        json.dumps(plain_net(fitted(views, data["steps"], 1)), separators=(",", ":")) + "\n"
    )


def _drawn(path: Path, most: int) -> dict[str, Any]:
    with np.load(path) as views:
        every = {name: views[name] for name in views.files}
    order = np.random.default_rng(0).permutation(len(every["steps"]))
    kept = np.sort(order[:most])
    return {name: column[kept] for name, column in every.items()}


def _compare(judged: NDArray[np.float64], data: dict[str, Any]) -> None:
    strikes = np.isfinite(data["lag"])
    for name, part in (("strikes", strikes), ("things", ~strikes)):
        for kind, same in (("start", data["start"]), ("stop", ~data["start"])):
            chosen = part & same & (data["chance"] > 0.5)
            if chosen.any():
                print(report(f"{name}, {kind}, network", judged[chosen], data, chosen))
                first = data["first_steps"][chosen]
                print(report(f"{name}, {kind}, traits (seen)", first, data, chosen))


if __name__ == "__main__":
    main()
