"""Write synthetic films of impacts, and of movement that is none, with the truth beside each.

Usage: ``python scripts/training/footage.py OUTDIR START STOP`` writes ``obj_0000.mp4`` and
``obj_0000.json`` for every number from START up to STOP, each made from its number alone.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
from synthetic.clip import film_clip


def main(arguments: list[str]) -> int:
    """Write the clips asked for; a clip that is complete already is left alone."""
    if len(arguments) != 3:
        print(__doc__)
        return 2
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    cv2.setNumThreads(1)
    for number in range(int(arguments[1]), int(arguments[2])):
        if not (folder / f"obj_{number:04d}.json").exists():
            film_clip(folder, number)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
