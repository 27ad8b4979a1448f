"""Whether each cut's feed suits its teeth: chips too thick for the cutter, plunges too fast for its end."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from proveout.finding import Finding, Level
from proveout.motion import Floats, lengths
from proveout.proof.companion import cutting
from proveout.proof.material import STEEP
from proveout.proof.removal import Removal
from proveout.proof.trial import Rows, Trial, again, cutters_of, end_of, opening, seen
from proveout.quantity import show_speed
from proveout.shelf.tables import ShelfError, chip_load, material

TOO_THICK: Final = 2.0  # times the upper end of the range for light machines; project default
RUBBING: Final = 0.01  # mm a tooth: the radius of a sharp carbide edge is 0.005 to 0.010 mm (from memory)
STRAIGHT_DOWN: Final = 0.5  # of the feed at the range's lower end; common practice is a quarter to a half


def chips_too_thick(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Feeds that give each tooth more than twice what a light machine's cutter is usually given."""
    for number, low, high in _ranges(run):
        moves = _turning(run, removal, number)
        turns = run.motion.speed_rpm[moves] / 60
        flutes = next(one.flutes for one in cutters_of(run) if one.number == number)
        load = run.motion.feed[moves] / (turns * flutes)
        thick = load > TOO_THICK * high
        for sight in seen(run, moves[thick], load[thick]):
            feed = high * flutes * _slowest(run, sight.file, moves[thick]) / 60
            yield Finding(
                level=Level.CAUTION,
                kind="chip-too-thick",
                text=(
                    f"{opening(run, sight.first)} each tooth takes {_chip(run, sight.amount)}, where "
                    f"{_chip(run, low)} to {_chip(run, high)} is usual for this cutter and "
                    f"material on a light machine.{again(run, sight)}"
                ),
                remedy=f"Feed at no more than {show_speed(feed, run.setup.machine.units)}.",
                program=sight.file,
                line=sight.line(run.motion),
                at=end_of(run.motion, sight.worst),
            )


def chips_too_thin(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Feeds so slow that the edges rub and burn instead of cutting; ways down and up are left out."""
    motion = run.motion
    level = np.abs(motion.start[:, 2] - motion.end[:, 2]) <= lengths(motion) * np.sin(np.radians(STEEP))
    for number, low, _ in _ranges(run):
        moves = _turning(run, removal, number)
        moves = moves[level[moves]]
        flutes = next(one.flutes for one in cutters_of(run) if one.number == number)
        load = motion.feed[moves] * 60 / (motion.speed_rpm[moves] * flutes)
        thin = load < RUBBING
        for sight in seen(run, moves[thin], -load[thin]):
            feed = low * flutes * float(motion.speed_rpm[sight.worst]) / 60
            turns = float(motion.feed[sight.worst]) * 60 / (low * flutes)
            yield Finding(
                level=Level.CAUTION,
                kind="chip-too-thin",
                text=(
                    f"{opening(run, sight.first)} each tooth takes {_chip(run, -sight.amount)}, no more than "
                    f"its edge is round: it rubs, and wood that is rubbed burns.{again(run, sight)}"
                ),
                remedy=(
                    f"Feed at about {show_speed(feed, run.setup.machine.units)}{_or_slower(run, turns)}."
                ),
                program=sight.file,
                line=sight.line(motion),
                at=end_of(motion, sight.worst),
            )


def plunges_too_fast(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Steep ways down into material faster than half the usual feed."""
    down = _descent(run)
    for number, low, _ in _ranges(run):
        cutter = next(one for one in cutters_of(run) if one.number == number)
        if cutter.kind == "drill":
            continue
        moves = _turning(run, removal, number)
        moves = moves[down[moves] > 0]
        most = STRAIGHT_DOWN * low * cutter.flutes * run.motion.speed_rpm[moves] / 60
        fast = down[moves] > most
        for sight in seen(run, moves[fast], down[moves][fast]):
            feed = STRAIGHT_DOWN * low * cutter.flutes * _slowest(run, sight.file, moves[fast]) / 60
            units = run.setup.machine.units
            yield Finding(
                level=Level.CAUTION,
                kind="plunge-too-fast",
                text=(
                    f"{opening(run, sight.first)} the cutter goes down into material at "
                    f"{show_speed(sight.amount, units)}.{again(run, sight)}"
                ),
                remedy=(
                    f"Plunge at no more than {show_speed(feed, units)}, or ramp at no more than "
                    f"{STEEP:.0f} degrees."
                ),
                program=sight.file,
                line=sight.line(run.motion),
                at=end_of(run.motion, sight.worst),
            )


def _chip(run: Trial, value: float) -> str:
    """What a tooth takes, in the units that the machine's programs are written in."""
    if run.setup.machine.units == "in":
        return f"{value / 25.4:.4f} in"
    return f"{value:.4f} mm" if value < RUBBING else f"{value:.3f} mm"


def _slowest(run: Trial, file: str, moves: Rows) -> float:
    """The slowest that the spindle turns in some moves of a program, rpm; a feed that suits it suits all."""
    mine = moves[run.program[moves] == run.files.index(file)]
    return float(run.motion.speed_rpm[mine].min())


def _or_slower(run: Trial, turns: float) -> str:
    """Turning slower as the other way to a thicker chip, where the spindle can."""
    return f", or turn at about {turns:.0f} rpm" if turns >= run.setup.machine.spindle.min_rpm else ""


def _ranges(run: Trial) -> Iterator[tuple[int, float, float]]:
    """Each cutter's number and its usual chip load; nothing where the material isn't on the shelf."""
    try:
        wood = material(run.setup.stock.material)
    except ShelfError:
        return
    for cutter in cutters_of(run):
        row = chip_load(wood.chip_class, cutter.diameter)
        yield cutter.number, row.load.min, row.load.max


def _turning(run: Trial, removal: Removal, number: int) -> Rows:
    """The moves of a cutter that take material at a feed while it turns."""
    moves = cutting(removal)
    motion = run.motion
    mine = (motion.cutter[moves] == number) & (motion.feed[moves] > 0) & (motion.speed_rpm[moves] > 0)
    chosen: Rows = moves[mine]
    return chosen


def _descent(run: Trial) -> Floats:
    """Speed straight down of moves steeper than STEEP, mm/s; 0 for the others."""
    motion = run.motion
    drop = np.maximum(motion.start[:, 2] - motion.end[:, 2], 0.0)
    way = np.maximum(lengths(motion), 1e-9)
    steep = drop > way * np.sin(np.radians(STEEP))
    speed: Floats = np.where(steep, motion.feed * drop / way, 0.0)
    return speed
