"""What is odd about the statements of an EDL that was read; nothing is repaired."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from impactcut.core.time.timebase import DROP_RATES
from impactcut.lists.edl.document import ListWarning, motion_events
from impactcut.lists.edl.statements import (
    Carried,
    EventLine,
    FrameCodeMode,
    Motion,
    Statement,
    Unread,
)
from impactcut.lists.reels import REEL_WIDTH


def oddities(statements: Sequence[Statement]) -> tuple[ListWarning, ...]:
    """Everything in a list that a person should look at, in the order of its lines."""
    motions = motion_events(statements)
    moving = {event for event in motions.values() if event is not None}
    found: list[ListWarning] = []
    before: EventLine | None = None
    for statement in statements:
        messages = list(_of_statement(statement))
        if isinstance(statement, EventLine):
            messages += _of_event(statement)
            if statement not in moving:
                messages += _of_speed(statement)
            if before is not None and _is_earlier(statement, before):
                messages.append("starts earlier in the programme than the event before it")
            before = statement
        elif isinstance(statement, Motion) and motions[statement] is None:
            messages.append(f"no event above it is of reel {statement.reel!r}")
        found += (ListWarning(statement.line, message) for message in messages)
    return tuple(found)


def _of_statement(statement: Statement) -> Iterator[str]:
    text = statement.text or ""
    if isinstance(statement, Unread):
        yield f"cannot be read and is carried as it stands: it {statement.reason}"
    elif isinstance(statement, Carried) and not statement.known:
        yield "is of an unknown kind and is carried as it stands"
    elif isinstance(statement, FrameCodeMode) and statement.drop_frame is None:
        yield "names no single frame-code mode, so the mode before it goes on"
    elif not text.isascii():
        yield "holds characters outside 7-bit ASCII"


def _of_event(event: EventLine) -> Iterator[str]:
    if event.digits != 3:
        yield f"has an event number of {event.digits} digits"
    if not event.reel:
        yield "names no reel"
    elif len(event.reel) > REEL_WIDTH or " " in event.reel:
        yield f"has a reel of more than {REEL_WIDTH} characters or with blanks in it"
    if not event.tracks and event.channels != "NONE":
        yield f"uses channels {event.channels!r}, which are not the usual ones"
    if (event.duration is None) != (event.transition == "C"):
        yield "is a cut with a duration, or a transition without one"
    if event.remainder:
        yield "has more on its line after the timecodes"
    yield from _of_clocks(event)


def _of_clocks(event: EventLine) -> Iterator[str]:
    marks = re.findall(r"\d\d[:;.,]\d\d[:;.,]\d\d([:;.,])\d\d", event.text or "", re.ASCII)
    clocks = [event.source_clock] * 2 + [event.record_clock] * 2
    if any((mark == ";") != clock.drop_frame for mark, clock in zip(marks, clocks, strict=False)):
        yield "marks its timecodes otherwise than the frame-code mode says; the mode is followed"
    if event.source.stop > event.source_clock.day or event.record.stop > event.record_clock.day:
        yield "ends at an earlier timecode than it starts, which is read as crossing midnight"


def _is_earlier(event: EventLine, before: EventLine) -> bool:
    follows_on = before.record.stop % event.record_clock.day == event.record.start
    return event.record.start < before.record.start and not follows_on


def _of_speed(event: EventLine) -> Iterator[str]:
    if len(event.source) == len(event.record):
        return
    if not event.source and event.source.start == 0 and "V" not in event.tracks:
        yield "is sound without source timecode"
    else:
        yield (
            f"takes {len(event.source)} source frames for {len(event.record)} of the programme, "
            "and no motion statement says so"
        )


def mode_oddities(statements: Sequence[Statement], rate_has_drop: bool) -> tuple[ListWarning, ...]:
    """Frame-code modes that are missing, or that the rate does not have."""
    modes = [each for each in statements if isinstance(each, FrameCodeMode)]
    if not modes:
        return (ListWarning(0, "no frame-code mode is stated; the timecodes' marks are followed"),)
    named = " and ".join(f"{float(rate):.2f}" for rate in DROP_RATES)
    return tuple(
        ListWarning(mode.line, f"asks for drop frame, which exists at {named} only; not followed")
        for mode in modes
        if mode.drop_frame and not rate_has_drop
    )
