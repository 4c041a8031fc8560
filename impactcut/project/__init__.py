"""The project file: the only SQL of the program; never any other file."""

from impactcut.project.file.identity import is_project
from impactcut.project.rows.records import (
    Act,
    Actor,
    Clearing,
    DecisionEntry,
    Fingerprint,
    Source,
    StoredClip,
    StoredHit,
)
from impactcut.project.statements.hand_marks import HandMark
from impactcut.project.statements.same_takes import SameTake
from impactcut.project.store import Project

__all__ = [
    "Act",
    "Actor",
    "Clearing",
    "DecisionEntry",
    "Fingerprint",
    "HandMark",
    "Project",
    "SameTake",
    "Source",
    "StoredClip",
    "StoredHit",
    "is_project",
]
