"""Verdict: what the prover found, and what the cut would take and leave."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from proveout.finding import Finding
from proveout.motion import Motion


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """Time that a program takes, min."""

    total: float
    cutting: float
    air: float
    tool_changes: float


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
