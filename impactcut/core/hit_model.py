"""The fitted weights that turn traits of an impulse into the chance of a hit.

One pair of forests for each kind of impulse: ``chance`` gives the log odds that the impulse
belongs to a hit, ``contact`` the steps (nodes) from the impulse to the instant of contact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scipy.special import expit

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.forest import Forest, forest_from
from impactcut.core.impulses import Kind
from impactcut.core.traits import trait_names


@dataclass(frozen=True, eq=False)
class KindModel:
    """Weights for one kind of impulse."""

    chance: Forest
    contact: Forest


@dataclass(frozen=True, eq=False)
class HitModel:
    """Weights for both kinds, and what identifies them.

    Parameters
    ----------
    kinds : mapping of str to KindModel
    version : str
        Named in the project file, so that clips are measured again when the weights change.
    """

    kinds: Mapping[Kind, KindModel]
    version: str

    def chances(self, kind: Kind, traits: FloatArray) -> Float64Array:
        """Chance of a hit for each row of ``traits`` (float32, (samples, traits)), 0..1."""
        odds: Float64Array = expit(self.kinds[kind].chance.predict(traits))
        return odds

    def contact_steps(self, kind: Kind, traits: FloatArray) -> Float64Array:
        """Steps from the impulse to the contact for each row of ``traits``."""
        return self.kinds[kind].contact.predict(traits)


def hit_model_from(data: Mapping[str, Any]) -> HitModel:
    """The model from its plain (JSON) form.

    Raises
    ------
    ValueError
        If the weights were fitted on other traits than `trait_names`.
    """
    if tuple(data["traits"]) != trait_names():
        raise ValueError("the hit model was fitted on other traits; fit it again")
    kinds: dict[Kind, KindModel] = {}
    for kind in ("start", "stop"):
        part = data[kind]
        kinds[kind] = KindModel(forest_from(part["chance"]), forest_from(part["contact"]))
    return HitModel(kinds, str(data["version"]))
