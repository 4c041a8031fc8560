"""The page as one file, with its pictures and sounds inside."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from impactcut.errors import MediaError
from impactcut.project import Project
from impactcut.review.assets import block_text, one_file_page
from impactcut.review.material import project_key, reviewed
from impactcut.review.packing import pack_run
from impactcut.review.views import ReviewedHit, beats_dict, detail_dict, review_dict
from impactcut.workflow.clock import now
from impactcut.workflow.files.refusals import Refusal, refusal_of
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.listing import list_hits
from impactcut.workflow.pictures.hit_pictures import (
    fit_run,
    moment_flashes,
    read_hit_pictures,
    shown_frames,
)
from impactcut.workflow.pictures.hit_sound import production_wav, thump_wav
from impactcut.workflow.pictures.hit_strip import strip_cells, strip_sheet
from impactcut.workflow.takes.comparing import compare, elsewhere

MOST_PER_HIT: Final = 390_000
"""Bytes of the file that a hit may take."""
LEAST_PER_HIT: Final = 120_000
"""Below this, pictures are too poor to judge a splice by (engineering choice)."""
MOST_PER_MAIL: Final = 20_000_000
"""Bytes that many mail systems still carry (common practice, no source)."""
WIDTH: Final = 960
_AROUND: Final = 4_000
"""Bytes of a hit that stand in the overview's data and around the blocks."""
_SOUND_SHARE: Final = 0.25
"""Production sound that takes more of the room than this stays out."""
_STRIP_QUALITY: Final = 60

Blocks = dict[str, str]
OnHit = Callable[[int, int], None]


@dataclass(frozen=True)
class MadePage:
    """A page as one file.

    Parameters
    ----------
    hits : int
        That it holds.
    most_bytes : int
        That one of them takes.
    refusals : tuple of Refusal
        Hits that are not in it.
    """

    html: str
    hits: int
    most_bytes: int
    refusals: tuple[Refusal, ...]


def make_page(
    project: Project, wanted: HitFilter = ALL_HITS, *, most_bytes: int, on_hit: OnHit | None = None
) -> MadePage:
    """Make the page for the hits that are asked for.

    Parameters
    ----------
    most_bytes : int
        Size to keep the file under by making pictures smaller, though never below
        `LEAST_PER_HIT` for a hit.
    on_hit : callable, optional
        Called after each hit with the hits done and the hits in all.
    """
    hits = reviewed(project, list_hits(project, wanted))
    room = min(MOST_PER_HIT, max(LEAST_PER_HIT, most_bytes // max(1, len(hits))))
    told = elsewhere(project, [hit.entry for hit in hits])
    held: list[tuple[ReviewedHit, Blocks]] = []
    refusals: list[Refusal] = []
    for done, hit in enumerate(hits, start=1):
        try:
            held.append((hit, hit_blocks(project, hit, told.get(hit.entry.id, ()), room)))
        except MediaError as error:
            refusals.append(refusal_of(f"hit {hit.entry.called} of {hit.entry.clip.name}", error))
        if on_hit is not None:
            on_hit(done, len(hits))
    sizes = [sum(map(len, blocks.values())) for _, blocks in held]
    html = _html(project, wanted, held)
    return MadePage(html, len(held), max(sizes, default=0), tuple(refusals))


def _html(project: Project, wanted: HitFilter, held: Sequence[tuple[ReviewedHit, Blocks]]) -> str:
    name = project.path.stem
    review = review_dict(name, project_key(project.path), now(), [hit for hit, _ in held])
    beats = beats_dict(compare(project, wanted).beats)
    blocks = {"review": block_text(json.dumps(review)), "beats": block_text(json.dumps(beats))}
    for _, more in held:
        blocks |= more
    return one_file_page(name, blocks)


def hit_blocks(
    project: Project, hit: ReviewedHit, elsewhere_told: Sequence[str], room: int
) -> Blocks:
    """What the page holds of one hit, and of other takes of it, in at most ``room`` bytes.

    Raises
    ------
    MediaError
        If its clip cannot be read.
    """
    entry = hit.entry
    stored = project.clip_at(entry.clip.path)
    assert stored is not None
    frames = shown_frames(entry.impact, entry.clip)
    pictures = read_hit_pictures(stored, frames, WIDTH)
    cells = strip_cells(entry.impact, entry.clip, {picture.index: picture for picture in pictures})
    detail = detail_dict(entry, project.motion(entry.id), elsewhere_told)
    blocks = {
        f"hit-{entry.id}": block_text(json.dumps(detail)),
        f"strip-{entry.id}": _text(strip_sheet(cells, "webp", _STRIP_QUALITY)),
        f"thump-{entry.id}": _text(thump_wav(entry.impact.peak_speed, entry.id)),
    }
    production = production_wav(entry.clip, frames)
    if production is not None and len(production) <= room * _SOUND_SHARE:
        blocks[f"production-{entry.id}"] = _text(production)
    left = room - sum(map(len, blocks.values())) - _AROUND
    flashes = moment_flashes(pictures, entry.clip.rate)
    blocks[f"pictures-{entry.id}"] = _text(pack_run(fit_run(pictures, left * 3 // 4), flashes))
    return blocks


def _text(content: bytes) -> str:
    return base64.b64encode(content).decode()
