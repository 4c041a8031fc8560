"""Fitted networks as ONNX files: the scout's trunk and head, and the others."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import torch
from torch import Tensor, nn

from impactcut.core.detect.spotter import HEAD, OTHER, TRUNK

from .network import Network

OPSET = 13


class Trunk(nn.Module):
    """Planes to the rows that describe frames, the map of places and its pooled odds."""

    def __init__(self, network: Network) -> None:
        super().__init__()
        self.network = network

    def forward(self, planes: Tensor) -> tuple[Tensor, ...]:
        """Of one clip."""
        rows, places, pooled = self.network.trunk(planes, 1)
        return rows, places, pooled


class Head(nn.Module):
    """Rows of a clip's frames to what is said of each."""

    def __init__(self, network: Network) -> None:
        super().__init__()
        self.network = network

    def forward(self, rows: Tensor) -> tuple[Tensor, ...]:
        """Of one clip; odds without those pooled from places."""
        odds, hidden, kinds, lags = self.network.head(rows, 1)
        return odds[0], hidden[0], kinds[0], lags[0]


class Other(nn.Module):
    """Planes to log odds."""

    def __init__(self, network: Network) -> None:
        super().__init__()
        self.network = network

    def forward(self, planes: Tensor) -> Tensor:
        """Of one stretch."""
        odds: Tensor = self.network(planes, 1).odds[0]
        return odds


def export(network: Network, others: Mapping[str, Network], folder: Path) -> None:
    """Write the files of a spotter whose scout, and whose others by name, these are."""
    scout = network.cpu().eval()
    planes = torch.zeros(24, len(scout.size.planes), 96, 128)
    _write(Trunk(scout).eval(), planes, folder / "trunk.onnx", TRUNK)
    rows = torch.zeros(24, 2 * scout.size.widths[-1])
    _write(Head(scout).eval(), rows, folder / "head.onnx", HEAD)
    for name, other in others.items():
        _write(Other(other.cpu().eval()).eval(), planes, folder / f"{name}.onnx", OTHER)


def _write(module: nn.Module, example: Tensor, path: Path, outputs: tuple[str, ...]) -> None:
    torch.onnx.export(
        module,
        (example,),
        str(path),
        opset_version=OPSET,
        dynamo=False,
        input_names=["input"],
        output_names=list(outputs),
        dynamic_axes={name: {0: "frames"} for name in ("input", *outputs)},
    )
