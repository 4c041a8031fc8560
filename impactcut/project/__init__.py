"""The project file: the only SQL of the program."""

from impactcut.project.rows.records import (
    Clearing,
    DecisionEntry,
    Fingerprint,
    StoredClip,
    StoredHit,
)
from impactcut.project.store import Project

__all__ = [
    "Clearing",
    "DecisionEntry",
    "Fingerprint",
    "Project",
    "StoredClip",
    "StoredHit",
]
