"""Which clips have sound that keeps to their pictures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.errors import MediaError
from impactcut.media.decode.spacing import survey
from impactcut.media.sound.production import count_sound_tracks
from impactcut.workflow.files.refusals import Refusal, refusal_of


@dataclass(frozen=True)
class Sound:
    """Clips whose production sound is heard, and what of theirs or of others' is not, and why."""

    clips: frozenset[Clip]
    refusals: tuple[Refusal, ...]


def sort_out_sound(clips: Iterable[Clip]) -> Sound:
    """Look into the files of clips for sound that can be laid to their pictures."""
    listed = list(clips)
    heard, refusals = list[Clip](), _without([clip for clip in listed if not clip.has_sound])
    for clip in (clip for clip in listed if clip.has_sound):
        missing = _missing(clip)
        refusal = missing or _flaw(clip)
        if missing is None:
            heard.append(clip)
        if refusal is not None:
            refusals.append(refusal)
    return Sound(frozenset(heard), tuple(refusals))


def _without(clips: Sequence[Clip]) -> list[Refusal]:
    """That clips have no sound, in one line."""
    if not clips:
        return []
    more = f" and {len(clips) - 1} more" if len(clips) > 1 else ""
    return [Refusal(f"sound of {clips[0].name}{more}", "there is none; only hits are heard")]


def _missing(clip: Clip) -> Refusal | None:
    """Why nothing of a clip's sound can be heard."""
    try:
        spacing = survey(Path(clip.path))
    except MediaError as error:
        return refusal_of(clip.path, error)
    if spacing.even and spacing.rate != clip.rate:
        return Refusal(
            f"sound of {clip.name}",
            f"the clip is counted at {Timebase(clip.rate)} but runs at {Timebase(spacing.rate)}, "
            "so its sound does not keep to its picture",
            "only its hits are heard; 'impactcut scan --rate file' counts it as it runs",
        )
    return None


def _flaw(clip: Clip) -> Refusal | None:
    """What is to be said of a clip's sound though it is heard."""
    if clip.variable_rate:
        return Refusal(
            f"sound of {clip.name}",
            "the clip's frames are not evenly spaced, so its sound may part from its picture",
            "trust the scratch hits",
        )
    tracks = count_sound_tracks(Path(clip.path))
    if tracks > 1:
        return Refusal(
            f"sound of {clip.name}",
            f"the clip has {tracks} sound tracks, and one is heard",
            "mix them into one for a fuller guide",
        )
    return None
