"""What a film of people on the bench's stage is made of: who is there, and what happens when."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from .captured import Performer
from .figures import Thing, some_figure
from .shots import Body, Clock, Floats, Rng


@dataclass(frozen=True, eq=False)
class Setting:
    """The bench's stage, the motion of its capture, and the contacts of its strikes, seconds."""

    stage: Any
    motion: Any
    known: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Contact:
    """Something that a film's truth tells of.

    Parameters
    ----------
    place : float64, shape (3,), or None
        Metres.
    reaction : float or None
        Second at which the receiver starts to react.
    """

    seconds: float
    kind: str
    place: Floats | None = None
    reaction: float | None = None
    scored: bool = True


@dataclass(frozen=True, eq=False)
class Scene:
    """People in front of a camera, with what happens between them.

    Parameters
    ----------
    middle, side : float64, shape (3,)
        Where the camera looks, metres, and the level direction from there in which it stands.
    contacts : tuple of Contact
        In order.
    sizes : tuple of float, or None
        Bounds of the height of a person, in heights of the picture; None for any.
    played : Fraction or None
        Frames a second at which the film is shown, if it is shown slower than it is taken.
    """

    bodies: tuple[Body, ...]
    clock: Clock
    middle: Floats
    side: Floats
    contacts: tuple[Contact, ...] = ()
    sizes: tuple[float, float] | None = None
    played: Fraction | None = None


def some_body(rng: Rng, joints: Floats, person: Performer, things: tuple[Thing, ...] = ()) -> Body:
    """Somebody in clothes of some kind, with the things that he or she has to do with."""
    return Body(joints, person.k, some_figure(rng), things)


def seen_from(rng: Rng, ahead: Floats) -> Floats:
    """The level direction of the camera: mostly from the side of a strike."""
    bounds = (50, 130) if rng.random() < 0.75 else (20, 160)
    angle = math.radians(float(rng.uniform(*bounds)) * (1 if rng.integers(2) else -1))
    angle += math.atan2(ahead[0], ahead[2])
    return np.array([math.sin(angle), 0, math.cos(angle)])
