"""Sound files that know their place in the day: 24-bit WAV with a broadcast extension chunk.

FFmpeg writes the ``bext`` chunk of EBU Tech 3285 version 1, and RF64 (EBU Tech 3306) where four
gigabytes are not enough. Date and time of origin are left empty: they would make every copy of the
same project different. The coding history is as in EBU R 98.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import BinaryIO

import av
import numpy as np
from av.error import PyAVCallbackError
from numpy.typing import NDArray

from impactcut.core.sound.thumps import SAMPLE_RATE

_FULL_SCALE = 2**23
_LAYOUTS = {1: "mono", 2: "stereo"}
_OPTIONS = {"write_bext": "1", "rf64": "auto", "fflags": "bitexact"}


@dataclass(frozen=True)
class Origin:
    """What the file says of itself.

    Parameters
    ----------
    description : str
        At most 256 characters of ASCII.
    originator : str
        At most 32 characters of ASCII.
    time_reference : int
        Samples from midnight to the first sample.
    """

    description: str
    originator: str
    time_reference: int


def write_wav(
    file: BinaryIO, blocks: Iterable[NDArray[np.float32]], channels: int, origin: Origin
) -> None:
    """Write sound as 48 kHz 24-bit WAV.

    Parameters
    ----------
    file : binary file
        Empty; it can be sought in.
    blocks : iterable of float32, shape (n, channels)
        The sound in order, full scale 1; what lies beyond is held at full scale.
    channels : int
        1 or 2.

    Raises
    ------
    OSError
        If the file takes no more.
    """
    layout = _LAYOUTS[channels]
    try:
        with av.open(file, "w", format="wav", options=_OPTIONS) as container:
            container.metadata.update(
                description=origin.description,
                originator=origin.originator,
                time_reference=str(origin.time_reference),
                coding_history=f"A=PCM,F={SAMPLE_RATE},W=24,M={layout},T={origin.originator}\r\n",
            )
            stream = container.add_stream("pcm_s24le", rate=SAMPLE_RATE, layout=layout)
            for block in blocks:
                container.mux(stream.encode(_frame(block, layout)))
            container.mux(stream.encode(None))
    except PyAVCallbackError as error:
        if isinstance(error.__context__, OSError):  # closing a full file hides that it is full
            raise error.__context__ from None
        raise


def _frame(block: NDArray[np.float32], layout: str) -> av.AudioFrame:
    """A block as FFmpeg takes 24 bits: in the upper ones of 32."""
    levels = np.rint(block.astype(np.float64) * _FULL_SCALE)
    words = np.clip(levels, -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int32) << 8
    frame = av.AudioFrame.from_ndarray(words.reshape(1, -1), format="s32", layout=layout)
    frame.sample_rate = SAMPLE_RATE
    return frame
