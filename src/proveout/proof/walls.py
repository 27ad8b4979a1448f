"""The exact check of walls: where every wall ends up, whatever the cell of the height field.

Points along every boundary of the intent stand for the walls; a cutter that reaches past one of them while
its tip is below the material beside it has cut into that material, and a wall that no cutter reaches down
at its foot still stands proud. Distances to lines and arcs are exact; only an arc that isn't level in the
plan, or that a cutter with sloping flanks follows downhill, is taken as chords of 1 um.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
from shapely import LinearRing, Polygon

from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.kernels import walls as kernel
from proveout.motion import ARC, XY, Floats, Ints, Motion, arc_radius, chords
from proveout.proof.intent import feature_floor, kept_height, naming, tabs_of
from proveout.proof.trial import (
    CHORD,
    Trial,
    at_least,
    at_most,
    cutters_of,
    length,
    lowest,
    only,
    opening,
    place,
    seen,
    tip_boxes,
)
from proveout.setup import IntendedFeature, IntendedPart, Setup, Tab

SPACING: Final = 0.25  # mm between points of a wall, at most
BESIDE: Final = 0.02  # mm from a wall into the material that it bounds
SKIN: Final = 0.01  # mm below the stock's top that a cutter may skim without being called too deep
FLOOR: Final = 0.5  # mm below a floor beside a wall; a floor cut too deep is told of as such, not as a wall
SEARCH: Final = 1.0  # mm short of a wall within which a cut is looked for
BIN: Final = 2.0  # mm, squares of the plan by which points are found
HALVINGS: Final = 14  # of the stock's thickness, to find how deep a wall is cut: to a thousandth of a mm
THROUGH: Final = 0.001  # mm above the bed at which a cut no longer counts as through

Longs = npt.NDArray[np.int64]


class Wall(NamedTuple):
    """One boundary of the intent."""

    part: IntendedPart
    feature: IntendedFeature | None  # None: the part's outline

    @property
    def name(self) -> str:
        """As it is spoken of."""
        return naming(self.part, self.feature) if self.feature else f"the outline of {self.part.name}"

    @property
    def tolerance(self) -> float:
        """How far the wall may stray."""
        return self.feature.tolerance if self.feature else self.part.tolerance


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallPoints:
    """Points on walls: where, whose, and between which heights the material beside them stands."""

    at: Floats  # (n, 2)
    wall: Ints  # (n,) index into `walls`
    top: Floats  # (n,) below this height of its tip a cutter has no business past the wall
    foot: Floats  # (n,) down to which the wall must be cut
    share: Floats  # (n,) mm of the wall that the point stands for
    tolerance: Floats  # (n,)
    walls: tuple[Wall, ...]

    def __len__(self) -> int:
        return len(self.at)


class Reached(NamedTuple):
    """How far cutters reach past each point at a level."""

    past: Floats  # (n,) mm; negative: short of it
    worst: Ints  # (n,) index of the move that reaches furthest; -1 where none comes near
    first: Ints  # (n,) index of the first move that reaches past the tolerance; -1 where none does


def wall_findings(run: Trial) -> list[Finding]:
    """Every wall cut past its place or left proud of it, one finding for each wall and program."""
    points = wall_points(run.setup, cutters_of(run))
    if not len(points):
        return []
    pieces = path_pieces(run.motion, run.setup.cutters, below=float(max(points.top.max(), points.foot.max())))
    over = reached(points, points.top, pieces)
    under = reached(points, points.foot, pieces)
    return [*_overcut(run, points, over), *_undercut(run, points, under, pieces)]


def walls_off(run: Trial, points: WallPoints) -> int:
    """How many walls are cut past their place or left proud of it, each way counted by itself."""
    pieces = path_pieces(run.motion, run.setup.cutters, below=float(max(points.top.max(), points.foot.max())))
    over = reached(points, points.top, pieces).first >= 0
    proud = -reached(points, points.foot, pieces).past > points.tolerance
    proud &= ~_at_stock_edge(run.setup, points)
    return sum(len(np.unique(points.wall[bad])) for bad in (over, proud))


# --- points


def wall_points(setup: Setup, cutters: Iterable[Cutter] = ()) -> WallPoints:
    """Points on every wall of the intent, no further apart than SPACING, corners included."""
    walls: list[Wall] = []
    runs: list[WallPoints] = []
    widest = max((cutter.diameter for cutter in cutters), default=0.0)
    for part in setup.parts:
        for wall in (Wall(part, None), *(Wall(part, feature) for feature in part.features)):
            runs.append(_points_of(setup, wall, len(walls), widest))
            walls.append(wall)
    if not runs:
        return _no_points()
    joined = {
        field.name: np.concatenate([getattr(one, field.name) for one in runs])
        for field in fields(WallPoints)
        if field.name != "walls"
    }
    return WallPoints(**joined, walls=tuple(walls))


def _no_points() -> WallPoints:
    none = np.zeros(0)
    return WallPoints(
        at=np.zeros((0, 2)),
        wall=np.zeros(0, dtype=np.int32),
        top=none,
        foot=none,
        share=none,
        tolerance=none,
        walls=(),
    )


def _points_of(setup: Setup, wall: Wall, number: int, widest: float) -> WallPoints:
    region = wall.feature.region if wall.feature else wall.part.outline
    at, away, share = _along(region)
    beside = at + away * (BESIDE if wall.feature else -BESIDE)
    top = kept_height(setup, wall.part, beside)
    if wall.feature:
        foot = np.full(
            len(at), feature_floor(wall.feature) + (THROUGH if wall.feature.through else wall.tolerance)
        )
    else:
        foot = _outline_foot(at, tabs_of(setup, wall.part), widest)
    stands = top > foot + SKIN
    top -= np.where(top < setup.stock.thickest, np.minimum(FLOOR, (top - foot) / 2), SKIN)
    return WallPoints(
        at=at[stands],
        wall=np.full(int(stands.sum()), number, dtype=np.int32),
        top=top[stands],
        foot=foot[stands],
        share=share[stands],
        tolerance=np.full(int(stands.sum()), wall.tolerance),
        walls=(),
    )


def _outline_foot(at: Floats, tabs: Iterable[Tab], widest: float) -> Floats:
    """An outline is cut down to the bed, at its bridges down to their height.

    A bridge is as long as its waist in the middle of the kerf and a cutter's diameter longer at the wall.
    """
    foot = np.full(len(at), THROUGH)
    for tab in tabs:
        near = np.hypot(at[:, 0] - tab.at[0], at[:, 1] - tab.at[1]) <= tab.length / 2 + widest
        foot[near] = np.maximum(foot[near], tab.height + THROUGH)
    return foot


def _along(region: Polygon) -> tuple[Floats, Floats, Floats]:
    """Points along a region's rings, the direction out of the region at each, and its share of the length."""
    runs = [_along_ring(ring, hole=False) for ring in [region.exterior]]
    runs += [_along_ring(ring, hole=True) for ring in region.interiors]
    at, away, share = zip(*runs, strict=True)
    return np.concatenate(at), np.concatenate(away), np.concatenate(share)


