"""Whether cutter, spindle, gantry and clamps stand what the stretches of the way ask of them."""

import math
from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from proveout.finding import Change, Finding, Level
from proveout.job.records import Cutter, Spindle
from proveout.motion import Floats
from proveout.proof.engagement import worst_stress
from proveout.proof.loads import DULL
from proveout.proof.trial import Rows, Trial, length
from proveout.proof.verdict import Loads
from proveout.quantity import show_speed
from proveout.setup import cutter_by_number
from proveout.shelf.tables import cutting_energy, material

POWER_SHARE: Final = 0.8  # of what the spindle has at a speed; common practice, no source
CARBIDE_BENDS: Final = 600.0  # N/mm2 to stay below; project default
CARBIDE_BREAKS: Final = 2000.0  # N/mm2, the low end of carbide's rupture strength (from memory)
STEEL_BENDS: Final = 300.0  # N/mm2, high-speed steel, to stay below; project default
PUSH_OFF: Final = 0.1  # mm; a wall further off is felt in a fit; project default
HOLD_WANTED: Final = 3.0  # times, on friction alone; project default after fixture practice of 2 and more
ROUNDING: Final = 1.02  # of a limit, for the words' rounding and the cells of the model


class Worst(NamedTuple):
    """Where one program offends the most, and how widely."""

    file: str
    row: int  # the worst stretch
    first: int  # line of the first offending move
    line: int  # line of the worst
    lines: int  # how many lines offend
    at: tuple[float, float, float]  # the worst stretch's end


def worst_in_each(run: Trial, loads: Loads, rows: Rows, amounts: Floats) -> Iterator[Worst]:
    """The offending stretches (rows, with how far each offends), told once for each program."""
    program = run.program[loads.move[rows]]
    for number, file in enumerate(run.files):
        mine = np.flatnonzero(program == number)
        if not mine.size:
            continue
        row = int(rows[mine[int(np.argmax(amounts[mine]))]])
        lines = np.unique(run.motion.line[loads.move[rows[mine]]])
        x, y, z = loads.motion.end[row].tolist()
        yield Worst(
            file=file,
            row=row,
            first=int(run.motion.line[loads.move[rows[mine[0]]]]),
            line=int(run.motion.line[loads.move[row]]),
            lines=len(lines),
            at=(x, y, z),
        )


def spindle_overloaded(run: Trial, loads: Loads) -> Iterator[Finding]:
    """Cuts that ask more power than the spindle has at their speed."""
    spindle, energy = (
        run.setup.machine.spindle,
        cutting_energy(material(run.setup.stock.material).energy_class),
    )
    has = power_at(spindle, loads.motion.speed_rpm)
    share = loads.power / np.maximum(POWER_SHARE * has, 1e-9)
    rows = np.flatnonzero((loads.power > 0) & (share > ROUNDING))
    for worst in worst_in_each(run, loads, rows, share[rows]):
        asks, gives = float(loads.power[worst.row]), float(has[worst.row])
        # A slower feed cuts thinner chips, which ask more for their volume: the power falls as feed^(1 - m).
        slower = float(share[worst.row]) ** (-1 / (1 - energy.exponent))
        feed = math.floor(float(loads.motion.feed[worst.row]) * slower * 60) / 60
        yield _finding(
            worst,
            Level.STOP if asks * energy.low > gives else Level.CAUTION,
            "spindle-overloaded",
            f"the cut asks about {asks:.0f} W of the spindle, which has about {gives:.0f} W at this speed.",
            f"Feed at no more than {show_speed(feed, run.setup.machine.units)} there, or cut "
            f"{_shallower(run, loads, worst.row, 1 / float(share[worst.row]))}.",
            _gentler(loads, worst.row, 1 / float(share[worst.row])),
        )


def power_at(spindle: Spindle, speed_rpm: Floats) -> Floats:
    """What a spindle has at a speed, W: in proportion up to its highest, as of a motor of one torque.

    Source: common practice, no source; the maker's curve may say more or less
    """
    has: Floats = spindle.power * np.minimum(speed_rpm / spindle.max_rpm, 1.0)
    return has


def cutters_overloaded(run: Trial, loads: Loads) -> Iterator[Finding]:
    """Cuts that may snap the cutter: the bending stress where its flutes end and at the collet, edge dull."""
    energy = cutting_energy(material(run.setup.stock.material).energy_class)
    for cutter, rows in _by_cutter(run, loads):
        stress, at_collet = worst_stress(
            DULL * loads.force[rows],
            cutter.diameter,
            cutter.stick_out,
            fluted=cutter.flute_length,
            shank=cutter.shank_diameter,
        )
        of_row = dict(zip(rows.tolist(), stress.tolist(), strict=True))
        bends = CARBIDE_BENDS if cutter.carbide else STEEL_BENDS
        many = stress > ROUNDING * bends
        for worst in worst_in_each(run, loads, rows[many], stress[many]):
            most = of_row[worst.row]
            where = "at the collet" if at_collet else "where its flutes end"
            breaks = most * energy.low > CARBIDE_BREAKS * (bends / CARBIDE_BENDS)
            yield _finding(
                worst,
                Level.STOP if breaks else Level.CAUTION,
                "cutter-overloaded",
                f"{cutter.name} is pushed sideways with up to {DULL * loads.force[worst.row]:.0f} N when "
                f"dull, which bends it with {most:.0f} N/mm2 {where}, where {bends:.0f} is enough.",
                f"Cut {_shallower(run, loads, worst.row, bends / most)}, or "
                f"{_shorter(run, cutter, bends / most, at_collet=at_collet)}.",
                _gentler(loads, worst.row, bends / most),
            )


