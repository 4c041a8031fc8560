"""What another take or angle of the same beat would allow, where a trim shows in this one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from impactcut.core.fight.entries import HitEntry
from impactcut.core.takes.names import take_words
from impactcut.core.time.frames import frames_in_words
from impactcut.core.trims.propose import choose
from impactcut.core.trims.reasons import worst_channel
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.core.trims.visibility import BRIGHTNESS, GAP, SPEECH
from impactcut.core.viewer.judge import Judge

MOST: Final = 2
"""Takes named at most; more would not be read."""
_CAUSES: Final = {
    "strike": "as the limb leaps",
    "striker": "as the striker leaps",
    "receiver": "as the receiver leaps",
    GAP: "as the limb leaves a gap",
    BRIGHTNESS: "as the light steps",
    SPEECH: "as somebody speaks",
}
_CAMERAS: Final = {
    "panning": "as the camera pans",
    "zooming": "as the camera zooms",
    "handheld": "as the camera sways",
}


def better_elsewhere(own: HitEntry, others: Iterable[HitEntry]) -> tuple[str, ...]:
    """Where what shows in a hit would not show, in plain words with numbers.

    ``others`` are the same beat in other takes or angles; the least visible comes first.
    """
    judge = own.judge
    wanted = _wanted(own.proposal, judge)
    if wanted is None:
        return ()
    found: list[tuple[float, str]] = []
    for other in others:
        trims = [trim for trim in other.proposal.trims if trim.count == wanted.count]
        better = choose(trims, judge)
        if better is not None:
            found.append((better.visibility, _words(wanted, own.impact.camera, other, better)))
    return tuple(words for _, words in sorted(found)[:MOST])


def _wanted(own: Proposal, judge: Judge) -> Trim | None:
    """The trim that gains most over what is proposed, but shows or must not be made."""
    has = 1.0 if own.proposed is None else own.proposed.speed_gain
    able = [trim for trim in own.trims if trim.speed_gain >= has * judge.least_gain]
    fewest = _of_least_count([trim for trim in able if _barred(trim, judge)])
    return min(fewest, key=lambda trim: (bool(trim.vetoes), trim.visibility), default=None)


def _barred(trim: Trim, judge: Judge) -> bool:
    """Whether it is believed, but shows or must not be made."""
    if trim.speed_gain > judge.believable_gain:
        return False
    return bool(trim.vetoes) or trim.visibility >= judge.attentive_ratio


def _of_least_count(trims: Sequence[Trim]) -> list[Trim]:
    least = min((trim.count for trim in trims), default=0)
    return [trim for trim in trims if trim.count == least]


def _words(wanted: Trim, camera: str, other: HitEntry, better: Trim) -> str:
    frames, reach = frames_in_words(wanted.count), "reaches" if wanted.count == 1 else "reach"
    here = f"{frames} out {reach} {wanted.visibility:.1f} here, {_cause(wanted, camera)}"
    if wanted.vetoes:
        here = f"{frames} out must not be here: {wanted.vetoes[0].partition(';')[0]}"
    return (
        f"{here}; in {take_words(other.clip)} (hit {other.called}) {better.visibility:.1f}, "
        f"looking {better.speed_gain:.2f} times as fast"
    )


def _cause(trim: Trim, camera: str) -> str:
    name = worst_channel(trim)
    if name == "background":
        return _CAMERAS.get(camera, "as the background jumps")
    return _CAUSES.get(name, "as somebody or something else moves in this shot")
