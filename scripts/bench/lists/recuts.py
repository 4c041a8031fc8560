"""Random cuts recut and damaged lists, judged by the tests' second reader; and what recuts cost.

    python -m scripts.bench.lists.recuts [--recuts 2000] [--odd 5000] [--timelines 2000]
                                         [--fuzzed 5000] [--first 0] [--events 5000]

Odd lists hold what real ones do beside cuts and dissolves; of each that is recut, four damaged ones
are tried, which must not be handed over if they say anything else.

Fails at the first recut that loses, tears or repeats anything, and names its seed. Timelines are
judged by a walk of the tests' own: as many are rippled, held, and rippled with whole sound. The
cost is of one recut of a long list, from its text to the checked new list, in processor time and
memory.
"""

from __future__ import annotations

import resource
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from impactcut.core.recut.hold_length import Hold
from scripts.bench.measuring import asked, timed
from tests.helpers.lists.long_cuts import make_long_project, recut_long_list, recut_long_project
from tests.helpers.lists.odd_cuts import odd_cut
from tests.helpers.lists.odd_trials import damages, facts, passes, run_odd
from tests.helpers.lists.recut_trials import run_fuzzed, run_trial
from tests.helpers.lists.second_reader import read_list
from tests.helpers.lists.timeline_trials import WAYS, random_trial, run_timeline


def main() -> None:
    """Recut, judge, and count."""
    options = asked(
        __doc__, recuts=2000, odd=5000, timelines=2000, fuzzed=5000, first=0, events=5000
    )
    if options.events:
        cost(options.events)
    trials("recuts", options.first, options.recuts, recut)
    trials("odd lists", options.first, options.odd, odd)
    for way in WAYS:
        trials(f"timelines, {way}", options.first, options.timelines, partial(timeline, way))
    trials("damaged lists", options.first, options.fuzzed, damaged)


def trials(what: str, first: int, number: int, run: Callable[[int], Counter[str]]) -> None:
    """Run so many seeds, and say what was counted in all."""
    told = Counter[str]()
    with timed() as spent:
        for seed in range(first, first + number):
            try:
                told.update(run(seed))
            except Exception as error:
                raise SystemExit(f"{what}, seed {seed}: {error!r}") from error
    counts = ", ".join(f"{count} {name}" for name, count in told.items())
    print(f"{number} {what}: {counts}; none lost, torn or crashed; {spent.processor:.0f} s")


def recut(seed: int) -> Counter[str]:
    """A random cut, recut in one of the ways."""
    trial = run_trial(seed)
    seen = read_list(trial.text, trial.cut.timebase.counted)
    told = {"sides of transitions": seen.pairs().total(), "marks compared": seen.marks().total()}
    return Counter(made=len(trial.done.made), refused=len(trial.done.refused), **told)


def odd(seed: int) -> Counter[str]:
    """An odd cut, recut in one of the ways, and damaged."""
    trial = run_odd(odd_cut(seed))
    if trial is None:
        return Counter(refused_whole=1)
    told = Counter(made=len(trial.done.made), refused=len(trial.done.refused))
    right = facts(trial, trial.text)
    for text in damages(trial.text, Random(seed), 4) if trial.done.made else ():
        if passes(trial, text):
            assert facts(trial, text) == right, text
        else:
            told["damaged caught"] += 1
    return told


def timeline(way: str, seed: int) -> Counter[str]:
    """A random timeline, recut in one way."""
    _, done = run_timeline(random_trial(Random(f"{way} {seed}"), way))
    return Counter(made=len(done.made), refused=len(done.refused))


def damaged(seed: int) -> Counter[str]:
    """A damaged list: recut and checked, or refused."""
    return Counter({"recut" if run_fuzzed(seed) else "refused": 1})


def cost(events: int) -> None:
    """Processor time of long lists, the first half as long, to see that it grows in step."""
    for kind in ("many clips", "one clip", "whole sound", "held", "sound below"):
        with timed() as half:
            recut_long_list(kind, events // 2, events // 2 * 4 // 5)
        with timed() as whole:
            made = recut_long_list(kind, events, events * 4 // 5)
        print(
            f"{events} events, {made} uses, {kind}: {whole.processor:.1f} s of processor, "
            f"half as many {half.processor:.1f} s"
        )
    ways: tuple[tuple[str, Hold | None, bool], ...] = (
        ("ripple", None, False), ("held", "head", False), ("whole sound", None, True)
    )  # fmt: skip
    with TemporaryDirectory() as folder:
        path, cut = make_long_project(Path(folder), events, events * 4 // 5)
        for name, hold, whole_sound in ways:
            with timed() as spent:
                made = recut_long_project(path, cut, hold, whole_sound)
            print(
                f"the whole command, {events} events, {made} uses, {name}: "
                f"{spent.processor:.1f} s of processor"
            )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory at its highest: {peak:.0f} MiB")


if __name__ == "__main__":
    main()
