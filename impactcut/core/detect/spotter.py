"""The spotter: a chance and a place of contact for every frame, from what it is shown of each.

A *scout* looks at every frame. Its *trunk* sees one frame and, through its temporal shift, `REACH`
frames to either side; its *head* looks over the rows that describe the frames, some half second to
either side. Where the scout sees the least chance of a contact, *others* look, too, and the mean of
their log odds counts, weighted: who is asked, and what each counts, depends on whether the scout
takes it for people who strike one another or for things. All are ONNX files run by ONNX Runtime, or
by OpenCV's ``dnn`` where that cannot be installed, which says the same in twice the time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final

import cv2
import numpy as np

from impactcut.core.arrays import FloatArray, IntArray
from impactcut.core.detect.confidence import Calibration
from impactcut.core.detect.contact import Peak, peaks
from impactcut.core.detect.planes import COLUMNS, ROWS, Planes, box_of, scaled
from impactcut.core.detect.spot import KINDS, Spot

TRUNK: Final = ("rows", "places", "pooled")
HEAD: Final = ("odds", "hidden", "kinds", "lags")
OTHER: Final = ("odds",)
"""Names of what each network gives, one row a frame."""
SCOUT: Final = "scout"
"""What the scout is called beside the others."""
PEOPLE: Final = "people"
THINGS: Final = "things"
"""Who is struck, by the scout: who is asked besides depends on it."""
LAGS: Final = tuple(range(-10, 11))
"""Lags that it tells apart: frames from contact to reaction, of those that it is shown."""
REACH: Final = 6
"""Frames to either side that the trunk sees: one for each of its six shifts."""
AT_ONCE: Final = 33 + 2 * REACH
"""Frames that the trunk is shown at a time, engineering choice: half those of a stretch of
`impactcut.media.measure.stretches`, and what it sees beside them; 0.8 to 1.3 MB each."""
LOOK: Final = -1.0
"""The scout's log odds from which others look, too: what is listed then hardly differs from the
mean of all in all frames (`scripts/training/README.md`)."""
BESIDE: Final = 4
"""Frames to either side of such a peak of which the others' opinion counts."""
AROUND: Final = 8
"""Frames to either side of those that the others are shown, too: out of fold as good as all that
they could see (`scripts/training/README.md`)."""
LONGEST_RUN: Final = 24
"""Frames that the others judge at a time at most, so that they are shown fewer than the trunk."""
NOT_ASKED: Final = -3.0
"""Log odds at most where the others were not asked."""
NEAR: Final = 6
"""Frames behind the last that a stretch judges whose odds have a say, too: as far as two contacts
lie apart (`impactcut.core.detect.contact.APART_SECONDS`)."""

Net = Callable[[FloatArray], dict[str, FloatArray]]
"""From float32 inputs, one a frame, to what the network gives of each, by name."""


@dataclass(frozen=True, eq=False)
class Spotter:
    """Networks and what their odds are worth.

    Parameters
    ----------
    trunk, head : Net
        Of the scout; give `TRUNK` and `HEAD`.
    others : dict of str to Net
        Each gives `OTHER`.
    shares : dict of str to dict of str to float
        For `PEOPLE` and `THINGS`: who is asked, by name, and what the log odds of each count; 1 in
        all.
    weights : str
        Digest of the weights that they are.
    each : callable
        As ``map``; may ask several networks at once.
    """

    trunk: Net
    head: Net
    others: Mapping[str, Net]
    shares: Mapping[str, Mapping[str, float]]
    calibration: Calibration
    weights: str
    each: Callable[..., Iterable[Any]] = map


@dataclass(frozen=True, eq=False)
class Described:
    """What the trunk makes of ``n`` frames.

    Parameters
    ----------
    rows : float32, shape (n, channels)
    places : float32, shape (n, rows, columns)
        Log odds of each place of the grid.
    pooled : float32, shape (n,)
        Those of the frame by its places.
    """

    rows: FloatArray
    places: FloatArray
    pooled: FloatArray

    def __len__(self) -> int:
        return len(self.rows)

    def between(self, start: int, stop: int) -> Described:
        """Frames ``start`` up to ``stop``."""
        part = slice(start, stop)
        return Described(self.rows[part], self.places[part], self.pooled[part])


