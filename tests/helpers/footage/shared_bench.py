"""Labelled footage that lies beside the project on some machines and is no part of it."""

from __future__ import annotations

from pathlib import Path


def bench(folder: str) -> Path | None:
    """That folder of the footage; None where there is none, and tests that need it skip."""
    places = (parent / "shared" / "bench" / folder for parent in Path(__file__).resolve().parents)
    return next(filter(Path.is_dir, places), None)
