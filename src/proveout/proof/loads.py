"""Loads: what each stretch of the way asks of the cutter, the spindle and the hold-down.

Nothing here is taken over from whoever planned the programs: the widths and depths come from the material
that each stretch took, the forces from the shelf's cutting energies.
"""

import math
from typing import Final, NamedTuple

import numpy as np

from proveout.hold.margins import times_stood
from proveout.hold.slip import contacts, slip_map, tip_share
from proveout.job.records import Cutter
from proveout.motion import RAPID, Floats, Ints, Motion, lengths, stepped
from proveout.proof.companion import FLUSH, GRAZE
from proveout.proof.engagement import (
    CARBIDE,
    STEEL,
    bending,
    cutting_power,
    engaged_angle,
    mean_chip,
    tangential_force,
    thickest_chip,
)
from proveout.proof.removal import Removal
from proveout.proof.trial import Mask, Rows
from proveout.proof.verdict import Loads
from proveout.setup import Setup
from proveout.shelf.cutting import REFERENCE_CHIP, CuttingEnergy, specific_force
from proveout.shelf.tables import Material, ShelfError, cutting_energy, material

STEP: Final = (2.0, 6.0)  # mm, least and most length of a stretch; the smallest cutter's diameter between
MOST_STRETCHES: Final = 1_000_000
STEEP: Final = 30.0  # deg; a steeper way down bores, a flatter one mills
THINNEST: Final = 0.001  # mm; the estimate of k is not asked for thinner chips
HELIX: Final = 30.0  # deg, the steepest that is usual on router cutters (common practice)
THRUST: Final = 1.5  # N for each mm of diameter and 0.01 mm a turn; project default, to be measured
DULL: Final = 2.0  # a dull edge doubles the force; common practice, no source


class Stretches(NamedTuple):
    """A motion in short stretches, and the moves they belong to."""

    motion: Motion
    move: Ints


def stretches(motion: Motion, setup: Setup) -> Stretches:
    """The motion cut into stretches short enough that a change of engagement shows."""
    smallest = min((cutter.diameter for cutter in setup.cutters), default=STEP[1])
    step = min(max(smallest, STEP[0]), STEP[1])
    whole = math.fsum(lengths(motion)[motion.kind != RAPID])
    return Stretches(*stepped(motion, max(step, whole / MOST_STRETCHES)))


def gathered(removal: Removal, move: Ints, moves: int) -> Removal:
    """The account of stretches as an account of the moves they belong to."""
    removed: Floats = np.bincount(move, weights=removal.removed, minlength=moves).astype(np.float64)
    moment = np.bincount(move, weights=removal.removed * removal.usual, minlength=moves)
    depth, breach, at = np.zeros(moves), np.zeros(moves), np.zeros((moves, 2))
    np.maximum.at(depth, move, removal.depth)
    for index in np.flatnonzero(removal.breach > 0).tolist():
        if removal.breach[index] > breach[move[index]]:
            breach[move[index]] = removal.breach[index]
            at[move[index]] = removal.breach_at[index]
    through = removal.through
    if len(move) > moves:
        through = _renumbered(through, np.concatenate((np.zeros(1, dtype=np.int32), move + np.int32(1))))
    return Removal(
        field=removal.field,
        removed=removed,
        depth=depth,
        usual=moment / np.maximum(removed, 1e-12),
        breach=breach,
        breach_at=at,
        through=through,
    )


def _renumbered(through: Ints, number: Ints) -> Ints:
    """Cells with other numbers; rows in which nothing is cut through take no memory."""
    out = np.zeros_like(through)
    for row in np.flatnonzero(through.any(axis=1)).tolist():
        out[row] = number[through[row]]
    out.setflags(write=False)
    return out