def _shorter(run: Trial, cutter: Cutter, share: float, *, at_collet: bool) -> str:
    if at_collet:
        return f"let the cutter stick out {length(run.setup, cutter.stick_out * share)} at most"
    return f"take a cutter with flutes of {length(run.setup, cutter.flute_length * share)} at most"


def walls_pushed_off(run: Trial, loads: Loads) -> Iterator[Finding]:
    """Cuts under which cutter and gantry give way so far that their walls are off."""
    rows = np.flatnonzero(loads.push_off > ROUNDING * PUSH_OFF)
    for worst in worst_in_each(run, loads, rows, loads.push_off[rows]):
        off = float(loads.push_off[worst.row])
        yield _finding(
            worst,
            Level.CAUTION,
            "wall-push-off",
            f"cutter and gantry give way by about {length(run.setup, off)} under the cutting force, and "
            "the wall is off by that much.",
            f"Cut {_shallower(run, loads, worst.row, PUSH_OFF / off)}, or leave it for a finishing pass.",
            _gentler(loads, worst.row, PUSH_OFF / off),
        )


def blank_slips(run: Trial, loads: Loads) -> Iterator[Finding]:
    """Cuts that the clamps stand with less margin than is wanted: the blank slides, turns or tips."""
    rows = np.flatnonzero(loads.margin < HOLD_WANTED / ROUNDING)
    for worst in worst_in_each(run, loads, rows, -loads.margin[rows]):
        margin, push = float(loads.margin[worst.row]), DULL * float(loads.force[worst.row])
        pull = DULL * float(loads.lift[worst.row])
        times = at_least_times(HOLD_WANTED / max(margin, 1e-3))
        lifting = f" and pulls it up with {pull:.0f} N" if pull else ""
        yield _finding(
            worst,
            Level.STOP if margin < 1 else Level.CAUTION,
            "hold-margin",
            f"a dull cutter pushes the blank with up to {push:.0f} N{lifting} here, and {_holding(run)} "
            f"stands {margin:.1f} times that before it slides, turns or tips, where {HOLD_WANTED:g} times is "
            "wanted.",
            f"Cut {_shallower(run, loads, worst.row, margin / HOLD_WANTED)}, or press {times} times as hard: "
            f"more clamps{', tape or screws' if run.setup.grips else ''}, and one of them near here.",
            _gentler(loads, worst.row, margin / HOLD_WANTED),
        )


def _holding(run: Trial) -> str:
    return "all that holds it" if run.setup.grips or run.setup.stops else "the clamps' friction"


def at_least_times(value: float) -> str:
    """How many times as much, rounded up to a tenth, so that it is enough."""
    return f"{math.ceil(value * 10 - 1e-9) / 10:.1f}"


def _by_cutter(run: Trial, loads: Loads) -> Iterator[tuple[Cutter, Rows]]:
    for number in np.unique(loads.motion.cutter).tolist():
        cutter = cutter_by_number(run.setup, number)
        if cutter is not None:
            yield cutter, np.flatnonzero((loads.motion.cutter == number) & (loads.force > 0))


def _shallower(run: Trial, loads: Loads, row: int, share: float) -> str:
    """The depth of cut that brings a load down to a share: all of them grow in proportion to it."""
    depth = float(loads.depth[row]) * share
    return f"no deeper than {length(run.setup, math.floor(depth * 100) / 100)} at a time"


def _gentler(loads: Loads, row: int, share: float) -> Change:
    return Change(what="depth of cut", times=share, cutter=int(loads.motion.cutter[row]))


def _finding(worst: Worst, level: Level, kind: str, text: str, remedy: str, change: Change) -> Finding:
    begins = f"Line {worst.line}: " if worst.line else ""
    said = f"{begins}{text if begins else text[0].upper() + text[1:]}"
    others = worst.lines - 1
    if others:
        more = "One more line does" if others == 1 else f"{others} more lines do"
        said += f" {more} so too, from line {worst.first} on."
    return Finding(
        level=level,
        kind=kind,
        text=said,
        remedy=remedy,
        program=worst.file,
        line=worst.line or None,
        at=worst.at,
        change=change,
    )
