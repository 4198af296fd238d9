"""Names for the numpy arrays that pass between the modules of this room."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

IntArray: TypeAlias = npt.NDArray[np.int64]
FloatArray: TypeAlias = npt.NDArray[np.float64]
BoolArray: TypeAlias = npt.NDArray[np.bool_]
TextArray: TypeAlias = npt.NDArray[np.object_]
