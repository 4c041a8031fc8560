"""What a trim gains and shows, in plain words with numbers, and what would show less."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from impactcut.core.detect.hits import Hit
from impactcut.core.sound.sync import sync_shift
from impactcut.core.time.frames import frames_in_words, milliseconds
from impactcut.core.trims.speed import Band, felt_by
from impactcut.core.trims.trim import Trim, Verdict, lag_after
from impactcut.core.trims.visibility import BRIGHTNESS, GAP, SPEECH
from impactcut.core.viewer.judge import CASUAL, FRONT_ROW_DEGREES, Judge

PICTURE_PIXELS = 1920

FELT: dict[Band, str] = {
    "nobody": "nobody can tell",
    "side by side": "told only side by side",
    "attentive": "an attentive viewer feels it",
    "anybody": "anybody feels it",
    "doubtful": "check that it is still believable",
}
SHOWS: dict[Verdict, str] = {
    "clean": "to nobody",
    "frame-step": "frame by frame",
    "attentive": "to attentive viewers",
    "obvious": "to everybody",
}
"""How a splice shows, where that is sure; `shows` has the words of every table and list."""
UNCERTAIN = "uncertain: "
"""How the reason begins why a visibility is not to be relied on."""
COUNTER = "a counter jumps here, unless the finished picture is made from clean ones"
"""What every list says of a hit whose clip shows a running counter."""
CAMERA = {
    "locked": "although the camera stands",
    "handheld": "the camera sways there",
    "panning": "the camera pans evenly",
    "zooming": "the camera zooms evenly",
}

BODIES = {"strike": "the limb", "striker": "the striker", "receiver": "the receiver"}


@dataclass(frozen=True)
class Finding:
    """What was measured of one trim, beyond the trim itself.

    Parameters
    ----------
    jump : float
        What the hit does not explain of the worst channel: widths, log luma for brightness, 0 for
        speech.
    crispness : float
        How much harder the strike stops, as a ratio.
    difference, apart : float
        As in `Visibility`.
    unique : int
        Removed frames that repeat no other.
    """

    jump: float
    crispness: float
    difference: float
    apart: float
    unique: int


def trim_reasons(
    hit: Hit, rate: Fraction, trim: Trim, finding: Finding, judge: Judge
) -> tuple[str, ...]:
    """Why the trim is good or bad, the weightiest first.

    Parameters
    ----------
    rate : Fraction
        Frames per second.
    """
    look = (gain_in_words(trim.speed_gain, judge), _crispness(finding.crispness))
    lag = (_lag(hit, rate, trim, judge),)
    shows = (
        _worst(hit, rate, trim, finding),
        _speech(rate, trim),
        _doubt(trim, finding, judge),
        _front_row(trim, judge),
        _repeats(trim, finding),
        _confirmed(trim, finding),
    )
    in_time = _comes_in_time(hit, rate, trim, judge)
    gains = look if in_time else look + lag
    ordered = shows + gains if trim.visibility >= 1 else gains + shows
    if in_time:
        ordered = lag + ordered
    return tuple(reason for reason in ordered if reason)


def shows(trim: Trim) -> str:
    """To whom a splice shows, or first of all that this is uncertain, and in a few words why.

    What is uncertain is never said to show to nobody.
    """
    if trim.confident is not False:
        return SHOWS[trim.verdict]
    told = (reason for reason in trim.reasons if reason.startswith(UNCERTAIN))
    why = ": ".join(next(told, f"{UNCERTAIN}look at it").split(": ")[:2])
    return why if trim.verdict == "clean" else f"{why}; as measured, {SHOWS[trim.verdict]}"


def verdict_words(trim: Trim) -> str:
    """`shows` as a whole: ``"shows to nobody"``, ``"uncertain: ..."``."""
    words = shows(trim)
    return words if words.startswith(UNCERTAIN) else f"shows {words}"


def gain_in_words(gain: float, judge: Judge) -> str:
    """The speed gain and who feels it."""
    if gain < 2 - judge.least_gain:
        return f"the strike looks {gain:.2f} times as fast: slower"
    return f"the strike looks {gain:.2f} times as fast: {FELT[felt_by(gain, judge)]}"


def worst_channel(trim: Trim) -> str:
    """Name of what shows most."""
    return max(trim.channels, key=trim.channels.__getitem__)


def remedy(hit: Hit, trim: Trim, better: Trim | None) -> str:
    """What to take out instead, where something else shows less."""
    if better is None:
        return "no trim of this hit gains and stays under the warning line: try another take"
    return f"take {where(hit, better)} instead: {better.visibility:.1f}"


def where(hit: Hit, trim: Trim) -> str:
    """The removed frames, counted from the contact."""
    offset = trim.first - hit.contact
    frames = "the frame" if trim.count == 1 else f"the {trim.count} frames"
    if offset == 0:
        return f"{frames} {'at' if trim.count == 1 else 'from'} contact"
    start = "" if trim.count == 1 else "from "
    return f"{frames} {start}{abs(offset)} {'before' if offset < 0 else 'after'} contact"


def _worst(hit: Hit, rate: Fraction, trim: Trim, finding: Finding) -> str:
    if trim.visibility < 1:
        return "hidden in the hit"
    name = worst_channel(trim)
    if name == SPEECH:
        return _cut_speech(rate, trim)
    if name == BRIGHTNESS:
        return f"the brightness steps by {math.expm1(finding.jump):.0%} at the splice"
    pixels = f"{_rounded(finding.jump * PICTURE_PIXELS)} px at {PICTURE_PIXELS}"
    if name == GAP:
        return f"the limb leaves {pixels} of its path uncovered"
    if name == "background":
        return f"the background jumps {pixels}: {CAMERA.get(hit.camera, 'the camera moves')}"
    if name in BODIES:
        return f"{BODIES[name]} leaps {pixels} beyond what the hit explains: {_moment(hit, trim)}"
    return f"{name} jumps {pixels}: it has no part in the hit that could hide it"


def _speech(rate: Fraction, trim: Trim) -> str:
    """That speech is cut, where something else shows more."""
    if not trim.channels.get(SPEECH) or worst_channel(trim) == SPEECH:
        return ""
    return _cut_speech(rate, trim)


def _cut_speech(rate: Fraction, trim: Trim) -> str:
    shift = sync_shift(trim.count, rate)
    length = f"{float(shift.milliseconds):.0f} ms"
    return (
        f"somebody speaks there: lips in the picture jump by {length}, and sound that is not cut "
        f"is {length} off ({shift.words})"
    )


def _rounded(pixels: float) -> str:
    return f"{pixels:.0f}" if pixels >= 20 else f"{pixels:.1f}"


def _moment(hit: Hit, trim: Trim) -> str:
    if trim.first > hit.contact:
        return "the contact is over and hides nothing"
    if trim.frames.stop < hit.contact:
        return "the contact comes too late to hide it"
    return "more than the contact can hide"


def _repeats(trim: Trim, finding: Finding) -> str:
    repeats = trim.count - finding.unique
    if repeats <= 0:
        return ""
    if trim.count == 1:
        return "the frame repeats another: it costs nothing"
    return f"{repeats} of the {trim.count} frames repeat another and cost nothing"


def _confirmed(trim: Trim, finding: Finding) -> str:
    if trim.visibility >= 1 or not 0 < finding.difference <= 1:
        return ""
    return "the picture changes no more across the splice than around it"


def _doubt(trim: Trim, finding: Finding, judge: Judge) -> str:
    """Why the visibility is uncertain, where it is."""
    if trim.confident is not False:
        return ""
    if finding.apart > judge.chain_tolerance:
        pixels = f"{_rounded(finding.apart * PICTURE_PIXELS)} px at {PICTURE_PIXELS}"
        return (
            f"{UNCERTAIN}the bodies move otherwise than measured: by {pixels} from picture to "
            "picture, beside what the frames between add up to, so look at it"
        )
    return (
        f"{UNCERTAIN}the picture changes more than what moves explains: {finding.difference:.1f} "
        "times as much across the splice as around it, so look at it"
    )


def _front_row(trim: Trim, judge: Judge) -> str:
    """What more somebody in front sees, where that crosses the warning line."""
    line = judge.attentive_ratio
    if trim.front_row is None or not trim.visibility < line <= trim.front_row:
        return ""
    angle = f"{FRONT_ROW_DEGREES:.0f} degrees"
    return f"from the front row ({angle}) it reaches {trim.front_row:.1f} and may be seen"


def _crispness(crispness: float) -> str:
    return f"it stops {crispness:.2f} times as hard" if crispness >= 1 + CASUAL.weber else ""


def _comes_in_time(hit: Hit, rate: Fraction, trim: Trim, judge: Judge) -> bool:
    """Whether a late reaction is in time with a trim that stays under the warning line."""
    before, after = hit.reaction_lag, lag_after(hit, trim.first, trim.count)
    if before is None or after is None or trim.visibility >= judge.attentive_ratio:
        return False
    return judge.is_late(before, rate) and not judge.is_late(after, rate)


def _lag(hit: Hit, rate: Fraction, trim: Trim, judge: Judge) -> str:
    before, after = hit.reaction_lag, lag_after(hit, trim.first, trim.count)
    if before is None or after is None or before == 0:
        return ""
    if before < 0:
        return early_in_words(before, after)
    now = f"{milliseconds(after, rate)} ms"
    if after < before:
        sooner = "at once" if after <= 0 else f"after {now}"
        return f"the receiver reacts {sooner} instead of after {milliseconds(before, rate)} ms"
    late = judge.is_late(after, rate)
    return f"the receiver still reacts {now} after the contact" if late else ""


def early_in_words(before: int, after: int) -> str:
    """What a trim makes of a reaction ``before`` frames from the contact, below 0."""
    first = f"the receiver moves {frames_in_words(-before)} before the contact"
    if after == before:
        return f"{first}: frames taken out just before the contact bring him closer to it"
    return f"{first}; with this trim {'at it' if after == 0 else frames_in_words(-after)}"
