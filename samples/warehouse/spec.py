"""What a clip is to show: the beats of the fight, the camera, the light. Data only."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

HIT_KINDS = ("straight punch", "hook", "uppercut", "elbow", "front kick", "shove")
OTHER_KINDS = ("feint", "drop guard", "bob", "turn", "walk in")
SELLS = ("recoil", "stagger", "fall", "none")
MOTIONS = ("locked", "handheld", "panning")
PLACES = ("quay", "store")


@dataclass(frozen=True)
class Beat:
    """One thing that one fighter does.

    Parameters
    ----------
    at : float
        Seconds into the clip: the contact of a hit, the start of anything else.
    kind : str
        One of `HIT_KINDS` or `OTHER_KINDS`.
    who : int
        The fighter who does it, 0 or 1; a hit is aimed at the other one.
    side : {"left", "right"}
        Hand, elbow or foot used; also the way of a turn or a bob.
    speed : float
        Peak speed of the striking point over the reach, m/s; ignored by all but hits and feints.
    lag : float
        Frames from contact until the receiver starts to react.
    sell : str
        What the receiver does, one of `SELLS`.
    strength : float
        How large the reaction (or, for other beats, the move) is; 1 is usual.
    short, over : float
        Metres by which a strike stops before, and passes above, where it would land: nobody is
        hit then.
    """

    at: float
    kind: str
    who: int
    side: str = "right"
    speed: float = 7.0
    lag: float = 0.7
    sell: str = "recoil"
    strength: float = 1.0
    short: float = 0.0
    over: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in HIT_KINDS + OTHER_KINDS:
            raise ValueError(f"no such beat: {self.kind!r}")
        if self.sell not in SELLS:
            raise ValueError(f"no such reaction: {self.sell!r}")

    @property
    def is_hit(self) -> bool:
        """Whether the beat is a strike that is sold as landing."""
        return self.is_strike and not (self.short or self.over)

    @property
    def is_strike(self) -> bool:
        """Whether the beat is a strike, sold as landing or not."""
        return self.kind in HIT_KINDS


@dataclass(frozen=True)
class CameraSpec:
    """Where the camera stands and how it moves.

    Parameters
    ----------
    azimuth : float
        Degrees around the fight: 0 sees it in profile, 180 from the other side.
    distance, height, aim_height : float
        Metres from the fight, above the ground, and of the point looked at.
    field : float
        Horizontal field of view, degrees.
    motion : str
        One of `MOTIONS`.
    shake : float
        Restlessness of a handheld camera, degrees (about twice the standard deviation).
    pan : float
        Degrees a second, for a panning camera; positive to the right.
    """

    azimuth: float = 0.0
    distance: float = 4.4
    height: float = 1.45
    aim_height: float = 1.2
    field: float = 42.0
    motion: str = "locked"
    shake: float = 0.5
    pan: float = 4.0


@dataclass(frozen=True)
class Look:
    """A figure's build and clothes; colours are linear red, green, blue in 0..1."""

    height: float
    girth: float
    jacket: tuple[float, float, float]
    trousers: tuple[float, float, float]
    skin: tuple[float, float, float]
    pattern: str
    headwear: str


@dataclass(frozen=True)
class FightSpec:
    """One clip, complete: the same spec gives the same file.

    Parameters
    ----------
    section, take, angle, reel : str
    rate : Fraction
        Frames per second, exact.
    frames : int
    start_timecode : str
        Of the first frame, non-drop.
    width, height : int
        Pixels, even.
    shutter : float
        Degrees of 360.
    place : str
        One of `PLACES`.
    camera : CameraSpec
    looks : tuple of Look
        The two fighters, then any extras who walk by behind them.
    beats : tuple of Beat
    circling : float
        Degrees a second by which the fighters go round each other.
    heading : float
        Degrees by which the line between the fighters is turned at the start.
    swing : float
        Degrees that the lamp swings to either side; 0 for one that hangs still.
    lamplight, fill : float
        Strength of the lamp, and of the weak light from the sky; 1 is usual.
    exposure, grain : float
        Gain of the picture; standard deviation of the grain in 8-bit levels.
    seed : int
        Of everything that is left to chance.
    """

    section: str
    take: str
    angle: str
    reel: str
    rate: Fraction
    frames: int
    start_timecode: str
    width: int
    height: int
    shutter: float
    place: str
    camera: CameraSpec
    looks: tuple[Look, ...]
    beats: tuple[Beat, ...]
    circling: float = 4.0
    heading: float = 0.0
    swing: float = 0.0
    lamplight: float = 1.0
    fill: float = 1.0
    exposure: float = 1.0
    grain: float = 2.2
    seed: int = 0

    @property
    def file_name(self) -> str:
        """Section, take, angle and reel, as in ``S1_T2_A_A003C007.mov``."""
        return f"S{self.section}_T{self.take}_{self.angle}_{self.reel}.mov"

    @property
    def duration(self) -> float:
        """Seconds."""
        return float(self.frames / self.rate)

    def frame_position(self, seconds: float) -> float:
        """Exact frame number of an instant: frame ``i`` shows the middle of its exposure."""
        return seconds * float(self.rate) - self.shutter / 720
