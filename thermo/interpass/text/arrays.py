"""The array type of the whole package; apart from `kinds`, so that words load no numpy."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
