"""Reading somebody's EDL from a file, and bytes to write it back."""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from impactcut.errors import ListFormatError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import LARGEST_LIST, parse_edl

_MARKS = {
    codecs.BOM_UTF32_LE: "utf-32",
    codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
"""Byte-order marks; that of UTF-32 begins with that of UTF-16, so it comes first."""
_MANY_ZEROS = 4
"""Text of one byte a character has no zero bytes; Latin letters in UTF-16 have one in two."""


@dataclass(frozen=True)
class ListFile:
    """A list and the file it was read from.

    Parameters
    ----------
    encoding : str
        Of the file, as `read_text` gives it.
    """

    path: Path
    document: EdlDocument
    encoding: str

    @property
    def is_wide(self) -> bool:
        """Whether the file has two or four bytes for a character, as a list never should."""
        return self.encoding in _MARKS.values()

    def encoded(self, text: str) -> bytes:
        """Text of the list as the file had it; instead of wide characters, UTF-8."""
        return text.encode("utf-8" if self.is_wide else self.encoding, "replace")


def read_list_file(path: Path, rate: Fraction) -> ListFile:
    """Read a list.

    Raises
    ------
    ListFormatError
        If the file cannot be read, or is no list.
    RateError
        If the rate has no timecode.
    """
    text, encoding = read_text(path, "an EDL", LARGEST_LIST)
    with blaming(path):
        return ListFile(path, parse_edl(text, rate), encoding)


@contextmanager
def blaming(path: Path) -> Iterator[None]:
    """Have errors about a list's text name the file that it came from."""
    try:
        yield
    except ListFormatError as error:
        raise ListFormatError(f"{path}: {error}") from error


def read_text(path: Path, kind: str, most_bytes: int) -> tuple[str, str]:
    """Text of a file that somebody wrote, and its encoding.

    UTF-16 and UTF-32 are known by their byte-order mark (The Unicode Standard, section 23.8); what
    is neither they nor UTF-8 is taken byte by byte, as Latin-1.

    Parameters
    ----------
    kind : str
        What the file should be, with its article.

    Raises
    ------
    ListFormatError
        If the file cannot be read, or is too large to be one.
    """
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= most_bytes else b""
    except OSError as error:
        raise ListFormatError(
            f"{path}: cannot be read ({error.strerror}); check its name and permissions"
        ) from error
    if size > most_bytes:
        raise ListFormatError(f"{path}: {size} bytes are too many for {kind}; is it one?")
    try:
        return _decoded(content)
    except UnicodeError as error:
        raise ListFormatError(
            f"{path}: looks like UTF-16 but cannot be read as such; save it as plain text "
            "(ASCII or UTF-8)"
        ) from error


def _decoded(content: bytes) -> tuple[str, str]:
    marked = (name for mark, name in _MARKS.items() if content.startswith(mark))
    encoding = next(marked, None)
    if encoding is not None:
        return content.decode(encoding), encoding
    if content.count(0) > len(content) // _MANY_ZEROS:
        raise UnicodeError("wide characters without a byte-order mark")
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return content.decode("latin-1"), "latin-1"
