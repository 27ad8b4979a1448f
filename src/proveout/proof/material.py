"""What happens between the cutter and the material, from the removal's account of every move."""

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.motion import RAPID, Floats, lengths
from proveout.proof.allowed import TAB_TOLERANCE, covered, shrunk, window
from proveout.proof.companion import CLEAR, FLUSH, Met, cutting, met
from proveout.proof.intent import feature_floor, inside, naming
from proveout.proof.removal import Removal
from proveout.proof.strikes import Cylinder
from proveout.proof.trial import (
    Mask,
    Rows,
    Trial,
    again,
    at_least,
    cutters_of,
    end_of,
    length,
    opening,
    place,
    seen,
)
from proveout.proof.walls import point_height
from proveout.setup import IntendedFeature, IntendedPart, Setup

TOO_DEEP: Final = 0.01  # mm below what is allowed
ASIDE: Final = 0.5  # mm that a drill may wander; project default
RIM: Final = 0.5  # of a feature: less may be left by a cutter's point; project default
STEEP: Final = 30.0  # deg; a cutter with a dead centre can't follow a steeper descent


def rapids_in_material(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Rapids through standing material."""
    moves = cutting(removal)
    moves, depth = _inside_edges(run, removal, moves[run.motion.kind[moves] == RAPID])
    for sight in seen(run, moves, depth):
        top = run.setup.stock.thickest
        yield Finding(
            level=Level.STOP,
            kind="rapid-hits-material",
            text=(
                f"{opening(run, sight.first)} a rapid runs into material that stands "
                f"{length(run.setup, sight.amount)} above the cutter's tip.{again(run, sight)}"
            ),
            remedy=(
                f"Rapid no lower than {at_least(run.setup, top + 1)} above the bed, and feed from there; "
                "measure the sheet again if it should have been clear."
            ),
            amount=sight.amount,
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def _inside_edges(run: Trial, removal: Removal, moves: Rows) -> Met:
    """Moves, and how deep they cut, without what flat cutters shave off a wall that they made themselves."""
    found = [Met(moves[:0], np.zeros(0))]
    for cutter in cutters_of(run):
        mine = moves[run.motion.cutter[moves] == cutter.number]
        if cutter.kind == "flat" and mine.size:
            edges = Cylinder("edge", cutter.radius - CLEAR, 0.0, np.inf)
            found.append(met(run, removal, edges, mine, ahead=True))
        elif cutter.kind == "bull nose" and cutter.corner_radius and mine.size:
            found.extend(_within_bull_nose(run, removal, cutter, mine))
        else:
            found.append(Met(mine, removal.depth[mine]))
    return Met(*(np.concatenate(each) for each in zip(*found, strict=True)))


def _within_bull_nose(run: Trial, removal: Removal, cutter: Cutter, moves: Rows) -> Iterator[Met]:
    """What a bull nose meets with its flat, and with its edges above the corner."""
    corner = cutter.corner_radius or 0.0
    flat = Cylinder("flat", min(cutter.radius - corner, cutter.radius - CLEAR), 0.0, np.inf)
    yield met(run, removal, flat, moves, ahead=True)
    higher = Cylinder("edge", cutter.radius - CLEAR, corner, np.inf)
    above = met(run, removal, higher, moves, ahead=True)
    yield Met(above.moves, above.depth + corner)


def spindle_off(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Cutting moves while the spindle stands still."""
    moves = cutting(removal)
    moves = moves[run.motion.speed_rpm[moves] == 0]
    for sight in seen(run, moves, removal.depth[moves]):
        yield Finding(
            level=Level.STOP,
            kind="spindle-off",
            text=(
                f"{opening(run, sight.first)} the cutter cuts while the spindle stands still."
                f"{again(run, sight)}"
            ),
            remedy=_start(run, sight.first),
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def _start(run: Trial, move: int) -> str:
    """How to start the spindle: "M3 with S from 8000 to 24000, then G4 P4.0"."""
    spindle, cutter = run.setup.machine.spindle, _cutter(run, move)
    most = min(spindle.max_rpm, cutter.max_rpm or spindle.max_rpm)
    return (
        f"Start the spindle before this line, M3 with S from {spindle.min_rpm:.0f} to {most:.0f}, and wait "
        f"{spindle.spin_up:g} s for its speed: G4 P{spindle.spin_up:.1f}."
    )


def steep_plunges(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Steep descents into material with a cutter that doesn't cut at its centre."""
    dead = [cutter.number for cutter in run.setup.cutters if _has_dead_centre(cutter)]
    moves = cutting(removal)
    moves = moves[np.isin(run.motion.cutter[moves], dead) & (run.motion.kind[moves] != RAPID)]
    drop = run.motion.start[moves, 2] - run.motion.end[moves, 2]
    way = lengths(run.motion)[moves]
    slope: Floats = np.degrees(np.arcsin(np.clip(drop / np.where(way > 0, way, 1.0), -1.0, 1.0)))
    steep = slope > STEEP + 0.1
    for sight in seen(run, moves[steep], slope[steep]):
        cutter = _cutter(run, sight.worst)
        yield Finding(
            level=Level.STOP,
            kind="plunge-not-centre-cutting",
            text=(
                f"{opening(run, sight.first)} {cutter.name} doesn't cut at its centre, and goes down into "
                f"material at {sight.amount:.0f} degrees.{again(run, sight)}"
            ),
            remedy=f"Ramp down at no more than {STEEP:.0f} degrees, or use a centre-cutting cutter.",
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def drills_sideways(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Ways aside through material with a drill, which cuts at its point alone."""
    drills = [cutter.number for cutter in run.setup.cutters if cutter.kind == "drill"]
    moves = cutting(removal)
    moves = moves[np.isin(run.motion.cutter[moves], drills) & (run.motion.kind[moves] != RAPID)]
    drop = np.abs(run.motion.end[moves, 2] - run.motion.start[moves, 2])
    aside = np.sqrt(np.maximum(lengths(run.motion)[moves] ** 2 - drop**2, 0.0))
    bends = aside > np.maximum(drop, ASIDE)
    for sight in seen(run, moves[bends], removal.depth[moves[bends]]):
        yield Finding(
            level=Level.STOP,
            kind="drill-sideways",
            text=(
                f"{opening(run, sight.first)} {_cutter(run, sight.worst).name} goes aside through wood "
                f"{length(run.setup, sight.amount)} deep. A drill cuts at its point alone, bends and snaps."
                f"{again(run, sight)}"
            ),
            remedy=(
                "Send the drill straight down only, and lift it at least 1 mm above the wood before it goes "
                "aside; mill with a cutter whose flutes cut at their sides."
            ),
            amount=sight.amount,
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def _has_dead_centre(cutter: Cutter) -> bool:
    """Drills and vees cut at their point, whatever is said of them."""
    return not cutter.centre_cutting and cutter.kind in ("flat", "ball", "bull nose")


def _cutter(run: Trial, move: int) -> Cutter:
    number = int(run.motion.cutter[move])
    return next(cutter for cutter in run.setup.cutters if cutter.number == number)


# --- floors


class Kept(NamedTuple):
    """Something that a cut may not go too deep into."""

    name: str
    slack: float  # mm that it may be cut below its place
    solid: bool = False  # nothing of it is to be cut at all


def cuts_too_deep(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Cuts into a part, below a floor or through a bridge: one finding for each of them and program."""
    moves = np.flatnonzero(removal.breach > TOO_DEEP)
    whose = _whose(run.setup, removal.breach_at[moves])
    for kept in dict.fromkeys(whose):
        mine = moves[np.array([one == kept for one in whose])]
        for sight in seen(run, mine, removal.breach[mine]):
            where = removal.breach_at[sight.worst]
            at = (float(where[0]), float(where[1]))
            deep = length(run.setup, sight.amount + kept.slack)
            yield Finding(
                level=Level.STOP,
                kind="cut-too-deep",
                text=(
                    f"{opening(run, sight.first)} the cut goes {deep} too deep into {kept.name}. "
                    f"Worst at {place(run.setup, at)}.{again(run, sight)}"
                ),
                remedy=_higher(run, kept, sight.amount),
                program=sight.file,
                line=sight.line(run.motion),
                at=(*at, float(run.motion.end[sight.worst, 2])),
                name=kept.name,
                amount=sight.amount + kept.slack,
            )


def _higher(run: Trial, kept: Kept, amount: float) -> str:
    more = at_least(run.setup, amount + kept.slack)
    if kept.solid:
        return f"Keep the cutter's path out of the part, or its tip {more} higher there."
    return f"Keep the cutter's tip {more} higher there."


def _whose(setup: Setup, points: Floats) -> list[Kept]:
    """What each point lies in: the deepest feature, else the part, else a bridge."""
    found = [Kept("a bridge that holds a part", TAB_TOLERANCE)] * len(points)
    for tab in setup.tabs:
        near = np.hypot(points[:, 0] - tab.at[0], points[:, 1] - tab.at[1]) <= tab.length
        _put(found, near, Kept(f"a bridge of {tab.part}", TAB_TOLERANCE))
    for part in setup.parts:
        _put(found, inside(part.outline, points), Kept(part.name, 0.0, solid=True))
        for feature in sorted(part.features, key=feature_floor, reverse=True):
            kept = Kept(f"the floor of {naming(part, feature)}", feature.tolerance)
            _put(found, inside(feature.region, points), kept)
    return found


def _put(found: list[Kept], where: Mask, kept: Kept) -> None:
    for index in np.flatnonzero(where).tolist():
        found[index] = kept


def material_left(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Features whose floor the programs, run to their end, have not reached everywhere."""
    for part in run.setup.parts:
        for feature in part.features:
            found = _left_in(run, removal, part, feature)
            if found:
                yield found


def _left_in(run: Trial, removal: Removal, part: IntendedPart, feature: IntendedFeature) -> Finding | None:
    field = removal.field
    block = window(field, feature.region, cells=2)
    heights = field.heights[block]
    floor, allowed = feature_floor(feature), FLUSH if feature.through else feature.tolerance + FLUSH
    left = shrunk(covered(field, feature.region, block)) & (heights > floor + allowed)
    if not left.any():
        return None
    highest = np.unravel_index(int(np.argmax(np.where(left, heights, -np.inf))), heights.shape)
    most = float(heights[highest]) - floor
    taper = max((point_height(cutter) for cutter in cutters_of(run)), default=0.0)
    # a point leaves a rim, a drill's a cone; a vee or ball that leaves most of a floor is the wrong cutter
    drilled = any(cutter.kind == "drill" for cutter in cutters_of(run))
    rim = drilled or float(left.sum()) <= RIM * float(covered(field, feature.region, block).sum())
    only_taper = rim and most <= taper + allowed and bool(heights.min() <= floor + allowed)
    at = (
        field.origin[0] + (block.columns.start + int(highest[1]) + 0.5) * field.cell,
        field.origin[1] + (block.rows.start + int(highest[0]) + 0.5) * field.cell,
    )
    area = float(left.sum()) * field.cell**2
    return Finding(
        level=Level.CAUTION if only_taper else Level.STOP,
        kind="material-left",
        text=(
            f"Material is left in {naming(part, feature)} over {_area(run.setup, area)}, up to "
            f"{length(run.setup, most)} above {'the bed: not through' if feature.through else 'its floor'}. "
            f"Worst at {place(run.setup, at)}."
            f"{' The point of the cutter leaves it so.' if only_taper else ''}"
        ),
        remedy=(
            f"Cut {at_least(run.setup, most)} deeper there, down to "
            f"{'the bed' if feature.through else f'{length(run.setup, floor)} above the bed'}, or add the "
            "passes that are missing."
        ),
        at=(*at, floor + most),
        name=naming(part, feature),
        amount=most,
    )


def _area(setup: Setup, square_mm: float) -> str:
    if setup.machine.units == "in":
        return f"{square_mm / 645.16:.2g} square inches"
    return f"{square_mm:.2g} mm2" if square_mm < 10 else f"{square_mm:.0f} mm2"
