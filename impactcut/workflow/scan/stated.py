"""What was stated of a clip: kept for later scans, and told apart from what is measured by it."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.shot_log import AS_FILED, ShotSaid
from impactcut.core.takes.shot_names import NamePattern
from impactcut.project import StoredClip
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.takes.shots import runs_at, with_names


def settings_text(settings: AnalysisSettings) -> str:
    """Settings as they are kept with a clip."""
    taught = "" if settings.taught is None else settings.taught.digest
    return json.dumps({**asdict(settings), "taught": taught}, sort_keys=True)


def with_earlier(settings: AnalysisSettings, known: StoredClip | None) -> AnalysisSettings:
    """Settings with the rate and reel that were stated for a clip earlier, where none are now."""
    earlier = {} if known is None else json.loads(known.settings)
    said = ShotSaid() if known is None else known.said
    return replace(
        settings,
        rate=_stated(settings.rate, said.rate, earlier.get("rate")),
        reel=_stated(settings.reel, said.reel, earlier.get("reel")),
    )


def said_anew(settings: AnalysisSettings, known: StoredClip | None) -> ShotSaid:
    """What a scan says of a clip otherwise than people did before: the later word counts."""
    if known is None:
        return ShotSaid()
    said = known.said
    return ShotSaid(
        rate=None if said.rate is None else settings.rate,
        reel=None if said.reel is None else settings.reel,
    )


def measure_the_same(earlier: str, settings: AnalysisSettings, clip: Clip | None = None) -> bool:
    """Whether settings differ at most in what measures nothing.

    That is the reel, what was taught, and the rate where ``clip``, as it was measured, runs at it.
    """
    nothing: dict[str, None] = {"reel": None, "taught": None}
    if runs_at(clip, settings.rate):
        nothing["rate"] = None
    return bool({**json.loads(earlier), **nothing} == {**asdict(settings), **nothing})


def described(clip: Clip, path: Path, settings: AnalysisSettings, pattern: NamePattern) -> Clip:
    """A measured clip under the name and reel that it has now, without what people say of it."""
    clip = replace(clip, name=path.name)
    if clip.reel_source != "file":
        from impactcut.media.probe.container import reel_of

        reel, source = reel_of(path, None, settings.reel)
        clip = replace(clip, reel=reel, reel_source=source)
    return with_names(clip, pattern)


def _stated(*words: str | None) -> str | None:
    """The first word that says something; None for what the file says."""
    word = next((each for each in words if each is not None), None)
    return None if word == AS_FILED else word
