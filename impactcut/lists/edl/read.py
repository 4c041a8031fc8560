"""Reading a CMX3600-form EDL: tolerant, keeping every line, warning of everything odd."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from fractions import Fraction

from impactcut.core.time.timebase import DROP_RATES, Timebase
from impactcut.errors import ListFormatError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.lines import Clocks, read_frame_code_mode, read_statement
from impactcut.lists.edl.oddities import mode_oddities, oddities
from impactcut.lists.edl.statements import Carried, EventLine, FrameCodeMode, Statement, Unread

LARGEST_LIST = 20_000_000
LINES_BEFORE_EVENTS = 2000
FAULTS_ALLOWED = 1000


def parse_edl(text: str, rate: Fraction) -> EdlDocument:
    """Read a list.

    The first frame-code mode counts record and source timecodes, a later one the source
    timecodes from there on; where the marks of the timecodes say otherwise, the mode wins. Lines
    that cannot be read are kept as `Unread`.

    Parameters
    ----------
    text : str
        Lines ended by CR LF, LF or CR.
    rate : Fraction
        Frames per second: a list does not state its own.

    Raises
    ------
    ListFormatError
        If the text is no list: too large, without an event that can be read, or mostly garbage.
    RateError
        If the rate has no timecode.
    """
    if len(text) > LARGEST_LIST:
        raise ListFormatError(f"{len(text)} characters are too many for an EDL; is it one?")
    text = re.sub(r"\r\n?", "\n", text.lstrip("\ufeff"))
    record_clock = _record_clock(text, rate)
    statements = tuple(_refusing_garbage(_read(text, record_clock)))
    _require_events(statements)
    modes = mode_oddities(statements, rate in DROP_RATES)
    warnings = sorted((*modes, *oddities(statements)), key=lambda warning: warning.line)
    return EdlDocument(record_clock, statements, tuple(warnings))


def _record_clock(text: str, rate: Fraction) -> Timebase:
    """The clock of the first mode that names one, else of the first timecode's mark."""
    Timebase(rate).label(0)
    for line in re.finditer(r"^[ \t]*FCM\b.*$", text, re.MULTILINE | re.IGNORECASE):
        drop = read_frame_code_mode(line[0])
        if drop is not None:
            return _clock(rate, drop)
    label = re.search(r"\d\d:\d\d[:;]\d\d([:;])\d\d", text, re.ASCII)
    return _clock(rate, label is not None and label[1] == ";")


def _clock(rate: Fraction, drop: bool) -> Timebase:
    return Timebase(rate, drop and rate in DROP_RATES)


def _read(text: str, record_clock: Timebase) -> Iterator[Statement]:
    source_clock = record_clock
    for number, line in enumerate(io.StringIO(text), 1):
        statement = read_statement(
            number, line.removesuffix("\n"), Clocks(source_clock, record_clock)
        )
        if isinstance(statement, FrameCodeMode) and statement.drop_frame is not None:
            source_clock = _clock(record_clock.rate, statement.drop_frame)
        yield statement


def _refusing_garbage(statements: Iterable[Statement]) -> Iterator[Statement]:
    """Pass statements on until they are plainly no list's."""
    events = faults = 0
    for count, statement in enumerate(statements, 1):
        events += isinstance(statement, EventLine)
        faults += isinstance(statement, Unread)
        faults += isinstance(statement, Carried) and not statement.known
        if not events and count >= LINES_BEFORE_EVENTS:
            raise ListFormatError(f"no event in the first {count} lines; is this an EDL?")
        if faults > FAULTS_ALLOWED and faults > count // 2:
            raise ListFormatError(f"{faults} of {count} lines cannot be read; is this an EDL?")
        yield statement


def _require_events(statements: Iterable[Statement]) -> None:
    if any(isinstance(statement, EventLine) for statement in statements):
        return
    unread = next((each for each in statements if isinstance(each, Unread)), None)
    if unread is None:
        raise ListFormatError("the text holds no event; is it an EDL?")
    raise ListFormatError(
        f"no event can be read; line {unread.line}: {unread.reason}. Is the stated rate right?"
    )
