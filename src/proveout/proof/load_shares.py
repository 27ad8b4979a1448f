"""Each load beside its limit: what a stretch asks as a share of what there is, and where that is most."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from proveout.job.records import Cutter, Machine
from proveout.motion import Floats, Ints
from proveout.proof.chips import TOO_THICK
from proveout.proof.engagement import root_stress
from proveout.proof.load_checks import (
    CARBIDE_BENDS,
    HOLD_WANTED,
    POWER_SHARE,
    PUSH_OFF,
    STEEL_BENDS,
    power_at,
)
from proveout.proof.loads import DULL
from proveout.proof.trial import Rows
from proveout.proof.verdict import Loads, Verdict
from proveout.shelf.tables import chip_load, material

NAMES: Final = ("force", "power", "push_off", "margin", "chip")
HARD: Final = NAMES[:4]  # a thick chip wears an edge, but moves and breaks nothing by itself


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Load:
    """One load along m stretches of way, and the limit from which on the proof says something about it."""

    name: str  # one of NAMES
    values: Floats  # (m,) N, W, mm, times, mm in the order of NAMES
    limits: Floats  # (m,) in the same unit; infinite where none is known
    shares: Floats  # (m,) of the limit: 1 is at the limit, more is worse; 0 where nothing is asked


class Peak(NamedTuple):
    """The stretch of some way at which a load comes closest to its limit, or furthest beyond it."""

    row: int  # index of the stretch
    value: float
    limit: float
    share: float
    file: str
    line: int | None
    at: tuple[float, float, float]  # the stretch's end


def measured(
    loads: Loads, machine: Machine, cutters: Sequence[Cutter], material_name: str
) -> tuple[Load, ...]:
    """The five loads in the order of NAMES.

    Raises:
        ShelfError: a material that the shelf doesn't know
    """

    def by_cutter(limit: Callable[[Cutter], float]) -> Floats:
        out = np.full(len(loads), np.inf)
        for cutter in cutters:
            out[loads.motion.cutter == cutter.number] = limit(cutter)
        return out

    has = np.maximum(power_at(machine.spindle, loads.motion.speed_rpm), 1e-9)
    return (
        _growing("force", loads.force, by_cutter(most_force)),
        _growing("power", loads.power, POWER_SHARE * has),
        _growing("push_off", loads.push_off, np.full(len(loads), PUSH_OFF)),
        Load(
            name="margin",
            values=loads.margin,
            limits=np.full(len(loads), HOLD_WANTED),
            shares=HOLD_WANTED / np.maximum(loads.margin, 1e-9),
        ),
        _growing("chip", loads.chip, by_cutter(lambda one: TOO_THICK * usual_chip(one, material_name)[1])),
    )


def _growing(name: str, values: Floats, limits: Floats) -> Load:
    return Load(name=name, values=values, limits=limits, shares=values / limits)


def most_force(cutter: Cutter) -> float:
    """How hard a sharp cutter may be pushed sideways, N: a dull one then bends as far as is sound."""
    bends = CARBIDE_BENDS if cutter.carbide else STEEL_BENDS
    stress = float(root_stress(np.ones(1), cutter.diameter, cutter.stick_out)[0])
    return bends / stress / DULL


def usual_chip(cutter: Cutter, material_name: str) -> tuple[float, float]:
    """What a tooth is usually given on a light machine, mm: least and most.

    Raises:
        ShelfError: a material that the shelf doesn't know
    """
    usual = chip_load(material(material_name).chip_class, cutter.diameter).load
    return usual.min, usual.max


def program_of(verdict: Verdict, loads: Loads) -> Ints:
    """Index into the verdict's programs of each stretch, (m,)."""
    return _program_of_move(verdict)[loads.move]


def _program_of_move(verdict: Verdict) -> Ints:
    counts = [len(program.motion) for program in verdict.programs]
    programs: Ints = np.repeat(np.arange(len(counts), dtype=np.int32), counts)
    return programs


def peak(verdict: Verdict, loads: Loads, load: Load, rows: Rows | None = None) -> Peak | None:
    """Where a load comes closest to its limit, among some stretches or all; None where it is nowhere."""
    among = np.arange(len(loads)) if rows is None else rows
    if not among.size or not load.shares[among].max() > 0:
        return None
    row = int(among[int(np.argmax(load.shares[among]))])
    x, y, z = loads.motion.end[row].tolist()
    return Peak(
        row=row,
        value=float(load.values[row]),
        limit=float(load.limits[row]),
        share=float(load.shares[row]),
        file=verdict.programs[int(_program_of_move(verdict)[loads.move[row]])].file,
        line=int(loads.motion.line[row]) or None,
        at=(x, y, z),
    )


def peaks_of_programs(
    verdict: Verdict, loads: Loads, every: Sequence[Load]
) -> tuple[tuple[str, dict[str, Peak | None]], ...]:
    """For each program, by file, where each load comes closest to its limit."""
    programs = program_of(verdict, loads)
    rows = [np.flatnonzero(programs == number) for number in range(len(verdict.programs))]
    return tuple(
        (program.file, {load.name: peak(verdict, loads, load, mine) for load in every})
        for program, mine in zip(verdict.programs, rows, strict=True)
    )


def hardest(verdict: Verdict, loads: Loads, every: Sequence[Load]) -> Peak | None:
    """Where cutter, spindle, gantry or clamps come closest to what they stand; None where nothing is cut."""
    found = [peak(verdict, loads, load) for load in every if load.name in HARD]
    return max((one for one in found if one), key=lambda one: one.share, default=None)
