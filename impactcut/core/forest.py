"""Boosted regression trees, evaluated in NumPy: the form in which fitted weights are kept.

A tree sends a sample left where the trait is at most the threshold. The answer of a forest is the
baseline plus the sum of its trees' leaf values.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class Tree:
    """One tree; node 0 is the root, and a node whose ``left`` is 0 is a leaf.

    Parameters
    ----------
    trait : int64, shape (nodes,)
        Index of the trait that the node asks.
    threshold, value : float64, shape (nodes,)
    left, right : int64, shape (nodes,)
    """

    trait: NDArray[np.int64]
    threshold: NDArray[np.float64]
    left: NDArray[np.int64]
    right: NDArray[np.int64]
    value: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Forest:
    """A sum of trees over a baseline."""

    baseline: float
    trees: tuple[Tree, ...]

    def predict(self, traits: FloatArray) -> NDArray[np.float64]:
        """Sum of the trees for each sample.

        Parameters
        ----------
        traits : float32, shape (samples, traits)

        Returns
        -------
        float64, shape (samples,)
        """
        total = np.full(len(traits), self.baseline, np.float64)
        for tree in self.trees:
            total += tree.value[_leaves(tree, traits)]
        return total


def _leaves(tree: Tree, traits: FloatArray) -> NDArray[np.int64]:
    samples = np.arange(len(traits))
    node = np.zeros(len(traits), np.int64)
    while (inner := tree.left[node] > 0).any():
        goes_left = traits[samples, tree.trait[node]] <= tree.threshold[node]
        below = np.where(goes_left, tree.left[node], tree.right[node])
        node = np.where(inner, below, node)
    return node


def forest_from(data: Mapping[str, Any]) -> Forest:
    """A forest from its plain form: ``baseline``, and per tree lists of the fields of `Tree`."""
    trees = tuple(
        Tree(
            trait=np.asarray(tree["trait"], np.int64),
            threshold=np.asarray(tree["threshold"], np.float64),
            left=np.asarray(tree["left"], np.int64),
            right=np.asarray(tree["right"], np.int64),
            value=np.asarray(tree["value"], np.float64),
        )
        for tree in data["trees"]
    )
    return Forest(float(data["baseline"]), trees)
