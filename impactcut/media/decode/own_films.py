"""Films that this program makes to be looked at, told from footage by what their containers say."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from av.container import InputContainer, OutputContainer

from impactcut.errors import MediaError, OwnFilmError
from impactcut.media.decode.open import open_video

_MARK: Final = "made by impactcut to be looked at, no footage"


def mark_as_own(container: OutputContainer) -> None:
    """Have a film say that it is no footage."""
    container.metadata["comment"] = _MARK


def refuse_own(path: Path, container: InputContainer) -> None:
    """Refuse a film that says so.

    Raises
    ------
    OwnFilmError
    """
    if _is_marked(container):
        raise OwnFilmError(
            f"{path}: is a film that impactcut made, and no footage; name the clips themselves"
        )


def is_own(path: Path) -> bool:
    """Whether a file is a film that says so."""
    try:
        with open_video(path) as (container, _):
            return _is_marked(container)
    except MediaError:
        return False


def _is_marked(container: InputContainer) -> bool:
    return container.metadata.get("comment") == _MARK
