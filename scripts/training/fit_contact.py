"""Fit the network that reads the instant of contact off glimpses.

    python scripts/training/fit_contact.py OUT.json VIEWS.npz... [--folds 4] [--most 3000]

VIEWS come from `glimpse_views.py`; of each file MOST views of hits are drawn at random, so that
things do not outnumber strikes. Needs PyTorch, which the program itself does not. Before the fit on
everything, each strike is judged by a fit that has not seen it, and how far off that was is
printed. OUT lacks what tells hits until `fit_hit.py` adds it.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import torch
from learn import Course, learn
from numpy.typing import NDArray
from torch import nn
from views import Columns, Views, read_views, varied

from impactcut.core.find import CONTACT_EARLY
from impactcut.core.glimpse_net import AFTER, BEFORE, FIRST, STEP, contact_steps

INSTANTS = 37
"""Instants told apart: from FIRST in steps of STEP."""
SPREAD = 0.35
"""Standard deviation of the answer that is asked for, nodes: labels are no truer."""
COURSE = Course(epochs=20, batch=32, rate=4e-3, decay=0.02)


class Network(nn.Module):
    """As `impactcut.core.glimpse_net.GlimpseNet`, while it learns."""

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
    net, asked = Network(), _asked(steps)

    def loss_of(batch: NDArray[np.int64], rng: np.random.Generator) -> torch.Tensor:
        chances = torch.log_softmax(net(torch.from_numpy(varied(views[batch], rng))), 1)
        return -(asked[batch] * chances).sum(1).mean()

    learn(net, len(views), loss_of, COURSE, seed)
    return net


def _asked(steps: NDArray[np.float64]) -> torch.Tensor:
    instants = FIRST + STEP * np.arange(INSTANTS)
    near = np.exp(-0.5 * ((instants - steps[:, None]) / SPREAD) ** 2) + 1e-9
    return torch.from_numpy((near / near.sum(1, keepdims=True)).astype(np.float32))


def read_steps(net: Network, views: NDArray[np.float32]) -> NDArray[np.float64]:
    """Expected steps to the contact for each view."""
    with torch.no_grad():
        parts = [net(torch.from_numpy(views[at : at + 64])) for at in range(0, len(views), 64)]
    return np.array([contact_steps(answers) for answers in torch.cat(parts).numpy()])


def plain_net(net: Network) -> dict[str, Any]:
    """The fitted network in the form that `impactcut.core.glimpse_net` reads, without ``hit``."""
    return {
        "first": FIRST,
        "step": STEP,
        "space": [_plain(layer) for layer in net.space],
        "contact": plain_reader([net.time], net.answer),
    }


def plain_reader(layers: Iterable[nn.Conv1d], answer: nn.Linear) -> dict[str, Any]:
    """Layers over time, and the answers to them, in that form."""
    return {
        "layers": [
            {
                "weights": _short(layer.weight[:, :, :, None, None]),
                "bias": _short(layer.bias),
                "stride": 1,
            }
            for layer in layers
        ],
        "weights": _short(answer.weight),
        "bias": _short(answer.bias),
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


def report(name: str, found: NDArray[np.float64], views: Views) -> str:
    """How far off the chosen impulses' contacts are, one line."""
    step, true = views["step"], views["steps"]
    apart = (found - true) * step
    frame = views["frame"]
    shown, asked = (np.ceil(frame + steps * step - CONTACT_EARLY) for steps in (found, true))
    wrong = shown - asked
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
    views = read_views(options.views, options.most, of_hits)
    inputs, fold = views.inputs(), views.folds(options.folds)
    judged = np.full(len(fold), np.nan)
    for held in range(options.folds):
        out = fold == held
        net = fitted(inputs[~out], views["steps"][~out], 1)
        judged[out] = read_steps(net, inputs[out])
        print(report(f"fold {held}", judged[out], views.those(out)), flush=True)
    if options.folds:
        _compare(judged, views)
    plain = plain_net(fitted(inputs, views["steps"], 1))
    options.out.write_text(json.dumps(plain, separators=(",", ":")) + "\n")


def of_hits(columns: Columns) -> NDArray[np.bool_]:
    """Views that belong to a hit, whose contact is known."""
    return np.isfinite(columns["steps"])


def _compare(judged: NDArray[np.float64], views: Views) -> None:
    strikes = views.of_strikes()
    for name, part in (("strikes", strikes), ("things", ~strikes)):
        for kind, same in (("start", views["start"]), ("stop", ~views["start"])):
            chosen = part & same & (views["chance"] > 0.5)
            if chosen.any():
                of_kind = views.those(chosen)
                print(report(f"{name}, {kind}, network", judged[chosen], of_kind))
                print(report(f"{name}, {kind}, traits (seen)", of_kind["first_steps"], of_kind))


if __name__ == "__main__":
    main()
