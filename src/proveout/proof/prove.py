"""Prove: programs and a setup in, a verdict out. Nothing of how the programs came to be is known here."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.finding import Finding, is_ready
from proveout.job.records import Cutter
from proveout.motion import Motion, joined, shifted
from proveout.motion_time import Minutes, timing
from proveout.program.abilities import ABILITIES
from proveout.program.read import ASSUMED_START, ReadLimits, ReadProgram, read_program
from proveout.program.text import Program
from proveout.proof.allowed import allowed_heights
from proveout.proof.causes import with_cause
from proveout.proof.corners import at_corners, corner_notes
from proveout.proof.grouped import grouped
from proveout.proof.judge import in_order, judge
from proveout.proof.loads import gathered, loads, stretches
from proveout.proof.loose import SKIN
from proveout.proof.removal import Removal, carve, fresh_field
from proveout.proof.start import height_unsaid
from proveout.proof.trial import Trial, cutters_of, judged
from proveout.proof.verdict import ProvedProgram, Verdict
from proveout.quantity import show_length
from proveout.setup import Setup

CELL: Final = 0.1  # mm, for cutters of 2 mm and more
ACROSS: Final = 20  # cells across the smallest cutter, at least, where memory allows
LEAST_CELL: Final = 0.02  # mm
MEMORY: Final = 2_000_000_000  # bytes that a proof may take
OTHER: Final = 400_000_000  # of them, for the program, its moves and the libraries
PER_CELL: Final = 32  # bytes of a cell at the proof's widest, in all its arrays together
COARSE: Final = 0.4  # mm, where a cause is only tried
MARGIN: Final = 10.0  # mm of bed around the stock, at most


def prove(
    programs: Sequence[Program],
    setup: Setup,
    *,
    cell: float | None = None,
    progress: Callable[[str], None] = lambda said: None,
) -> Verdict:
    """What some programs, run one after the other on a setup, would do, and whether they may.

    Args:
        cell: mm of the height field; None takes what the smallest cutter asks for and memory allows
        progress: told what is being done
    """
    progress("reading the programs")
    read = [_read(program, _in_spindle(programs, index), setup) for index, program in enumerate(programs)]
    motions = [shifted(one.motion, setup.zero) for one in read]
    run = _trial(setup, programs, read, motions)
    size = cell or fitting_cell(setup.stock.size, cutters_of(run))
    progress("removing material")
    parts = stretches(run.motion, setup)
    taken = _removal(setup, parts.motion, size)
    removal = gathered(taken, parts.move, len(run.motion))
    progress("judging")
    asked = loads(setup, parts, taken)
    files = tuple(program.file for program in programs)
    said = [finding for one in read for finding in one.findings]
    middle = judge(run, removal, asked)
    elsewhere, corners = at_corners(run, middle, partial(_judged_coarsely, size))
    # A cause is looked for in the middle alone: a guess is tried without the ends, so all that is found at
    # them would be gone with any guess.
    told = with_cause(run, in_order([*said, *middle], files), partial(_judged_coarsely, size))
    caused = any(finding.kind == "one-cause" for finding in told)
    told = [*told, *in_order(elsewhere, files)] if caused else list(in_order([*told, *elsewhere], files))
    findings = grouped(told, setup.machine.units)
    proved = _proved(run, read, motions, removal)
    return Verdict(
        ready=is_ready(findings),
        findings=findings,
        minutes=_sum(one.minutes for one in proved),
        programs=proved,
        result=removal.field,
        removed=float(math.fsum(removal.removed)),
        notes=(*_notes(run, size, chosen=cell is None), *corner_notes(setup, corners)),
        corners=corners,
        loads=asked,
    )


def _judged_coarsely(size: float, run: Trial) -> list[Finding]:
    """What there is to say about a changed run, on a coarser field to be quick."""
    return judge(run, _removal(run.setup, run.motion, max(size, COARSE)), None)


def fitting_cell(size: tuple[float, float], cutters: Iterable[Cutter]) -> float:
    """The cell for a sheet, mm: CELL, finer for small cutters, coarser where memory asks for it.

    The smallest cutter has ACROSS cells across, in steps of 0.01 mm; a sheet that would then take more than
    MEMORY gets the finest cell, in steps of 0.05 mm, that doesn't.
    """
    smallest = min((cutter.diameter for cutter in cutters), default=CELL * ACROSS)
    wanted = min(CELL, max(LEAST_CELL, math.floor(smallest / ACROSS / 0.01 + 1e-9) * 0.01))
    area = (size[0] + 2 * MARGIN) * (size[1] + 2 * MARGIN)
    most = (MEMORY - OTHER) // PER_CELL
    if area / wanted**2 <= most:
        return wanted
    return math.ceil(math.sqrt(area / most) / 0.05 - 1e-9) * 0.05


def _in_spindle(programs: Sequence[Program], index: int) -> int:
    """The cutter in the spindle when a program begins without a T word.

    A program that names none - a check of the outline with the spindle off - is run with the cutter of the
    next one, or else the last.
    """
    for program in (*programs[index:], *programs[:index][::-1]):
        if program.cutters:
            return program.cutters[0]
    return 0


def _read(program: Program, cutter: int, setup: Setup) -> ReadProgram:
    """The program; where the cutter stood before isn't known, so its height is taken as the top of travel."""
    read = read_program(
        program.text,
        file=program.file,
        cutter=cutter,
        limits=ReadLimits(block_length=setup.machine.line_limit),
        able=ABILITIES[setup.machine.dialect],
    )
    top = setup.reach.high[2] - setup.zero[2]
    unsaid = np.arange(len(read.motion)) < read.placed_from
    start, end = (points.copy() for points in (read.motion.start, read.motion.end))
    for points in (start, end):
        points[unsaid & (points[:, 2] == ASSUMED_START[2]), 2] = top
    return replace(
        read,
        motion=replace(read.motion, start=start, end=end),
        findings=(*read.findings, *height_unsaid(read, setup)),
    )


