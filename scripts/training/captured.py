"""Film captured strikes for training, with the truth beside each film.

    python scripts/training/captured.py BENCH OUTDIR START STOP [LAG...] [--varied]

BENCH is a folder with ``stage.py`` (a virtual stage that films motion capture; it is not part of
this project) and ``captures/``. Every number from START up to STOP gives one film, made from that
number alone: a strike of the capture, by a fighter of another build and pace, mirrored or not, in
front of another camera. Films of one strike share a ``group``, so that a fit can be tried on
strikes it has not seen. The receiver answers after one of the LAGs, in frames (`LAGS` if none are
given). Varied strikes are none of the capture's own any more (`varied_motion.py`).
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from types import ModuleType
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from varied_motion import VariedMotion

RATES = tuple(Fraction(rate) for rate in ("24", "24000/1001", "25", "30000/1001", "30"))
MOVES = ("tripod", "handheld", "rough", "pan")
SHUTTERS = (90, 144, 180, 180, 180, 216, 270)
LAGS = (0, 0, 0.5, 1, 1, 1.5, 2, 2, 2.5, 3)
STRIKER, RECEIVER = ((0.72, 1.25), (0.85, 1.15)), ((0.5, 1.2), (0.9, 1.1))
"""Least and greatest pace and girth of each."""
SAME_STRIKE_SECONDS = 0.15
"""Strikes found this near to one another in the capture's own time are the same one."""


@dataclass(frozen=True, eq=False)
class Performer:
    """A capture performed at another pace, by somebody of another build.

    Offers what `stage.film` asks of a motion: ``at``, ``vel``, ``k``, ``len``, ``source``.

    Parameters
    ----------
    motion : object
        As read by `stage.Motion`.
    pace : float
        1 is as captured, 2 twice as fast.
    girth : float
        Reach of the limbs along the ground, 1 as captured.
    mirrored : bool
    """

    motion: Any
    pace: float
    girth: float
    mirrored: bool

    @property
    def source(self) -> str:
        """Name of the capture."""
        return str(self.motion.source)

    @property
    def len(self) -> float:
        """Seconds."""
        return float(self.motion.len) / self.pace

    def k(self, joint: str) -> int:
        """Row of a joint; left and right change places in a mirror."""
        if self.mirrored and joint[:2] in ("l_", "r_"):
            joint = ("r" if joint[0] == "l" else "l") + joint[1:]
        return int(self.motion.k(joint))

    def at(self, seconds: Any) -> NDArray[np.float64]:
        """Joints at some instants, metres, float64 (..., joints, 3)."""
        joints = self.motion.at(np.asarray(seconds) * self.pace)
        hips = self.motion.k("hips")
        centre = joints[..., hips : hips + 1, :]
        placed = centre + (joints - centre) * np.array([self.girth, 1.0, self.girth])
        turned: NDArray[np.float64] = placed * np.array([-1.0 if self.mirrored else 1.0, 1.0, 1.0])
        return turned

    def vel(self, seconds: Any) -> NDArray[np.float64]:
        """Velocity of the joints, metres a second, as `at`."""
        step = 1e-3
        instants = np.asarray(seconds)
        return (self.at(instants + step) - self.at(instants - step)) / (2 * step)


def film_one(
    stage: Any,
    motion: Any,
    known: Sequence[float],
    folder: Path,
    number: int,
    lags: Sequence[float] = LAGS,
    varied: bool = False,
) -> None:
    """Write film ``number`` and its labels.

    Parameters
    ----------
    stage
        The module ``stage``.
    motion : stage.Motion
    known : sequence of float
        Contacts of the capture's strikes, seconds, for naming their groups.
    folder : Path
    number : int
    lags : sequence of float
        Frames from contact to reaction, one of which is drawn.
    varied : bool
        Whether the strike is another than the capture's.
    """
    rng = np.random.default_rng((991000 if varied else 777000) + number)
    striker = performer(rng, motion, *STRIKER)
    if varied:
        striker = replace(striker, motion=VariedMotion(motion, rng))
    receiver = performer(rng, motion, *RECEIVER)
    found = stage.strikes(striker)
    strike = number % 12
    if varied or strike >= len(found):
        strike = int(rng.integers(len(found)))
    clip = folder / f"stage_{number:05d}.mp4"
    labels = stage.film(clip, striker, strike, receiver, **set_up(rng, number, lags))
    instant = found[strike]["contact"] * striker.pace
    if varied:
        instant = float(striker.motion.instant(instant))
    nearest = int(np.argmin(np.abs(np.asarray(known) - instant)))
    near = abs(known[nearest] - instant) < SAME_STRIKE_SECONDS
    labels["group"] = f"strike {nearest}" if near else f"strike at {instant:.1f} s"
    clip.with_suffix(".json").write_text(json.dumps(labels))


