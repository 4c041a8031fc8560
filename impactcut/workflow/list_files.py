"""Reading somebody's EDL from a file, and bytes to write it back."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from impactcut.errors import ListFormatError
from impactcut.lists.edl_document import EdlDocument
from impactcut.lists.edl_read import LARGEST_LIST, parse_edl


@dataclass(frozen=True)
class ListFile:
    """A list and the file it was read from.

    Parameters
    ----------
    path : Path
    document : EdlDocument
    encoding : {"utf-8", "latin-1"}
        Of the file: what is not UTF-8 is taken byte by byte.
    """

    path: Path
    document: EdlDocument
    encoding: str

    def encoded(self, text: str) -> bytes:
        """Text of the list as the file had it."""
        return text.encode(self.encoding, "replace")


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
    try:
        return ListFile(path, parse_edl(text, rate), encoding)
    except ListFormatError as error:
        raise ListFormatError(f"{path}: {error}") from error


def read_text(path: Path, kind: str, most_bytes: int) -> tuple[str, str]:
    """Text of a file that somebody wrote, and its encoding, as in `ListFile`.

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
    return _decoded(content)


def _decoded(content: bytes) -> tuple[str, str]:
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return content.decode("latin-1"), "latin-1"
