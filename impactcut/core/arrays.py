"""Names for the types of arrays, so that a signature says what numbers it takes."""

import numpy as np
from numpy.typing import NDArray

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float32]
Float64Array = NDArray[np.float64]
