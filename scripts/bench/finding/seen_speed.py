"""How much of a strike's speed the program sees: its peak speed over the fist's or foot's own.

    python -m scripts.bench.finding.seen_speed LABELS.json SHOTS.json PROJECT.db [--metres-away 5.5]

LABELS.json lists filmed strikes with their speed in m/s, as the labelled footage has it; SHOTS.json
the horizontal angle (``hfov``, degrees) of each clip in the same order; PROJECT.db is a project in
which the clips were scanned. The camera stands so far from the fighters as ``--metres-away`` says.
The parts printed are those of `impactcut.core.takes.scale`.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np

from impactcut.project import Project
from impactcut.workflow.hits.listing import list_hits
from scripts.bench.measuring import asked

WITHIN_FRAMES = 1


def seen_parts(labels: Path, shots: Path, project: Path, metres_away: float) -> list[float]:
    """Speed seen over true speed, for each scored strike that was found."""
    clips = json.loads(labels.read_text("utf-8"))
    angles = [shot["hfov"] for shot in json.loads(shots.read_text("utf-8"))]
    truth = {clip["clip"]: (clip, angle) for clip, angle in zip(clips, angles, strict=True)}
    parts = []
    with Project(project) as opened:
        for entry in list_hits(opened):
            if entry.clip.name not in truth:
                continue
            clip, angle = truth[entry.clip.name]
            width = 2 * metres_away * math.tan(math.radians(angle) / 2)
            for strike in (each for each in clip["hits"] if each["scored"]):
                parts += [
                    hit.impact.peak_speed * width / strike["speed_m_s"]
                    for hit in entry.hits
                    if abs(hit.impact.contact - strike["frame"]) <= WITHIN_FRAMES
                ]
    return parts


def main() -> None:
    """Print median, 10th and 90th percentile."""
    given = asked(__doc__, "labels", "shots", "project", metres_away=5.5)
    parts = seen_parts(given.labels, given.shots, given.project, given.metres_away)
    low, middle, high = np.percentile(parts, (10, 50, 90))
    print(f"{len(parts)} strikes: {middle:.2f} of the true speed, {low:.2f} to {high:.2f}")


if __name__ == "__main__":
    main()
