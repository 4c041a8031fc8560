"""Making a session for viewers, and fitting the model to the sheets that come back."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np

from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.forced_choice import Jump, fit_calibration
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.session import draw_jumps
from impactcut.errors import AnswersError, ListFormatError
from impactcut.lists.tables.answer_sheet import parse_sheet, render_sheet
from impactcut.media.render.jump_films import film_pair
from impactcut.workflow.clock import now
from impactcut.workflow.files.list_files import blaming, read_text
from impactcut.workflow.files.writing import Content, write_files
from impactcut.workflow.progress import OnProgress

KEY, SHEET = "key.json", "sheet.csv"
_LARGEST: Final = 1_000_000


@dataclass(frozen=True)
class Key:
    """What was shown in each pair of films, and in which of the two it jumped."""

    judge: Judge
    pairs: Mapping[str, tuple[Jump, int]]


def make_session(
    folder: Path, pairs: int, seed: int, judge: Judge, on_progress: OnProgress
) -> tuple[Path, ...]:
    """Write films, answer sheet and key; the files.

    Raises
    ------
    OutputError
        If one is there already, or the folder cannot be written.
    """
    random = np.random.default_rng(seed + 1)
    contents: dict[str, Content] = {}
    key = []
    for number, jump in enumerate(draw_jumps(pairs, seed, judge), start=1):
        name, second = f"pair_{number:03d}.mp4", bool(random.integers(2))
        own = np.random.default_rng([seed, number])
        film = partial(film_pair, jump=jump, in_second=second, judge=judge, random=own)
        contents[name] = _told(film, partial(on_progress, number, pairs))
        key.append({"pair": name, "jumps_in": 2 if second else 1, **asdict(jump)})
    contents[SHEET] = render_sheet(str(entry["pair"]) for entry in key).encode()
    contents[KEY] = json.dumps({"fov_degrees": judge.fov_degrees, "pairs": key}, indent=1).encode()
    return write_files(folder, contents, replace=False)


def fit_sheets(key_path: Path, sheets: Sequence[Path]) -> Calibration:
    """What all sheets say together.

    Raises
    ------
    AnswersError
        If a file cannot be read, or the answers settle nothing.
    """
    key = _read_key(key_path)
    answers = [answer for sheet in sheets for answer in _read_sheet(sheet, key.pairs)]
    found = np.array([right for _, right in answers], bool)
    try:
        return fit_calibration([jump for jump, _ in answers], found, key.judge, len(sheets), now())
    except ValueError as error:
        raise AnswersError(f"{', '.join(map(str, sheets))}: {error}") from error


def _told(film: Callable[[Path], None], tell: Callable[[], None]) -> Callable[[Path], None]:
    def made(path: Path) -> None:
        film(path)
        tell()

    return made


def _read_key(path: Path) -> Key:
    try:
        said = json.loads(read_text(path, "a key", _LARGEST)[0])
        pairs = {
            entry.pop("pair"): (int(entry.pop("jumps_in")), Jump(**entry))
            for entry in said["pairs"]
        }
        return Key(
            Judge(said["fov_degrees"]), {name: (jump, at) for name, (at, jump) in pairs.items()}
        )
    except ListFormatError as error:
        raise AnswersError(str(error)) from error
    except (ValueError, KeyError, TypeError) as error:
        raise AnswersError(f"{path}: not the key of a session ({error}); name {KEY}") from error


def _read_sheet(path: Path, pairs: Mapping[str, tuple[Jump, int]]) -> list[tuple[Jump, bool]]:
    try:
        text, _ = read_text(path, "an answer sheet", _LARGEST)
        with blaming(path):
            said = parse_sheet(text)
    except ListFormatError as error:
        raise AnswersError(str(error)) from error
    for pair in said:
        if pair not in pairs:
            raise AnswersError(f"{path}: no pair {pair!r} in the key; use the key of this session")
    return [(pairs[pair][0], answer == pairs[pair][1]) for pair, answer in said.items()]