@dataclass(frozen=True, eq=False)
class Said:
    """What is said of ``n`` frames.

    Parameters
    ----------
    odds : float32, shape (n,)
        Log odds of a contact, by all networks.
    hidden : float32, shape (n, numbers)
        What the scout's last layer is given.
    kinds : float32, shape (n, len(KINDS))
    lags : float32, shape (n, len(LAGS))
        Logits of the scout, if there is a contact.
    """

    odds: FloatArray
    hidden: FloatArray
    kinds: FloatArray
    lags: FloatArray


def opencv_net(model: bytes, outputs: Sequence[str]) -> Net:
    """A network of an ONNX file's bytes, run by OpenCV."""
    net = cv2.dnn.readNetFromONNX(np.frombuffer(model, np.uint8))

    def run(inputs: FloatArray) -> dict[str, FloatArray]:
        net.setInput(np.ascontiguousarray(inputs, np.float32))
        given: Sequence[Any] = net.forward(list(outputs))
        return {name: np.array(part) for name, part in zip(outputs, given, strict=True)}

    return run


def describe(planes: Planes, trunk: Net) -> Described:
    """What the trunk makes of frames that follow one another.

    Parameters
    ----------
    planes : sequence of n planes
    """
    parts: list[Described] = []
    starts = range(AT_ONCE - REACH, len(planes) - REACH, AT_ONCE - 2 * REACH)
    for start, stop in pairwise((0, *starts, len(planes))):
        first, last = max(0, start - REACH), min(len(planes), stop + REACH)
        given = trunk(scaled(planes[first:last]))
        whole = Described(*(given[name] for name in TRUNK))
        parts.append(whole.between(start - first, stop - first))
    return joined(parts)


def joined(parts: Sequence[Described]) -> Described:
    """Frames of several parts, one after the other."""
    return Described(*(np.concatenate([getattr(part, name) for part in parts]) for name in TRUNK))


class Opinions:
    """What is said of a clip, by stretches; where these overlap the others are asked once.

    Runs of frames are told from the clip's beginning on, so that it does not matter how the clip is
    cut into stretches.
    """

    def __init__(self, spotter: Spotter) -> None:
        self._spotter = spotter
        self._said: dict[int, float] = {}
        self._end, self._until = 0, -BESIDE - 1

    def of(
        self,
        described: Described,
        planes: Planes,
        rate: float,
        first: int = 0,
        last: int | None = None,
    ) -> Said:
        """What the scout and the others say; the others of frames up to `NEAR` behind ``last``.

        Parameters
        ----------
        described : Described
            The trunk's, of the same ``n`` frames.
        planes : sequence of n planes
        rate : float
            Frames a second of those shown.
        first, last : int
            Numbers of the first of these frames and of the last that is judged by them (all, if not
            given), counted from the clip's first, of those shown.
        """
        given = self._spotter.head(described.rows)
        odds = given["odds"] + described.pooled
        said = Said(odds, given["hidden"], given["kinds"], given["lags"])
        until = first + len(planes) if last is None else last + NEAR
        return replace(said, odds=self.mean(said, planes, rate, (first, until)))

    def mean(self, scout: Said, planes: Planes, rate: float, span: tuple[int, int]) -> FloatArray:
        """Log odds by all that are asked, float32, shape (n,).

        Where nobody else is, they are the scout's, but `NOT_ASKED` at most.

        Parameters
        ----------
        scout : Said
            By the scout alone, of the stretch's frames.
        planes, rate
            As in `of`.
        span : (int, int)
            Numbers of the stretch's first frame, and of the last before which runs begin.
        """
        first, until = span
        own = scout.odds
        found = [
            peak
            for peak in peaks(own, np.arange(len(own)), rate, LOOK)
            if peak.node - BESIDE > self._until - first and peak.node + BESIDE >= self._end - first
        ]
        for begin, end in _runs(found, len(own), self._end - first):
            if begin > until - first:
                break
            means = _mean_of_run(scout, planes, self._spotter, slice(begin, end))
            self._said.update(enumerate(means.tolist(), begin + first))
            self._end = end + first
        self._until = until
        self._said = {number: says for number, says in self._said.items() if number >= first}
        odds = np.minimum(own, NOT_ASKED)
        odds[np.array(list(self._said), np.int64) - first] = list(self._said.values())
        return odds


