"""Seeded faults: good programs and setups, broken in many ways, and the share that the prover catches.

`python tests/seeded_faults.py --breaks 2000` prints the table, a row for each kind of break. A break
counts only where it changes something physical: what is left of the sheet, what stands where the cutter
goes, or a word that a controller would not take. Which it does is judged by the plain result - heights before
and after, and what the kind of break is - not by the prover's findings.
"""

import argparse
import math
import random
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

from proveout.finding import Level
from proveout.job.read import read_job
from proveout.motion import joined
from proveout.plan import Planned, plan
from proveout.program.text import Program
from proveout.proof.prove import prove
from proveout.proof.removal import fresh_field, remove
from proveout.proof.verdict import Verdict
from proveout.setup import Setup

EXAMPLES = Path(__file__).parent.parent / "examples"
LEAST = 1.0  # mm3 that a rapid must take to matter
CELL = 0.5  # mm: coarse, for speed; walls, strikes and travel don't depend on it

Dice = random.Random
TextBreak = Callable[
    [list[str], Dice], int | None
]  # changes the lines; returns the index of the line, or None
SetupBreak = Callable[[Setup, Dice], Setup]


class Good(NamedTuple):
    """A good job and its verdict."""

    planned: Planned
    verdict: Verdict
    taken: Counter[tuple[str, int]]  # mm3 that each line of each program takes


@dataclass(frozen=True, slots=True)
class Seeded:
    """One break and what came of it."""

    kind: str
    physical: bool
    caught: bool
    what: str


# --- breaks of the text


def _pick(lines: list[str], dice: Dice, pattern: str) -> int | None:
    """A random line that has the pattern and is no comment."""
    found = [i for i, line in enumerate(lines) if not line.startswith("(") and re.search(pattern, line)]
    return dice.choice(found) if found else None


def _edit(pattern: str, change: Callable[[re.Match[str], Dice], str]) -> TextBreak:
    def broken(lines: list[str], dice: Dice) -> int | None:
        index = _pick(lines, dice, pattern)
        if index is not None:
            lines[index] = re.sub(pattern, lambda match: change(match, dice), lines[index], count=1)
        return index

    return broken


def _other_digit(match: re.Match[str], dice: Dice) -> str:
    letter, number = match[1], match[2]
    places = [i for i, char in enumerate(number) if char.isdigit()][:3]
    place = dice.choice(places)
    digit = dice.choice([d for d in "0123456789" if d != number[place]])
    return letter + number[:place] + digit + number[place + 1 :]


def _without(pattern: str) -> TextBreak:
    def broken(lines: list[str], dice: Dice) -> int | None:
        index = _pick(lines, dice, pattern)
        if index is not None:
            lines[index] = ""
        return index

    return broken


def _swap_lines(lines: list[str], dice: Dice) -> int | None:
    index = _pick(lines[:-1], dice, r"\bG[0-3] ")
    if index is None or lines[index + 1].startswith("("):
        return None
    lines[index], lines[index + 1] = lines[index + 1], lines[index]
    return index


def _after_a_cut(*words: str) -> TextBreak:
    """Lines put in after a move at a feed."""

    def broken(lines: list[str], dice: Dice) -> int | None:
        index = _pick(lines, dice, r"\bG[123] ")
        if index is not None:
            lines[index + 1 : index + 1] = words
        return index

    return broken


def _skimming(lines: list[str], dice: Dice) -> int | None:
    """A way of 20 mm or more across 0.4 mm over the stock, where the next line comes down to 1 mm over it.

    Shorter ways may lead across a recess that is cut already, where nothing lies below.
    """
    scale = 25.4 if any(re.search(r"\bG20\b", line) for line in lines) else 1.0
    ways, at = [], {"X": 0.0, "Y": 0.0}
    for i, line in enumerate(lines[:-1]):
        before = dict(at)
        at.update({axis: float(value) for axis, value in re.findall(r"([XY])(-?[\d.]+)", line)})
        far = math.hypot(*(scale * (at[axis] - before[axis]) for axis in "XY")) >= 20.0
        if far and re.search(r"\bG0 [XY]", line) and re.search(r"\bG0 Z\S+$", lines[i + 1]):
            ways.append(i)
    if not ways:
        return None
    index = dice.choice(ways)
    near = float(lines[index + 1].rpartition("Z")[2])
    less = 0.6 / scale
    lines.insert(index, f"G0 Z{near - less:.4f}")
    return index


