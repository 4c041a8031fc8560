"""Networks run by ONNX Runtime."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import onnxruntime

from impactcut.core.arrays import FloatArray
from impactcut.core.detect.spotter import Net


def runtime_net(model: bytes, outputs: Sequence[str]) -> Net:
    """A network of an ONNX file's bytes, run in one thread."""
    settings = onnxruntime.SessionOptions()
    settings.intra_op_num_threads = settings.inter_op_num_threads = 1
    settings.enable_mem_pattern = False
    _share_memory()
    settings.add_session_config_entry("session.use_env_allocators", "1")
    session = onnxruntime.InferenceSession(model, settings, providers=["CPUExecutionProvider"])

    def run(inputs: FloatArray) -> dict[str, FloatArray]:
        given = session.run(list(outputs), {"input": np.ascontiguousarray(inputs, np.float32)})
        return dict(zip(outputs, given, strict=True))

    return run


@cache
def _share_memory() -> None:
    """Let all networks of this process work in the same memory, which is no larger than it must."""
    plain = onnxruntime.OrtArenaCfg({"arena_extend_strategy": 1})
    place = onnxruntime.OrtMemoryInfo(
        "Cpu", onnxruntime.OrtAllocatorType.ORT_ARENA_ALLOCATOR, 0, onnxruntime.OrtMemType.DEFAULT
    )
    onnxruntime.create_and_register_allocator(place, plain)
