"""A thousand damaged files through `impactcut scan`: none may stop it, and each is explained.

    python scripts/bench/faults.py [FILE...] [--files 1000] [--seed 20] [--jobs 2] [--patience 20]

The files are those of the tests (`tests/helpers/footage/faulty_files.py`): tiny clips of twelve
kinds, damaged in fifteen ways; FILEs are scanned beside them. Exits with 1 if the program fails, or
says nothing of a file, or names no remedy.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

from measuring import asked, timed

from tests.helpers.footage.faulty_files import mutated, odd_files, sources

PROGRAM = [sys.executable, "-m", "impactcut"]
FAULT = "a fault of this program"


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """A command of the program in a folder."""
    return subprocess.run([*PROGRAM, *words], cwd=folder, capture_output=True, text=True)


def write(folder: Path, number: int, seed: int, also: list[Path]) -> int:
    """Write the files; how many there are."""
    cards = folder / "cards"
    odd_files(cards)
    for faulty in mutated(sources(folder / "whole"), number, seed):
        (cards / faulty.name).write_bytes(faulty.content)
    for path in also:
        shutil.copy(path, cards / f"also_{path.name}")
    return sum(path.is_file() for path in cards.iterdir())


def short(failed: dict[str, Any]) -> str:
    """What is wrong with a file, without what is its own."""
    return re.sub(r"\(.*?\)|\d+(\.\d+)?", "#", failed["error"])[:70]


def main() -> None:
    """Scan the corpus and count what came of it."""
    options = asked(__doc__, "also*", files=1000, seed=20, jobs=2, patience=20.0)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = write(folder, options.files, options.seed, options.also)
        words = ["--jobs", str(options.jobs), "--patience", str(options.patience)]
        with timed() as took:
            scan = run(folder, "scan", "cards", *words)
        status = json.loads(run(folder, "status", "--json").stdout)
    failed = status["failed"]
    unexplained = [each["path"] for each in failed if not (each["error"] and each["remedy"])]
    faults = [each["path"] for each in failed if FAULT in each["error"]]
    passed = re.search(r"(\d+) files? passed over", scan.stdout)
    passed_over = int(passed[1]) if passed else 0
    silent = files - status["clips"] - len(failed) - passed_over
    measured = f"exit code {scan.returncode}: {status['clips']} measured"
    print(f"{files} files in {took.wall:.0f} s, {measured},")
    print(
        f"{len(failed)} explained ({len(unexplained)} without a remedy), {passed_over} passed over"
    )
    print(f"as no media by name and content, {silent} not spoken of, {len(faults)} faults")
    lost = [each for each in failed if each["tries"] > 1]
    print(f"tried more than once: {[(Path(each['path']).name, each['error']) for each in lost]}")
    for what, number in Counter(map(short, failed)).most_common():
        print(f"{number:5} {what}")
    if (
        scan.returncode not in (0, 1)
        or unexplained
        or silent
        or faults
        or "Traceback" in scan.stderr
    ):
        print(scan.stderr[-3000:], faults, file=sys.stderr)
        sys.exit(1)


if __name__ == "__main__":
    main()