def _ends_low(lines: list[str], dice: Dice) -> int | None:
    """Without the last way up."""
    index = next(i for i in reversed(range(len(lines))) if re.search(r"\bG0 Z", lines[i]))
    lines[index] = ""
    return index


def _table_length(lines: list[str], dice: Dice) -> int | None:
    """A length from a table, for a controller without one."""
    if any(re.search(r"\bM6\b", line) for line in lines):
        return None
    index = _pick(lines, dice, r"\bG54\b")
    if index is not None:
        lines[index] += " G43 H1"
    return index


TEXT_BREAKS: dict[str, TextBreak] = {
    "dropped minus": _edit(r"([XYZIJ])-", lambda match, dice: match[1]),
    "added minus": _edit(r"([XYZIJ])(?=[\d.])", lambda match, dice: f"{match[1]}-"),
    "rapid for a cut": _edit(r"\bG1 (.*?)( F\S+)?$", lambda match, dice: f"G0 {match[1]}"),
    "cut for an arc": _edit(r"\bG[23] (.*?) I\S+ J\S+", lambda match, dice: f"G1 {match[1]}"),
    "lost decimal point": _edit(r"([XYZ]-?\d+)\.(?=\d)", lambda match, dice: match[1]),
    "swapped I and J": _edit(r"I(\S+) J(\S+)", lambda match, dice: f"I{match[2]} J{match[1]}"),
    "swapped X and Y": _edit(r"X(\S+) Y(\S+)", lambda match, dice: f"X{match[2]} Y{match[1]}"),
    "the other way round": _edit(r"\bG([23]) ", lambda match, dice: f"G{5 - int(match[1])} "),
    "wrong plane": _edit(r"\bG17\b", lambda match, dice: "G18"),
    "wrong units": _edit(r"\bG(20|21)\b", lambda match, dice: "G20" if match[1] == "21" else "G21"),
    "incremental": _edit(r"\bG90\b", lambda match, dice: "G91"),
    "wrong work zero": _edit(r"\bG54\b", lambda match, dice: "G54 G10 L2 P1 Z-5"),
    "another digit": _edit(r"([XYZIJ])(-?[\d.]+)", _other_digit),
    "deleted retract": _without(r"\bG0 Z(?:[2-9]\d|[1-9]\.\d)"),
    "deleted line": _without(r"\bG[0-3] "),
    "swapped lines": _swap_lines,
    "missing spindle start": _edit(r" M3\b", lambda match, dice: ""),
    "spindle stopped": _edit(r" M3\b", lambda match, dice: " M5"),
    "feed ten times": _edit(r"F(\d+)", lambda match, dice: f"F{match[1]}0"),
    "speed ten times": _edit(r"S(\d+)", lambda match, dice: f"S{match[1]}0"),
    "missing feed": _edit(r" F\S+", lambda match, dice: ""),
    "missing end": _without(r"\bM30\b"),
    "deeper by a millimetre": _edit(r"Z(-?[\d.]+)", lambda match, dice: f"Z{float(match[1]) - 1.0:.4f}"),
    "blank inside a number": _edit(r"([XYZ]-?\d)(?=\d)", lambda match, dice: f"{match[1]} "),
    "spindle stopped in the cut": _after_a_cut("M5", "M3"),
    "dwell in the cut": _after_a_cut("G4 P3"),
    "pause in the cut": _after_a_cut("M0"),
    "rapid that skims the stock": _skimming,
    "another work zero": _edit(r"\bG54\b", lambda match, dice: "G55"),
    "no way up at the end": _ends_low,
    "a length from a table": _table_length,
    "letter for a digit": _edit(r"([XYZ]-?)\d", lambda match, dice: f"{match[1]}O"),
}

# --- breaks of the setup


def _clamp_aside(setup: Setup, dice: Dice) -> Setup:
    from shapely.affinity import translate

    index = dice.randrange(len(setup.clamps))
    clamp = setup.clamps[index]
    dx, dy = dice.choice([(8.0, 0.0), (-8.0, 0.0), (0.0, 8.0), (0.0, -8.0), (60.0, 0.0), (-60.0, 0.0)])
    moved = replace(
        clamp,
        bar=replace(clamp.bar, footprint=translate(clamp.bar.footprint, dx, dy)),
        bolt=tuple(replace(one, footprint=translate(one.footprint, dx, dy)) for one in clamp.bolt),
        pressing=translate(clamp.pressing, dx, dy),
    )
    return replace(setup, clamps=(*setup.clamps[:index], moved, *setup.clamps[index + 1 :]))