def _along_ring(ring: LinearRing, *, hole: bool) -> tuple[Floats, Floats, Floats]:
    corners = np.asarray(ring.coords, dtype=np.float64)[:, :2]
    step = np.diff(corners, axis=0)
    span = np.hypot(step[:, 0], step[:, 1])
    corners, step, span = corners[:-1][span > 0], step[span > 0], span[span > 0]
    count = np.maximum(1, np.ceil(span / SPACING)).astype(np.int64)
    edge = np.repeat(np.arange(len(span)), count)
    number = np.arange(len(edge)) - (np.cumsum(count) - count)[edge]
    at = corners[edge] + step[edge] * (number / count[edge])[:, None]
    share = (span / count)[edge]
    outwards = 1.0 if ring.is_ccw != hole else -1.0
    normal = outwards * np.column_stack((step[:, 1], -step[:, 0])) / span[:, None]
    away = normal[edge]
    at_corner = number == 0
    away[at_corner] = _between(normal, np.roll(normal, 1, axis=0))
    return at, away, share


def _between(one: Floats, other: Floats) -> Floats:
    """The direction between two normals; their first where they cancel out."""
    middle = one + other
    size = np.hypot(middle[:, 0], middle[:, 1])
    clear = size > 1e-9
    return np.where(clear[:, None], middle / np.where(clear, size, 1.0)[:, None], one)


# --- path


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PathPieces:
    """A motion as the kernel takes it."""

    rows: Floats  # (m, kernel.COLUMNS)
    shape: Ints  # (m,)
    boxes: Floats  # (m, 4) grown by cutter and search
    move: Ints  # (m,) index of the move


