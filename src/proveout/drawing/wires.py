"""Wires: what a drawing's entities draw, as arrays of exact lines and arcs, before anything comes of them."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from proveout.curve import Segment

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wires:
    """n lines and arcs, in the order in which they are drawn."""

    start: Floats  # (n, 2)
    end: Floats  # (n, 2)
    centre: Floats  # (n, 2); NaN for a line. A full circle is two half turns
    ccw: Flags  # (n,) of an arc: whether it turns anticlockwise from its start to its end
    layer: Ints  # (n,) index into the sheet's layers
    entity: Ints  # (n,) index into the sheet's entities; segments of one entity follow each other
    ring: Ints  # (n,) number of the ring, from 0, of an entity that is closed by itself; -1 for an open one

    def __post_init__(self) -> None:
        for name in ("start", "end", "centre", "ccw", "layer", "entity", "ring"):
            getattr(self, name).setflags(write=False)

    def __len__(self) -> int:
        return len(self.start)

    def segment(self, row: int) -> Segment:
        """One of them as a segment."""
        (sx, sy), (ex, ey) = self.start[row].tolist(), self.end[row].tolist()
        cx, cy = self.centre[row].tolist()
        centre = None if cx != cx else (cx, cy)
        return Segment((sx, sy), (ex, ey), centre, bool(self.ccw[row]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing that was done to a drawing, or noticed in it, with its place."""

    kind: str  # "gap closed", "duplicate dropped", "text ignored", "open chain" ...
    text: str  # one sentence, with its size
    at: tuple[float, float] | None = None  # mm once units are settled, drawing units before
    size: float | None = None  # mm: of the gap, the length that was dropped ...
    layer: str | None = None  # of what couldn't be read


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitClaim:
    """What a file says, or doesn't, of the size of its unit."""

    mm: float | None  # of one unit; None where the file says nothing
    basis: str  # "its header says inches ($INSUNITS 1)", "no unit in its header"
    sure: bool  # False where such a statement is often wrong: a page size without a viewBox, px


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """A drawing as its reader gives it, in its own units, Y up."""

    file: Path
    wires: Wires
    layers: tuple[str, ...]
    entities: tuple[str, ...]  # "ARC 2F": type and handle, or "path 14"
    claim: UnitClaim
    acts: tuple[Act, ...] = field(default=())  # what was left out, and why; coordinates in drawing units
