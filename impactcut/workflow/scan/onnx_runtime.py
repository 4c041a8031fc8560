"""Networks run by ONNX Runtime."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import onnxruntime

from impactcut.core.arrays import FloatArray
from impactcut.core.detect.spotter import Net


def runtime_net(model: bytes, outputs: Sequence[str]) -> Net:
    """A network of an ONNX file's bytes, run in one thread."""
    settings = onnxruntime.SessionOptions()
    settings.intra_op_num_threads = settings.inter_op_num_threads = 1
    settings.enable_cpu_mem_arena = settings.enable_mem_pattern = False  # memory is given back
    session = onnxruntime.InferenceSession(model, settings, providers=["CPUExecutionProvider"])

    def run(inputs: FloatArray) -> dict[str, FloatArray]:
        given = session.run(list(outputs), {"input": np.ascontiguousarray(inputs, np.float32)})
        return dict(zip(outputs, given, strict=True))

    return run
