"""OpenTimelineIO itself, which is an extra: asked for where it is needed, and never before."""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from impactcut.errors import ListFormatError

if TYPE_CHECKING:
    import opentimelineio as otio

REEL_KEY = "cmx_3600"
"""Metadata key under which OpenTimelineIO's reader of EDLs keeps a reel."""


def is_available() -> bool:
    """Whether OpenTimelineIO is installed."""
    return find_spec("opentimelineio") is not None


def library() -> Any:
    """The package.

    Raises
    ------
    ListFormatError
        If it is not installed.
    """
    try:
        import opentimelineio
    except ImportError as error:
        raise ListFormatError(
            "a timeline needs OpenTimelineIO; install it into the Python that runs this program: "
            "python -m pip install 'opentimelineio>=0.17'"
        ) from error
    return opentimelineio


def opened_timeline(text: str) -> otio.schema.Timeline:
    """The timeline in a text.

    Raises
    ------
    ListFormatError
        If OpenTimelineIO is not installed, or the text is no timeline that it can read.
    """
    otio = library()
    try:
        found = otio.adapters.read_from_string(text, "otio_json")
    except otio.exceptions.UnsupportedSchemaError as error:
        raise ListFormatError(
            f"is of a newer schema than the OpenTimelineIO installed here reads ({error}); write "
            "it for an older version, or install a newer OpenTimelineIO"
        ) from error
    except (otio.exceptions.OTIOError, ValueError, LookupError, RuntimeError, TypeError) as error:
        raise ListFormatError(
            f"cannot be read as OpenTimelineIO JSON ({' '.join(str(error).split())}); write it anew"
        ) from error
    if not isinstance(found, otio.schema.Timeline):
        raise ListFormatError(
            f"holds {type(found).__name__}, not one timeline; write the timeline to a file alone"
        )
    return found
