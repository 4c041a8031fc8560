"""Having clips measured in the test's own process, which is quicker than in others."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from functools import partial
from typing import Self

from impactcut.workflow.scan.clips_to_measure import Analyse, OnFrames, Outcome, Work, here


class ThisProcess:
    """Measures clips one after another in this process, which a bad clip may take along."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """Nothing was started."""

    call = staticmethod(here)

    def measure(
        self, clips: Sequence[Work], analyse: Analyse, on_frames: OnFrames, alone: bool = False
    ) -> Generator[Outcome, None, None]:
        """Measure clips; a failure does not end the rest."""
        for work in clips:
            try:
                report = partial(on_frames, work.path)
                yield Outcome(work, analysis=analyse(work.path, work.settings, report))
            except Exception as error:
                yield Outcome(work, error=error)
