"""A run of pictures as one piece of bytes: a small JSON head, then files or packets end to end.

Layout: four bytes, the head's length (little-endian); the head in UTF-8; the pictures, whose
lengths stand in the head beside their type, or the codec as WebCodecs names it. The page's
``pack.js`` reads it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from impactcut.core.viewer.flashes import Flashes
from impactcut.workflow.pictures.hit_pictures import CODEC, PictureRun


def pack_run(
    run: PictureRun, flashes: Flashes, timecodes: Sequence[str | None] | None = None
) -> bytes:
    """The run as bytes, with its flashes, so that no page plays it before it knows of them.

    Parameters
    ----------
    timecodes : sequence of str or None
        Of each picture, where the page does not know them otherwise.
    """
    head = json.dumps(
        {
            "first": run.first,
            "width": run.width,
            "height": run.height,
            "type": CODEC if run.form == "vp9" else f"image/{run.form}",
            "flashes": {
                "general": flashes.general,
                "red": flashes.red,
                "tooMany": flashes.too_many,
            },
            **({} if timecodes is None else {"timecodes": timecodes}),
            "sizes": [len(picture) for picture in run.pictures],
        }
    ).encode()
    return b"".join([len(head).to_bytes(4, "little"), head, *run.pictures])
