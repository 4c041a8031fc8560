"""The fitted weights that come with the program."""

from __future__ import annotations

import json
from functools import lru_cache
from importlib import resources
from typing import Any

from impactcut.core.glimpse_net import GlimpseNet, glimpse_net_from
from impactcut.core.hit_model import HitModel, hit_model_from
from impactcut.core.neighbours import NeighbourWeights


@lru_cache(maxsize=1)
def hit_weights() -> HitModel:
    """The weights that tell hits, read once."""
    return hit_model_from(_stored("hit_model.json"))


@lru_cache(maxsize=1)
def glimpse_weights() -> GlimpseNet:
    """The weights that tell what glimpses show, read once."""
    return glimpse_net_from(_stored("glimpse_net.json"))


@lru_cache(maxsize=1)
def neighbour_weights() -> NeighbourWeights:
    """The weights that tell what the finds around one say of it, read once."""
    return NeighbourWeights(**_stored("neighbours.json"))


def _stored(name: str) -> Any:
    return json.loads(resources.files("impactcut.core").joinpath(name).read_text("utf-8"))
