"""What proposing costs: trims for many hits from stored motion, beside reading that motion alone.

    python scripts/bench/propose_cost.py CLIP [--hits 1000]

The motion around the hits of CLIP is measured once and stored as often as it takes; then proposals
are made for all, as a scan makes them, without a frame being decoded.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path

from impactcut.project import Fingerprint, Project
from impactcut.workflow.hits.proposing import propose_for_clip
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis, analyse_clip

HITS_A_CLIP = 20


def stored(project: Project, analysis: ClipAnalysis, hits: int) -> None:
    """Store clips of `HITS_A_CLIP` hits each, until there are so many."""
    found = [(one.hit, one.motion) for one in analysis.hits]
    if not found:
        raise SystemExit("no hit was found in the clip: name one with a staged hit")
    for number in range(-(-hits // HITS_A_CLIP)):
        clip = replace(analysis.clip, path=f"/harbour/{number}.mov", name=f"{number}.mov")
        some = list(islice(cycle(found), HITS_A_CLIP))
        project.store_clip(clip, Fingerprint(1, 1, str(number)), "{}", some)


def main() -> None:
    """Print both times and their ratio."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("clip", type=Path)
    parser.add_argument("--hits", type=int, default=1000)
    options = parser.parse_args()
    analysis = analyse_clip(options.clip, AnalysisSettings())
    with (
        tempfile.TemporaryDirectory() as folder,
        Project(Path(folder) / "impactcut.db", create=True) as project,
    ):
        stored(project, analysis, options.hits)
        clips = project.clips()
        start = time.process_time()
        ids = [hit.id for clip in clips for hit in project.hits(clip.id)]
        for hit in ids:
            project.motion(hit)
        reading = time.process_time() - start
        start = time.process_time()
        for clip in clips:
            propose_for_clip(project, clip)
        proposing = time.process_time() - start
    print(
        f"{len(ids)} hits: {proposing:.1f} s of processor time, "
        f"{proposing / reading:.1f} times as long as reading their motion"
    )


if __name__ == "__main__":
    main()
