"""A project of the quay fight: two clips, three hits, an approved trim of each."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.project import Project
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip

FILM = Fraction(24)
WIDE = make_clip(
    "/quay/S12_T2_A.mov", reel="A004C011", rate=FILM, frames=240, source_start=89_520,
    section="12", take="2", angle="A",
)  # fmt: skip
"""Source timecode 01:02:10:00 to 01:02:20:00."""
CLOSE = make_clip(
    "/quay/S12_T3_B.mov", reel="B002C005", rate=FILM, frames=120, source_start=172_800,
    section="12", take="3", angle="B",
)  # fmt: skip
"""Source timecode 02:00:00:00 to 02:00:05:00."""
TRIMS = ((WIDE, FrameRange(46, 48)), (WIDE, FrameRange(160, 163)), (CLOSE, FrameRange(50, 51)))


def make_quay_project(path: Path, *clips: Clip) -> Path:
    """Store the clips, each trim's hit with its contact on the trim's last frame, and approve."""
    with Project(path, create=True) as project:
        for clip in clips or (WIDE, CLOSE):
            trims = [frames for original, frames in TRIMS if original.name == clip.name]
            clip_id = keep_clip(project, clip, *(frames.stop - 1 for frames in trims))
            for stored, frames in zip(project.hits(clip_id), trims, strict=True):
                approve(project, stored.id, frames)
    return path


def approve(project: Project, hit_id: int, frames: FrameRange) -> None:
    """Approve a trim of a hit that was judged to be clean."""
    trim = Trim(frames.start, len(frames), 1.18, 0.7, "clean", (), {"strike": 0.7}, ("hidden",))
    proposal = Proposal((trim,), trim, None)
    project.store_proposals([(project.hit(hit_id), proposal)])
    project.decide(hit_id, Decision("approved", frames, "Ines", "2024-03-01T20:00:00Z"))
