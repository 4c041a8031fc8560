"""Reel names: at most eight of ``[A-Z0-9_]``, one for each source, never shared."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable
from typing import NamedTuple

from impactcut.core.grouping import grouped
from impactcut.core.takes.clip import Clip
from impactcut.lists.ascii_text import to_ascii

REEL_WIDTH = 8
RESERVED_REELS = frozenset({"AX", "BARS", "BL", "BLACK"})
_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class _Source(NamedTuple):
    """What sets one source apart: its name, and its path where the name is only a file name."""

    reel: str
    path: str


def reel_names(clips: Iterable[Clip]) -> dict[Clip, str]:
    """The reel name of every clip, the same whatever order the clips come in.

    Clips whose file or user names the same reel share it; reels that were only made from file
    names are shared by no two files. A name that fits is kept, a longer one is cut short. Where
    that would give one name to two sources, or a name with a meaning of its own (``BL`` is
    black, ``AX`` unknown), the name ends in four characters drawn from the full one.
    """
    sources = {clip: _source(clip) for clip in clips}
    names = _distinct_names(sorted(set(sources.values())))
    return {clip: names[source] for clip, source in sources.items()}


def _source(clip: Clip) -> _Source:
    return _Source(clip.reel, clip.path if clip.reel_source == "name" else "")


def _distinct_names(sources: Iterable[_Source]) -> dict[_Source, str]:
    by_name = grouped((_shortened(source.reel), source) for source in sources)
    names: dict[_Source, str] = {}
    for name, rivals in by_name.items():
        owner = _owner(name, rivals)
        if owner is not None:
            names[owner] = name
    taken = set(names.values())
    for source in sorted(source for rivals in by_name.values() for source in rivals):
        if source not in names:
            names[source] = _drawn(source, taken)
            taken.add(names[source])
    return names


def _owner(name: str, rivals: list[_Source]) -> _Source | None:
    """The source that may have the short name: the only one, or the only one really named so."""
    if not name.strip("_") or name in RESERVED_REELS:
        return None
    if len(rivals) == 1:
        return rivals[0]
    verbatim = [source for source in rivals if source.reel == name]
    named = [source for source in verbatim if not source.path] or verbatim
    return named[0] if len(named) == 1 else None


def _shortened(reel: str) -> str:
    return re.sub(r"[^A-Z0-9_]", "_", to_ascii(reel.strip()).upper())[:REEL_WIDTH]


def _drawn(source: _Source, taken: Collection[str]) -> str:
    head = _shortened(source.reel)[:4].strip("_") or "REEL"
    attempt = 0
    while (name := head + _four_characters(f"{attempt}/{source.reel}/{source.path}")) in taken:
        attempt += 1
    return name


def _four_characters(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()
    number = int.from_bytes(digest[:8], "big")
    return "".join(_DIGITS[number // 36**place % 36] for place in range(4))
