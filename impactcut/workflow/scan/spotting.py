"""The spotter at work on stretches that follow one another."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import cache, partial
from typing import Final

import numpy as np

from impactcut.core.arrays import FloatArray, IntArray
from impactcut.core.detect.confidence import Calibration
from impactcut.core.detect.mark import SNAP, likeliest_near
from impactcut.core.detect.planes import CHANGE, LUMA, Planes, every, no_motion
from impactcut.core.detect.spot import Spot
from impactcut.core.detect.spotter import (
    HEAD,
    OTHER,
    REACH,
    TRUNK,
    Described,
    Net,
    Opinions,
    Spotter,
    describe,
    joined,
    opencv_net,
    place_of,
    spots_of,
)
from impactcut.core.detect.trace import Piece, Trace, piece_of, trace_of
from impactcut.core.learn.correction import Correction
from impactcut.core.motion.cadence import finding_stride
from impactcut.core.motion.pictures import Pictures
from impactcut.media.decode.threads import side_by_side
from impactcut.media.measure.stretches import Stretch
from impactcut.weights import OTHERS, weights

LONGEST_FLASH: Final = 3
"""Frames that a flash lights up at most; a light that stays longer was switched on."""
LEAST_CHANCE: Final = 0.05
"""Spots less likely than this are forgotten; whoever reads the hits sets the real threshold."""


@cache
def fitted_spotter() -> Spotter:
    """The spotter that ships with the program."""
    shipped = weights()
    trunk, head = (_net(shipped.networks[n], out) for n, out in (("trunk", TRUNK), ("head", HEAD)))
    others = {name: _when_asked(shipped.networks[name]) for name in OTHERS}
    shares = shipped.manifest["shares"]
    calibration = fitted_calibration()
    return Spotter(trunk, head, others, shares, calibration, shipped.digest, side_by_side)


def fitted_calibration() -> Calibration:
    """What the odds of the weights that ship with the program are worth."""
    return Calibration(**weights().manifest["calibration"])


def _net(model: bytes, outputs: tuple[str, ...]) -> Net:
    """A network run by ONNX Runtime or, on machines that it is not made for, by OpenCV."""
    try:
        from impactcut.workflow.scan.onnx_runtime import runtime_net
    except ImportError:
        return opencv_net(model, outputs)
    return runtime_net(model, outputs)


def _when_asked(model: bytes) -> Net:
    """One of the others, made when it is asked first; many a clip asks none, or not all."""
    made = cache(partial(_net, model, OTHER))
    return lambda inputs: made()(inputs)


class Spotting:
    """Spots of one clip's stretches, and the trace that they leave.

    What was said of frames that two of them share is kept.
    """

    def __init__(self, spotter: Spotter, taught: Correction | None = None) -> None:
        self.spotter, self.taught = spotter, taught
        self.known: tuple[IntArray, Described] | None = None
        self._planes: Planes = ()
        self._opinions = Opinions(spotter)
        self._odds: FloatArray = np.zeros(0, np.float32)
        self._pieces: list[Piece] = []
        self._stride = 1

    def __call__(self, stretch: Stretch, pictures: Pictures) -> list[Spot]:
        """The spots of a stretch and its context."""
        rate = stretch.cells.rate
        self._stride = stride = finding_stride(rate)
        begin = -int(stretch.cells.frames[0]) % stride
        planes = every(_without_jumps(stretch, pictures)[begin:], stride)
        frames = stretch.cells.frames[begin::stride]
        described = self._described(frames, planes)
        first, last = stretch.cells.frames[[stretch.own.start, stretch.own.stop]]
        numbers = int(frames[0]) // stride, int(last) // stride
        said = self._opinions.of(described, planes, float(rate) / stride, *numbers)
        self._odds = said.odds
        self._pieces.append(piece_of(said, described, frames, (int(first), int(last))))
        taught = None if self.taught is None else self.taught.corrected(said.odds, said.hidden)
        return spots_of(
            said, described, frames, float(rate), stretch.size, self.spotter, LEAST_CHANCE, taught
        )

    def trace(self) -> Trace | None:
        """What was said of every frame of all stretches up to now."""
        return trace_of(self._pieces, self._stride, self.spotter.weights)

    def seen_near(
        self, frame: int, spots: Sequence[Spot], size: tuple[int, int]
    ) -> tuple[Spot | None, tuple[float, float] | None]:
        """What is seen near a mark in the stretch that was spotted last.

        Returns
        -------
        Spot or None
            Where a contact is likeliest: one of the ``spots``, if one lies there.
        (float, float) or None
            Where a contact is likeliest to lie, widths, if there is one at all.
        """
        if self.known is None:
            return None, None
        frames, described = self.known
        node = likeliest_near(frame, self._odds, frames)
        if node is None:
            return None, None
        near = np.flatnonzero(np.abs(frames - frame) <= SNAP)
        clearest = max(near, key=lambda each: float(described.places[each].max()))
        contact = int(frames[node])
        seen = next((spot for spot in spots if spot.contact == contact), None)
        if seen is None:
            chance = self.spotter.calibration.confidence(float(self._odds[node]))
            seen = Spot(float(contact), contact, chance, place_of(described.places[node], size))
        return seen, place_of(described.places[clearest], size)

    def _described(self, frames: IntArray, planes: Planes) -> Described:
        """What the trunk makes of the frames: as before of those that it saw with the same beside.

        The last of a stretch lacked the frames after them, and jumps may only show from there.
        """
        kept, described = 0, None
        if self.known is not None:
            at, before = self.known
            first = int(np.searchsorted(at, frames[0]))
            shared = len(at) - first
            pairs = enumerate(zip(self._planes[first:], planes, strict=False))
            changed = (at for at, (old, new) in pairs if old is not new and (old != new).any())
            kept = max(0, next(changed, shared) - REACH)
            described = before.between(first, first + kept)
        fresh = describe(planes[max(0, kept - REACH) :], self.spotter.trunk)
        new = fresh.between(min(REACH, kept), len(fresh))
        described = new if described is None else joined([described, new])
        self.known, self._planes = (frames, described), planes
        return described


def _without_jumps(stretch: Stretch, pictures: Pictures) -> Planes:
    """The planes with no motion where the shot changes, and no jumps of light.

    Where the light jumps, motion goes on evenly, as `impactcut.core.motion.light.bridged` has it;
    what a short flash lights up is shown as the frame before it.
    """
    flashes, cuts = np.flatnonzero(stretch.flashed), np.flatnonzero(pictures.boundary)
    if not len(flashes) and not len(cuts):
        return stretch.planes
    planes = list(stretch.planes)
    pairs = itertools.pairwise(flashes.tolist())
    short = [(lit, dark) for lit, dark in pairs if dark - lit <= LONGEST_FLASH]
    for at in {*flashes, *cuts, *(at for lit, dark in short for at in range(lit, dark))}:
        planes[at + 1] = planes[at + 1].copy()
    sound = np.flatnonzero(~stretch.flashed)
    for interval in flashes:
        place = int(np.searchsorted(sound, interval))
        beside = sound[max(0, place - 1) : place + 1] + 1
        if len(beside):
            motion = np.mean([planes[at][CHANGE:] for at in beside], axis=0)
            planes[interval + 1][CHANGE:] = np.rint(motion).astype(np.uint8)
    for lit, dark in short:
        for at in range(lit + 1, dark + 1):
            planes[at][LUMA] = planes[lit][LUMA]
    for cut in cuts:
        planes[cut + 1][CHANGE:] = no_motion()
    return planes
