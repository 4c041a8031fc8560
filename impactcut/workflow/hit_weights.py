"""The fitted weights that come with the program."""

from __future__ import annotations

import json
from functools import lru_cache
from importlib import resources
from typing import Any

from impactcut.core.contact_net import ContactNet, contact_net_from
from impactcut.core.hit_model import HitModel, hit_model_from


@lru_cache(maxsize=1)
def hit_weights() -> HitModel:
    """The weights that tell hits, read once."""
    return hit_model_from(_stored("hit_model.json"))


@lru_cache(maxsize=1)
def contact_weights() -> ContactNet:
    """The weights that tell the instant of contact, read once."""
    return contact_net_from(_stored("contact_net.json"))


def _stored(name: str) -> Any:
    return json.loads(resources.files("impactcut.core").joinpath(name).read_text("utf-8"))
