"""Kill -9 at random moments of scanning, deciding and exporting, as often as told.

    python scripts/bench/kills.py [--kills 1000] [--seed 1]

Fails if anything that was done before a kill is lost, or a list is cut short. Prints how often a
child was killed by what it had done last, and how many unfinished files under hidden names it left.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.helpers.running.killing import kill_often


def main() -> None:
    """Kill, and count."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        tally = kill_often(Path(folder), options.kills, options.seed)
    spent = os.times()
    processor = spent.user + spent.system + spent.children_user + spent.children_system
    print(f"{tally.after.total()} kills in {time.perf_counter() - start:.0f} s, ", end="")
    print(f"{processor:.0f} s of processor; after {dict(tally.after.most_common())}; ", end="")
    print(f"{tally.unfinished} unfinished files left under hidden names")


if __name__ == "__main__":
    main()
