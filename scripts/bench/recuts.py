"""Random cuts recut and damaged lists, judged by the tests' second reader; and what recuts cost.

    python scripts/bench/recuts.py [--recuts 2000] [--timelines 2000] [--fuzzed 5000] [--first 0]
                                   [--events 5000]

Fails at the first recut that loses, tears or repeats anything, and names its seed. Timelines are
judged by a walk of the tests' own: as many are rippled, held, and rippled with whole sound. The
cost is of one recut of a long list, from its text to the checked new list, in processor time and
memory.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[2]))

from impactcut.core.recut.hold_length import Hold
from tests.helpers.lists.long_cuts import make_long_project, recut_long_list, recut_long_project
from tests.helpers.lists.recut_trials import run_fuzzed, run_trial
from tests.helpers.lists.second_reader import read_list
from tests.helpers.lists.timeline_trials import WAYS, random_trial, run_timeline


def main() -> None:
    """Recut, judge, and count."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--recuts", type=int, default=2000)
    parser.add_argument("--timelines", type=int, default=2000, help="of each way")
    parser.add_argument("--fuzzed", type=int, default=5000)
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--events", type=int, default=5000)
    options = parser.parse_args()
    if options.events:
        cost(options.events)
    trials(range(options.first, options.first + options.recuts))
    for way in WAYS:
        timelines(way, range(options.first, options.first + options.timelines))
    fuzzed(range(options.first, options.first + options.fuzzed))


def trials(seeds: range) -> None:
    """Random cuts, each recut in one of the ways."""
    start = time.process_time()
    made = refused = pairs = marks = 0
    for seed in seeds:
        try:
            trial = run_trial(seed)
        except Exception as error:
            raise SystemExit(f"the recut of seed {seed}: {error!r}") from error
        made += len(trial.done.made)
        refused += len(trial.done.refused)
        seen = read_list(trial.text, trial.cut.timebase.counted)
        pairs += seen.pairs().total()
        marks += seen.marks().total()
    print(
        f"{len(seeds)} recuts: {made} trims made, {refused} refused; {pairs} sides of transitions "
        f"and {marks} marks compared; none lost or torn; {time.process_time() - start:.0f} s"
    )


def timelines(way: str, seeds: range) -> None:
    """Random timelines, each recut in one way."""
    start = time.process_time()
    made = refused = 0
    for seed in seeds:
        try:
            _, done = run_timeline(random_trial(Random(f"{way} {seed}"), way))
        except Exception as error:
            raise SystemExit(f"the timeline of seed {seed}, {way}: {error!r}") from error
        made += len(done.made)
        refused += len(done.refused)
    print(
        f"{len(seeds)} timelines, {way}: {made} trims made, {refused} refused; none lost or torn; "
        f"{time.process_time() - start:.0f} s"
    )


def fuzzed(seeds: range) -> None:
    """Damaged lists: recut and checked, or refused."""
    start = time.process_time()
    done = 0
    for seed in seeds:
        try:
            done += run_fuzzed(seed)
        except Exception as error:
            raise SystemExit(f"the damaged list of seed {seed}: {error!r}") from error
    print(
        f"{len(seeds)} damaged lists: {done} recut, {len(seeds) - done} refused, none crashed; "
        f"{time.process_time() - start:.0f} s"
    )


def cost(events: int) -> None:
    """Processor time of long lists, the first half as long, to see that it grows in step."""
    for kind in ("many clips", "one clip", "whole sound", "held", "sound below"):
        spent = []
        for count in (events // 2, events):
            start = time.process_time()
            made = recut_long_list(kind, count, count * 4 // 5)
            spent.append(time.process_time() - start)
        print(
            f"{events} events, {made} uses, {kind}: {spent[1]:.1f} s of processor, "
            f"half as many {spent[0]:.1f} s"
        )
    ways: tuple[tuple[str, Hold | None, bool], ...] = (
        ("ripple", None, False), ("held", "head", False), ("whole sound", None, True)
    )  # fmt: skip
    with TemporaryDirectory() as folder:
        path, cut = make_long_project(Path(folder), events, events * 4 // 5)
        for name, hold, whole in ways:
            start = time.process_time()
            made = recut_long_project(path, cut, hold, whole)
            print(
                f"the whole command, {events} events, {made} uses, {name}: "
                f"{time.process_time() - start:.1f} s of processor"
            )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory at its highest: {peak:.0f} MiB")


if __name__ == "__main__":
    main()
