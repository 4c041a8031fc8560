"""What the page shows, out of a project: dicts for its texts, bytes for its pictures."""

from __future__ import annotations

import hashlib
import math
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from impactcut.core.fight.entries import ClipEntry, HitEntry
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.strip import strip_frames
from impactcut.core.viewer.flashes import count_flashes, light_grid
from impactcut.errors import AnswersError, UnknownHitError
from impactcut.project import Project, StoredClip
from impactcut.review.cache import PictureCache
from impactcut.review.packing import pack_run
from impactcut.review.views import (
    Dict,
    ReviewedHit,
    beats_dict,
    clips_dict,
    decided_dict,
    detail_dict,
    review_dict,
    taken_dict,
    tap_dict,
)
from impactcut.workflow.clock import now
from impactcut.workflow.hits.answers_file import parse_answer, parse_tap
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter, measured_clips
from impactcut.workflow.hits.listing import find_hit, list_chosen, list_hits
from impactcut.workflow.hits.page_answers import take_answer
from impactcut.workflow.hits.tasting import taste_if_known
from impactcut.workflow.pictures.hit_pictures import (
    compress_run,
    moment_flashes,
    read_hit_pictures,
    shown_frames,
)
from impactcut.workflow.pictures.hit_sound import production_wav, thump_wav
from impactcut.workflow.pictures.hit_strip import CELL, read_strip, strip_sheet
from impactcut.workflow.scan.taps import take_back_tap, take_tap
from impactcut.workflow.takes.comparing import compare, elsewhere

WIDTH, QUALITY = 960, 85
LARGEST: Final = 1920
"""Width of the screening's pictures at most, that of most screens."""
MOST_PIXELS: Final = 100_000_000
"""Of a moment's pictures together, engineering choice: 400 MB once they are decoded."""
STRIP_QUALITY = 80
CLIP_WIDTH, CLIP_QUALITY = 640, 75
STRETCH: Final = 50
"""Frames of a clip that come at once: some two seconds."""
_FORM: Final = "2"
_MOST_AT_ONCE, _MOST_WAITING = 2, 24


class TooBusyError(Exception):
    """More pictures are asked for at once than anybody looks at."""


