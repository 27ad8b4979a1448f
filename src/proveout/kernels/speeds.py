"""How fast a motion can be at its nodes, from how fast it may be."""

import numpy as np
import numpy.typing as npt
from numba import njit

Floats = npt.NDArray[np.float64]


@njit(cache=True, nogil=True)
def reach(squared: Floats, gain: Floats) -> None:
    """Lower the squares of speeds to what braking and picking up speed allow; they are changed in place.

    squared: (n + 1,) mm2/s2, the most at each node
    gain: (n,) mm2/s2, by which the square can change over each move
    """
    count = gain.shape[0]
    for node in range(count - 1, -1, -1):
        squared[node] = min(squared[node], squared[node + 1] + gain[node])
    for node in range(count):
        squared[node + 1] = min(squared[node + 1], squared[node] + gain[node])
