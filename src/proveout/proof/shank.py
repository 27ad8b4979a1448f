"""What rides above the cutting edges: material higher than the flutes; shank, nut or spindle that rub."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.proof.companion import CLEAR, FLUSH, cutting, met
from proveout.proof.removal import Removal
from proveout.proof.strikes import ROOM, Cylinder, cylinders
from proveout.proof.trial import (
    Rows,
    Seen,
    Trial,
    again,
    at_least,
    cutters_of,
    end_of,
    length,
    lowest,
    opening,
    seen,
)

# mm by which runout and springing fibres take up the room between a shank and the kerf of its own cutter.
PLAY: Final = 0.15
MOST_TRIES: Final = 2  # of a length that may be enough


def beyond_flutes(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Cuts deeper than the flutes are long: in one bite, or pass by pass with a shank that fills its kerf."""
    moves = cutting(removal)
    low = lowest(run.motion)
    for cutter in cutters_of(run):
        mine = moves[run.motion.cutter[moves] == cutter.number]
        deep = mine[removal.depth[mine] > cutter.flute_length + FLUSH]
        above = Cylinder("edge", cutter.radius - CLEAR, cutter.flute_length, np.inf)
        bites = list(seen(run, *met(run, removal, above, deep, ahead=True))) if deep.size else []
        sunk = mine[low[mine] + cutter.flute_length < run.setup.stock.thickest - FLUSH]
        kerfs = []
        if sunk.size and cutter.shank_diameter / 2 > cutter.radius - CLEAR:
            shank = Cylinder("shank", cutter.radius + PLAY, cutter.flute_length, np.inf)
            kerfs = list(seen(run, *met(run, removal, shank, sunk, ahead=False)))
        for sight in bites or kerfs:
            # Flutes as long as the bite would still leave the shank in the kerf: they must reach out of it.
            lacking = max([sight.amount, *(one.amount for one in kerfs)])
            if cutter.shank_diameter / 2 > cutter.radius - CLEAR:
                filling = Cylinder("shank", cutter.radius + PLAY, cutter.flute_length, np.inf)
                lacking = _enough(run, removal, filling, sunk, lacking)
            yield _too_deep(run, cutter, sight, lacking)


def _too_deep(run: Trial, cutter: Cutter, sight: Seen, lacking: float) -> Finding:
    depth = cutter.flute_length + sight.amount
    return Finding(
        level=Level.STOP,
        kind="beyond-flutes",
        text=(
            f"{opening(run, sight.first)} the cut is {length(run.setup, depth)} deep, but the flutes "
            f"of {cutter.name} are {length(run.setup, cutter.flute_length)} long.{again(run, sight)}"
        ),
        remedy=(
            f"Use a cutter with at least {at_least(run.setup, cutter.flute_length + lacking)} of flute, "
            f"or cut {at_least(run.setup, lacking)} less deep."
        ),
        program=sight.file,
        line=sight.line(run.motion),
        at=end_of(run.motion, sight.worst),
        amount=lacking,
    )


def _enough(run: Trial, removal: Removal, cylinder: Cylinder, moves: Rows, lacking: float) -> float:
    """How much higher something must ride to meet nothing, mm; `lacking` is what is known of it.

    What a companion meets it takes away, so what would meet it further up shows only when it rides higher.
    Over the stock's top it surely meets nothing.
    """
    top = run.setup.stock.thickest - float(lowest(run.motion)[moves].min())
    for _ in range(MOST_TRIES):
        higher = cylinder._replace(bottom=cylinder.bottom + lacking)
        still = met(run, removal, higher, moves, ahead=False)
        if not still.moves.size:
            return lacking
        lacking += float(still.depth.max())
    return max(lacking, top - cylinder.bottom)


def shank_rubs(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Shank, nut or spindle in material that still stands when the cutter has passed."""
    low = lowest(run.motion)
    for cutter in cutters_of(run):
        for cylinder in cylinders(cutter, run.setup.machine.spindle)[1:]:
            sunk = (run.motion.cutter == cutter.number) & (
                low + cylinder.bottom < run.setup.stock.thickest - FLUSH
            )
            if cylinder.radius > cutter.radius + CLEAR and sunk.any():
                moves = np.flatnonzero(sunk)
                for sight in seen(run, *met(run, removal, cylinder, moves, ahead=False)):
                    lacking = _enough(run, removal, cylinder, moves, sight.amount)
                    yield _told(run, cutter, cylinder, sight, lacking)


def _told(run: Trial, cutter: Cutter, cylinder: Cylinder, sight: Seen, lacking: float) -> Finding:
    reaches, more = cylinder.bottom + lacking, lacking + ROOM
    remedy = (
        f"Use a cutter with at least {at_least(run.setup, reaches)} of flute"
        if cylinder.name == "shank"
        else f"Give the cutter {at_least(run.setup, more)} more stick-out"
    )
    remedy += f", or cut {at_least(run.setup, lacking)} less deep."
    return Finding(
        level=Level.STOP,
        kind="shank-rubs",
        text=(
            f"{opening(run, sight.first)} the {cylinder.name} of {cutter.name} rubs on material that stands "
            f"{length(run.setup, sight.amount)} above its lower end.{again(run, sight)}"
        ),
        remedy=remedy,
        program=sight.file,
        line=sight.line(run.motion),
        at=end_of(run.motion, sight.worst),
        amount=lacking,
    )
