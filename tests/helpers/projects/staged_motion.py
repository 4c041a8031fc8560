"""Staged hits as numbers: a minimum-jerk strike, a receiver, a camera; lengths in widths."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import Channel, HitMotion

CONTACT = 100
CLIP_FRAMES = 400


@dataclass(frozen=True)
class Staging:
    """How a hit is staged. ``phase`` is how long before its frame the contact falls, in frames."""

    rate: float = 24.0
    swing: float = 0.34
    peak_speed: float = 2.4
    stop: str = "dead"
    phase: float = 0.5
    lag: int = 0
    recoil_speed: float = 0.75
    recoil_time: float = 0.10
    camera: str = "locked"
    pan: float = 0.1
    shake: float = 0.001
    limb_area: float = 0.008
    receiver_area: float = 0.03
    noise: float = 1e-4
    seed: int = 0


def minimum_jerk(part: np.ndarray) -> np.ndarray:
    """Way covered after ``part`` of the time: 10 x^3 - 15 x^4 + 6 x^5 (Flash & Hogan 1985)."""
    x = np.clip(part, 0.0, 1.0)
    return 10 * x**3 - 15 * x**4 + 6 * x**5


def staged(staging: Staging) -> tuple[Hit, HitMotion]:
    """The hit and the motion in the half second before and after it."""
    random = np.random.default_rng(staging.seed)
    half = round(0.58 * staging.rate)
    seconds = (np.arange(2 * half + 1) - half + staging.phase) / staging.rate
    limb, receiver = _limb(staging, seconds), _receiver(staging, seconds)
    camera = camera_path(staging, 2 * half, random)

    def moved(way: np.ndarray) -> np.ndarray:
        steps = np.stack([np.diff(way), np.zeros(2 * half)], axis=1)
        return steps + camera + random.normal(0, staging.noise, camera.shape)

    channels = (
        channel("strike", moved(limb), staging.limb_area, (0.50, 0.25)),
        channel("receiver", moved(receiver), staging.receiver_area, (0.55, 0.27)),
        channel("background", moved(0 * limb), 9 / 16, (0.50, 0.28)),
    )
    first = CONTACT - half
    motion = window(channels, Fraction(staging.rate).limit_denominator(1001), first)
    return _hit(staging, limb, receiver, first), motion


def channel(
    name: str, displacement: np.ndarray, area: float, centre: tuple[float, float]
) -> Channel:
    """A channel of constant place and size."""
    intervals = len(displacement)
    return Channel(
        name,
        displacement.astype(np.float32),
        np.tile(np.float32(centre), (intervals, 1)),
        np.full(intervals, area, np.float32),
    )


def window(channels: tuple[Channel, ...], rate: Fraction, first: int = 0) -> HitMotion:
    """A window without repeats, boundaries or changes of brightness."""
    intervals = len(channels[0].displacement)
    return HitMotion(
        first,
        rate,
        channels,
        np.zeros(intervals, bool),
        np.zeros(intervals, bool),
        np.full(intervals, 0.02, np.float32),
        np.full(intervals + 1, -1.0, np.float32),
    )


def camera_path(staging: Staging, intervals: int, random: np.random.Generator) -> np.ndarray:
    """What the camera adds to every displacement, (intervals, 2)."""
    if staging.camera == "locked":
        return np.zeros((intervals, 2))
    if staging.camera == "panning":
        return np.tile([staging.pan / staging.rate, 0.0], (intervals, 1))
    long = 400
    hertz = np.fft.rfftfreq(long, 1 / staging.rate)
    loud = np.where(hertz > 0, 1 / np.maximum(hertz, 0.3), 0) * np.exp(-((hertz / 6) ** 2))
    turns = np.exp(2j * np.pi * random.random((2, len(hertz))))
    steps = np.diff(np.fft.irfft(loud * turns, long).T, axis=0)
    rough = np.sqrt((np.diff(steps, 2, axis=0) ** 2).sum(1).mean())
    start = random.integers(0, long - intervals - 1)
    return steps[start : start + intervals] * staging.shake / rough


def _limb(staging: Staging, seconds: np.ndarray) -> np.ndarray:
    """Place of the limb; it meets the receiver past its peak, at 0.78 of its speed."""
    length = staging.peak_speed * staging.swing / 1.875
    parts = np.linspace(0.5, 1, 1001)
    slower = 30 * parts**2 * (1 - parts) ** 2 / 1.875 <= 0.78
    met = parts[np.flatnonzero(slower)[0]]
    swung = length * minimum_jerk(seconds / staging.swing + met)
    reached = length * minimum_jerk(np.array(met))
    since = np.maximum(seconds, 0.0)
    if staging.stop == "dead":
        return np.where(seconds > 0, reached, swung)
    if staging.stop == "soft":
        give = 0.78 * staging.peak_speed * 0.03 * (1 - np.exp(-since / 0.03))
        return np.where(seconds > 0, reached + give, swung)
    if staging.stop == "back":
        back = 0.5 * length * minimum_jerk((since - 0.02) / (1.3 * staging.swing))
        return np.where(seconds > 0, reached - back, swung)
    return swung


def _receiver(staging: Staging, seconds: np.ndarray) -> np.ndarray:
    since = np.maximum(seconds - staging.lag / staging.rate, 0.0)
    way = staging.recoil_speed * staging.recoil_time
    return way * (1 - np.exp(-since / staging.recoil_time))


def _hit(staging: Staging, limb: np.ndarray, receiver: np.ndarray, first: int) -> Hit:
    speed = np.abs(np.diff(limb))
    at = CONTACT - first
    peak = min(int(speed[: at + 1].argmax()), at)
    quick = np.flatnonzero(speed[: at + 1] >= 0.1 * speed.max())
    slow = np.flatnonzero(speed[at:] < 0.1 * speed.max())
    return Hit(
        onset=first + min(int(quick[0]) + 1, peak),
        peak=first + peak,
        contact=CONTACT,
        contact_exact=CONTACT - staging.phase,
        settle=CONTACT + int(slow[0]),
        reaction=first + int(np.flatnonzero(receiver > 0)[0]),
        confidence=0.9,
        peak_speed=staging.peak_speed,
        region=(0.45, 0.2, 0.1, 0.1),
        camera=staging.camera,
    )