def people_or_things(kinds: FloatArray) -> str:
    """`PEOPLE` or `THINGS`, by the logits of the kinds in one frame, shape (len(KINDS),)."""
    return THINGS if KINDS[int(np.argmax(kinds))] == "thing" else PEOPLE


def _mean_of_run(scout: Said, planes: Planes, spotter: Spotter, run: slice) -> FloatArray:
    """Log odds of a run of frames by all that are asked about what the scout sees there."""
    likeliest = run.start + int(np.argmax(scout.odds[run]))
    counted = spotter.shares[people_or_things(scout.kinds[likeliest])]
    shown = slice(max(0, run.start - AROUND), min(len(planes), run.stop + AROUND))
    inputs, own = scaled(planes[shown]), slice(run.start - shown.start, run.stop - shown.start)
    others = [name for name in counted if name != SCOUT]
    given = spotter.each(lambda name: spotter.others[name](inputs)["odds"][own], others)
    said = {SCOUT: scout.odds[run], **dict(zip(others, given, strict=True))}
    mean = np.zeros(run.stop - run.start, np.float32)
    for name, share in counted.items():
        mean += np.float32(share) * said[name]
    return mean


def _runs(found: Sequence[Peak], frames: int, begin: int) -> list[tuple[int, int]]:
    """Runs of frames beside peaks, those that touch as one: first, and one past the last.

    None has frames before ``begin``, which belong to runs before.
    """
    runs: list[tuple[int, int]] = []
    for peak in found:
        first, last = max(0, peak.node - BESIDE), min(frames, peak.node + BESIDE + 1)
        if runs and first <= runs[-1][1] and last - runs[-1][0] <= LONGEST_RUN:
            runs[-1] = (runs[-1][0], last)
        else:
            runs.append((max(first, runs[-1][1] if runs else begin), last))
    return runs


def spots_of(
    said: Said,
    described: Described,
    frames: IntArray,
    rate: float,
    size: tuple[int, int],
    spotter: Spotter,
    least: float,
    taught: FloatArray | None = None,
) -> list[Spot]:
    """The contacts that are seen, in order.

    Parameters
    ----------
    said, described : Said, Described
        Of the same ``n`` frames.
    frames : int64, shape (n,)
        Their numbers in the clip.
    rate : float
        Of the clip, frames per second.
    size : (int, int)
        Width and height of the picture, in any unit.
    least : float
        Confidence of a spot at least.
    taught : float32, shape (n,), optional
        Log odds by which they are judged, if not by those that were said. Where the contacts lie
        is told by these all the same, so that what is learnt later moves none.
    """
    judged = said.odds if taught is None else taught
    stride = int(frames[1] - frames[0]) if len(frames) > 1 else 1
    spots = []
    for peak in peaks(said.odds, frames, rate, NOT_ASKED):
        chance = spotter.calibration.confidence(float(judged[peak.node]))
        if chance >= least:
            kind = KINDS[int(np.argmax(said.kinds[peak.node]))]
            lag = _lag(said.lags[peak.node]) * stride if kind in ("blow", "push") else None
            place = place_of(described.places[peak.node], size)
            spots.append(Spot(peak.instant, peak.contact, chance, place, kind, lag))
    return spots


def _lag(logits: FloatArray) -> int:
    """The median of the lags."""
    likely = np.exp(logits.astype(np.float64) - logits.max())
    return int(LAGS[int(np.searchsorted(np.cumsum(likely) / likely.sum(), 0.5))])


def place_of(odds: FloatArray, size: tuple[int, int]) -> tuple[float, float]:
    """The likeliest place of a map, right and down from the picture's corner, widths."""
    rows, columns = odds.shape
    row, column = np.unravel_index(int(np.argmax(odds)), odds.shape)
    left, top, wide, high = box_of(*size)
    across = ((column + 0.5) / columns * COLUMNS - left) / wide
    down = ((row + 0.5) / rows * ROWS - top) / high
    tall = size[1] / size[0]
    return min(max(float(across), 0.0), 1.0), min(max(float(down), 0.0), 1.0) * tall
