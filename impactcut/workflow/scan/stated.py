"""What was stated of a clip: kept for later scans, and told apart from what is measured by it."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from pathlib import Path

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.shot_names import NamePattern
from impactcut.project import StoredClip
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.takes.shots import with_names

FROM_FILE = "file"
"""Given as rate or reel: what the file says, whatever was stated earlier."""


def settings_text(settings: AnalysisSettings) -> str:
    """Settings as they are kept with a clip."""
    return json.dumps(asdict(settings), sort_keys=True)


def with_earlier(settings: AnalysisSettings, known: StoredClip | None) -> AnalysisSettings:
    """Settings with the rate and reel that were stated for a clip earlier, where none are now."""
    earlier = {} if known is None else json.loads(known.settings)
    return replace(
        settings,
        rate=_stated(settings.rate, earlier.get("rate")),
        reel=_stated(settings.reel, earlier.get("reel")),
    )


def measure_the_same(earlier: str, settings: AnalysisSettings) -> bool:
    """Whether settings differ at most in the reel, by which nothing is measured."""
    return bool({**json.loads(earlier), "reel": None} == {**asdict(settings), "reel": None})


def described(clip: Clip, path: Path, settings: AnalysisSettings, pattern: NamePattern) -> Clip:
    """A measured clip under the name and reel that it has now, without what people say of it."""
    clip = replace(clip, name=path.name)
    if clip.reel_source != "file":
        from impactcut.media.probe.container import reel_of

        reel, source = reel_of(path, None, settings.reel)
        clip = replace(clip, reel=reel, reel_source=source)
    return with_names(clip, pattern)


def _stated(now: str | None, earlier: str | None) -> str | None:
    if now == FROM_FILE:
        return None
    return earlier if now is None else now
