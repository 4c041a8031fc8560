"""Films the scenario, or fights left to chance: clips in a folder with ``truth.json`` beside them.

python samples/warehouse/render.py OUTDIR [--random N] [--seed S] [--jobs J]
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

if not __package__:  # run as a script: make the relative imports below work
    _HERE = Path(__file__).resolve().parent
    sys.path.insert(0, str(_HERE.parent))
    __package__ = _HERE.name

from .film import film_fight
from .scenario import scenario
from .spec import FightSpec
from .variety import random_spec

Progress = Callable[[int, int, str], None]
"""Called with clips done, clips in all, and the name of the clip just done."""


def film_all(
    out: Path, specs: list[FightSpec], progress: Progress | None = None, jobs: int | None = None
) -> list[dict[str, Any]]:
    """Film clips into a folder, and write their truth.

    Parameters
    ----------
    out : Path
        Made if absent; clips of the same name are replaced.
    specs : list of FightSpec
        `scenario` has those of the demo, `random_spec` others.
    progress : callable or None
        Called after each clip with clips done, clips in all, and its name.
    jobs : int or None
        Processes; as many as there are cores if None. With 1 everything stays in this process.

    Returns
    -------
    list of dict
        The truth, one entry per clip, as written to ``truth.json``.
    """
    out.mkdir(parents=True, exist_ok=True)
    truth = []
    for done, entry in enumerate(_filmed(out, specs, jobs or os.cpu_count() or 1), start=1):
        truth.append(entry)
        if progress is not None:
            progress(done, len(specs), entry["clip"])
    (out / "truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
    return truth


def _filmed(out: Path, specs: list[FightSpec], jobs: int) -> Iterable[dict[str, Any]]:
    if jobs == 1 or len(specs) < 2:
        yield from map(partial(film_fight, out), specs)
        return
    with ProcessPoolExecutor(min(jobs, len(specs)), mp_context=get_context("spawn")) as pool:
        yield from pool.map(partial(film_fight, out), specs)


def main(arguments: list[str] | None = None) -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path, help="folder for the clips and truth.json")
    parser.add_argument("--random", type=int, metavar="N", help="film N fights left to chance")
    parser.add_argument("--seed", type=int, default=0, help="first seed of --random")
    parser.add_argument("--jobs", type=int, help="processes (default: one per core)")
    chosen = parser.parse_args(arguments)
    specs = scenario()
    if chosen.random is not None:
        specs = [random_spec(chosen.seed + index) for index in range(chosen.random)]
    film_all(chosen.out, specs, _print_progress, chosen.jobs)


def _print_progress(done: int, total: int, name: str) -> None:
    print(f"{done}/{total} {name}", file=sys.stderr)


if __name__ == "__main__":
    main()
