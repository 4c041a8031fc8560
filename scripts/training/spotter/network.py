"""The spotter's network: what every frame shows, and where, from its planes and its neighbours'.

The trunk looks at one frame at a time, but each block takes a share of its channels from the frame
before and a share from the frame after (temporal shift: Lin, Gan & Han 2019), so that it costs the
same whatever the clip's length. Pooled, each frame is a row of numbers, over which a few dilated
convolutions look a third of a second to either side. A map of places is kept at an eighth of the
planes' size; its pooled odds are added to those of the frame, so that a frame is only sure of a
contact that lies somewhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor, nn
from torch.nn import functional as fn

from impactcut.core.detect.planes import COLUMNS, PLANES, ROWS
from impactcut.core.detect.spot import KINDS
from impactcut.core.detect.spotter import LAGS

SHIFTED = 8
"""One in so many channels comes from the frame before, and as many from the frame after."""


@dataclass(frozen=True)
class Size:
    """How large the network is.

    Parameters
    ----------
    widths : tuple of int
        Channels of the stem and of the six blocks.
    hidden : int
        Numbers a frame is described by before its last layer.
    dilations : tuple of int
        Of the convolutions over time, frames.
    planes : tuple of int
        Which of the planes it is shown; the others are taken as empty.
    """

    widths: tuple[int, ...] = (16, 32, 32, 64, 64, 96, 96)
    hidden: int = 64
    dilations: tuple[int, ...] = (1, 2, 4, 8)
    planes: tuple[int, ...] = tuple(range(PLANES))


@dataclass(frozen=True, eq=False)
class Seen:
    """What the network makes of ``t`` frames of each of ``b`` clips.

    Parameters
    ----------
    odds : Tensor, shape (b, t)
        Log odds of a contact.
    places : Tensor, shape (b, t, rows, columns)
        Log odds of each place.
    hidden : Tensor, shape (b, t, hidden)
        What the last layer is given, and ``pooled`` (b, t), which is added to what it says.
    kinds : Tensor, shape (b, t, len(KINDS))
    lags : Tensor, shape (b, t, len(LAGS))
        Logits, if there is a contact.
    """

    odds: Tensor
    places: Tensor
    hidden: Tensor
    pooled: Tensor
    kinds: Tensor
    lags: Tensor


def shifted(pictures: Tensor, clips: int, share: int) -> Tensor:
    """Channels exchanged between neighbouring frames.

    Parameters
    ----------
    pictures : Tensor, shape (clips * t, channels, rows, columns)
    clips : int
        1 while the network is exported: then the number of frames is left open.
    share : int
        Channels that come from the frame after, and as many from the frame before.
    """
    if clips == 1:
        # channels first: whatever comes after that copies a share of the pictures alone
        new, old = pictures[:, :share], pictures[:, share : 2 * share]
        nothing = new[:1] * 0
        after, before = torch.cat([new[1:], nothing], 0), torch.cat([nothing, old[:-1]], 0)
        return torch.cat([after, before, pictures[:, 2 * share :]], 1)
    mixed = pictures.clone()  # as it lies in memory, which a concatenation would not keep
    new, old = (each.unflatten(0, (clips, -1)) for each in (mixed, pictures))
    new[:, :-1, :share] = old[:, 1:, :share]
    new[:, -1, :share] = 0
    new[:, 1:, share : 2 * share] = old[:, :-1, share : 2 * share]
    new[:, 0, share : 2 * share] = 0
    return mixed


class Block(nn.Module):
    """Two convolutions around a short cut, of frames that have looked at their neighbours."""

    def __init__(self, before: int, after: int, stride: int) -> None:
        super().__init__()
        self.share = max(1, before // SHIFTED)
        self.first = nn.Conv2d(before, after, 3, stride, 1, bias=False)
        self.first_norm = nn.BatchNorm2d(after)
        self.second = nn.Conv2d(after, after, 3, 1, 1, bias=False)
        self.second_norm = nn.BatchNorm2d(after)
        self.short: nn.Module = nn.Identity()
        if stride > 1 or before != after:
            self.short = nn.Sequential(
                nn.Conv2d(before, after, 1, stride, bias=False), nn.BatchNorm2d(after)
            )

    def forward(self, pictures: Tensor, clips: int) -> Tensor:
        """Shape (clips * t, before, rows, columns) to (clips * t, after, ...)."""
        mixed = shifted(pictures, clips, self.share)
        inside = fn.relu(self.first_norm(self.first(mixed)))
        return fn.relu(self.second_norm(self.second(inside)) + self.short(pictures))


class Network(nn.Module):
    """Planes in, `Seen` out."""

    def __init__(self, size: Size, dropout: float = 0.3) -> None:
        super().__init__()
        self.size = size
        widths, hidden = size.widths, size.hidden
        self.stem = nn.Sequential(
            nn.Conv2d(len(size.planes), widths[0], 5, 2, 2, bias=False),
            nn.BatchNorm2d(widths[0]),
            nn.ReLU(),
        )
        strides = (2, 1, 2, 1, 2, 1)
        self.blocks = nn.ModuleList(
            Block(widths[i], widths[i + 1], stride) for i, stride in enumerate(strides)
        )
        self.near = nn.Conv2d(widths[4], 1, 1)
        self.far = nn.Conv2d(widths[6], 1, 1)
        self.dropout = nn.Dropout(dropout)
        self.gather = nn.Conv2d(2 * widths[6], hidden, 1)
        self.over_time = nn.ModuleList(
            nn.Sequential(
                nn.Conv2d(hidden, hidden, (3, 1), padding=(step, 0), dilation=(step, 1)),
                nn.BatchNorm2d(hidden),
                nn.ReLU(),
                nn.Dropout(dropout / 2),
            )
            for step in size.dilations
        )
        self.last = nn.Conv2d(hidden, 1, 1)
        self.kind = nn.Conv2d(hidden, len(KINDS), 1)
        self.lag = nn.Conv2d(hidden, len(LAGS), 1)

    def forward(self, planes: Tensor, clips: int = 1) -> Seen:
        """``planes``, shape (clips * t, planes shown, rows, columns), scaled as `scaled`."""
        rows, places, pooled = self.trunk(planes, clips)
        odds, hidden, kinds, lags = self.head(self.dropout(rows), clips)
        of_clips = _split(pooled, clips)
        return Seen(odds + of_clips, _split(places, clips), hidden, of_clips, kinds, lags)

    def trunk(self, planes: Tensor, clips: int) -> tuple[Tensor, Tensor, Tensor]:
        """What each frame shows, (clips * t, 2 * channels), its places, and their pooled odds."""
        pictures = self.stem(planes)
        fine = pictures
        for index, block in enumerate(self.blocks):
            pictures = block(pictures, clips)
            if index == 3:
                fine = pictures
        places = (self.near(fine) + _doubled(self.far(pictures)))[:, 0]
        pooled = torch.logsumexp(places.float(), (1, 2)) - math.log(
            places.shape[-1] * places.shape[-2]
        )
        return torch.cat([pictures.amax((2, 3)), pictures.mean((2, 3))], 1), places, pooled

    def head(self, rows: Tensor, clips: int) -> tuple[Tensor, Tensor, Tensor, Tensor]:
        """Log odds without the places', what describes each frame, kinds and lags."""
        described = self._over_time(rows, clips)
        kinds, lags = (each(described)[..., 0].transpose(1, 2) for each in (self.kind, self.lag))
        odds = self.last(described)[:, 0, :, 0].float()
        return odds, described[..., 0].transpose(1, 2), kinds, lags

    def _over_time(self, rows: Tensor, clips: int) -> Tensor:
        """Rows (clips * t, channels) to what describes each frame (clips, hidden, t, 1)."""
        by_clip = rows[None] if clips == 1 else rows.unflatten(0, (clips, -1))
        described = self.gather(by_clip.transpose(1, 2)[..., None])
        for layer in self.over_time:
            described = described + layer(described)
        return described


