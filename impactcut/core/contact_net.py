"""The instant of contact, read off the glimpses around a strike's end by a small network.

Whoever watches a fight frame by frame sees the fist fly, arrive and be there; the network does the
same with the pictures of `impactcut.media.glimpses`: four layers of convolution over time and
place, the strongest and the mean response of each moment, and from these a distribution over the
instants at which the contact may lie.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import softmax

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
class ContactNet:
    """The fitted network.

    Parameters
    ----------
    space : tuple of Layer
        Over the glimpses.
    time : Layer
        Over what they come to at each moment; its rows and columns are 1.
    weights : float32, shape (instants, features)
    bias : float32, shape (instants,)
    """

    space: tuple[Layer, ...]
    time: Layer
    weights: FloatArray
    bias: FloatArray

    def steps_to_contact(self, glimpses: NDArray[np.uint8]) -> float:
        """Nodes from the impulse to the contact, its expected value.

        Parameters
        ----------
        glimpses : uint8, shape (BEFORE + AFTER + 1, 2, rows, columns)
        """
        values = scaled(glimpses)
        for layer in self.space:
            values = layer.of(values)
        strongest, mean = values.max(axis=(2, 3)), values.mean(axis=(2, 3))
        moments = self.time.of(np.concatenate([strongest, mean])[:, :, None, None])
        chances = softmax(self.weights @ moments.ravel() + self.bias)
        instants = FIRST + STEP * np.arange(len(self.bias))
        return float(chances @ instants)


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


def contact_net_from(data: Mapping[str, Any]) -> ContactNet:
    """The network from its plain (JSON) form.

    Raises
    ------
    ValueError
        If it was fitted for other instants than those told apart here.
    """
    if (data["first"], data["step"]) != (FIRST, STEP):
        raise ValueError("the contact network was fitted for other instants; fit it again")
    return ContactNet(
        space=tuple(_layer_from(layer) for layer in data["space"]),
        time=_layer_from(data["time"]),
        weights=np.array(data["weights"], np.float32),
        bias=np.array(data["bias"], np.float32),
    )


def _layer_from(data: Mapping[str, Any]) -> Layer:
    weights = np.array(data["weights"], np.float32)
    return Layer(weights, np.array(data["bias"], np.float32), int(data["stride"]))