@dataclass(frozen=True)
class Material:
    """A project as the page sees it; several threads may use one.

    Parameters
    ----------
    path : Path
        The project file, opened anew for every question.
    wanted : HitFilter
        The hits that the overview shows.
    fov : float or None
        Angle that the picture fills, degrees; None for the one that the project keeps.
    taste : bool
        Whether trims are proposed by the taste of those approved.
    """

    path: Path
    cache: PictureCache
    wanted: HitFilter = ALL_HITS
    fov: float | None = None
    taste: bool = False
    _decoders: threading.BoundedSemaphore = field(
        default_factory=lambda: threading.BoundedSemaphore(_MOST_AT_ONCE)
    )
    _places: threading.BoundedSemaphore = field(
        default_factory=lambda: threading.BoundedSemaphore(_MOST_AT_ONCE + _MOST_WAITING)
    )
    _answering: threading.Lock = field(default_factory=threading.Lock)
    _tapping: threading.Lock = field(default_factory=threading.Lock)
    _told: dict[str, tuple[str, dict[int, tuple[str, ...]]]] = field(default_factory=dict)

    def overview(self) -> Dict:
        """Every hit of the project, and what was called none, so that it is found again."""
        with self._judged() as project:
            edition = edition_of(project)
            hits = reviewed(project, list_chosen(project, replace(self.wanted, denied=True)))
            clips = clips_dict(measured_clips(project))
        told = review_dict(self.path.stem, project_key(self.path), now(), hits, edition)
        return {**told, "clips": clips}

    def decisions(self) -> Dict:
        """What is decided about each hit, by number, and the `edition_of` the hits.

        Nothing is measured or judged for it: every page asks every few seconds.
        """
        with self._open(reading=True) as project:
            edition = edition_of(project)
            hits = [hit for found in project.all_hits().values() for hit in found]
        return {
            "edition": edition,
            "decisions": {str(hit.id): decided_dict(hit.decision) for hit in hits},
        }

    def detail(self, hit_id: int) -> Dict:
        """One hit with all of its trims.

        Raises
        ------
        UnknownHitError
            Here and below, if the project has no hit of that number.
        """
        with self._judged() as project:
            entry = find_hit(project, hit_id)
            told = self._elsewhere(project, entry)
            return detail_dict(entry, project.motion(hit_id), told)

    def beats(self) -> list[Dict]:
        """The beats of the fight, with their takes ranked."""
        with self._judged() as project:
            return beats_dict(compare(project, self.wanted).beats)

    def _elsewhere(self, project: Project, entry: HitEntry) -> tuple[str, ...]:
        """What other takes of a hit allow; a section's is kept while its hits are as they were."""
        section = entry.clip.section
        if not section:
            return ()
        refused = [hit.id for hits in project.all_hits().values() for hit in hits if hit.denied]
        known = repr((edition_of(project), project.beat_marks(), refused))
        kept = self._told.get(section)
        if kept is None or kept[0] != known or entry.id not in kept[1]:
            listed = list_hits(project, HitFilter(section=section))
            asked = [entry, *(hit for clip in listed for hit in clip.hits if hit.id != entry.id)]
            kept = self._told[section] = known, elsewhere(project, asked)
        return kept[1].get(entry.id, ())

    def pictures(self, hit_id: int) -> bytes:
        """The frames around a hit, packed."""
        stored, entry = self._stored(hit_id)
        return self._packed(stored, shown_frames(entry.impact, entry.clip), WIDTH, QUALITY)

    def large(self, hit_id: int) -> bytes:
        """The same at their own size, as far as a browser can hold them all at once."""
        stored, entry = self._stored(hit_id)
        clip, frames = entry.clip, shown_frames(entry.impact, entry.clip)
        held = math.isqrt(MOST_PIXELS * clip.width // (clip.height * len(frames)))
        width = max(WIDTH, min(clip.width, LARGEST, held))
        return self._packed(stored, frames, width, QUALITY)

    def strip(self, hit_id: int) -> bytes:
        """The pictures of a hit's splice strip, side by side, as a JPEG."""
        stored, entry = self._stored(hit_id)
        shown = strip_frames(entry.impact.contact, entry.clip.frames)
        name = f"strip {CELL} {STRIP_QUALITY} {entry.impact.region}"

        def make() -> bytes:
            return strip_sheet(read_strip(stored, entry.impact), "jpeg", STRIP_QUALITY)

        return self._kept(stored, shown, name, make)

    def production(self, hit_id: int) -> bytes:
        """The sound recorded with the frames around a hit; empty where there is none."""
        stored, entry = self._stored(hit_id)
        frames = shown_frames(entry.impact, entry.clip)
        return self._kept(
            stored, frames, "sound", lambda: production_wav(entry.clip, frames) or b""
        )

    def thump(self, hit_id: int) -> bytes:
        """The scratch hit."""
        _, entry = self._stored(hit_id)
        return thump_wav(entry.impact.peak_speed, hit_id)

    def take(self, body: object) -> Dict:
        """Take in an answer as the page sends it; what came of it.

        Raises
        ------
        AnswersError
            If it is none, or nobody's.
        """
        given = parse_answer(body)
        _check_signed(given.who)
        with self._answering, self._open() as project:
            return taken_dict(take_answer(project, given))

    def clip_pictures(self, clip_id: int, first: int) -> bytes:
        """`STRETCH` frames of a clip from ``first`` on, packed; fewer at its end.

        Their flashes are those of the second before them, too, as the clip plays on without a rest.

        Raises
        ------
        UnknownHitError
            If the project has no such clip, or it no such frame.
        """
        with self._open(reading=True) as project:
            found = {clip.id: clip for clip in measured_clips(project)}
        stored = found.get(clip_id)
        if stored is None or not 0 <= first < stored.clip.frames:
            raise UnknownHitError(f"no clip {clip_id} with a frame {first}; reload the page")
        frames = FrameRange(first, min(first + STRETCH, stored.clip.frames))
        rate = stored.clip.rate
        seen = FrameRange(max(0, first - math.ceil(rate)), frames.stop)

        def make() -> bytes:
            pictures = read_hit_pictures(stored, seen, CLIP_WIDTH)
            run = compress_run(pictures[-len(frames) :], "jpeg", CLIP_QUALITY)
            flashes = count_flashes([light_grid(each.pixels) for each in pictures], rate)
            codes = [stored.clip.timecode(frame) for frame in range(frames.start, frames.stop)]
            return pack_run(run, flashes, codes)

        # What was said of a clip since can give it other timecodes.
        name = f"clip {CLIP_WIDTH} {CLIP_QUALITY} {stored.clip.timecode(first)} {rate}"
        return self._kept(stored, frames, name, make)

    def tap(self, body: object) -> Dict:
        """Make a hit of a tap, or take one back; what came of it, or why it did not.

        Answers do not wait for its measuring.
        """
        if isinstance(body, dict) and isinstance(body.get("back"), int):
            who = str(body.get("who", ""))
            _check_signed(who)
            with self._answering, self._open() as project:
                return {"reason": take_back_tap(project, body["back"], who)}
        given = parse_tap(body)
        _check_signed(given.who)
        with self._tapping, self._open() as project:
            return tap_dict(take_tap(project, given))

    def _open(self, *, reading: bool = False) -> Project:
        return Project(self.path, reading=reading, fov=self.fov)

    def _judged(self) -> Project:
        """The project, to be read; by taste as long as enough is approved for one."""
        project = self._open(reading=True)
        project.by_taste = self.taste and taste_if_known(project) is not None
        return project

    def _stored(self, hit_id: int) -> tuple[StoredClip, HitEntry]:
        with self._open(reading=True) as project:
            entry = find_hit(project, hit_id)
            stored = project.clip_at(entry.clip.path)
        assert stored is not None
        return stored, entry

    def _packed(self, stored: StoredClip, frames: FrameRange, width: int, quality: int) -> bytes:
        rate = stored.clip.rate

        def make() -> bytes:
            pictures = read_hit_pictures(stored, frames, width)
            flashes = moment_flashes(pictures, rate)
            return pack_run(compress_run(pictures, "jpeg", quality), flashes)

        return self._kept(stored, frames, f"pack {width} {quality}", make)

    def _kept(
        self, stored: StoredClip, frames: FrameRange, kind: str, make: Callable[[], bytes]
    ) -> bytes:
        name = f"{_FORM} {kind} {stored.measured} {frames.start} {frames.stop}"
        kept = self.cache.find(name)
        if kept is not None:
            return kept
        with self._turn():
            return self.cache.get(name, make)

    @contextmanager
    def _turn(self) -> Iterator[None]:
        if not self._places.acquire(blocking=False):
            raise TooBusyError
        try:
            with self._decoders:
                yield
        finally:
            self._places.release()


def _check_signed(who: str) -> None:
    if not who.strip():
        raise AnswersError("no name stands with it; fill in your name, and answer again")


def edition_of(project: Project) -> str:
    """A short name for what is known of the hits and their clips, whatever is decided of them."""
    calibration = project.calibration()
    clips = [(clip.id, clip.measured, clip.own and clip.clip) for clip in project.clips()]
    found = project.all_hits()
    hits = [(each.id, each.impact, each.by_hand) for hits in found.values() for each in hits]
    known = repr((clips, hits, calibration)).encode()
    return hashlib.blake2b(known, digest_size=8).hexdigest()


def reviewed(project: Project, listed: Iterable[ClipEntry]) -> tuple[ReviewedHit, ...]:
    """The hits of clips that were listed, in the same order."""
    digests = {clip.path: clip.measured for clip in project.clips()}
    return tuple(
        ReviewedHit(hit, digests.get(hit.clip.path, "")) for clip in listed for hit in clip.hits
    )


def project_key(path: Path) -> str:
    """A short name for a project file, the same as long as it stays where it is."""
    return hashlib.blake2b(str(path.resolve()).encode(), digest_size=6).hexdigest()
