"""One wrong number that many findings come from: guessed from them, set right in the model, and proved again.

Only a guess after which nearly all of the findings are gone is told, as the first of all; what is gone with
it is told once for each kind. The guesses are those that a shop makes: a zero that is off, inches for
millimetres, another cutter in the collet, one depth that is wrong.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from proveout.finding import Finding, Level
from proveout.motion import Motion
from proveout.proof.grouped import as_one
from proveout.proof.intent import feature_floor, naming
from proveout.proof.shift import shift_of
from proveout.proof.trial import Mask, Trial, cutters_of, length
from proveout.proof.walls import wall_points, walls_off
from proveout.setup import IntendedFeature

MANY: Final = (
    6  # stops that a wrong place, depth or size can make, from which on a single cause is looked for
)
LEFT: Final = 0.1  # of the stops: what may be left when the cause is set right
INCH: Final = 25.4
OFF_SCALE: Final = 6.0  # times too long or too short, from which on units are thought of
LEAST: Final = 0.05  # mm; less than this is no cause
STEP: Final = {"mm": 0.05, "in": 0.127}  # mm, to which a cutter's diameter is guessed: 5 thou
SAME: Final = 0.005  # mm

# What comes of a wrong place, depth or size.
PLACE_KINDS: Final = frozenset(
    {
        "beyond-travel",
        "rapid-hits-material",
        "cut-too-deep",
        "wall-overcut",
        "wall-undercut",
        "material-left",
        "beyond-flutes",
        "shank-rubs",
        "cut-outside-stock",
        "clamp-struck",
        "bolt-struck",
        "insert-struck",
        "bed-cut",
        "piece-touched",
        "piece-loose",
        "feed-too-fast",
        "chip-too-thick",
        "chip-too-thin",
        "plunge-too-fast",
        "plunge-not-centre-cutting",
    }
)

WALL_KINDS: Final = frozenset({"wall-overcut", "wall-undercut"})

Prove = Callable[[Trial], Sequence[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Guess:
    """What may be wrong, and the programs as they would run with it set right."""

    text: str
    remedy: str  # without its full stop
    run: Trial
    program: str = ""
    line: int | None = None


def with_cause(run: Trial, findings: Sequence[Finding], prove: Prove) -> list[Finding]:
    """The findings, and before them the one cause of most of them, if there is one.

    Args:
        findings: ungrouped, in order
        prove: judges a changed run
    """
    before = _stops(findings)
    if len(before) < MANY or not cutters_of(run) or not run.setup.parts:
        return list(findings)
    points = wall_points(run.setup, cutters_of(run))
    walls = walls_off(run, points)
    for guess in _guesses(run, findings):
        # Walls first: they are judged much faster than all the rest.
        if walls_off(guess.run, points) <= LEFT * walls:
            after = prove(guess.run)
            if len(_stops(after)) <= LEFT * len(before):
                return _told(run, guess, findings, after)
    return list(findings)


def _stops(findings: Iterable[Finding]) -> list[Finding]:
    return [one for one in findings if one.level is Level.STOP and one.kind in PLACE_KINDS]


def _told(run: Trial, guess: Guess, findings: Sequence[Finding], after: Sequence[Finding]) -> list[Finding]:
    """The cause, what is gone with it, once for each kind, and the rest as it was."""
    still = Counter(_about(one) for one in after)
    gone: dict[str, list[Finding]] = {}
    rest = []
    for finding in findings:
        about = _about(finding)
        if finding.kind in PLACE_KINDS and not still[about]:
            gone.setdefault(finding.kind, []).append(finding)
        else:
            still[about] -= 1
            rest.append(finding)
    count = sum(len(each) for each in gone.values())
    cause = Finding(
        level=Level.STOP,
        kind="one-cause",
        text=f"{guess.text} {count} of {count + len(rest)} findings come of it.",
        remedy=f"{guess.remedy}: that was tried, and they are gone.",
        program=guess.program,
        line=guess.line,
    )
    units = run.setup.machine.units
    folded = [replace(as_one(each, units), remedy=cause.remedy) for each in gone.values()]
    return [cause, *folded, *rest]


def _about(finding: Finding) -> tuple[str, str, str]:
    return finding.kind, finding.program, finding.name


# --- guesses, the likeliest first


def _guesses(run: Trial, findings: Sequence[Finding]) -> Iterator[Guess]:
    whole = np.ones(len(run.motion), dtype=np.bool_)
    alone = [(run.program == index, file) for index, file in enumerate(run.files)]
    each = [(moves, file) for moves, file in [(whole, ""), *alone] if moves.any()]
    for moves, file in each:
        yield from _units(run, moves, file)
    both_ways = len({one.kind for one in findings} & WALL_KINDS) == len(WALL_KINDS)
    if both_ways:
        yield from _aside(run, whole, "")
    yield from _depths(run, findings)
    yield from _cutter(run, findings)
    for moves, file in each:
        yield from _height(run, moves, file)
    if both_ways:
        for moves, file in each[1:]:
            yield from _aside(run, moves, file)


def _units(run: Trial, moves: Mask, file: str) -> Iterator[Guess]:
    """Inches for millimetres, or the other way."""
    if not run.setup.parts:
        return
    wanted = np.array([part.outline.bounds for part in run.setup.parts])
    span = float((wanted[:, 2:].max(axis=0) - wanted[:, :2].min(axis=0)).max())
    ends = run.motion.end[moves, :2]
    ratio = float((ends.max(axis=0) - ends.min(axis=0)).max()) / span
    whose = f"of {file} " if file else ""
    if ratio > OFF_SCALE:
        yield Guess(
            text=f"Every length {whose}is 25.4 times too long: written in millimetres, and read as inches.",
            remedy="Write G21, for millimetres, in place of G20",
            run=_scaled(run, moves, 1 / INCH),
            program=file,
        )
    elif ratio < 1 / OFF_SCALE:
        yield Guess(
            text=f"Every length {whose}is 25.4 times too short: written in inches, and read as millimetres.",
            remedy="Write G20, for inches, in place of G21",
            run=_scaled(run, moves, INCH),
            program=file,
        )


def _scaled(run: Trial, moves: Mask, by: float) -> Trial:
    zero, motion = np.asarray(run.setup.zero), run.motion
    points = [each.copy() for each in (motion.start, motion.end, motion.centre)]
    for each in points:
        each[moves] = zero + (each[moves] - zero) * by
    start, end, centre = points
    feed = np.where(moves, motion.feed * by, motion.feed)
    return replace(run, motion=replace(motion, start=start, end=end, centre=centre, feed=feed))


def _moved(motion: Motion, moves: Mask, by: tuple[float, float, float]) -> Motion:
    points = [each.copy() for each in (motion.start, motion.end, motion.centre)]
    for each in points:
        each[moves] += by
    start, end, centre = points
    return replace(motion, start=start, end=end, centre=centre)


def _features(run: Trial) -> list[tuple[str, IntendedFeature]]:
    return [(naming(part, one), one) for part in run.setup.parts for one in part.features]


def _depths(run: Trial, findings: Sequence[Finding]) -> Iterator[Guess]:
    """One height of the tip that is written wrong, for all the floors that it makes."""
    floors = {name: feature_floor(one) for name, one in _features(run)}
    wrong: Counter[tuple[str, float, float]] = Counter()
    for one in findings:
        name = one.name.removeprefix("the floor of ")
        if name in floors and one.amount and one.kind in ("cut-too-deep", "material-left"):
            off = -one.amount if one.kind == "cut-too-deep" else one.amount
            wrong[one.program, round(floors[name] + off, 2), floors[name]] += 1
    for (file, height, floor), _ in wrong.most_common(2):
        yield from _depth(run, file, height, floor)


def _depth(run: Trial, file: str, height: float, floor: float) -> Iterator[Guess]:
    motion, setup = run.motion, run.setup
    mine = run.program == run.files.index(file) if file else np.ones(len(motion), dtype=np.bool_)
    low = mine & (np.abs(motion.end[:, 2] - height) < SAME * 2)
    if not low.any():
        return
    by = floor - float(motion.end[low, 2].mean())
    points = [each.copy() for each in (motion.start, motion.end)]
    for each in points:
        each[mine & (np.abs(each[:, 2] - height) < SAME * 2), 2] += by
    first = int(np.flatnonzero(low)[0])
    was, wanted = (length(setup, z - setup.zero[2]) for z in (motion.end[first, 2], floor))
    side = "deep" if by > 0 else "high"
    yield Guess(
        text=(
            f"Line {motion.line[first]}: this depth, Z at {was}, is {length(setup, abs(by))} too {side}, "
            "here and wherever it is written again."
        ),
        remedy=f"Write Z for {wanted} wherever the program has Z for {was}",
        run=replace(run, motion=replace(motion, start=points[0], end=points[1])),
        program=run.files[run.program[first]],
        line=int(motion.line[first]) or None,
    )


def _height(run: Trial, moves: Mask, file: str) -> Iterator[Guess]:
    """A zero that is too high or too low, or on the wrong face of the stock."""
    thick = run.setup.stock.thickest
    tried = [thick, -thick]
    off = _floors_off(run, moves)
    if off is not None:
        tried.insert(0, off)
    for by in tried:
        if abs(by) < LEAST:
            continue
        wrong_face = abs(abs(by) - thick) < LEAST
        faces = ("the stock's top", "the bed") if by > 0 else ("the bed", "the stock's top")
        said = f"; the zero was meant to be on {faces[1]}, not on {faces[0]}" if wrong_face else ""
        way = "high" if by > 0 else "deep"
        where = f" by {file}" if file else ""
        stated = f", or state it on {faces[1]} if the program is for that" if wrong_face else ""
        yield Guess(
            text=f"Everything is cut {length(run.setup, abs(by))} too {way}{where}{said}.",
            remedy=(
                f"Set the zero of Z {length(run.setup, abs(by))} {'lower' if by > 0 else 'higher'}{stated}"
            ),
            run=replace(run, motion=_moved(run.motion, moves, (0.0, 0.0, -by))),
            program=file,
        )


def _floors_off(run: Trial, moves: Mask) -> float | None:
    """By how much the lowest tip over each blind feature is off its floor, where all are off by the same."""
    ends = run.motion.end[moves]
    found = []
    for _, one in _features(run):
        if one.through:
            continue
        region = one.region.buffer(-min(cutter.radius for cutter in cutters_of(run)) / 2)
        for other in (two for _, two in _features(run) if two.through):
            region = (
                region.difference(other.region.buffer(0.01)) if other.region.intersects(region) else region
            )
        inside = shapely.contains_xy(region, ends[:, 0], ends[:, 1])
        if inside.any():
            found.append(float(ends[inside, 2].min()) - one.floor)
    if not found or max(found) - min(found) > LEAST:
        return None
    return float(np.median(found))


def _cutter(run: Trial, findings: Sequence[Finding]) -> Iterator[Guess]:
    """Cutters of other diameters than the programs were written for."""
    changed, said = {}, []
    for cutter in cutters_of(run):
        used = {run.files[index] for index in np.unique(run.program[run.motion.cutter == cutter.number])}
        off = [
            one.amount if one.kind == "wall-overcut" else -one.amount
            for one in findings
            if one.kind in ("wall-overcut", "wall-undercut") and one.program in used and one.amount
        ]
        by = float(np.median(off)) if off else 0.0
        step = STEP[run.setup.machine.units]
        fits = round((cutter.diameter - 2 * by) / step) * step
        if abs(by) >= LEAST and fits > 0.1:
            changed[cutter.number] = replace(
                cutter, diameter=fits, shank_diameter=max(min(cutter.shank_diameter, fits), 0.1)
            )
            said.append((cutter.diameter, fits))
    if not changed:
        return
    cutters = tuple(changed.get(one.number, one) for one in run.setup.cutters)
    setup = replace(run.setup, cutters=cutters)
    is_now = " and ".join(length(setup, one) for one, _ in said)
    wanted = " and ".join(length(setup, other) for _, other in said)
    far = "too far" if said[0][0] > said[0][1] else "not far enough"
    yield Guess(
        text=f"Walls are cut {far} all round: a cutter of {is_now} is not what the programs are for.",
        remedy=f"Take a cutter of {wanted}, or measure the one in the collet and state what it is",
        run=replace(run, setup=setup),
    )


def _aside(run: Trial, moves: Mask, file: str) -> Iterator[Guess]:
    """A zero beside its place."""
    shift = shift_of(run, moves)
    if shift is None or max(abs(shift[0]), abs(shift[1])) < LEAST:
        return
    x, y = shift
    sides = [(x, "to the right", "to the left"), (y, "to the back", "to the front")]
    shown = [one for one in sides if abs(one[0]) >= LEAST]

    def words(back: bool) -> str:
        each = (f"{length(run.setup, abs(by))} {up if (by > 0) != back else down}" for by, up, down in shown)
        return " and ".join(each)

    where = f" by {file}" if file else ""
    yield Guess(
        text=f"Everything is cut {words(False)} of its place{where}.",
        remedy=f"Set the work zero {words(True)}",
        run=replace(run, motion=_moved(run.motion, moves, (-x, -y, 0.0))),
        program=file,
    )