def _stock(by: float) -> SetupBreak:
    def broken(setup: Setup, dice: Dice) -> Setup:
        return replace(setup, stock=replace(setup.stock, thickest=setup.stock.thickest + by))

    return broken


def _zero(x: float, y: float, z: float) -> SetupBreak:
    def broken(setup: Setup, dice: Dice) -> Setup:
        return replace(setup, zero=(setup.zero[0] + x, setup.zero[1] + y, setup.zero[2] + z))

    return broken


def _cutters(**change: float) -> SetupBreak:
    def broken(setup: Setup, dice: Dice) -> Setup:
        cutters = []
        for one in setup.cutters:
            values = {name: getattr(one, name) * by for name, by in change.items()}
            shank = max(values.get("diameter", 0.0), one.shank_diameter)
            cutters.append(replace(one, **{"shank_diameter": shank, **values}))
        return replace(setup, cutters=tuple(cutters))

    return broken


SETUP_BREAKS: dict[str, SetupBreak] = {
    "clamp moved": _clamp_aside,
    "no clamps": lambda setup, dice: replace(setup, clamps=()),
    "stock 2 mm thicker": _stock(2.0),
    "zero 5 mm to the right": _zero(5.0, 0.0, 0.0),
    "zero 5 mm back": _zero(0.0, 5.0, 0.0),
    "zero 1 mm high": _zero(0.0, 0.0, 1.0),
    "zero 1 mm low": _zero(0.0, 0.0, -1.0),
    "zero at the wrong face": lambda setup, dice: _zero(
        0.0, 0.0, setup.stock.thickest if setup.zero[2] == 0 else -setup.stock.thickest
    )(setup, dice),
    "cutter a quarter wider": _cutters(diameter=1.25),
    "cutter a fifth thinner": _cutters(diameter=0.8),
    "flutes too short": _cutters(flute_length=0.3),
    "inserts level with the face": lambda setup, dice: replace(
        setup, inserts=tuple(replace(one, top=0.0) for one in setup.inserts)
    ),
    "a plate not to be cut": lambda setup, dice: replace(setup, bed_allowance=0.0),
}

# Kinds that matter where the line takes material: there the cutter stands in the wood, or runs into it.
IN_CUT = {"rapid for a cut", "spindle stopped in the cut", "dwell in the cut", "pause in the cut"}

# Kinds of which every break is physical, whatever is left of the sheet.
ALWAYS = {
    "wrong plane",
    "letter for a digit",
    "blank inside a number",
    "rapid that skims the stock",
    "another work zero",
    "no way up at the end",
    "a length from a table",
    "missing spindle start",
    "spindle stopped",
    "speed ten times",
    "feed ten times",
    "no clamps",
    "missing end",
    "inserts level with the face",
    "a plate not to be cut",
    "flutes too short",
}


def goods() -> list[Good]:
    """Both examples, planned and proved."""
    found = []
    for name in ("clamp-kit", "inch-knobs"):
        planned = plan(read_job(EXAMPLES / name / "job.toml"))
        verdict = prove(planned.programs, planned.setup, cell=CELL)
        found.append(Good(planned, verdict, _taken(planned, verdict)))
    return found


def _taken(planned: Planned, verdict: Verdict) -> Counter[tuple[str, int]]:
    """What each line of each program takes, by a removal of its own."""
    setup = planned.setup
    field = fresh_field(setup.stock.size, setup.stock.thickest, cell=CELL, margin=2.0)
    motion = joined(one.motion for one in verdict.programs)
    files = [one.file for one in verdict.programs for _ in range(len(one.motion))]
    removed = remove(field, motion, setup.cutters).removed
    taken: Counter[tuple[str, int]] = Counter()
    for file, line, volume in zip(files, motion.line.tolist(), removed.tolist(), strict=True):
        taken[file, line] += volume
    return taken


def seeded(good: Good, kind: str, dice: Dice) -> Seeded | None:
    """One break of a kind; None where the job has nothing to break in that way."""
    programs, setup, what = list(good.planned.programs), good.planned.setup, kind
    if kind in TEXT_BREAKS:
        index = dice.randrange(1, len(programs))
        lines = programs[index].text.splitlines()
        line = TEXT_BREAKS[kind](lines, dice)
        if line is None:
            return None
        before = programs[index].text.splitlines()[line]
        what = f"{programs[index].file}:{line + 1}: {lines[line]!r} was {before!r}"
        programs[index] = replace(programs[index], text="\n".join(lines) + "\n")
        if kind in IN_CUT and good.taken[programs[index].file, line + 1] > LEAST:
            return replace(_outcome(good, kind, tuple(programs), setup, what), physical=True)
    else:
        setup = SETUP_BREAKS[kind](setup, dice)
    return _outcome(good, kind, tuple(programs), setup, what)


