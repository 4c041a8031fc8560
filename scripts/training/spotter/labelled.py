"""Clips with their labels, from the bench and from the project's own renderers, in folds.

A group (an acted pair, a film, a strike of the capture) lies in one fold whole, so that what is
said of a fold was never seen by the fit that says it. Films that share no group with anything that
is judged lie in no fold: every fit sees them.
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

FOLDS: Final = 3
KIND_OF: Final = {
    "punch": "blow", "kick": "blow", "knee": "blow", "slap": "blow", "weapon": "blow",
    "push": "push", "slam": "fall", "fall": "fall", "thing": "thing",
}  # fmt: skip
"""The spotter's kind for each kind of the labels."""


@dataclass(frozen=True)
class Mark:
    """One labelled contact. Frames of its clip; places in shares of width and height.

    Parameters
    ----------
    frame : int
        First frame in which it reads.
    off : float
        Frames by which the label may be off.
    scored : bool
        False: neither asked for nor held against a finder.
    lag : float or None
        Frames from contact to reaction.
    kind : str or None
        One of `KINDS`.
    """

    frame: int
    off: float = 0.0
    scored: bool = True
    place: tuple[float, float] | None = None
    lag: float | None = None
    kind: str | None = None


@dataclass(frozen=True, eq=False)
class Labelled:
    """A clip, what is in it, and who may be fitted on it.

    Parameters
    ----------
    name : str
        Unique.
    path : Path or None
        None for a film, which is made when its planes are.
    source : str
        What it counts as: "acted", "cctv", "sparring", "calm", "things", "rendered", or the kind of
        a film.
    group : str
        What never lies in two folds.
    fold : int or None
        None: in no fold, so that every fit sees it and none is judged on it.
    complete : bool
        Every contact is labelled.
    unsure : tuple of (int, int)
        First and last frames of stretches that are neither asked for nor false.
    film : (str, int) or None
        Kind and number, as `films.film` takes them.
    shape_on_grid : (float, float)
        Shares of the grid of planes that its picture fills; known when its planes are made.
    """

    name: str
    path: Path | None
    source: str
    group: str
    fold: int | None
    rate: Fraction
    frames: int
    marks: tuple[Mark, ...]
    complete: bool = True
    unsure: tuple[tuple[int, int], ...] = ()
    film: tuple[str, int] | None = None
    shape_on_grid: tuple[float, float] = (1.0, 1.0)


def bench_clips(bench: Path) -> list[Labelled]:
    """The labelled clips of ``people``, ``clips`` and ``rendered``; the last are judged only."""
    return [
        *_with_folds(_read(bench / "people", _people_source)),
        *_with_folds(_read(bench / "clips", lambda _: "things")),
        *rendered_clips(bench),
    ]


def rendered_clips(bench: Path) -> list[Labelled]:
    """The rendered clips: each in the fold of its strike (`strike_fold`)."""
    sets = json.loads((bench / "sets.json").read_text())["dev"]
    shots = {f"dev_{number:02d}.mp4": shot for number, shot in enumerate(sets)}
    return [
        _labelled(bench / "rendered", row, "rendered", group, strike_fold(group))
        for row in json.loads((bench / "rendered/labels.json").read_text())
        for group in [f"strike {shots[row['clip']]['strike']}"]
    ]


def strike_fold(group: str) -> int | None:
    """Fold of a film of the capture; None where it is of no strike of its own ("strike 3")."""
    word, _, number = group.partition(" ")
    return int(number) % FOLDS if word == "strike" and number.isdecimal() else None


def _people_source(group: str) -> str:
    if "no blow" in group:
        return "calm"
    return "sparring" if group.startswith("sparring") else group.split(",")[0]


def _read(folder: Path, source: Any) -> list[Labelled]:
    rows = json.loads((folder / "labels.json").read_text())
    return [
        _labelled(folder, row, source(row.get("group") or ""), _group(row), None)
        for row in sorted(rows, key=lambda row: str(row["clip"]))
    ]


