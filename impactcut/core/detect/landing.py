"""The hit that a spot stands for: when the strike begins and rests, where to look, the camera."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from impactcut.core.detect.hits import DECIMALS, CameraWord, Hit
from impactcut.core.detect.reaction import reaction_of
from impactcut.core.detect.receiver import Struck, struck_by
from impactcut.core.detect.spot import Spot
from impactcut.core.detect.striker import StrikePath, strike_path
from impactcut.core.detect.window import even, paced, window_of
from impactcut.core.motion.cells import MotionCells, cell_centres
from impactcut.core.motion.pictures import Pictures

ONSET_SHARE: Final = 0.25
SETTLE_SHARE: Final = 0.3
"""Shares of the way from rest to the peak speed below which a strike has not begun, and has come
to rest."""
REST: Final = 20
"""Percentile of the limb's speed before its peak that stands for what the body does anyhow, and
out of which a blow rises; a push is the body's own way."""
PEAK_SECONDS: Final = 0.3
"""How long before the contact a strike is fastest at the earliest, engineering choice: reaches
take 200 to 500 ms (Flash & Hogan 1985), and peak half-way."""
AROUND: Final = 0.12
"""How much of limb and receiver a hit's region takes in, widths from the place, engineering
choice: a forearm, a head and a shoulder in a medium shot."""
LEAST_HALF: Final = 0.04
"""Least half width and half height of a region, widths, engineering choice."""
PAN: Final = 0.06
SHAKE: Final = 0.0012
ZOOM: Final = 0.06
"""Camera speed (widths/s), shake (rms second difference, widths) and zoom (per second) from which
a camera counts as panning, handheld, zooming; engineering choices."""


@dataclass(frozen=True, eq=False)
class Landing:
    """What a spot leads to.

    Parameters
    ----------
    path : StrikePath
        The striking limb through the window around the contact.
    struck : Struck
        Who is on the far side of the place.
    lag : int or None
        Frames from the contact to the receiver's start; None where he is not seen to react.
    """

    path: StrikePath
    struck: Struck
    lag: int | None


def follow(spot: Spot, cells: MotionCells, pictures: Pictures) -> Landing:
    """Who strikes and who is struck where a spot lies.

    Parameters
    ----------
    cells : MotionCells
        Of its stretch, one node a frame.
    pictures : Pictures
        Of the same stretch.
    """
    raw = window_of(cells, spot.contact)
    start = int(raw.frames[0]) - int(cells.frames[0])
    inside = slice(start, start + raw.intervals)
    at = spot.contact - int(raw.frames[0])
    whole = even(raw, pictures.repeated[inside], pictures.boundary[inside], at)
    window, starts = paced(whole, at)
    node = int(np.searchsorted(starts, at))
    stride = round(whole.rate / window.rate)
    path = strike_path(window, spot.place, node)
    struck = struck_by(window, path, spot.place, node)
    if spot.kind == "fall":
        struck = replace(struck, receiver=None)
    lag = None
    if struck.receiver is not None:
        prior = None if spot.lag is None else round(spot.lag / stride)
        lag = reaction_of(window, path, struck.receiver, node, prior)
    return Landing(path.spread(whole, starts), struck, None if lag is None else lag * stride)


def hit_of(spot: Spot, landing: Landing, cells: MotionCells) -> Hit:
    """The hit that a spot stands for.

    Parameters
    ----------
    landing : Landing
        From `follow`.
    cells : MotionCells
        Of its stretch, one node a frame; the hit lies within it.
    """
    path, contact = landing.path, spot.contact
    first, last = int(cells.frames[0]), int(cells.frames[-1])
    onset, peak, settle = _strike_times(path, spot)
    reaction = None if landing.lag is None else min(max(contact + landing.lag, first), last)
    return Hit(
        onset=onset,
        peak=peak,
        contact=contact,
        contact_exact=round(spot.instant, 3),
        settle=min(settle, last),
        reaction=reaction,
        confidence=round(spot.chance, DECIMALS),
        peak_speed=round(float(path.speed[: contact - path.first].max(initial=0.0)), 4),
        region=_region(spot, landing, cells),
        camera=_camera_word(cells, contact),
    )


def _strike_times(path: StrikePath, spot: Spot) -> tuple[int, int, int]:
    """Onset, peak and settle, as clip frames around the contact."""
    contact = spot.contact
    at = contact - path.first
    speed = path.speed
    earliest = max(0, at - round(PEAK_SECONDS * path.rate))
    before = speed[earliest:at]
    if before.max(initial=0) <= 0:
        return contact, contact, contact
    peak = earliest + int(np.argmax(before))
    rest = 0.0 if spot.kind == "push" else float(np.percentile(speed[: peak + 1], REST))
    slow = np.flatnonzero(speed[:peak] <= rest + ONSET_SHARE * (speed[peak] - rest))
    onset = int(slow[-1]) + 1 if len(slow) else 0
    still = np.flatnonzero(speed[at:] < rest + SETTLE_SHARE * (speed[peak] - rest))
    settle = at + int(still[0]) if len(still) else len(speed)
    return path.first + onset, path.first + peak, path.first + settle


def _region(spot: Spot, landing: Landing, cells: MotionCells) -> tuple[float, float, float, float]:
    """Left, top, width, height (widths) of what of limb and receiver lies around the place."""
    rows, columns = cells.grid
    masks = landing.path.masks
    at = min(max(spot.contact - landing.path.first - 1, 0), len(masks) - 1)
    inside = masks[at].copy()
    if landing.struck.receiver is not None:
        inside |= landing.struck.receiver
    centres = cell_centres(cells.grid)
    place = np.array(spot.place)
    away = np.abs(centres - place.astype(np.float32)).max(axis=-1)
    seen = centres[inside & (away <= AROUND)]
    half = 0.5 / columns
    low = np.minimum(place - LEAST_HALF, seen.min(axis=0, initial=np.inf) - half)
    high = np.maximum(place + LEAST_HALF, seen.max(axis=0, initial=-np.inf) + half)
    low = np.minimum(np.maximum(low, 0), place)
    high = np.maximum(np.minimum(high, (1, rows / columns)), place)
    left, top, right, bottom = (float(edge) for edge in (*low, *high))
    return (left, top, right - left, bottom - top)


def _camera_word(cells: MotionCells, contact: int) -> CameraWord:
    """What the camera does around frame ``contact``."""
    window = window_of(cells, contact)
    if window.intervals == 0:
        return "locked"
    per_second = window.camera / window.seconds[:, None]
    if abs(float(np.median(per_second[:, 3]))) > ZOOM:
        return "zooming"
    drift = float(np.linalg.norm(np.median(per_second[:, :2], axis=0)))
    jitter = np.diff(window.camera[:, :2], n=2, axis=0)
    shake = float(np.sqrt((jitter**2).sum(axis=1).mean())) if len(jitter) else 0.0
    if drift > PAN:
        return "panning"
    return "handheld" if shake > SHAKE or drift > PAN / 4 else "locked"
