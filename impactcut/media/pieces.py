"""Reading a clip piece by piece, so that the pieces are exactly what one pass would give.

A piece begins with a jump to a keyframe. Its frames are those of one pass if each has the time
stamp that belongs to its number, so that none was passed over or came twice, and if everything
decodes. Decoders that need more than a keyframe to come right (gradual refresh, references across
keyframes) are told by comparing pictures where pieces overlap, which is for the caller to do.
"""

from __future__ import annotations

from collections.abc import Generator
from contextlib import closing
from pathlib import Path

import numpy as np

from impactcut.media.decode import first_frame
from impactcut.media.frames import NO_STAMP, Loss, LumaFrame, read_frames
from impactcut.media.jump import Places, packets_before, places
from impactcut.media.open import open_video
from impactcut.media.spacing import Spacing


class InexactError(Exception):
    """Pieces of a clip cannot be sure to be what one pass would give; says why."""


def reachable(path: Path, spacing: Spacing, index: int) -> Places:
    """Places of the frames of a clip that can be entered before frame ``index``.

    Raises
    ------
    InexactError
        If it cannot, or its frames are not told by their time stamps.
    MediaError
        If it cannot be read.
    """
    if not spacing.even:
        raise InexactError("its frames are not evenly spaced")
    with open_video(path) as (container, stream):
        place = places(spacing, first_frame(path, container, stream))
    if place.first is None or (place.stamps is None and spacing.stamps is not None):
        raise InexactError("its frames have no time stamps")
    if place.stamps is not None and np.diff(place.stamps).min(initial=1) < 1:
        raise InexactError("time stamps of its frames are repeated")
    with open_video(path) as (container, stream):
        if next(packets_before(container, stream, place, index), None) is None:
            raise InexactError("there is no way into its middle")
    return place


def read_piece(
    path: Path, place: Places, start: int, stop: int | None, width: int
) -> Generator[LumaFrame, None, None]:
    """Frames from ``start`` to before ``stop``, or to the end if that is None.

    Raises
    ------
    InexactError
        If a frame is not where it belongs, or does not decode.
    MediaError
        If the file cannot be read.
    """
    losses: list[Loss] = []
    frames = read_frames(path, width=width, start=start, place=place, on_loss=losses.append)
    end = start
    with closing(frames):
        for frame in frames:
            if frame.stamp == NO_STAMP or place.index(frame.stamp) != frame.index:
                raise InexactError(f"frame {frame.index} is not where its time stamp says")
            yield frame
            end = frame.index + 1
            if end == stop:
                break
    if losses:
        raise InexactError(f"a stretch of it does not decode ({losses[0].reason})")
    if stop is not None and end < stop:
        raise InexactError("it has fewer frames than it says")
