"""The hit model that comes with the program."""

from __future__ import annotations

import json
from functools import lru_cache
from importlib import resources

from impactcut.core.hit_model import HitModel, hit_model_from


@lru_cache(maxsize=1)
def hit_weights() -> HitModel:
    """The fitted weights, read once."""
    text = resources.files("impactcut.core").joinpath("hit_model.json").read_text("utf-8")
    return hit_model_from(json.loads(text))
