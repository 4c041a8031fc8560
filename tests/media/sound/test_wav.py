"""WAV files as others read them: soundfile (libsndfile) the samples, FFmpeg the ``bext`` chunk.

The layout of the chunk is checked byte by byte against EBU Tech 3285 (2011), section 2.3, version
1 fields: Description 256, Originator 32, OriginatorReference 32, OriginationDate 10,
OriginationTime 8, TimeReferenceLow 4, TimeReferenceHigh 4, Version 2, UMID 64, 190 reserved, then
CodingHistory. The history's keys are those of EBU R 98.
"""

from __future__ import annotations

import errno
import io
import struct
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.media.sound.wav import Origin, write_wav

LATE = 2**32 + 5
ORIGIN = Origin("QUAY NIGHT: scratch hits", "impactcut test", LATE)


def written(sound: np.ndarray, origin: Origin = ORIGIN) -> bytes:
    file = io.BytesIO()
    sound = sound.astype(np.float32)
    write_wav(file, [sound[:3], sound[3:]], sound.shape[1], origin)
    return file.getvalue()


def chunks(data: bytes) -> dict[bytes, bytes]:
    assert (data[:4], data[8:12]) == (b"RIFF", b"WAVE")
    assert struct.unpack("<I", data[4:8])[0] == len(data) - 8
    found, at = {}, 12
    while at < len(data):
        size = struct.unpack_from("<I", data, at + 4)[0]
        found[data[at : at + 4]] = data[at + 8 : at + 8 + size]
        at += 8 + size + size % 2
    assert at == len(data)
    return found


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("samples", [4, 5, 4801])
def test_samples_come_back_to_the_last_bit(channels: int, samples: int) -> None:
    words = np.random.default_rng(1).integers(-(2**23), 2**23, (samples, channels))
    words[:2] = [[2**23 - 1] * channels, [-(2**23)] * channels]
    data = written(words / 2**23)
    info = soundfile.info(io.BytesIO(data))
    assert (info.samplerate, info.channels, info.frames) == (48000, channels, samples)
    assert (info.format, info.subtype) == ("WAVEX", "PCM_24")  # as Microsoft asks from 16 bits on
    read, _ = soundfile.read(io.BytesIO(data), dtype="int32", always_2d=True)
    assert np.array_equal(read >> 8, words)


def test_what_lies_beyond_full_scale_is_held_there() -> None:
    read, _ = soundfile.read(io.BytesIO(written(np.array([[1.0], [1.5], [-1.5], [0]]))))
    assert read.tolist() == [1 - 2**-23, 1 - 2**-23, -1, 0]


def test_the_extension_chunk_is_laid_out_as_the_standard_says() -> None:
    found = chunks(written(np.zeros((5, 1))))
    assert list(found) == [b"JUNK", b"fmt ", b"bext", b"data"]
    assert len(found[b"JUNK"]) == 28  # kept free for the ds64 chunk of RF64, EBU Tech 3306
    bext = found[b"bext"]
    assert bext[:256].rstrip(b"\0") == b"QUAY NIGHT: scratch hits"
    assert bext[256:288].rstrip(b"\0") == b"impactcut test"
    assert bext[288:338] == bytes(32 + 10 + 8)
    assert struct.unpack("<IIH", bext[338:348]) == (5, 1, 1)
    assert bext[348:602] == bytes(64 + 190)
    assert bext[602:].rstrip(b"\0") == b"A=PCM,F=48000,W=24,M=mono,T=impactcut test\r\n"
    assert struct.unpack("<HIIHH", found[b"fmt "][2:16]) == (1, 48000, 144000, 3, 24)
    assert len(found[b"data"]) == 15


def test_ffmpeg_reads_the_time_reference(tmp_path: Path) -> None:
    path = tmp_path / "hits.wav"
    path.write_bytes(written(np.zeros((4801, 2))))
    with av.open(str(path)) as container:
        tags = container.metadata
        assert tags["time_reference"] == str(LATE)
        assert (tags["comment"], tags["encoded_by"]) == (ORIGIN.description, ORIGIN.originator)
        assert "M=stereo" in tags["coding_history"]
        assert container.streams.audio[0].codec_context.name == "pcm_s24le"


def test_the_same_sound_gives_the_same_bytes() -> None:
    sound = np.random.default_rng(2).random((1000, 1)) - 0.5
    assert written(sound) == written(sound)


def test_a_full_disk_is_said_to_be_one() -> None:
    class Full(io.BytesIO):
        def write(self, data: object) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

    silence = [np.zeros((SAMPLE_RATE, 1), np.float32)] * 3
    with pytest.raises(OSError, match="No space left on device"):
        write_wav(Full(), silence, 1, Origin("", "", 0))
