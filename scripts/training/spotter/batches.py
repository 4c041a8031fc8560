"""What a fit is shown: stretches of clips, drawn at random and varied."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor
from torch.nn import functional as fn

from impactcut.core.detect.planes import EARLIER_CHANGE, OFFSET, PLANES, SCALE
from impactcut.core.detect.spot import KINDS

from .labelled import Labelled, targets
from .shown import planes_file

LENGTH: Final = 64
"""Frames of a stretch."""
SHARES: Final = {
    "acted 1": 0.24, "acted 0": 0.16, "cctv 1": 0.13, "cctv 0": 0.02, "sparring 1": 0.10,
    "calm 0": 0.24, "things 1": 0.12, "things 0": 0.05,
}  # fmt: skip
"""How often each source is drawn among real clips, those with contacts ("1") apart."""
FILM_SHARES: Final = {"strike": 0.40, "fight": 0.24, "thing": 0.24, "calm": 0.12}
"""How often each kind is drawn among films."""
MOTION: Final = (False, True, True, True)


@dataclass(frozen=True, eq=False)
class Batch:
    """Stretches of ``b`` clips, ``t`` frames each.

    Parameters
    ----------
    planes : Tensor, shape (b * t, PLANES, ROWS, COLUMNS)
        Scaled.
    wanted, judged : Tensor, shape (b, t)
        As of `labelled.targets`.
    seen : list of (int, int, float, float, int, float)
        Stretch and frame, place (-1 to 1 across the grid), kind (-1 unknown) and lag (frames, not
        a number where unknown) of each contact's frames.
    """

    planes: Tensor
    wanted: Tensor
    judged: Tensor
    seen: list[tuple[int, int, float, float, int, float]]


def sent(values: NDArray[Any], device: str) -> Tensor:
    """An array on a device; a GPU goes on with what it is at meanwhile."""
    there = torch.from_numpy(np.ascontiguousarray(values))
    if not device.startswith("cuda"):
        return there
    return there.pin_memory().to(device, non_blocking=True)


class Planes:
    """The planes of many clips in one piece, on the device that fits."""

    def __init__(self, clips: Sequence[Labelled], folder: Path, device: str) -> None:
        self.clips = list(clips)
        self.device = device
        arrays = [np.load(planes_file(folder, clip), mmap_mode="r") for clip in clips]
        self.frames = [len(array) for array in arrays]
        self.start = np.cumsum([0, *self.frames[:-1]])
        shape = (sum(self.frames), *arrays[0].shape[1:])
        self.every = torch.empty(shape, dtype=torch.uint8, device=device)
        for array, start in zip(arrays, self.start, strict=True):
            piece = torch.from_numpy(np.array(array)).to(device)
            self.every[int(start) : int(start) + len(array)] = piece
        kind = torch.float16 if device.startswith("cuda") else torch.float32
        shaped = (1, PLANES, 1, 1)
        self.off = torch.tensor(OFFSET, dtype=kind, device=device).view(shaped)
        self.scale = torch.tensor(SCALE, dtype=kind, device=device).view(shaped)
        self.moves = torch.tensor(MOTION, device=device).view(shaped)
        self.before = torch.tensor([0.0, EARLIER_CHANGE, 1.0, 1.0], dtype=kind, device=device).view(
            shaped
        )

    def take(
        self, frames: NDArray[np.int64], earlier: NDArray[np.int64], there: NDArray[np.bool_]
    ) -> Tensor:
        """Scaled planes of some frames.

        Parameters
        ----------
        frames, earlier : int64, shape (b, t)
            Counted through all clips; the movement since ``earlier`` is added up. A frame that
            repeats its earlier one shows no movement.
        there : bool, shape (b, t)
            Others are empty.
        """
        at, gap = frames.ravel(), (frames - earlier).ravel()
        planes = self._scaled(at)
        for back in range(1, 4):
            more = np.flatnonzero(gap > back)
            if len(more):
                planes[sent(more, self.device)] += self._scaled(at[more] - back) * self.before
        moving, shown = (
            sent(each, self.device)[:, None, None, None] for each in (gap > 0, there.ravel())
        )
        keep = torch.where(self.moves, moving, True) & shown
        return planes.clamp(-5, 5) * keep

    def _scaled(self, frames: NDArray[np.int64]) -> Tensor:
        shown = self.every[sent(frames, self.device)]
        return (shown.to(self.off.dtype) - self.off) * self.scale


def drawn_from(
    clips: Sequence[Labelled], which: Sequence[int], films: float, calm: float = 1.0
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Numbers of the clips to draw from, and how often each is drawn.

    Parameters
    ----------
    which : sequence of int
        Those that the fit may see.
    films : float
        Share of films.
    calm : float
        How much more often than by `SHARES` clips of calm people are drawn.
    """
    shares = {key: (1 - films) * share for key, share in SHARES.items()}
    shares |= {f"film {key}": films * share for key, share in FILM_SHARES.items()}
    shares["calm 0"] *= calm
    keys = [_key(clips[index]) for index in which]
    chance = np.array([shares.get(key, 0.0) / keys.count(key) for key in keys])
    long = np.array([min(3.0, max(1.0, clips[index].frames / 150)) for index in which])
    many = np.array([min(3.0, max(1.0, len(clips[index].marks) / 2)) for index in which])
    chance *= np.where([clips[index].marks == () for index in which], long, many)
    return np.array(which), chance / chance.sum()


