"""Boosted regression trees, evaluated in NumPy: the form in which fitted weights are kept.

A tree sends a sample left where the trait is at most the threshold. The answer of a forest is the
baseline plus the sum of its trees' leaf values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray, IntArray


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

    trait: IntArray
    threshold: Float64Array
    left: IntArray
    right: IntArray
    value: Float64Array


@dataclass(frozen=True, eq=False)
class Forest:
    """A sum of trees over a baseline."""

    baseline: float
    trees: tuple[Tree, ...]

    def predict(self, traits: FloatArray) -> Float64Array:
        """Sum of the trees for each sample.

        Parameters
        ----------
        traits : float32, shape (samples, traits)

        Returns
        -------
        float64, shape (samples,)
        """
        if not self.trees:
            return np.full(len(traits), self.baseline, np.float64)
        joined = self._joined
        node = np.tile(joined.root, (len(traits), 1))
        first = np.arange(len(traits))[:, None] * traits.shape[1]
        flat = traits.ravel()
        while True:
            goes_right = flat.take(first + joined.trait.take(node)) > joined.threshold.take(node)
            below = joined.child.take(2 * node + goes_right)
            if np.array_equal(below, node):
                break
            node = below
        answer: Float64Array = self.baseline + joined.value.take(node).sum(axis=1)
        return answer

    @cached_property
    def _joined(self) -> _Joined:
        return _joined(self.trees)


@dataclass(frozen=True, eq=False)
class _Joined:
    """The nodes of all trees in one row, so that all are walked down at once.

    The children of node ``k`` are ``child[2 * k]`` (left) and ``child[2 * k + 1]``; a leaf's are
    the leaf itself.
    """

    root: IntArray
    trait: IntArray
    threshold: Float64Array
    child: IntArray
    value: Float64Array


def _joined(trees: Sequence[Tree]) -> _Joined:
    nodes = np.array([len(tree.value) for tree in trees])
    root = np.cumsum(nodes) - nodes
    first = np.repeat(root, nodes)
    trait, threshold, left, right, value = (
        np.concatenate([getattr(tree, name) for tree in trees])
        for name in ("trait", "threshold", "left", "right", "value")
    )
    inner, own = left > 0, np.arange(len(left))
    child = np.stack([np.where(inner, first + side, own) for side in (left, right)], axis=1)
    return _Joined(root, trait, threshold, child.ravel(), value)


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
