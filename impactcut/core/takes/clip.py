"""A clip: what is known of a media file before anything in it is measured."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from impactcut.core.takes.scale import Scale
from impactcut.core.time.timebase import Timebase

ASSUMED_START = "00:00:00:00 is assumed for its first frame"
"""How the warnings of clips without timecode end."""
TimecodeSource = Literal["file", "user", "assumed"]
ReelSource = Literal["file", "user", "name"]


@dataclass(frozen=True)
class Clip:
    """One media file.

    Parameters
    ----------
    path : str
        Where the file was found; ``name`` is its full file name.
    reel : str
        Source name as the file, the user or the file name gives it, before any list shortens it.
    reel_source : {"file", "user", "name"}
        Who gave the reel; ``"name"`` where it is only the file's own.
    rate : Fraction
        Frames per second, exact.
    drop_frame : bool
        Whether the source counts drop-frame timecode.
    frames : int
        Decoded frames.
    source_start : int
        Source timecode of frame 0, as a count of frames at ``rate``.
    timecode_source : {"file", "user", "assumed"}
        ``"assumed"`` means that the file has none and 00:00:00:00 stands in.
    width, height : int
        Picture size as shown: turned upright and with square pixels.
    rotation : int
        Degrees, clockwise, by which the stored picture is turned to be upright.
    pixel_aspect : Fraction
        Width of a stored pixel to its height.
    variable_rate : bool
        Frames are not evenly spaced; ``rate`` is the nearest standard one.
    has_sound : bool
        Whether the file has a sound track.
    section, take, angle, slate : str
        Of the fight, as far as known.
    circled : bool
        Whether the take was marked as one to use.
    scale : Scale or None
        How wide the picture is at the fighters, where somebody has said so.
    clock : bool
        A clock, burnt-in timecode or another running counter is in the picture.
    clock_stays : bool
        Somebody says that it will be in the finished picture, too, so no trim is made.
    warnings : tuple of str
        What a person should know before trusting lists made from this clip.
    original : str
        Path of the original that a measured proxy stands for; ``name``, ``reel`` and timecode are
        then the original's. Empty where the file is measured itself.
    """

    path: str
    name: str
    reel: str
    reel_source: ReelSource
    rate: Fraction
    drop_frame: bool
    frames: int
    source_start: int
    timecode_source: TimecodeSource
    width: int
    height: int
    rotation: int = 0
    pixel_aspect: Fraction = Fraction(1)
    variable_rate: bool = False
    has_sound: bool = False
    section: str = ""
    take: str = ""
    angle: str = ""
    slate: str = ""
    circled: bool = False
    scale: Scale | None = None
    clock: bool = False
    clock_stays: bool = False
    warnings: tuple[str, ...] = ()
    original: str = ""

    @property
    def listed(self) -> str:
        """Path of the file that lists name: the original."""
        return self.original or self.path

    @property
    def file_names(self) -> tuple[str, ...]:
        """Its file name, and where it stands for an original, that of the measured file, too."""
        measured = self.path.replace("\\", "/").rpartition("/")[2]
        return tuple(dict.fromkeys((self.name, measured)))

    @property
    def counter_jumps(self) -> bool:
        """Whether a trim makes a counter jump, unless the finished picture has none."""
        return self.clock and not self.clock_stays

    @property
    def seconds(self) -> Fraction:
        """How long the clip lasts."""
        return self.frames / self.rate

    @cached_property
    def timebase(self) -> Timebase:
        """The clock that the clip's source timecode counts in."""
        return Timebase(self.rate, self.drop_frame)

    def source_label(self, frame: int) -> str:
        """Source timecode of frame ``frame`` (counted from 0 at the clip's first)."""
        return self.timebase.label(self.source_start + frame)

    @property
    def begins(self) -> str:
        """Source timecode of the first frame, or its count at a rate for which there is none."""
        return self.timecode(0) or f"source frame {self.source_start}"

    def timecode(self, frame: int) -> str | None:
        """As `source_label`; None at a rate for which there is no timecode."""
        return self.timebase.timecode(self.source_start + frame)
