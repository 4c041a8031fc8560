"""Answers about one hit, said in a word."""

from __future__ import annotations

from impactcut.core.fight.entries import HitEntry
from impactcut.core.time.frames import FrameRange
from impactcut.project import Project
from impactcut.workflow.hits.deciding import Signature, Wish, answer_one


def approve(
    project: Project, hit_id: int, signed: Signature, choice: FrameRange | int | None = None
) -> HitEntry:
    return answer_one(project, hit_id, Wish("approved", choice), signed)


def decline(project: Project, hit_id: int, signed: Signature) -> HitEntry:
    return answer_one(project, hit_id, Wish("declined"), signed)


def add_note(project: Project, hit_id: int, signed: Signature) -> HitEntry:
    return answer_one(project, hit_id, Wish("note"), signed)
