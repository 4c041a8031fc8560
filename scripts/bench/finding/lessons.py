"""What `impactcut learn` is worth: answers on half of the clips, finds judged on the other half.

    python -m scripts.bench.finding.lessons BENCH [--kind acted calm] [--turns 8]

BENCH holds ``people/`` with ``labels.json``; of the clips whose names begin with the kinds, half of
the groups are answered, as somebody who knows the labels would: every listed find, and every hit
that was missed. The other half is judged before and after. **The shipped weights were fitted on
these clips**, so both scores are too good; it is their difference that is of use. Nothing but what
a project keeps is used, and the script decodes every clip once.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.contact import peaks
from impactcut.core.detect.hits import Hit
from impactcut.core.detect.trace import Trace
from impactcut.core.learn.correction import Correction, Moments, check_note, lesson
from impactcut.core.trims.decision import Decision
from impactcut.media.decode.frames import read_frames
from impactcut.media.measure.stretches import measure
from impactcut.media.probe.container import probe
from impactcut.project import StoredHit
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.finding import pictures_of
from impactcut.workflow.scan.learning import FAINTEST, moments
from impactcut.workflow.scan.spotting import Spotting, fitted_calibration, fitted_spotter
from scripts.bench.finding.contacts import Score
from scripts.bench.measuring import asked

HIT, NONE = Decision("declined"), Decision("not-a-hit")


@dataclass(frozen=True, eq=False)
class Labelled:
    """A clip with its labels, and what the shipped spotter makes of it."""

    labels: dict[str, Any]
    rate: float
    trace: Trace

    def listed(self, correction: Correction | None) -> list[int]:
        """Contacts of the finds that are listed."""
        odds = self.trace.odds
        judged = odds if correction is None else correction.corrected(odds, self.trace.rows)
        sure = fitted_calibration().confidence
        found = peaks(odds, self.trace.frames, self.rate, FAINTEST)
        return [each.contact for each in found if sure(float(judged[each.node])) >= SURE]

    def answered(self) -> Moments:
        """What somebody who knows the labels teaches by it."""
        right = [hit["frame"] for hit in self.labels["hits"] if hit.get("scored", True)]
        wrong = [
            frame
            for frame in self.listed(None)
            if all(abs(frame - hit["frame"]) > 3 for hit in self.labels["hits"])
        ]
        said = [(frame, HIT) for frame in right] + [(frame, NONE) for frame in wrong]
        hits = [StoredHit(n, 1, found(frame), said) for n, (frame, said) in enumerate(said)]
        return moments(self.trace, self.rate, tuple(hits))


def found(frame: int) -> Hit:
    """A hit of which nothing but its contact counts."""
    return Hit(frame, frame, frame, frame, frame, None, 0.0, 1.0, (0, 0, 1, 1), "locked")


def read(folder: Path, labels: dict[str, Any]) -> Labelled:
    """A clip as a scan sees it."""
    path = folder / labels["clip"]
    rate, spotting = probe(path).rate, Spotting(fitted_spotter())
    for stretch in measure(read_frames(path, width=AnalysisSettings().width), rate):
        spotting(stretch, pictures_of(stretch))
    trace = spotting.trace()
    assert trace is not None
    return Labelled(labels, float(rate), trace)


def main() -> None:
    """Say for every turn what was learnt, and what it is worth on the clips not answered."""
    options = asked(__doc__, "bench", kind=["acted"], turns=8)
    folder, kinds = options.bench / "people", tuple(options.kind)
    every = json.loads((folder / "labels.json").read_text())
    clips = [read(folder, each) for each in every if each["clip"].startswith(kinds)]
    groups = sorted({clip.labels["group"] for clip in clips})
    for turn in range(options.turns):
        order = np.random.default_rng(turn).permutation(len(groups))
        answered = {groups[place] for place in order[: len(groups) // 2]}
        taught = [clip.answered() for clip in clips if clip.labels["group"] in answered]
        learnt = lesson(taught, fitted_calibration(), fitted_spotter().weights)
        print(f"{turn}: {'used' if learnt.check.helps else 'refused'}. {check_note(learnt.check)}")
        for name, correction in (("before", None), ("after", learnt.correction)):
            score = Score()
            for clip in clips:
                if clip.labels["group"] not in answered:
                    score.add(clip.labels, clip.listed(correction))
            print(f"   {name:7} {score.line()}")


if __name__ == "__main__":
    main()
