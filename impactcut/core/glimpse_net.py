"""What a small network reads off the glimpses around a strike's end: is it a hit, and when?

Whoever watches a fight frame by frame sees the fist fly, arrive and be there; the network does the
same with the pictures of `impactcut.media.glimpses`: four layers of convolution over time and
place, and the strongest and the mean response of each moment. Two readers look at these moments:
one tells a distribution over the instants at which the contact may lie, the other the odds that a
hit lies there at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit, softmax

from impactcut.core.arrays import FloatArray

BEFORE: Final = 8
AFTER: Final = 4
"""Nodes before and after the impulse that are looked at."""
ALONG: Final = (-0.42, 0.213)
ACROSS: Final = 0.3
"""The view: widths along the strike behind and ahead of the impulse, and to either side."""
SHAPE: Final = (36, 38)
"""Rows and columns of the view: 60 to the width."""
FIRST: Final = -6.0
STEP: Final = 0.25
"""The instants told apart: nodes from the impulse to the first, and from one to the next."""
FAINT: Final = 8.0
"""Glimpses no stronger than this are grain, and are not made strong."""


@dataclass(frozen=True, eq=False)
class Layer:
    """Weights of one convolution over (time, rows, columns), each followed by a rectifier.

    Parameters
    ----------
    weights : float32, shape (out, in, time, rows, columns)
        Odd sizes; the input is padded with zeros so that a stride of 1 keeps its size.
    bias : float32, shape (out,)
    stride : int
        Over rows and columns.
    """

    weights: FloatArray
    bias: FloatArray
    stride: int

    def of(self, values: FloatArray) -> FloatArray:
        """Responses to ``values`` (float32, (in, time, rows, columns)), shape (out, time, ...)."""
        sizes = self.weights.shape[2:]
        pads = [(0, 0), *((size // 2, size // 2) for size in sizes)]
        windows = np.lib.stride_tricks.sliding_window_view(
            np.pad(values, pads), sizes, axis=(1, 2, 3)
        )[:, :, :: self.stride, :: self.stride]
        sums = np.tensordot(self.weights, windows, axes=([1, 2, 3, 4], [0, 4, 5, 6]))
        responses: FloatArray = np.maximum(sums + self.bias[:, None, None, None], 0)
        return responses


@dataclass(frozen=True, eq=False)
class Reader:
    """Reads answers off moments.

    Parameters
    ----------
    layers : tuple of Layer
        Over time; their rows and columns are 1.
    weights : float32, shape (answers, features)
    bias : float32, shape (answers,)
    """

    layers: tuple[Layer, ...]
    weights: FloatArray
    bias: FloatArray

    def of(self, moments: FloatArray) -> FloatArray:
        """The answers, float32 (answers,), to moments (float32, (channels, time))."""
        values = moments[:, :, None, None]
        for layer in self.layers:
            values = layer.of(values)
        answers: FloatArray = self.weights @ values.ravel() + self.bias
        return answers


@dataclass(frozen=True)
class Sight:
    """What the glimpses around an impulse show.

    Parameters
    ----------
    steps : float
        Nodes from the impulse to the contact, expected value.
    odds : float
        Log odds that a hit has its contact there.
    """

    steps: float
    odds: float


@dataclass(frozen=True)
class Blend:
    """How much the movement and the glimpses of a candidate say about its being a hit.

    Parameters
    ----------
    motion, sight : float
        Weights of the log odds by the hit model, and by the network.
    shift : float
        Log odds.
    """

    motion: float
    sight: float
    shift: float

    def chance(self, chance: float, odds: float) -> float:
        """The chance of a hit by both, from that by movement (0..1) and the odds of `Sight`."""
        return float(expit(self.motion * logit(chance) + self.sight * odds + self.shift))


@dataclass(frozen=True, eq=False)
class GlimpseNet:
    """The fitted network.

    Parameters
    ----------
    space : tuple of Layer
        Over the glimpses.
    contact : Reader
        Of log chances of the instants at which the contact may lie.
    hit : Reader
        Of the log odds of a hit.
    blend : Blend
    """

    space: tuple[Layer, ...]
    contact: Reader
    hit: Reader
    blend: Blend

    def look(self, glimpses: NDArray[np.uint8]) -> Sight:
        """What glimpses show.

        Parameters
        ----------
        glimpses : uint8, shape (BEFORE + AFTER + 1, 2, rows, columns)
        """
        moments = moments_of(self.space, scaled(glimpses))
        return Sight(contact_steps(self.contact.of(moments)), float(self.hit.of(moments)[0]))


def contact_steps(answers: FloatArray) -> float:
    """Nodes from the impulse to the contact, from the log chances of the instants (k,)."""
    chances = softmax(answers)
    return float(chances @ (FIRST + STEP * np.arange(len(chances))))


def moments_of(space: tuple[Layer, ...], values: FloatArray) -> FloatArray:
    """The strongest and the mean response of each moment.

    Parameters
    ----------
    space : tuple of Layer
    values : float32, shape (2, time, rows, columns)
        From `scaled`.

    Returns
    -------
    float32, shape (channels, time)
    """
    for layer in space:
        values = layer.of(values)
    return np.concatenate([values.max(axis=(2, 3)), values.mean(axis=(2, 3))])


def scaled(glimpses: NDArray[np.uint8]) -> FloatArray:
    """Glimpses as the network takes them, whatever the contrast of the picture.

    Parameters
    ----------
    glimpses : uint8, shape (BEFORE + AFTER + 1, 2, rows, columns)

    Returns
    -------
    float32, shape (2, BEFORE + AFTER + 1, rows, columns)
    """
    full = max(float(np.percentile(glimpses[:, 0], 99)), FAINT)
    values: FloatArray = np.sqrt(np.moveaxis(glimpses, 1, 0).astype(np.float32) / full)
    return values


def glimpse_net_from(data: Mapping[str, Any]) -> GlimpseNet:
    """The network from its plain (JSON) form.

    Raises
    ------
    ValueError
        If it was fitted for other instants than those told apart here.
    """
    if (data["first"], data["step"]) != (FIRST, STEP):
        raise ValueError("the network was fitted for other instants; fit it again")
    return GlimpseNet(
        space=space_from(data),
        contact=reader_from(data["contact"]),
        hit=reader_from(data["hit"]),
        blend=Blend(**data["blend"]),
    )


def space_from(data: Mapping[str, Any]) -> tuple[Layer, ...]:
    """The layers over the glimpses from the plain form of a network."""
    return tuple(_layer_from(layer) for layer in data["space"])


def reader_from(data: Mapping[str, Any]) -> Reader:
    """A reader from its plain form."""
    return Reader(
        layers=tuple(_layer_from(layer) for layer in data["layers"]),
        weights=np.array(data["weights"], np.float32),
        bias=np.array(data["bias"], np.float32),
    )


def _layer_from(data: Mapping[str, Any]) -> Layer:
    weights = np.array(data["weights"], np.float32)
    return Layer(weights, np.array(data["bias"], np.float32), int(data["stride"]))
