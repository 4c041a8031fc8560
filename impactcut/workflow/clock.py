"""The time, as everything that keeps one writes it."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> str:
    """The time as decisions carry it: UTC, ISO 8601, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def as_read(moment: str) -> str:
    """Such a time as people read it, to the minute; what is none, as it is."""
    day, parted, time = moment.partition("T")
    return f"{day} {time[:5]} UTC" if parted and time.endswith("Z") else moment