def path_pieces(motion: Motion, cutters: Iterable[Cutter], *, below: float) -> PathPieces:
    """Lines and level-plane arcs of the moves whose tip comes below a height, in the order they are cut."""
    known = {cutter.number: cutter for cutter in cutters}
    deep = np.flatnonzero((lowest(motion) < below) & np.isin(motion.cutter, list(known)))
    upright = np.array([known[number].kind == "flat" for number in motion.cutter[deep].tolist()], dtype=bool)
    level = motion.start[deep, 2] == motion.end[deep, 2]
    exact = (motion.kind[deep] == ARC) & (motion.plane[deep] == XY) & (upright | level)
    lines, line_moves = _lines(motion, deep[~exact])
    arcs, arc_moves = _arcs(motion, deep[exact])
    rows = np.concatenate((lines, arcs))
    moves = np.concatenate((line_moves, arc_moves))
    order = np.argsort(moves, kind="stable")
    rows, moves = rows[order], moves[order]
    shape = np.zeros(len(rows), dtype=np.int32)
    for number, cutter in known.items():
        mine = motion.cutter[moves] == number
        shape[mine], rows[mine, kernel.RADIUS], rows[mine, kernel.SLOPE] = _profile(cutter)
    return PathPieces(rows=rows, shape=shape, boxes=_boxes(motion, rows, moves), move=moves.astype(np.int32))


def _profile(cutter: Cutter) -> tuple[int, float, float]:
    """Shape, radius, and how fast a cone widens with height or the radius of a bull nose's corner."""
    if cutter.kind == "bull nose" and cutter.corner_radius:
        return kernel.BULL, cutter.radius, cutter.corner_radius
    if cutter.kind == "ball":
        return kernel.BALL, cutter.radius, 0.0
    if cutter.kind in ("vee", "drill") and cutter.point_deg is not None and cutter.point_deg < 180:
        return kernel.CONE, cutter.radius, math.tan(math.radians(cutter.point_deg / 2))
    return kernel.FLAT, cutter.radius, 0.0


def point_height(cutter: Cutter) -> float:
    """Height above its tip at which a cutter reaches its full diameter; 0 for a flat one."""
    shape, radius, slope = _profile(cutter)
    if shape == kernel.CONE:
        return radius / slope
    return {kernel.BALL: radius, kernel.BULL: slope}.get(shape, 0.0)


def _lines(motion: Motion, moves: Longs) -> tuple[Floats, Longs]:
    pieces = chords(only(motion, moves), CHORD)
    rows = np.zeros((len(pieces.parent), kernel.COLUMNS))
    rows[:, kernel.X0 : kernel.Z0 + 1] = pieces.start
    rows[:, kernel.X1 : kernel.Z1 + 1] = pieces.end
    return rows, moves[pieces.parent]


def _arcs(motion: Motion, moves: Longs) -> tuple[Floats, Longs]:
    rows = np.zeros((len(moves), kernel.COLUMNS))
    rows[:, kernel.X0 : kernel.Z0 + 1] = motion.start[moves]
    rows[:, kernel.X1 : kernel.Z1 + 1] = motion.end[moves]
    rows[:, kernel.CX : kernel.CY + 1] = motion.centre[moves, :2]
    rows[:, kernel.ARM] = arc_radius(motion)[moves]
    arm = motion.start[moves, :2] - motion.centre[moves, :2]
    rows[:, kernel.ANGLE] = np.arctan2(arm[:, 1], arm[:, 0])
    rows[:, kernel.SWEEP] = motion.sweep[moves]
    return rows, moves


def _boxes(motion: Motion, rows: Floats, moves: Longs) -> Floats:
    """Left, front, right, back of each piece, with room for the cutter and the search."""
    arc = rows[:, kernel.ARM] > 0
    grow = (rows[:, kernel.RADIUS] + SEARCH)[:, None]
    low = np.minimum(rows[:, kernel.X0 : kernel.Y0 + 1], rows[:, kernel.X1 : kernel.Y1 + 1])
    high = np.maximum(rows[:, kernel.X0 : kernel.Y0 + 1], rows[:, kernel.X1 : kernel.Y1 + 1])
    left_front, right_back = tip_boxes(only(motion, moves[arc]))
    low[arc], high[arc] = left_front[:, :2], right_back[:, :2]
    return np.concatenate((low - grow, high + grow), axis=1)


# --- reach


