"""The fitted networks and where they come from; never code that runs them."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

OTHERS = ("second", "third", "things")
"""Those that look where the scout, which is trunk and head, sees a chance; ``things`` knows best
what becomes of things."""
NETWORKS = ("trunk", "head", *OTHERS)


@dataclass(frozen=True, eq=False)
class Weights:
    """What is fitted.

    Parameters
    ----------
    networks : dict of str to bytes
        An ONNX file for each of `NETWORKS`.
    manifest : dict
        How they were made, and what they are worth on footage they had not seen.
    digest : str
        Of networks, shares and calibration: what was found with others is looked for again.
    """

    networks: dict[str, bytes]
    manifest: dict[str, Any]
    digest: str


@cache
def weights() -> Weights:
    """Those that ship with the program."""
    folder = files(__name__)
    networks = {name: (folder / f"{name}.onnx").read_bytes() for name in NETWORKS}
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    numbers = [manifest["calibration"], manifest["shares"]]
    counted = hashlib.sha256(json.dumps(numbers, sort_keys=True).encode())
    for name in NETWORKS:
        counted.update(networks[name])
    return Weights(networks, manifest, counted.hexdigest()[:16])