def _trial(
    setup: Setup, programs: Sequence[Program], read: Sequence[ReadProgram], motions: Sequence[Motion]
) -> Trial:
    counts = [len(motion) for motion in motions]
    first = np.concatenate(([0], np.cumsum(counts)))
    return Trial(
        setup=setup,
        files=tuple(one.file for one in read),
        motion=joined(motions),
        program=np.repeat(np.arange(len(counts), dtype=np.int32), counts),
        cutters=tuple(program.cutters for program in programs),
        zeros=tuple(one.zero for one in read),
        events=tuple(
            tuple(event._replace(before=event.before + int(begin)) for event in one.events)
            for begin, one in zip(first, read, strict=False)
        ),
    )


def _removal(setup: Setup, motion: Motion, cell: float) -> Removal:
    stock = setup.stock
    margin = min(MARGIN, max((cutter.diameter for cutter in setup.cutters), default=0.0) + 1)
    field = fresh_field(stock.size, stock.thickest, cell=cell, margin=margin)
    allowed = allowed_heights(setup, field)
    return carve(field, motion, judged(setup.cutters), allowed=allowed, through_level=SKIN)


def _proved(
    run: Trial, read: Sequence[ReadProgram], motions: Sequence[Motion], removal: Removal
) -> tuple[ProvedProgram, ...]:
    """Each program with its time; a change of cutter between two programs belongs to the later one."""
    proved = []
    last = 0
    for index, (one, motion) in enumerate(zip(read, motions, strict=True)):
        mine = run.program == index
        used = [number for number in motion.cutter[_changes(motion)].tolist() if number]
        changes = sum(before != after for before, after in zip([last, *used], used, strict=False) if before)
        last = used[-1] if used else last
        time = timing(motion, run.setup.machine, tool_changes=changes, removed=removal.removed[mine])
        proved.append(ProvedProgram(file=one.file, motion=motion, minutes=time.minutes))
    return tuple(proved)


def _changes(motion: Motion) -> npt.NDArray[np.bool_]:
    """The first move of each cutter's turn."""
    changes: npt.NDArray[np.bool_] = np.diff(motion.cutter, prepend=np.int32(-1)) != 0
    return changes


def _sum(minutes: Iterable[Minutes]) -> Minutes:
    each = list(minutes)
    return Minutes(
        total=math.fsum(one.total for one in each),
        cutting=math.fsum(one.cutting for one in each),
        air=math.fsum(one.air for one in each),
        tool_changes=math.fsum(one.tool_changes for one in each),
    )


def _notes(run: Trial, cell: float, *, chosen: bool) -> tuple[str, ...]:
    """What the proof rests on, and what it leaves out."""
    setup = run.setup
    why = f" ({_why_cell(run, cell)})" if chosen else ""
    thick = show_length(setup.stock.thickest, setup.machine.units)
    return (
        f"Heights are kept for cells of {cell:g} mm{why}. Walls, strikes, travel, bed: judged exactly.",
        f"The stock is taken as {thick} thick everywhere, the thickest reading; warp is not modelled.",
        "Loads are estimates for sound wood and sharp edges; for clamps and tabs a dull one counts twice.",
        "The model cuts with stiff cutters: how far they give way is told. Wear and slip are not modelled.",
        "Each program begins at the top of the machine's travel, over the program's zero.",
        "Rapids are taken as straight; a controller that runs each axis at its own speed strays from that.",
        f"Material thinner than {SKIN} mm holds nothing. Clamps press with the force stated for a weak hand.",
        "A pointed or rounded cutter counts with its full diameter where it passes clamps, bolts, inserts.",
        "The proof holds for the stock, clamps, cutters and zero as they are stated, and for no others.",
    )


def _why_cell(run: Trial, cell: float) -> str:
    """Why the cell is what it is."""
    smallest = min((cutter.diameter for cutter in cutters_of(run)), default=0.0)
    if cell > CELL + 1e-9:
        return f"the finest that keeps the proof of so large a sheet within {MEMORY / 1e9:g} GB of memory"
    if smallest:
        across = show_length(smallest, run.setup.machine.units)
        return f"{math.floor(smallest / cell + 1e-9)} across the smallest cutter, {across}"
    return "no cutter asks for finer ones"
