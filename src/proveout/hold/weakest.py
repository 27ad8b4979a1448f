"""Which of some places on the blank is the weakest, without looking closely at all of them.

`slip_map` looks at every node of its grid; here a node is looked at only where the weakest place may hang on
it. What a coarse map reads between its nodes is never more than there is (the give is convex), so a place
that stands enough by that is out of the question.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.hold.slip import Contacts, SlipMap, cell_of, map_axes, slip_force
from proveout.motion import Floats

COARSE: Final = 6  # steps of the coarse map along each side
SURELY: Final = 0.9  # of what the coarse map reads: the search may miss the least by less (the tests look)

Longs = npt.NDArray[np.int64]


def coarse_map(held: Contacts, size: tuple[float, float]) -> SlipMap:
    """The force that friction stands at a few of a `slip_map`'s nodes, spread over the blank."""
    x, y = map_axes(size)
    column, row = (np.unique(np.linspace(0, len(axis) - 1, COARSE + 1).astype(np.int64)) for axis in (x, y))
    columns, rows = (axis.ravel() for axis in np.meshgrid(column, row))
    force = _looked_at(held, size, columns, rows).reshape(len(row), len(column))
    return SlipMap(x=x[column], y=y[row], force=force)


def weakest_place(
    held: Contacts, size: tuple[float, float], coarse: SlipMap, places: Floats
) -> tuple[int, float]:
    """Number of the place that stands the least by a `slip_map`, the first of equal ones, and that force, N.

    Args:
        held: where the blank is held
        size: of the blank
        coarse: map of the same
        places: (n, 2) mm, at least one
    """
    surely = SURELY * coarse.at(places)
    first = places[[int(surely.argmin())]]
    enough = _map_for(held, size, first).at(first)
    asked = np.flatnonzero(surely <= enough)
    stands = _map_for(held, size, places[asked]).at(places[asked])
    least = int(stands.argmin())
    return int(asked[least]), float(stands[least])


def _map_for(held: Contacts, size: tuple[float, float], places: Floats) -> SlipMap:
    """The map as far as it is read at places; all else stands anything."""
    x, y = map_axes(size)
    column, row = cell_of(x, places[:, 0]), cell_of(y, places[:, 1])
    wanted = np.zeros((len(y), len(x)), dtype=np.bool_)
    for right, back in ((0, 0), (1, 0), (0, 1), (1, 1)):
        wanted[row + back, column + right] = True
    rows, columns = np.nonzero(wanted)
    force = np.full(wanted.shape, np.inf)
    force[rows, columns] = _looked_at(held, size, columns, rows)
    return SlipMap(x=x, y=y, force=force)


def _looked_at(held: Contacts, size: tuple[float, float], columns: Longs, rows: Longs) -> Floats:
    x, y = map_axes(size)
    return slip_force(held, np.column_stack((x[columns], y[rows])), among=np.array([(0.0, 0.0), size]))