def loads(setup: Setup, parts: Stretches, removal: Removal) -> Loads | None:
    """What each stretch asks for; None where the shelf doesn't know the stock's material.

    Args:
        parts: the whole way
        removal: what each stretch took
    """
    try:
        wood = material(setup.stock.material)
    except ShelfError:
        return None
    cut = _cuts(parts.motion, removal)
    columns: dict[str, Floats] = {name: np.zeros(len(parts.move)) for name in _COLUMNS}
    for cutter in setup.cutters:
        mine = np.flatnonzero(cut & (parts.motion.cutter == cutter.number))
        for name, values in _of_cutter(setup, cutter, wood, parts.motion, removal, mine).items():
            columns[name][mine] = values
    margin = _margins(setup, parts.motion, columns["force"], columns["lift"])
    return Loads(motion=parts.motion, move=parts.move, margin=margin, **columns)


_COLUMNS: Final = (
    "depth", "width", "engaged", "chip", "rate", "force", "thrust", "lift", "power", "push_off",
)  # fmt: skip


def _cuts(motion: Motion, removal: Removal) -> Mask:
    turning = (motion.feed > 0) & (motion.speed_rpm > 0) & (motion.kind != RAPID)
    cut: Mask = turning & (removal.depth > FLUSH) & (removal.removed > GRAZE * removal.depth)
    return cut


def _of_cutter(
    setup: Setup, cutter: Cutter, wood: Material, motion: Motion, removal: Removal, rows: Rows
) -> dict[str, Floats]:
    """The columns of one cutter's cutting stretches."""
    way = np.maximum(lengths(motion)[rows], 1e-9)
    drop = motion.start[rows, 2] - motion.end[rows, 2]
    boring = drop > way * math.sin(math.radians(STEEP))
    depth = removal.usual[rows]
    width = np.where(boring, 0.0, np.minimum(removal.removed[rows] / (way * depth), cutter.diameter))
    feed, turns = motion.feed[rows], motion.speed_rpm[rows] / 60
    per_tooth = feed / (turns * cutter.flutes)
    engaged = engaged_angle(width, np.full(len(rows), cutter.radius))
    chip = np.where(boring, per_tooth, thickest_chip(per_tooth, engaged))
    rate = removal.removed[rows] / way * feed
    energy = cutting_energy(wood.energy_class)
    force = tangential_force(_specific(energy, chip, wood), depth, np.where(boring, 0.0, chip))
    mean = np.where(boring, per_tooth, mean_chip(per_tooth, engaged))
    return {
        "depth": depth,
        "width": width,
        "engaged": engaged,
        "chip": chip,
        "rate": rate,
        "force": force,
        "thrust": np.where(boring, THRUST * cutter.diameter * feed / turns / 0.01, 0.0),
        "lift": force * (math.tan(math.radians(HELIX)) if cutter.spiral == "up" else 0.0),
        "power": cutting_power(_specific(energy, mean, wood), rate),
        "push_off": force * give(setup, cutter),
    }


def _margins(setup: Setup, motion: Motion, force: Floats, lift: Floats) -> Floats:
    """How many times the clamps stand each stretch with a dull cutter: sliding and turning, and tipping."""
    margin = np.full(len(motion), np.inf)
    rows = np.flatnonzero(force > 0)
    held = contacts(setup.clamps, material(setup.stock.material), setup.grips, setup.stops)
    if not rows.size or not len(held):
        return margin
    middle = (motion.start[rows, :2] + motion.end[rows, :2]) / 2
    slides = slip_map(held, setup.stock.size).at(middle)
    tips = tip_share(held, middle, setup.stock.size)
    margin[rows] = times_stood(held, slides, tips, DULL * force[rows], DULL * lift[rows])
    return margin


def give(setup: Setup, cutter: Cutter) -> float:
    """By how much cutter and gantry together give way sideways, mm/N."""
    modulus = CARBIDE if cutter.carbide else STEEL
    bends = bending(
        cutter.diameter,
        cutter.stick_out,
        modulus,
        fluted=cutter.flute_length,
        shank=cutter.shank_diameter,
    )
    return bends + 1 / setup.machine.stiffness


def _specific(energy: CuttingEnergy, chip: Floats, wood: Material) -> Floats:
    """Specific cutting force at each chip, N/mm2, by the shelf's own rule."""
    at_reference = specific_force(energy, REFERENCE_CHIP, wood.density)
    force: Floats = at_reference * (np.maximum(chip, THINNEST) / REFERENCE_CHIP) ** -energy.exponent
    return force
