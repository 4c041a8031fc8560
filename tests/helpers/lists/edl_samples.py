"""Invented lists with the liberties that lists in circulation take, whole and damaged at random."""

from __future__ import annotations

import re

from hypothesis import strategies as st

PLAIN = """\
TITLE: QUAY WAREHOUSE SC 12
FCM: NON-DROP FRAME
001  A004C011 V     C        01:02:10:00 01:02:13:07 01:00:00:00 01:00:03:07
* FROM CLIP NAME: A004C011_TAKE2.MOV
002  BL       V     C        00:00:00:00 00:00:00:00 01:00:03:07 01:00:03:07
002  A005C003 V     D    012 02:00:00:00 02:00:02:00 01:00:03:07 01:00:05:07
EFFECTS NAME IS CROSS DISSOLVE
* FROM CLIP NAME: BLACK
* TO CLIP NAME: A005C003_TAKE1.MOV
003  A005C004 AA/V  C        03:00:00:00 03:00:02:00 01:00:05:07 01:00:06:07
M2   A005C004       048.0                03:00:00:00
* FROM CLIP NAME: A005C004_TAKE1.MOV
AUD  3    4
"""

TRANSITIONS = """\
TITLE: TRANSITIONS
FCM: NON-DROP FRAME
001  A1       V     C        01:00:00:00 01:00:01:00 01:00:00:00 01:00:01:00
002  A1       V     C        01:00:01:00 01:00:01:00 01:00:01:00 01:00:01:00
002  B1       V     W001 024 02:00:00:00 02:00:02:00 01:00:01:00 01:00:03:00
003  A1       V     K B      01:00:05:00 01:00:06:00 01:00:03:00 01:00:04:00
003  B1       V     K    010 02:00:05:00 02:00:06:00 01:00:03:00 01:00:04:00
004  B1       V     K O  005 02:00:05:00 02:00:06:00 01:00:04:00 01:00:05:00
005  B1       V     KB       02:00:05:00 02:00:06:00 01:00:05:00 01:00:06:00
"""

SPLIT = """\
TITLE: SPLIT
FCM: NON-DROP FRAME
SPLIT:    AUDIO DELAY=  00:00:00:12
001  A1       V     C        01:00:00:00 01:00:01:00 01:00:00:00 01:00:01:00
001  A1       A2    C        01:00:00:12 01:00:01:00 01:00:00:12 01:00:01:00
SPLIT:    VIDEO DELAY=  00:00:00:03
002  A1       B     C        01:00:01:00 01:00:02:00 01:00:01:00 01:00:02:00
"""

SLOPPY = (
    "\ufeff  TITLE:   SLOPPY  \n"
    "FCM: NON-DROP FRAME\n"
    "\n"
    "000001\tA004C011_230915_R1AB\tV\tC\t01:00:00:00 01:00:01:00\t01:00:00:00 01:00:01:00\n"
    "*FROM CLIP NAME:A004.MOV\n"
    "0002  A1 V C 01:00:00:00 01:00:02:00 01:00:01:00 01:00:02:00\n"
    "003  WILD     A     C        00:00:00:00 00:00:00:00 01:00:02:00 01:00:03:00\n"
    "004  A1       V     C        01:00:00:00 01:00:01:00 01:00:00:00 01:00:01:00 LATE\n"
    "005           V     C        01:00:00:00 01:00:01:00 01:00:01:00 01:00:02:00\n"
    "006  TWO REEL V     C        01:00:00:00 01:00:01:00 01:00:02:00 01:00:03:00\n"
    "007  A1       X     C        01:00:00:00 01:00:01:00 01:00:03:00 01:00:04:00\n"
    "008  A1       V     D        01:00:00:00 01:00:01:00 01:00:04:00 01:00:05:00\n"
    "009  A1       V     C        01:00:00;00 01:00:01;00 01:00:05:00 01:00:06:00\n"
    "010  A1       V     C        23:59:59:00 00:00:00:12 01:00:06:00 01:00:07:12\n"
    "011  A1       V     C        01:00:00:30 01:00:01:00 01:00:08:00 01:00:09:00\n"
    "012  A1       V     C        01:00:00:00 01:00:01:00 01:00:08:00\n"
    "M2   B9       -024.0               01:00:00:00\n"
    "M2   A1\n"
    "SPLIT: SOMETHING\n"
    "AUD\n"
    "FCM: DROP FRAME/NON-DROP FRAME\n"
    "SEE NOTES OF THE NIGHT\n"
    "* Käi lands late\n"
)

DROP = """\
TITLE: DROP
FCM: DROP FRAME
001  A1       V     C        00:00:59;20 00:01:00;12 01:00:00;00 01:00:00;20
FCM: NON-DROP FRAME
002  A2       V     C        00:01:00:00 00:01:00:10 01:00:00;20 01:00:01;00
FCM: DROP FRAME
003  A3       V     C        00:01:00;02 00:01:00;12 01:00:01;00 01:00:01;10
"""

SCRAPS = st.sampled_from(
    ["\r", "\n", "\t", "*", ":", ";", "M2 ", "FCM: DROP FRAME\n", "SPLIT:", "AUD", "001", "  ",
     "99:99:99:99", "01:00:00:00", "K B", "W", "\x00", "\x0b", "\x1a", "\u2028", "\ufeff", "é",
     "-", "/V", "99999999999"]
)  # fmt: skip


@st.composite
def damaged_lists(draw: st.DrawFn) -> str:
    text = draw(st.sampled_from([PLAIN, TRANSITIONS, SPLIT, SLOPPY, DROP]))
    for _ in range(draw(st.integers(1, 12))):
        start = draw(st.integers(0, len(text)))
        stop = min(len(text), start + draw(st.integers(0, 20)))
        text = text[:start] + draw(SCRAPS | st.text(max_size=5)) + text[stop:]
    return text


def lines_of(text: str) -> list[str]:
    lines = re.split("\r\n|\r|\n", text.lstrip("\ufeff"))
    return lines if lines[-1] else lines[:-1]
