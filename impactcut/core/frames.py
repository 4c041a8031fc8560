"""Runs of frames: half-open ranges of integers, in whichever clock the caller names."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class FrameRange:
    """Frames ``start`` up to, not including, ``stop``.

    Parameters
    ----------
    start, stop : int
        Frames, ``start <= stop``.

    Raises
    ------
    ValueError
        If ``stop`` lies before ``start``.
    """

    start: int
    stop: int

    def __post_init__(self) -> None:
        if self.stop < self.start:
            raise ValueError(f"a range cannot end ({self.stop}) before it starts ({self.start})")

    def __len__(self) -> int:
        return self.stop - self.start

    def __contains__(self, frame: int) -> bool:
        return self.start <= frame < self.stop

    def meets(self, other: FrameRange) -> bool:
        """Whether the two share a frame."""
        return self.start < other.stop and other.start < self.stop

    def shifted(self, frames: int) -> FrameRange:
        """The range, later by ``frames``."""
        return FrameRange(self.start + frames, self.stop + frames)


def frames_in_words(count: int) -> str:
    """``"1 frame"`` or so many frames."""
    return "1 frame" if count == 1 else f"{count} frames"
