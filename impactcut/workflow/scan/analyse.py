"""Analyse one clip: probe it, measure its motion, find its hits.

What opens and measures media is loaded by whoever measures, and not by who only keeps the results.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from impactcut.core.arrays import FloatArray
from impactcut.core.learn.correction import Correction
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import parse_timebase
from impactcut.core.words import counted
from impactcut.errors import MediaError, NotMediaError
from impactcut.weights import weights

if TYPE_CHECKING:
    from impactcut.core.detect.hits import FoundHit
    from impactcut.core.detect.spot import Spot
    from impactcut.core.detect.trace import Trace
    from impactcut.core.motion.pictures import Pictures
    from impactcut.core.sound.speech import Sounds
    from impactcut.media.decode.frames import Loss, LumaFrame
    from impactcut.media.decode.luma import GreyArray
    from impactcut.media.measure.stretches import Stretch

MEASURE_VERSION: Final = 25
"""Raised when what is measured of a clip changes otherwise than by new weights."""

Find = Callable[["Stretch", "Pictures"], Iterable["Spot"]]
"""Tells where and when contacts are seen in the stretches of one clip, one after the other."""


def measured_with() -> str:
    """What measurements rest on: this program's way of measuring, and the fitted weights."""
    return f"{MEASURE_VERSION}-{weights().digest}"


@dataclass(frozen=True)
class AnalysisSettings:
    """What a measurement depends on, besides the file.

    Parameters
    ----------
    width : int
        Width in pixels to which frames are shrunk before anything is measured.
    rate : str or None
        Frame rate stated by the user, as `parse_timebase` reads it.
    reel : str or None
        Reel stated by the user.
    version : str
        Of the measurement, weights included: what was measured with others is measured again.
    taught : Correction or None
        By which finds are judged; what is measured of them does not depend on it.
    """

    width: int = 480
    rate: str | None = None
    reel: str | None = None
    version: str = field(default_factory=measured_with)
    taught: Correction | None = None


@dataclass(frozen=True, eq=False)
class ClipAnalysis:
    """A clip with everything measured of it.

    ``brightness``: mean luma of each frame, 0..1, float32.
    """

    clip: Clip
    hits: tuple[FoundHit, ...]
    trace: Trace | None = None
    brightness: FloatArray = field(default_factory=lambda: np.zeros(0, np.float32))


def analyse_clip(
    path: Path,
    settings: AnalysisSettings,
    progress: Callable[[int], None] | None = None,
    find: Find | None = None,
) -> ClipAnalysis:
    """Measure a clip from end to end, in one pass over its frames.

    Parameters
    ----------
    progress : callable, optional
        Called with the number of frames read so far.
    find : callable, optional
        Stands in for the fitted spotter.

    Raises
    ------
    MediaError
        If the file cannot be read, or fewer than two frames of it decode.
    RateError
        If the stated rate is none.
    """
    from impactcut.media.decode.ahead import read_ahead
    from impactcut.media.decode.frames import read_frames
    from impactcut.media.measure.counters import LOOKED_AT_SECONDS, shows_counter
    from impactcut.media.measure.stretches import measure
    from impactcut.workflow.scan.finding import find_hits, pictures_of
    from impactcut.workflow.scan.spotting import Spotting, fitted_spotter

    outset = set_out(path, settings)
    clip, spot = outset.clip, find or Spotting(fitted_spotter(), settings.taught)
    tally = _Tally(round(LOOKED_AT_SECONDS * clip.rate))
    frames = read_frames(path, width=settings.width, on_loss=tally.losses.append)
    hits: list[FoundHit] = []
    clock: bool | None = None
    for stretch in read_ahead(measure(_counted(frames, tally, progress), clip.rate), 1):
        pictures = pictures_of(stretch)
        hits += find_hits(stretch, pictures, outset.sounds, spot(stretch, pictures))
        if clock is None:
            clock = shows_counter(tally.opening, clip.rate)
            tally.opening.clear()
    if clock is None:
        raise NotMediaError(
            f"{path}: fewer than two frames can be decoded, so there is no motion to measure; "
            "check the file, or copy it again from its source"
        )
    said = (
        *clip.warnings,
        *outset.warnings,
        *_loss_warnings(tally.losses),
        *_cut_short(clip, tally.frames),
    )
    clip = replace(clip, frames=tally.frames, clock=clock, warnings=said)
    trace = spot.trace() if isinstance(spot, Spotting) else None
    brightness = np.array(tally.brightness, np.float32)
    return ClipAnalysis(clip, tuple(hits), trace=trace, brightness=brightness)


@dataclass(frozen=True, eq=False)
class Outset:
    """What is known of a clip before its frames are measured.

    Parameters
    ----------
    clip : Clip
        As its file describes it.
    warnings : tuple of str
        Of what could not be listened to.
    """

    clip: Clip
    sounds: Sounds
    warnings: tuple[str, ...]


def set_out(path: Path, settings: AnalysisSettings) -> Outset:
    """Probe a clip and listen to it."""
    from impactcut.media.probe.container import probe

    stated = None if settings.rate is None else parse_timebase(settings.rate)
    clip = probe(path, rate=stated, reel=settings.reel)
    if not clip.has_sound:
        return Outset(clip, None, ())
    from impactcut.core.sound.speech import syllables
    from impactcut.core.sound.transients import transients
    from impactcut.media.sound.listen import listen

    try:
        heard_there = listen(path)
    except MediaError as error:
        return Outset(clip, None, (f"its sound was not listened to: {error}",))
    return Outset(clip, syllables(heard_there.voices, transients(heard_there.levels)), ())


@dataclass
class _Tally:
    """What reading a clip came to; its first pictures, up to ``looked_at``, are for the counter."""

    looked_at: int
    frames: int = 0
    opening: list[GreyArray] = field(default_factory=list)
    brightness: list[float] = field(default_factory=list)
    losses: list[Loss] = field(default_factory=list)


def _counted(
    frames: Iterable[LumaFrame], tally: _Tally, progress: Callable[[int], None] | None
) -> Iterator[LumaFrame]:
    for frame in frames:
        tally.frames = frame.index + 1
        if frame.index < tally.looked_at:
            tally.opening.append(frame.luma)
        tally.brightness.append(frame.brightness)
        if progress is not None:
            progress(tally.frames)
        yield frame


def _cut_short(clip: Clip, frames: int) -> tuple[str, ...]:
    """That a file ends long before its header says; sound may be a little longer than picture."""
    from impactcut.media.probe.container import frames_lacking

    lacking = 0 if clip.variable_rate else frames_lacking(Path(clip.path), frames)
    if lacking <= clip.rate / 2:
        return ()
    return (
        f"ends {lacking} frames before the length that its header states, as a file does that was "
        "cut short or is still being copied: compare its size with the one on the card",
    )


def _loss_warnings(losses: Sequence[Loss]) -> tuple[str, ...]:
    if not losses:
        return ()
    first = losses[0]
    return (
        f"{counted(len(losses), 'place')} cannot be decoded, the first before frame "
        f"{first.before} ({first.reason}); frame numbers behind it may be off, so check the file",
    )
