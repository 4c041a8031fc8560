"""Taste: which gain, and how much of a splice, the people who approve trims take.

The trims approved in a project have gains ``g`` and visibilities ``v``. The gain taken is the
geometric mean of the ``g``, and the visibility taken goes up to the mean of the ``v`` and a
standard deviation more, which five of six approved trims of a normal distribution stay under. Both
have the standard errors of a normal sample. By taste, a hit gets the trim whose gain is nearest to
that taken, of those that show no more, or to nobody.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.core.viewer.judge import TRAINED, Judge
from impactcut.core.words import counted

LEAST_APPROVALS: Final = 10
SAME_GAIN: Final = math.log(1 + TRAINED.weber)
"""Gains whose logarithms differ by less are one: a trained observer cannot tell them apart."""

SEEN: Final = 1.0
"""Visibility below which a splice shows to nobody, whatever anybody's taste."""


@dataclass(frozen=True)
class Choice:
    """What somebody approved of a hit, and what there was.

    Parameters
    ----------
    proposal : Proposal
        As made without taste.
    """

    proposal: Proposal
    approved: Trim
    who: str


@dataclass(frozen=True)
class Taste:
    """What approved trims gain and show.

    Parameters
    ----------
    who : tuple of str
        Whose they are, whoever has most first.
    gain : float
        Geometric mean; ``gain_error`` is the factor of a standard error.
    visibility : float
        Up to which trims are taken, thresholds; ``visibility_error`` is a standard error.
    alike : (int, int)
        Approved trims that are what was proposed by rule, and what would be proposed by the taste
        of all others.
    """

    approvals: int
    who: tuple[str, ...]
    gain: float
    gain_error: float
    visibility: float
    visibility_error: float
    alike: tuple[int, int] = (0, 0)


def taste_of(choices: Sequence[Choice], judge: Judge) -> Taste:
    """The taste that choices show.

    Raises
    ------
    ValueError
        If there are fewer than `LEAST_APPROVALS`.
    """
    if len(choices) < LEAST_APPROVALS:
        raise ValueError(f"{len(choices)} of the {LEAST_APPROVALS} approvals that a taste takes")
    ruled = own = 0
    for place, choice in enumerate(choices):
        others = _taste([*choices[:place], *choices[place + 1 :]])
        ruled += _same(choice.proposal.proposed, choice.approved)
        own += _same(chosen(choice.proposal.trims, others, judge), choice.approved)
    return replace(_taste(choices), alike=(ruled, own))


def _taste(choices: Sequence[Choice]) -> Taste:
    n = len(choices)
    gains = np.log([choice.approved.speed_gain for choice in choices])
    seen = np.array([choice.approved.visibility for choice in choices])
    spread = float(seen.std(ddof=1))
    names = [choice.who or "somebody" for choice in choices]
    return Taste(
        approvals=n,
        who=tuple(sorted(set(names), key=lambda name: (-names.count(name), name))),
        gain=float(np.exp(gains.mean())),
        gain_error=float(np.exp(gains.std(ddof=1) / math.sqrt(n))),
        visibility=float(seen.mean()) + spread,
        visibility_error=spread * math.sqrt(1 / n + 1 / (2 * (n - 1))),
    )


def chosen(
    trims: Iterable[Trim], taste: Taste, judge: Judge, clear: Iterable[FrameRange] = ()
) -> Trim | None:
    """The trim of a hit to the taste: of equal gains the one with fewer frames that shows less.

    Parameters
    ----------
    clear : iterable of FrameRange
        Trims of other hits, with a frame between which it has to lie.
    """
    taken = tuple(clear)
    able = [
        trim
        for trim in trims
        if not trim.vetoes
        and trim.speed_gain >= judge.least_gain
        and trim.visibility <= max(taste.visibility, SEEN)
        and all(each.stop < trim.first or trim.frames.stop < each.start for each in taken)
    ]
    away = {id(trim): abs(math.log(trim.speed_gain / taste.gain)) for trim in able}
    least = min(away.values(), default=0.0)
    near = [trim for trim in able if away[id(trim)] <= least + SAME_GAIN / 2]
    return min(near, key=lambda trim: (trim.count, trim.visibility), default=None)


def by_taste(
    proposal: Proposal, taste: Taste, judge: Judge, clear: Iterable[FrameRange] = ()
) -> Proposal:
    """A proposal with the trim to the taste in place of the one by rule."""
    trim = chosen(proposal.trims, taste, judge, clear)
    if trim is None:
        why = (
            f"no trim gains and shows no more than the {taste.visibility:.1f} that "
            f"{counted(taste.approvals, 'approval')} go up to"
        )
        return Proposal(proposal.trims, None, why)
    own = replace(trim, by_taste=True, reasons=(taste_note(taste), *trim.reasons))
    return Proposal(tuple(own if each is trim else each for each in proposal.trims), own, None)


def taste_note(taste: Taste) -> str:
    """What is taken, with its uncertainty, for people."""
    factor = (taste.gain_error - 1) * taste.gain
    return (
        f"Proposed by taste of {counted(taste.approvals, 'approval')} ({', '.join(taste.who)}): "
        f"gains of {taste.gain:.2f} (+-{factor:.2f}), visibility up to {taste.visibility:.1f} "
        f"(+-{taste.visibility_error:.1f})"
    )


def _same(one: Trim | None, other: Trim) -> bool:
    return one is not None and one.frames == other.frames
