"""What the scripts of this folder share: options and clocks. Loads nothing of the program."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

ROOT: Final = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))


def asked(doc: str | None, *paths: str, **options: Any) -> argparse.Namespace:
    """What was asked for on the command line.

    Parameters
    ----------
    doc : str
        Of the script; its help shows it.
    *paths : str
        Names of paths, ``clips+`` for one or more, ``also*`` for any number.
    **options : False, number, text or list
        What each has where nothing is said: False for one that takes no value, a list for one that
        takes several.
    """
    raw = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser(description=doc, formatter_class=raw)
    for name in paths:
        many = name[-1] if name[-1] in "+*" else None
        parser.add_argument(name.rstrip("+*"), type=Path, nargs=many)
    for name, usual in options.items():
        flag = f"--{name.replace('_', '-')}"
        if usual is False:
            parser.add_argument(flag, action="store_true")
        elif isinstance(usual, list):
            parser.add_argument(flag, nargs="+", default=usual)
        else:
            parser.add_argument(flag, type=type(usual), default=usual)
    return parser.parse_args()


@dataclass
class Spent:
    """Seconds by the clock, and of the processors: by this process and those it started."""

    wall: float = 0.0
    processor: float = 0.0


@contextmanager
def timed() -> Iterator[Spent]:
    """Take the time of a block; what it started counts if it has ended. Known after the block."""
    spent, start, before = Spent(), time.perf_counter(), _processor_seconds()
    yield spent
    spent.wall, spent.processor = time.perf_counter() - start, _processor_seconds() - before


def _processor_seconds() -> float:
    children = os.times()
    return time.process_time() + children.children_user + children.children_system


def load() -> str:
    """How busy the machine is."""
    return f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
