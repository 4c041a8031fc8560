"""Names by which people call clips and hits, short enough to be said on the phone: S2T1A.3.

A clip is called by its shot, or by its file where the shot is not known; a hit by its clip and its
place in it, in order of contact. Names depend on the footage alone, and none is ever given to
another hit: what is found later between 2 and 3 is 2a.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import count, product
from string import ascii_lowercase
from typing import Final, TypeVar

from impactcut.core.grouping import grouped
from impactcut.core.takes.clip import Clip
from impactcut.core.words import free_name

LONGEST: Final = 9
"""Characters of a clip's name, so that with a hit's place, such as .12, it has 12 at most."""
_LABEL = re.compile(r"(\d+)([a-z]*)", re.ASCII)
Thing = TypeVar("Thing")


def natural_order(text: object) -> tuple[tuple[int, int | str], ...]:
    """Sorting key in which numbers inside names count as numbers: take 2 before take 10."""
    parts = re.split(r"(\d+)", str(text).casefold())
    return tuple((0, int(part)) if part.isdecimal() else (1, part) for part in parts)


def by_section(things: Iterable[Thing], clip_of: Callable[[Thing], Clip]) -> dict[str, list[Thing]]:
    """Things by the section of their clip, in natural order of sections.

    A section goes by the name that is met first; ``""`` stands for none that is known.
    """
    groups = grouped((clip_of(thing).section.casefold(), thing) for thing in things)
    named = {clip_of(group[0]).section: group for group in groups.values()}
    return {name: named[name] for name in sorted(named, key=natural_order)}


def take_words(clip: Clip) -> str:
    """Take and angle of a clip, or its name where neither is known."""
    parts = (("take", clip.take), ("angle", clip.angle))
    return ", ".join(f"{word} {name}" for word, name in parts if name) or clip.name


def clip_name(clip: Clip) -> str:
    """What a clip is called where no other has that name: by its shot, or else by its file."""
    section, take, angle = map(_plain, (clip.section, clip.take, clip.angle))
    if section and take:
        gap = "_" if angle[:1].isdigit() else ""
        shot = f"S{section}T{take}{gap}{angle}"
        if len(shot) <= LONGEST:
            return shot
    return _file_name(clip.name)


def name_clips(
    wanted: Mapping[int, str], stands: Mapping[int, str], taken: Mapping[str, int]
) -> dict[int, str]:
    """Names of clips, each another one; those that stand and still fit are kept.

    Parameters
    ----------
    wanted : mapping of int to str
        `clip_name` of every clip by its number, in the order in which they choose.
    stands : mapping of int to str
        What clips are called so far.
    taken : mapping of str to int
        Every name that a clip has or had, in lower case, with the clip's number.
    """
    given = dict(taken)
    names: dict[int, str] = {}
    for clip_id, name in wanted.items():
        now = stands.get(clip_id, "")
        names[clip_id] = now if _fits(now, name) else _free(clip_id, name, given)
        given[names[clip_id].lower()] = clip_id
    return names


def label_hits(found: Sequence[tuple[int, bool]], taken: Mapping[str, int]) -> tuple[str, ...]:
    """Places of hits in their clip, as they stand behind its name.

    Those that are sure are counted from 1, and what is found later behind all of them goes on
    counting; whatever else is found is named by the counted hit before it, with a letter.

    Parameters
    ----------
    found : sequence of (int, bool)
        Contact frame of each hit without a place, rising, and whether it is sure.
    taken : mapping of str to int
        Places that hits of the clip have or had, each with its contact frame.
    """
    known = dict(taken)
    labels = [""] * len(found)
    for index in sorted(range(len(found)), key=lambda index: not found[index][1]):
        contact, sure = found[index]
        labels[index] = _label(contact, sure, known)
        known[labels[index]] = contact
    return tuple(labels)


def label_key(label: str) -> tuple[int, int, str]:
    """By which places are in order: 2, 2a, 2b, 3."""
    match = _LABEL.fullmatch(label)
    assert match is not None
    return int(match[1]), len(match[2]), match[2]


def is_label(text: str) -> bool:
    """Whether a text is a hit's place, such as 3 or 3a."""
    return _LABEL.fullmatch(text) is not None


def called(name: str, hit_id: int) -> str:
    """What a hit is called in lists: its name, or its number where none is known."""
    return name or str(hit_id)


def _label(contact: int, sure: bool, known: Mapping[str, int]) -> str:
    counted = {int(label): at for label, at in known.items() if label.isdecimal()}
    before = [number for number, at in counted.items() if at <= contact]
    if sure and len(before) == len(counted):
        return str(max(counted, default=0) + 1)
    return _lettered(max(before, default=0), known)


def _lettered(number: int, known: Collection[str]) -> str:
    letters = (each for length in count(1) for each in product(ascii_lowercase, repeat=length))
    labels = (f"{number}{''.join(each)}" for each in letters)
    return next(label for label in labels if label not in known)


def _fits(now: str, name: str) -> bool:
    number = now.removeprefix(f"{name}-")
    return now == name or (number != now and number.isdecimal())


def _free(clip_id: int, name: str, taken: Mapping[str, int]) -> str:
    """The name, or with a number behind it where it is another clip's."""
    return free_name(name, lambda free: taken.get(free.lower(), clip_id) != clip_id)


def _file_name(name: str) -> str:
    stem = name.rpartition(".")[0] or name
    if len(stem) > LONGEST:
        stem = next((part for part in re.split(r"[^0-9A-Za-z]+", stem) if part), "")
    short = _plain(stem)[:LONGEST] or "clip"
    return f"C{short}"[:LONGEST] if short.isdigit() else short


def _plain(text: str) -> str:
    return re.sub(r"[^0-9A-Za-z]", "", text)