def _key(clip: Labelled) -> str:
    if clip.film is not None:
        return f"film {clip.source}"
    return f"{clip.source} {int(any(mark.scored for mark in clip.marks))}"


class Draw:
    """Draws batches: the same generator gives the same ones."""

    def __init__(
        self,
        planes: Planes,
        which: NDArray[np.int64],
        chance: NDArray[np.float64],
        seed: int,
        sharpness: float = 0.9,
    ) -> None:
        self.planes, self.which, self.chance = planes, which, chance
        self.rng = np.random.default_rng(seed)
        self.random = torch.Generator(device=planes.device).manual_seed(seed)
        self.sharpness = sharpness
        self.hard: dict[int, list[int]] = {}

    def harden(self, hard: dict[int, list[int]], more: float) -> None:
        """From now on draw more often, and around these frames, clips with wrong finds.

        Parameters
        ----------
        hard : dict of int to list of int
            For clips, the frames of finds that are wrong.
        more : float
            By how much more often such clips are drawn than others of their kind.
        """
        self.hard = hard
        clips = self.planes.clips
        chance = self.chance.copy()
        for key in {_key(clips[index]) for index in self.which}:
            same = np.array([_key(clips[index]) == key for index in self.which])
            worse = np.array([index in hard for index in self.which]) & same
            whole = chance[same].sum()
            chance[worse] *= more
            chance[same] *= whole / max(chance[same].sum(), 1e-12)
        self.chance = chance / chance.sum()

    def batch(self, size: int) -> Batch:
        """``size`` stretches."""
        chosen = self.rng.choice(self.which, size, p=self.chance)
        rows = [self._stretch(int(index)) for index in chosen]
        frames, earlier, there, wanted, judged = (
            np.stack(part) for part in zip(*[r[:5] for r in rows], strict=True)
        )
        seen = [(b, *each) for b, row in enumerate(rows) for each in row[5]]
        shown = self.planes.take(frames, earlier, there)
        things = [self.planes.clips[index].source in ("things", "thing") for index in chosen]
        shown, seen = self._varied(shown, np.array(things), seen)
        device = self.planes.device
        return Batch(shown, sent(wanted, device), sent(judged, device), seen)

    def _stretch(self, index: int) -> tuple[Any, ...]:
        """Frames of a stretch of a clip: time stretched, pictures repeated, the first one held."""
        rng, clip = self.rng, self.planes.clips[index]
        last = self.planes.frames[index] - 1
        rate = float(clip.rate)
        pace = float(rng.choice([1, 1, 1, 0.7, 0.85, 1.3, 1.6, 2.0]))
        pace = min(pace, 1.0) if rate < 20 else pace
        length = LENGTH * pace
        scored = [mark.frame for mark in clip.marks if mark.scored]
        if index in self.hard and (not scored or rng.random() < 0.3):
            scored = self.hard[index]
        if not scored or rng.random() < 0.3:
            begin = rng.uniform(-0.2 * length, max(1.0, last - 0.8 * length))
        else:
            begin = scored[int(rng.integers(len(scored)))] - rng.uniform(0.1, 0.9) * length
        steps = np.arange(LENGTH, dtype=float)
        if rng.random() < 0.2:
            steps = _repeating(steps, rng)
        exact = begin + steps * pace
        at = np.rint(exact).astype(np.int64)
        there = (at >= 0) & (at <= last)
        if rng.random() < 0.2:
            there |= at < 0
        at = np.clip(at, 0, last)
        earlier = np.concatenate([[max(0, at[0] - 1)], at[:-1]])
        smooth = begin + np.arange(LENGTH) * pace
        wanted, judged = targets(clip, smooth, self.sharpness)
        return (
            at + self.planes.start[index], earlier + self.planes.start[index], there,
            wanted * there, judged * there, self._seen(clip, smooth, there),
        )  # fmt: skip

    @staticmethod
    def _seen(
        clip: Labelled, frames: NDArray[np.float64], there: NDArray[np.bool_]
    ) -> list[tuple[int, float, float, int, float]]:
        step = float(frames[1] - frames[0])
        rows = []
        for mark in clip.marks:
            if not mark.scored:
                continue
            kind = -1 if mark.kind is None else KINDS.index(mark.kind)
            lag = math.nan if mark.lag is None else mark.lag / step
            for at in np.flatnonzero((np.abs(frames - mark.frame) / step <= 1.6) & there):
                x, y = (math.nan, math.nan) if mark.place is None else mark.place
                rows.append((int(at), x, y, kind, lag))
        return [(at, *_on_grid(clip, x, y), kind, lag) for at, x, y, kind, lag in rows]

    def _varied(
        self,
        shown: Tensor,
        things: NDArray[np.bool_],
        seen: list[tuple[int, int, float, float, int, float]],
    ) -> tuple[Tensor, list[tuple[int, int, float, float, int, float]]]:
        shown, forms = self._reshaped(shown, things)
        shown = self._relit(shown, len(things))
        return shown, [(b, t, *forms.moved(b, x, y), kind, lag) for b, t, x, y, kind, lag in seen]

    def _reshaped(self, shown: Tensor, things: NDArray[np.bool_]) -> tuple[Tensor, _Forms]:
        """Mirrored, enlarged, turned, moved, each clip in its own way; things at any angle."""
        size, (rows, columns) = len(things), shown.shape[2:]
        uniform = self.rng.uniform
        zoom, turn = np.exp(uniform(-0.5, 0.4, size)), uniform(-0.15, 0.15, size)
        turn += np.pi / 2 * self.rng.choice(4, size, p=(0.64, 0.12, 0.12, 0.12)) * things
        flip = self.rng.choice((-1.0, 1.0), size)
        wide = np.exp(uniform(-0.12, 0.12, size))
        cos, sin = np.cos(turn), np.sin(turn)
        form = np.stack([flip * cos * wide, sin, -flip * sin, cos / wide], 1).reshape(size, 2, 2)
        matrix = np.zeros((size, 2, 3), np.float32)
        shape = np.array([columns, rows])
        matrix[:, :, :2] = form / zoom[:, None, None] * (shape[None] / shape[:, None])
        matrix[:, :, 2] = uniform(-0.2, 0.2, (size, 2))
        places = sent(matrix, self.planes.device)
        grid = fn.affine_grid(places, [size, 1, rows, columns], align_corners=False)
        grid = grid.to(shown.dtype)[:, None].expand(size, LENGTH, rows, columns, 2).flatten(0, 1)
        shown = fn.grid_sample(shown, grid, align_corners=False)
        gains = np.ones((size, PLANES))
        gains[:, 1] = np.exp(uniform(-0.6, 0.6, size))
        gains[:, 2:] = (zoom * np.exp(uniform(-0.25, 0.25, size)))[:, None]
        across = np.linalg.inv(form)  # from movement in the clip to movement in what is shown
        ahead, aside = np.ones((2, size, PLANES))
        ahead[:, 2:], aside[:, 2:] = across[:, [0, 1], [0, 1]], across[:, [0, 1], [1, 0]]
        aside[:, :2] = 0
        swapped = shown[:, [0, 1, 3, 2]] * self._each(aside * gains, shown)
        return shown * self._each(ahead * gains, shown) + swapped, _Forms(matrix)

    def _relit(self, shown: Tensor, size: int) -> Tensor:
        """Contrast, brightness, blur, letterbox, something in front, grain; planes left out."""
        rng, rows, columns = self.rng, shown.shape[2], shown.shape[3]
        contrast, lift = np.ones((size, PLANES)), np.zeros((size, PLANES))
        contrast[:, 0] = np.exp(rng.uniform(-0.6, 0.4, size)) * rng.choice(
            (-1, 1), size, p=(0.15, 0.85)
        )
        lift[:, 0] = rng.uniform(-0.6, 0.6, size)
        shown = shown * self._each(contrast, shown) + self._each(lift, shown)
        by_clip = shown.unflatten(0, (size, LENGTH))
        for b in np.flatnonzero(rng.random(size) < 0.3):
            factor = int(rng.choice([2, 2, 3, 4]))
            small = fn.avg_pool2d(by_clip[b], factor, ceil_mode=True)
            by_clip[b] = fn.interpolate(small, (rows, columns), mode="bilinear")
        for b in np.flatnonzero(rng.random(size) < 0.15):
            bar = int(rng.integers(2, rows // 6))
            by_clip[b, :, 0, :bar], by_clip[b, :, 0, -bar:] = -1.83, -1.83
            by_clip[b, :, 1:, :bar], by_clip[b, :, 1:, -bar:] = 0, 0
        for b in np.flatnonzero(rng.random(size) < 0.15):
            y, x = int(rng.integers(rows - 8)), int(rng.integers(columns - 8))
            y1, x1 = y + int(rng.integers(6, rows // 3)), x + int(rng.integers(6, columns // 4))
            by_clip[b, :, 0, y:y1, x:x1] = float(rng.uniform(-1.5, 1.5))
            by_clip[b, :, 1:, y:y1, x:x1] = 0
        for b in np.flatnonzero(rng.random(size) < 0.12):
            by_clip[b, :, 2:] = 0
        shown = by_clip.flatten(0, 1)
        noise = torch.randn(
            shown.shape, device=shown.device, dtype=shown.dtype, generator=self.random
        )
        return shown + noise * self._each(rng.uniform(0, 0.12, (size, 1)), shown)

    def _each(self, values: NDArray[np.float64], shown: Tensor) -> Tensor:
        """Values of clips (b, planes) for every frame (b * t, planes, 1, 1)."""
        frames = np.repeat(values.astype(np.float32), shown.shape[0] // len(values), 0)
        return sent(frames, self.planes.device)[:, :, None, None].to(shown.dtype)


def doubled(batch: Batch, share: float, rng: np.random.Generator) -> Batch:
    """The batch with another stretch shining through some: the contacts of both are there."""
    size = len(batch.wanted)
    over = np.flatnonzero(rng.random(size) < share)
    if not len(over):
        return batch
    under = rng.permutation(size)[: len(over)]
    planes = batch.planes.unflatten(0, (size, -1)).clone()
    device = str(planes.device)
    mix = sent(rng.uniform(0.35, 0.65, len(over)), device)
    mix = mix.to(planes.dtype)[:, None, None, None, None]
    which, shines = sent(over, device), sent(under, device)
    one, other = planes[which], planes[shines]
    light = (one[:, :, :1] * mix + other[:, :, :1] * (1 - mix)) * 1.3
    motion = one[:, :, 1:] * (0.5 + mix) + other[:, :, 1:] * (1.5 - mix)
    planes[which] = torch.cat([light, motion], 2)
    wanted, judged = batch.wanted.clone(), batch.judged.clone()
    wanted[which] = torch.maximum(batch.wanted[which], batch.wanted[shines])
    judged[which] = batch.judged[which] * batch.judged[shines]
    there = [
        (int(a), *row[1:]) for a, b in zip(over, under, strict=True) for row in batch.seen
        if row[0] == b
    ]  # fmt: skip
    kept = [(*row[:4], -1, math.nan) if row[0] in set(over) else row for row in batch.seen]
    seen = kept + [(*row[:4], -1, math.nan) for row in there]
    return Batch(planes.flatten(0, 1), wanted, judged, seen)


@dataclass(frozen=True, eq=False)
class _Forms:
    """How each clip was reshaped: matrices from places in what is shown to places in the clip."""

    matrices: NDArray[np.float32]

    def moved(self, clip: int, x: float, y: float) -> tuple[float, float]:
        """Where a place of the clip is shown."""
        if math.isnan(x):
            return x, y
        matrix = self.matrices[clip]
        place = np.linalg.solve(matrix[:, :2], np.array([x, y]) - matrix[:, 2])
        return float(place[0]), float(place[1])


def _repeating(steps: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Steps as pulldown, a slow camera or a frame converter shows them: some pictures twice."""
    run = int(rng.choice([2, 2, 3, 4, 5]))
    if rng.random() < 0.5:
        return np.where(steps % run == run - 1, steps - 1, steps)
    return steps // run * run


def _on_grid(clip: Labelled, x: float, y: float) -> tuple[float, float]:
    """A place in shares of the picture as one of the grid, -1 to 1."""
    wide, high = clip.shape_on_grid
    return (2 * x - 1) * wide, (2 * y - 1) * high