def _doubled(pictures: Tensor) -> Tensor:
    """Every cell twice across and down."""
    if not pictures.requires_grad:
        return fn.interpolate(pictures, scale_factor=2.0, mode="nearest")
    clips, channels, rows, columns = pictures.shape  # the gradient of this is far quicker
    wide = pictures[:, :, :, None, :, None].expand(-1, -1, -1, 2, -1, 2)
    return wide.reshape(clips, channels, 2 * rows, 2 * columns)


def _split(rows: Tensor, clips: int) -> Tensor:
    return rows[None] if clips == 1 else rows.unflatten(0, (clips, -1))


def multiply_adds(network: Network) -> float:
    """Millions of multiply-adds a frame."""
    total = 0.0

    def count(layer: nn.Module, _: object, out: Tensor) -> None:
        nonlocal total
        assert isinstance(layer, nn.Conv2d)
        total += out[0].numel() * layer.weight[0].numel()

    hooks = [
        layer.register_forward_hook(count)
        for layer in network.modules()
        if isinstance(layer, nn.Conv2d)
    ]
    device = next(network.parameters()).device
    was = network.training
    network.eval()
    with torch.no_grad():
        network(torch.zeros(1, len(network.size.planes), ROWS, COLUMNS, device=device))
    network.train(was)
    for hook in hooks:
        hook.remove()
    return total / 1e6
