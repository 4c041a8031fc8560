"""Sound to judge a silent assembly with: the scratch hit track, and a guide mix."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from impactcut import __version__
from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.hit_track import hit_cues, time_reference, track_samples
from impactcut.core.programme.mixing import PlacedSound, mixed_track, thump_track
from impactcut.core.programme.sound_runs import placed_sound, sound_runs
from impactcut.core.takes.clip import Clip
from impactcut.lists.ascii_text import fit, to_ascii
from impactcut.media.sound.production import read_sound
from impactcut.media.sound.wav import Origin, write_wav
from impactcut.workflow.export.sounding import sort_out_sound
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.writing import Made

_LONGEST_DESCRIPTION = 256


def hit_track(name: str, cut: CutList, hits: Sequence[HitEntry]) -> Made:
    """The scratch hit track of a programme: mono, with a thump on every contact frame."""
    cues, samples = hit_cues(cut, hits), track_samples(cut)
    origin = _origin(cut, "scratch hits")

    def write(path: Path) -> None:
        with path.open("wb") as file:
            write_wav(file, thump_track(cues, samples), 1, origin)

    return Made({f"{name}_hits.wav": write})


def guide_mix(name: str, cut: CutList, hits: Sequence[HitEntry]) -> Made:
    """The guide mix of a programme: stereo, trimmed production sound and scratch hits.

    Clips whose sound cannot be used are silent in it but for their hits, and are named.
    """
    cues, samples = hit_cues(cut, hits), track_samples(cut)
    sound = sort_out_sound(cut.clips)
    refusals = list(sound.refusals)
    origin = _origin(cut, "production sound and scratch hits")

    def write(path: Path) -> None:
        production = _production(cut, sound.clips, refusals)
        with path.open("wb") as file:
            write_wav(file, mixed_track(production, cues, samples), 2, origin)

    return Made({f"{name}_guide.wav": write}, refusals)


def _production(
    cut: CutList, sounding: frozenset[Clip], refusals: list[Refusal]
) -> Iterator[PlacedSound]:
    for clip, runs in sound_runs(cut.events, cut.timebase.rate, cut.record_start).items():
        if clip in sounding:
            lost: list[str] = []
            first, stop = runs[0].source.start, runs[-1].source.stop
            blocks = read_sound(Path(clip.path), start=first, stop=stop, on_loss=lost.append)
            yield from placed_sound(runs, blocks)
            if lost:
                refusals.append(lost_sound(clip, lost))


def lost_sound(clip: Clip, reasons: Sequence[str]) -> Refusal:
    """That some of a clip's sound did not decode."""
    return Refusal(
        f"sound of {clip.name}",
        f"{len(reasons)} stretches of it do not decode ({reasons[0]}) and are silent",
        "copy the clip again from the card",
    )


def _origin(cut: CutList, holds: str) -> Origin:
    start = cut.timebase.label(cut.record_start)
    text = to_ascii(f"{cut.title}: {holds}, from {start} at {cut.timebase}")
    return Origin(fit(text, _LONGEST_DESCRIPTION), f"impactcut {__version__}", time_reference(cut))
