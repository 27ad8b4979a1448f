"""Verdict: what the prover found, and what the cut would take and leave."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.finding import Finding
from proveout.motion import Floats, Ints, Motion
from proveout.motion_time import Minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightField:
    """Height of what stands at each cell's centre, mm above the bed."""

    heights: npt.NDArray[np.float32]  # (rows, columns); row 0 at the front, column 0 at the left; read-only
    cell: float
    origin: tuple[float, float]  # left front corner of cell (0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedProgram:
    """One program as the prover understood it."""

    file: str
    motion: Motion  # in the internal frame
    minutes: Minutes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loads:
    """m stretches of the way in order, and what each asks for; sharp edges, the estimate's middle value.

    A stretch that takes nothing, a rapid, or a cutter of unknown shape asks for nothing: all zero.
    """

    motion: Motion  # (m,) the stretches, internal frame
    move: Ints  # (m,) the move that each is a stretch of
    depth: Floats  # (m,) mm, axial: how high the material stood above the tip
    width: Floats  # (m,) mm, radial: area cleared in plan for each mm of way
    engaged: Floats  # (m,) rad of the cutter's rim in material
    chip: Floats  # (m,) mm, the thickest
    rate: Floats  # (m,) mm3/s
    force: Floats  # (m,) N sideways, the greatest on a tooth
    thrust: Floats  # (m,) N down, of boring ways
    lift: Floats  # (m,) N up, that an up-cut spiral pulls with
    power: Floats  # (m,) W at the cutter
    push_off: Floats  # (m,) mm by which cutter and gantry give way sideways
    margin: Floats  # (m,) times that the clamps stand a dull cutter's push and pull; inf where there is none

    def __len__(self) -> int:
        return len(self.move)


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """How the programs end where sheet, cutters and zero are as far off as they may be."""

    name: str  # "With the sheet 11.71 mm thick and the widest cutters"
    ready: bool
    findings: int  # that are not found in the middle


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The proof of some programs, run in order on one setup."""

    ready: bool
    findings: tuple[Finding, ...]  # by program, then line
    minutes: Minutes
    programs: tuple[ProvedProgram, ...]
    result: HeightField  # what is left when all programs have run
    removed: float  # mm3
    notes: tuple[str, ...]  # what the proof rests on: cell size, what is not modelled
    corners: tuple[Corner, ...]  # of the ranges that the setup states
    loads: Loads | None  # along all programs; None where nothing is known of the stock's material