def reached(points: WallPoints, level: Floats, pieces: PathPieces) -> Reached:
    """How far the cutters reach past each point while their tips are below its level."""
    count = len(points)
    best = np.full(count, kernel.NOTHING)
    best_piece = np.full(count, -1, dtype=np.int32)
    first_piece = np.full(count, -1, dtype=np.int32)
    if count and len(pieces.rows):
        corner = points.at.min(axis=0)
        bins, binned, columns = _binned(points.at, corner)
        kernel.reach(
            points.at, level, points.tolerance, bins, binned, corner, BIN, columns,
            pieces.boxes, pieces.rows, pieces.shape, best, best_piece, first_piece,
        )  # fmt: skip
    move = np.append(pieces.move, np.int32(-1))
    return Reached(best, move[best_piece], move[first_piece])


def _binned(at: Floats, corner: Floats) -> tuple[Ints, Ints, int]:
    """Points sorted by square of the plan: where each square begins, the points, and squares in a row."""
    square = np.floor((at - corner) / BIN).astype(np.int64)
    columns, rows = (square.max(axis=0) + 1).tolist()
    number = square[:, 1] * columns + square[:, 0]
    order = np.argsort(number, kind="stable").astype(np.int32)
    begins = np.searchsorted(number[order], np.arange(rows * columns + 1)).astype(np.int32)
    return begins, order, columns


# --- findings


def _overcut(run: Trial, points: WallPoints, over: Reached) -> Iterator[Finding]:
    bad = np.flatnonzero(over.first >= 0)
    for number in np.unique(points.wall[bad]).tolist():
        mine = bad[points.wall[bad] == number]
        yield from _overcut_wall(run, points, over, mine)


def _overcut_wall(run: Trial, points: WallPoints, over: Reached, mine: Longs) -> Iterator[Finding]:
    """One finding for each program that is the first to cut past some of a wall's points."""
    wall = points.walls[points.wall[mine[0]]]
    setup = run.setup
    for sight in seen(run, over.first[mine].astype(np.intp), over.past[mine]):
        here = mine[over.first[mine] == sight.worst]
        point = here[int(np.argmax(over.past[here]))]
        where = (float(points.at[point, 0]), float(points.at[point, 1]))
        clear = min(float(points.top[point]) + FLOOR, setup.stock.thickest)
        yield Finding(
            level=Level.STOP,
            kind="wall-overcut",
            text=(
                f"{opening(run, sight.first)} the cutter cuts {length(setup, sight.amount)} past the wall of "
                f"{wall.name}; {length(setup, wall.tolerance)} is allowed. Worst at {place(setup, where)}."
            ),
            remedy=(
                f"Keep the path {at_least(setup, sight.amount)} further from that wall, "
                f"or the tip at least {at_least(setup, clear)} above the bed there."
            ),
            program=sight.file,
            line=sight.line(run.motion),
            at=(*where, float(lowest(run.motion)[sight.worst])),
            name=wall.name,
            amount=sight.amount,
        )


def _undercut(run: Trial, points: WallPoints, under: Reached, pieces: PathPieces) -> Iterator[Finding]:
    short = -under.past
    bad = np.flatnonzero((short > points.tolerance) & ~_at_stock_edge(run.setup, points))
    if not bad.size:
        return
    lacking = np.full(len(points), np.inf)
    far = bad[short[bad] >= SEARCH]
    lacking[far] = _lacking(_some(points, far), pieces)
    for number in np.unique(points.wall[bad]).tolist():
        mine = bad[points.wall[bad] == number]
        cone = _left_by_points(run, points, mine, pieces)
        if cone:
            yield _tapered(run, points, mine, cone)
        elif (short[mine] >= SEARCH).any() and np.isfinite(lacking[mine][short[mine] >= SEARCH]).all():
            yield _shallow(run, points, mine, lacking)
        else:
            yield _proud(run, points, under, mine)


def _some(points: WallPoints, rows: Longs) -> WallPoints:
    """Some of the points, in the order in which they are named."""
    kept = {
        field.name: getattr(points, field.name)[rows] for field in fields(WallPoints) if field.name != "walls"
    }
    return WallPoints(**kept, walls=points.walls)


def _lacking(points: WallPoints, pieces: PathPieces) -> Floats:
    """How much deeper the cuts along each point must go to reach its foot, (n,) mm; inf where none is.

    By halving: the lowest level, up to where the wall ends, at which it is cut as it should be.
    """
    low, high = points.foot, points.top
    cut = -reached(points, high, pieces).past <= points.tolerance
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        there = -reached(points, middle, pieces).past <= points.tolerance
        low, high = np.where(there, low, middle), np.where(there, middle, high)
    return np.where(cut, high - points.foot, np.inf)


