"""What the sure finds around a find say about it.

Blows come together: where several things have surely struck one another, what looks like
one more probably is; what stands alone in a quiet take is more often an accident of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from impactcut.core.arrays import Float64Array
from impactcut.core.hits import SURE

NEAR_SECONDS: Final = 4.0
"""How far around a find others are counted: about as long as the films that weigh it."""


@dataclass(frozen=True)
class NeighbourWeights:
    """How much a find and the sure ones around it say about its being a hit.

    Parameters
    ----------
    own : float
        Weight of the log odds of the find itself.
    others : float
        Weight of the logarithm of one more than the sure finds around it.
    shift : float
        Log odds.
    """

    own: float
    others: float
    shift: float

    def chances(self, chance: Float64Array, others: NDArray[np.int64]) -> Float64Array:
        """The chances of finds by both.

        Parameters
        ----------
        chance : float64, shape (n,)
            Of each by itself, 0..1.
        others : int64, shape (n,)
            From `sure_nearby`.
        """
        odds = self.own * logit(chance) + self.others * np.log1p(others) + self.shift
        chances: Float64Array = expit(odds)
        return chances


def sure_nearby(chance: Float64Array, contact: Float64Array, rate: float) -> NDArray[np.int64]:
    """How many other finds near each are sure by themselves.

    Parameters
    ----------
    chance : float64, shape (n,)
        Of each by itself, 0..1.
    contact : float64, shape (n,)
        Instants, clip frames, in any order.
    rate : float
        Frames per second.

    Returns
    -------
    int64, shape (n,)
    """
    sure = chance >= SURE
    reach = NEAR_SECONDS * rate
    order = np.sort(contact[sure])
    first = np.searchsorted(order, contact - reach, side="left")
    last = np.searchsorted(order, contact + reach, side="right")
    others: NDArray[np.int64] = (last - first - sure).astype(np.int64)
    return others
