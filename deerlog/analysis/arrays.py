"""Arrays by what they hold."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