def _outcome(good: Good, kind: str, programs: tuple[Program, ...], setup: Setup, what: str) -> Seeded:
    verdict = prove(programs, setup, cell=CELL)
    before = Counter(_said(good.verdict))
    caught = bool(Counter(_said(verdict)) - before)
    return Seeded(kind, kind in ALWAYS or _differs(good, verdict, setup), caught, what)


def _said(verdict: Verdict) -> Iterator[tuple[str, str]]:
    for finding in verdict.findings:
        if finding.level is not Level.NOTE:
            yield finding.kind, finding.text


def _differs(good: Good, verdict: Verdict, setup: Setup) -> bool:
    """Whether the sheet, or what the moves run through, is another than it was."""
    one, other = good.verdict.result.heights, verdict.result.heights
    if one.shape != other.shape:
        return True
    keep = _mattering(good, one.shape)
    if np.count_nonzero((np.abs(one - other) > 0.1) & keep) > 3:
        return True
    return good.planned.setup.clamps != setup.clamps and _clamp_in_the_way(good, setup)


def _mattering(good: Good, shape: tuple[int, ...]) -> np.ndarray:
    """Cells that belong to a part, or to a tab; what happens to waste and bed is judged by its own checks."""
    from shapely import contains_xy, union_all

    field, setup = good.verdict.result, good.planned.setup
    x = field.origin[0] + (np.arange(shape[1]) + 0.5) * field.cell
    y = field.origin[1] + (np.arange(shape[0]) + 0.5) * field.cell
    parts = union_all([part.outline for part in setup.parts]).buffer(-field.cell)
    inside: np.ndarray = contains_xy(parts, *np.meshgrid(x, y))
    return inside


def _clamp_in_the_way(good: Good, setup: Setup) -> bool:
    """Whether any cut passes under a clamp's bar, or within the cutter's radius of it."""
    from shapely import LineString, union_all

    bars = union_all([clamp.bar.footprint for clamp in setup.clamps])
    for program in good.verdict.programs[1:]:
        motion = program.motion
        low = np.minimum(motion.start[:, 2], motion.end[:, 2]) < setup.stock.thickest
        for start, end in zip(motion.start[low], motion.end[low], strict=True):
            if LineString([start[:2], end[:2]]).distance(bars) < 1.4:
                return True
    return False


def table(breaks: int, seed: int, only: str | None = None) -> list[Seeded]:
    """So many breaks, kinds in turn, jobs in turn."""
    dice, jobs = Dice(seed), goods()
    kinds = [only] if only else [*TEXT_BREAKS, *SETUP_BREAKS]
    done: list[Seeded] = []
    count = 0
    while len(done) < breaks:
        one = seeded(jobs[count // len(kinds) % len(jobs)], kinds[count % len(kinds)], dice)
        count += 1
        if one is not None:
            done.append(one)
    return done


def main() -> None:
    """Print the table and the misses."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--breaks", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=[*TEXT_BREAKS, *SETUP_BREAKS], help="one kind of break")
    arguments = parser.parse_args()
    done = table(arguments.breaks, arguments.seed, arguments.only)
    print(f"{'kind':<28} {'breaks':>7} {'physical':>9} {'caught':>7} {'flagged though harmless':>24}")
    for kind in [*TEXT_BREAKS, *SETUP_BREAKS]:
        mine = [one for one in done if one.kind == kind]
        real = [one for one in mine if one.physical]
        caught, harmless = (
            sum(one.caught for one in real),
            sum(one.caught for one in mine if not one.physical),
        )
        print(f"{kind:<28} {len(mine):>7} {len(real):>9} {caught:>7} {harmless:>24}")
    real = [one for one in done if one.physical]
    caught = sum(one.caught for one in real)
    print(f"caught: {caught} of {len(real)}, {100 * caught / max(len(real), 1):.1f} %")
    for one in real:
        if not one.caught:
            print("missed:", one.kind, one.what)


if __name__ == "__main__":
    main()
