"""What the page shows, out of a project: dicts for its texts, bytes for its pictures."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from impactcut.core.time.frames import FrameRange
from impactcut.errors import AnswersError
from impactcut.project import Project, StoredClip
from impactcut.review.cache import PictureCache
from impactcut.review.packing import pack_run
from impactcut.review.views import (
    Dict,
    ReviewedHit,
    decided_dict,
    detail_dict,
    review_dict,
    taken_dict,
)
from impactcut.workflow.hits.answers import GivenAnswer, Taken, take_answer
from impactcut.workflow.hits.choosing import ALL_HITS, HitFilter, measured_clips
from impactcut.workflow.hits.deciding import now
from impactcut.workflow.hits.entries import HitEntry
from impactcut.workflow.hits.listing import find_hit, list_hits
from impactcut.workflow.pictures.hit_pictures import compress_run, read_hit_pictures, shown_frames
from impactcut.workflow.pictures.hit_sound import production_wav, thump_wav
from impactcut.workflow.takes.comparing import elsewhere

WIDTH, QUALITY = 960, 85
CONTACT_WIDTH, CONTACT_QUALITY = 480, 80
_FORM: Final = "1"
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
    cache : PictureCache
    wanted : HitFilter
        The hits that the overview shows.
    fov : float or None
        Angle that the picture fills, degrees; None for the one that the project keeps.
    """

    path: Path
    cache: PictureCache
    wanted: HitFilter = ALL_HITS
    fov: float | None = None
    _decoders: threading.BoundedSemaphore = field(
        default_factory=lambda: threading.BoundedSemaphore(_MOST_AT_ONCE)
    )
    _places: threading.BoundedSemaphore = field(
        default_factory=lambda: threading.BoundedSemaphore(_MOST_AT_ONCE + _MOST_WAITING)
    )
    _answering: threading.Lock = field(default_factory=threading.Lock)

    def overview(self) -> Dict:
        """Every hit of the project."""
        with self._read() as project:
            hits = reviewed_hits(project, self.wanted)
        return review_dict(self.path.stem, project_key(self.path), now(), hits)

    def decisions(self) -> Dict:
        """What is decided about each hit, by number; nothing is measured or judged for it."""
        with self._read() as project:
            hits = [hit for clip in measured_clips(project) for hit in project.hits(clip.id)]
        return {str(hit.id): decided_dict(hit.decision) for hit in hits}

    def detail(self, hit_id: int) -> Dict:
        """One hit with all of its trims.

        Raises
        ------
        UnknownHitError
            Here and below, if the project has no hit of that number.
        """
        with self._read() as project:
            entry = find_hit(project, hit_id)
            told = elsewhere(project, [entry]).get(hit_id, ())
            return detail_dict(entry, project.motion(hit_id), told)

    def pictures(self, hit_id: int) -> bytes:
        """The frames around a hit, packed."""
        stored, entry = self._stored(hit_id)
        frames = shown_frames(entry.hit, entry.clip)

        def make() -> bytes:
            pictures = read_hit_pictures(stored, frames, WIDTH)
            return pack_run(compress_run(pictures, "jpeg", QUALITY))

        return self._kept(stored, frames, f"pack {WIDTH} {QUALITY}", make)

    def contact(self, hit_id: int) -> bytes:
        """The contact frame of a hit as a small JPEG."""
        stored, entry = self._stored(hit_id)
        frame = FrameRange(entry.hit.contact, entry.hit.contact + 1)

        def make() -> bytes:
            pictures = read_hit_pictures(stored, frame, CONTACT_WIDTH)
            return compress_run(pictures, "jpeg", CONTACT_QUALITY).pictures[0]

        return self._kept(stored, frame, f"still {CONTACT_WIDTH} {CONTACT_QUALITY}", make)

    def production(self, hit_id: int) -> bytes:
        """The sound recorded with the frames around a hit; empty where there is none."""
        stored, entry = self._stored(hit_id)
        frames = shown_frames(entry.hit, entry.clip)
        return self._kept(
            stored, frames, "sound", lambda: production_wav(entry.clip, frames) or b""
        )

    def thump(self, hit_id: int) -> bytes:
        """The scratch hit."""
        _, entry = self._stored(hit_id)
        return thump_wav(entry.hit.peak_speed, hit_id)

    def take(self, given: GivenAnswer) -> tuple[Taken, Dict]:
        """Take in an answer; what came of it, also as the page reads it.

        Raises
        ------
        AnswersError
            If it is nobody's.
        """
        if not given.who.strip():
            raise AnswersError("no name stands with it; fill in your name, and answer again")
        with self._answering, Project(self.path, fov=self.fov) as project:
            taken = take_answer(project, given)
        return taken, taken_dict(taken)

    def _read(self) -> Project:
        return Project(self.path, reading=True, fov=self.fov)

    def _stored(self, hit_id: int) -> tuple[StoredClip, HitEntry]:
        with self._read() as project:
            entry = find_hit(project, hit_id)
            stored = project.clip_at(entry.clip.path)
        assert stored is not None
        return stored, entry

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


def reviewed_hits(project: Project, wanted: HitFilter = ALL_HITS) -> tuple[ReviewedHit, ...]:
    """The hits of a project that are asked for, in natural order of their clips."""
    digests = {clip.path: clip.measured for clip in project.clips()}
    return tuple(
        ReviewedHit(hit, digests.get(hit.clip.path, ""))
        for clip in list_hits(project, wanted)
        for hit in clip.hits
    )


def project_key(path: Path) -> str:
    """A short name for a project file, the same as long as it stays where it is."""
    return hashlib.blake2b(str(path.resolve()).encode(), digest_size=6).hexdigest()
