"""One person's part in a clip: where they stand and what their body does, at any instant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from .figure import FEET, LEFT, RIGHT, Build, Joint, Limbs, Trunk, pose, trunk_of
from .footwork import Footwork
from .strikes import bezier
from .timing import Change, Stroke, eased
from .vectors import Floats, to_local, to_world

Place = tuple[Floats, Floats]
Ground = Callable[[Floats], Place]
Pair = tuple[Floats, Floats]


@dataclass(frozen=True)
class Reach:
    """A limb's way through one strike, in the figure's own axes (forward, left, up from its root).

    ``limb`` is ``"hand"``, ``"elbow"`` or ``"foot"``; ``side`` 0 for the left, 1 for the right.
    """

    limb: str
    side: int
    stroke: Stroke
    start: Floats
    control: Floats
    end: Floats

    def applied(self, times: Floats, resting: Floats) -> Floats:
        """The limb's places (T, 3): as ``resting``, but for the strike."""
        stroke = self.stroke
        winding = eased(times, stroke.start, stroke.reach_start)[:, None]
        wound = resting + winding * (self.start - resting)
        way = bezier(self.start, self.control, self.end, stroke.progress(times))
        struck = np.where((times >= stroke.reach_start)[:, None], way, wound)
        return struck + stroke.released(times)[:, None] * (resting - struck)


@dataclass
class Fighter:
    """A figure with its layers of movement; beats add layers, nothing is taken away.

    Parameters
    ----------
    build : Build
    ground : function of times to root (T, 3) and yaw (T,)
        Before anything that `shifts` adds.
    changes : functions of times to changes of posture (T, 17)
    shifts : functions of times to shifts of the root (T, 3)
    reaches : list of Reach
    footwork : Footwork or None
        None while the part is being made: the feet then go along under the body.
    """

    build: Build
    ground: Ground
    changes: list[Change] = field(default_factory=list)
    shifts: list[Change] = field(default_factory=list)
    reaches: list[Reach] = field(default_factory=list)
    footwork: Footwork | None = None
    stance: Floats = field(default_factory=lambda: FEET)

    def place(self, times: Floats) -> Place:
        """Root on the ground, shape (T, 3), and yaw (T,), radians."""
        root, yaw = self.ground(times)
        return root + sum((shift(times) for shift in self.shifts), np.zeros_like(root)), yaw

    def layers(self, times: Floats) -> Floats:
        """The posture at each instant, shape (T, 17)."""
        return sum((change(times) for change in self.changes), np.zeros((len(times), 17)))

    def trunk(self, times: Floats) -> Trunk:
        """The upper body at each instant."""
        return trunk_of(self.build, *self.place(times), self.layers(times))

    def joints(self, times: Floats) -> Floats:
        """All joints in the world, shape (T, 20, 3)."""
        root, yaw = self.place(times)
        layers = self.layers(times)
        trunk = trunk_of(self.build, root, yaw, layers)
        resting = trunk.point(layers[:, LEFT]), trunk.point(layers[:, RIGHT])
        hands = self._struck("hand", times, resting)
        ankles = self._struck("foot", times, self._planted(times))
        joints = pose(self.build, root, yaw, layers, Limbs(hands, ankles))
        if not any(reach.limb == "elbow" for reach in self.reaches):
            return joints
        resting = joints[:, Joint.ELBOW_L], joints[:, Joint.ELBOW_R]
        elbows = self._struck("elbow", times, resting)
        return pose(self.build, root, yaw, layers, Limbs(hands, ankles, elbows))

    def home_feet(self, times: Floats) -> Floats:
        """Where the feet would best stand, shape (T, 2, 3)."""
        root, yaw = self.place(times)
        spots = [to_world(np.tile(spot, (len(times), 1)), root, yaw) for spot in self.stance]
        return np.stack(spots, axis=1)

    def _planted(self, times: Floats) -> Pair:
        feet = self.footwork.places(times) if self.footwork else self.home_feet(times)
        lifted = feet + np.array([0, self.build.ankle, 0])
        return lifted[:, 0], lifted[:, 1]

    def _struck(self, limb: str, times: Floats, resting: Pair) -> Pair:
        """Left and right of a limb, on their way through whatever strikes they throw."""
        root, yaw = self.place(times)
        places = list(resting)
        for reach in self.reaches:
            if reach.limb == limb:
                local = to_local(places[reach.side], root, yaw)
                places[reach.side] = to_world(reach.applied(times, local), root, yaw)
        return places[0], places[1]
