"""Kill -9 at random moments of scanning, deciding and exporting, as often as told.

    python scripts/bench/kills.py [--kills 1000] [--seed 1]

Fails if anything that was done before a kill is lost, or a list is cut short. Prints how often a
child was killed by what it had done last, and how many unfinished files under hidden names it left.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from measuring import asked, timed

from tests.helpers.running.killing import kill_often


def main() -> None:
    """Kill, and count."""
    options = asked(__doc__, kills=1000, seed=1)
    with timed() as spent, tempfile.TemporaryDirectory() as folder:
        tally = kill_often(Path(folder), options.kills, options.seed)
    print(f"{tally.after.total()} kills in {spent.wall:.0f} s, ", end="")
    print(
        f"{spent.processor:.0f} s of processor; after {dict(tally.after.most_common())}; ", end=""
    )
    print(f"{tally.unfinished} unfinished files left under hidden names")


if __name__ == "__main__":
    main()
