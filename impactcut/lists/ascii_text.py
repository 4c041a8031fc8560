"""Seven-bit text of limited width, for lists that carry nothing else."""

from __future__ import annotations

import unicodedata

_SPELLED_OUT = str.maketrans(
    {
        "ß": "ss", "Æ": "AE", "æ": "ae", "Œ": "OE", "œ": "oe", "Ø": "O", "ø": "o", "Ð": "D",
        "ð": "d", "Đ": "D", "đ": "d", "Þ": "TH", "þ": "th", "Ł": "L", "ł": "l", "ı": "i",
        "‘": "'", "’": "'", "“": '"', "”": '"', "–": "-", "—": "-", "−": "-",
    }
)  # fmt: skip


def to_ascii(text: str) -> str:
    """Printable 7-bit ASCII nearest to ``text``: accents go, what has no letter becomes ``_``."""
    spelled = unicodedata.normalize("NFKD", text.translate(_SPELLED_OUT))
    letters = (char for char in spelled if not unicodedata.combining(char))
    return "".join(char if " " <= char <= "~" else "_" for char in letters)


def fit(text: str, width: int) -> str:
    """``text`` in at most ``width`` (above 2) columns; where cut, ``~`` stands for the middle.

    Both ends of a file name tell takes apart, so neither is given up.
    """
    if len(text) <= width:
        return text
    tail = (width - 1) // 2
    return f"{text[: width - 1 - tail]}~{text[-tail:]}"