def _group(row: dict[str, Any]) -> str:
    """Acted pairs are groups; other clips are each a film of their own."""
    group = row.get("group") or "none"
    return group if group.startswith("acted") else f"{group}: {row['clip']}"


def _labelled(
    folder: Path, row: dict[str, Any], source: str, group: str, fold: int | None
) -> Labelled:
    return Labelled(
        name=f"{folder.name}/{row['clip']}",
        path=folder / row["clip"],
        source=source,
        group=group,
        fold=fold,
        rate=Fraction(row["fps"]),
        frames=int(row["frames"]),
        marks=tuple(_mark(hit) for hit in row["hits"]),
        complete=row.get("complete", True),
        unsure=tuple((int(a), int(b)) for a, b in row.get("unsure", [])),
    )


def _mark(hit: dict[str, Any]) -> Mark:
    kind = hit.get("kind")
    if "what" in hit:
        kind = "thing"
    elif "limb" in hit:
        kind = "punch" if "hand" in hit["limb"] else "kick"
    exact = hit.get("contact", hit["frame"])
    return Mark(
        frame=int(hit["frame"]),
        off=float(hit.get("pm", 0)),
        scored=hit.get("scored", True),
        place=(hit["x"], hit["y"]) if hit.get("x") is not None else None,
        lag=float(hit["reaction"] - exact) if "reaction" in hit else None,
        kind=KIND_OF.get(kind or ""),
    )


def _with_folds(clips: list[Labelled]) -> list[Labelled]:
    """Each clip in a fold: pairs by number, films of one source in runs, so that likely neighbours
    (parts of one recording, named one after the other) stay together.
    """
    by_source: dict[str, list[str]] = defaultdict(list)
    for clip in clips:
        of_source = by_source[_run(clip)]
        if clip.group not in of_source:
            of_source.append(clip.group)
    fold = {
        group: min(index * FOLDS // len(groups), FOLDS - 1)
        for groups in by_source.values()
        for index, group in enumerate(
            sorted(groups, key=_natural) if "acted" in groups[0] else groups
        )
    }
    return [replace(clip, fold=fold[clip.group]) for clip in clips]


def _run(clip: Labelled) -> str:
    """What is dealt out over the folds evenly: the kind of clip, those with blows apart."""
    kind = clip.source if clip.source in ("acted", "things") else clip.group.split(":")[0]
    return f"{kind} {bool(clip.marks)}"


def _natural(group: str) -> tuple[int, str]:
    digits = "".join(letter for letter in group if letter.isdecimal())
    return int(digits or 0), group


def targets(
    clip: Labelled, frames: NDArray[np.float64], sharpness: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """How much each of some frames is a contact, and whether it is judged.

    Parameters
    ----------
    frames : float64, shape (n,)
        Rising clip frames, not necessarily whole.
    sharpness : float
        Standard deviation of a contact, steps of ``frames``; a label's own doubt adds to it.

    Returns
    -------
    float32, float32, shape (n,)
    """
    wanted = np.zeros(len(frames), np.float32)
    judged = np.full(len(frames), float(clip.complete), np.float32)
    step = max(1e-3, float(np.median(np.diff(frames))))
    for mark in clip.marks:
        away = np.abs(frames - mark.frame) / step
        if mark.scored:
            judged[away <= 8] = 1
            width = sharpness + 0.35 * mark.off / step
            bell = np.exp(-0.5 * (away / width) ** 2) * (away <= 4)
            wanted = np.maximum(wanted, bell.astype(np.float32))
    for mark in clip.marks:
        if not mark.scored:
            beside = np.abs(frames - mark.frame) / step <= 5
            judged[beside & (wanted < 0.3)] = 0
    for first, last in clip.unsure:
        judged[(frames >= first - 2) & (frames <= last + 2)] = 0
    return wanted, judged