def performer(
    rng: np.random.Generator, motion: Any, pace: tuple[float, float], girth: tuple[float, float]
) -> Performer:
    """Somebody drawn at random, within bounds of pace and girth."""
    fast, mirrored = float(rng.uniform(*pace)), bool(rng.integers(2))
    return Performer(motion, fast, float(rng.uniform(*girth)), mirrored)


def set_up(rng: np.random.Generator, number: int, lags: Sequence[float]) -> dict[str, Any]:
    """Camera, light and cut of film ``number``, as `stage.film` takes them."""
    width = 960 if number % 10 == 0 else (640, 480, 480, 480)[int(rng.integers(4))]
    move, rate = MOVES[int(rng.integers(4))], RATES[int(rng.integers(5))]
    angle = float(rng.uniform(55, 125)) * (1 if rng.integers(2) else -1)
    lag = float(rng.choice(lags))
    return {
        "fps": rate,
        "width": width,
        "height": width * 9 // 16,
        "move": move,
        "angle": angle,
        "hfov": float(rng.uniform(20, 36)),
        "shutter": float(rng.choice(SHUTTERS)),
        "lag": lag,
        "bg": int(rng.integers(8)),
        "seed": int(rng.integers(1 << 30)),
        "crf": int(rng.integers(18, 29)),
        "grain": float(rng.uniform(0.5, 5)) * (width / 960) ** 0.7,
        "pre": float(rng.uniform(0.9, 1.9)),
        "post": float(rng.uniform(0.7, 1.6)),
    }


def parser_of(description: str) -> argparse.ArgumentParser:
    """Takes BENCH, OUTDIR, START and STOP."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("bench", type=Path)
    parser.add_argument("outdir", type=Path)
    parser.add_argument("start", type=int)
    parser.add_argument("stop", type=int)
    return parser


def opened(bench: Path) -> tuple[Any, Any]:
    """The module ``stage`` of BENCH and the motion of its capture, to be filmed with one thread."""
    stage = _stage(bench)
    cv2.setNumThreads(1)
    skeleton, data = bench / "captures/135.asf", bench / "captures/135_06.amc"
    return stage, stage.Motion(f"{skeleton}|{data}")


def _stage(bench: Path) -> Any:
    """The module; it asks for PyAV, with which it writes files, and is had without it."""
    sys.path.insert(0, str(bench))
    try:
        import av  # noqa: F401
    except ImportError:
        sys.modules["av"] = ModuleType("av")
        import stage

        del sys.modules["av"]
    import stage

    return stage


def missing(options: argparse.Namespace, name: str) -> Iterator[int]:
    """Numbers asked for of films without labels in OUTDIR, which is made."""
    options.outdir.mkdir(parents=True, exist_ok=True)
    for number in range(options.start, options.stop):
        if not (options.outdir / f"{name}_{number:05d}.json").exists():
            yield number


def main() -> None:
    """Write the films asked for; one that is complete already is left alone."""
    parser = parser_of(__doc__.split("\n")[0])
    parser.add_argument("lags", type=float, nargs="*", default=LAGS)
    parser.add_argument("--varied", action="store_true")
    options = parser.parse_args()
    stage, motion = opened(options.bench)
    known = [strike["contact"] for strike in stage.strikes(motion)]
    for number in missing(options, "stage"):
        film_one(stage, motion, known, options.outdir, number, options.lags, options.varied)


if __name__ == "__main__":
    main()