def _at_stock_edge(setup: Setup, points: WallPoints) -> npt.NDArray[np.bool_]:
    """Where a wall is the sheet's own edge, nothing need be cut."""
    width, depth = setup.stock.size
    edge = points.tolerance
    x, y = points.at[:, 0], points.at[:, 1]
    found: npt.NDArray[np.bool_] = (x <= edge) | (y <= edge) | (x >= width - edge) | (y >= depth - edge)
    return found


def _left_by_points(run: Trial, points: WallPoints, mine: Longs, pieces: PathPieces) -> float:
    """Height of the taper that pointed cutters leave at the foot of an otherwise finished wall; 0: not so."""
    height = max((point_height(cutter) for cutter in cutters_of(run)), default=0.0)
    if not height:
        return 0.0
    few = _some(points, mine)
    higher = reached(few, few.foot + height, pieces)
    return height if bool((-higher.past <= few.tolerance).all()) else 0.0


def _proud(run: Trial, points: WallPoints, under: Reached, mine: Longs) -> Finding:
    setup, wall = run.setup, points.walls[points.wall[mine[0]]]
    # of equals, the one that must be cut deepest
    point = mine[np.lexsort((points.foot[mine], np.maximum(under.past[mine], -SEARCH)))[0]]
    where = (float(points.at[point, 0]), float(points.at[point, 1]))
    along = float(points.share[mine].sum())
    short = -float(under.past[point])
    move = int(under.worst[point]) if short < SEARCH else -1
    if short >= SEARCH:
        said = f"no cut reaches the foot of the wall of {wall.name} over {length(setup, along)} of its length"
        remedy = f"Add a cut along it, its tip {_foot(run, points, point)}."
    else:
        said = f"the wall of {wall.name} stands {length(setup, short)} proud over {length(setup, along)}"
        remedy = f"Cut {at_least(setup, short)} closer to it, the tip {_foot(run, points, point)}."
    begin = f"{opening(run, move)} {said}" if move >= 0 else said[0].upper() + said[1:]
    return Finding(
        level=Level.STOP,
        kind="wall-undercut",
        text=f"{begin}. Worst at {place(setup, where)}.",
        remedy=remedy,
        program=run.files[run.program[move]] if move >= 0 else "",
        line=(int(run.motion.line[move]) or None) if move >= 0 else None,
        at=(*where, float(points.foot[point])),
        name=wall.name,
        amount=min(short, SEARCH),
    )


def _shallow(run: Trial, points: WallPoints, mine: Longs, lacking: Floats) -> Finding:
    """A wall that is cut all along, but not deep enough."""
    setup, wall = run.setup, points.walls[points.wall[mine[0]]]
    short = np.where(np.isfinite(lacking[mine]), lacking[mine], 0.0)
    point = mine[int(np.argmax(short))]
    where = (float(points.at[point, 0]), float(points.at[point, 1]))
    most, along = float(short.max()), float(points.share[mine].sum())
    return Finding(
        level=Level.STOP,
        kind="wall-undercut",
        text=(
            f"The wall of {wall.name} is cut {length(setup, most)} short of its foot over "
            f"{length(setup, along)} of its length. Worst at {place(setup, where)}."
        ),
        remedy=f"Cut {at_least(setup, most)} deeper along it, the tip {_foot(run, points, point)}.",
        at=(*where, float(points.foot[point])),
        name=wall.name,
        amount=most,
    )


def _foot(run: Trial, points: WallPoints, point: int) -> str:
    foot = float(points.foot[point])
    return "down to the bed" if foot <= THROUGH else f"at most {at_most(run.setup, foot)} above the bed"


def _tapered(run: Trial, points: WallPoints, mine: Longs, height: float) -> Finding:
    setup, wall = run.setup, points.walls[points.wall[mine[0]]]
    at = (float(points.at[mine[0], 0]), float(points.at[mine[0], 1]))
    return Finding(
        level=Level.CAUTION,
        kind="wall-undercut",
        text=(
            f"The cutter's point leaves the wall of {wall.name} tapered over at most its lowest "
            f"{length(setup, height)}."
        ),
        remedy=f"Go {at_least(setup, height)} deeper if the bed allows it, or finish with a flat cutter.",
        at=(*at, float(points.foot[mine[0]])),
        name=wall.name,
        amount=height,
    )
