"""A drawing made whole: copies dropped, small gaps closed, chains followed into loops, arcs found again.

Every act is listed with its place and size. What can't be made whole within the tolerances is left as it is
and said; nothing that crosses itself is repaired.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from proveout.curve import FLATTEN, Curve, Point, Segment, disc_polygons
from proveout.drawing.copies import copies, middles, overlapping, put_together, taken
from proveout.drawing.loops import SLIVER, Loop, joined, spot
from proveout.drawing.near import Crowded, Numbers, near_pairs, places
from proveout.drawing.refit import FEWEST, TOLERANCE, refitted
from proveout.drawing.units import sweeps
from proveout.drawing.wires import Act, Floats, Wires
from proveout.finding import InputError

GAP: Final = 0.05  # mm between two ends that are closed
WIDE: Final = 1.0  # mm; a gap up to this is told, and left open
MOST_POINTS: Final = 10_000_000  # of the polygons, 160 MB
NOTHING: Final = 1e-4  # mm; a line or arc no longer than this is none, and ends no further apart are one


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenChain:
    """Lines and arcs end to end that don't close."""

    ends: tuple[Point, Point]
    length: float
    layer: str  # of its first
    entity: str  # its first


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Healed:
    """What a drawing holds once it is healed, mm."""

    loops: tuple[Loop, ...]
    open_chains: tuple[OpenChain, ...]
    crossed: tuple[Loop, ...]  # loops that cross themselves: as drawn, not among the loops
    acts: tuple[Act, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bench:
    """The wires being healed, their names, and what was done to them so far."""

    wires: Wires
    layers: Sequence[str]
    entities: Sequence[str]
    gap: float
    acts: list[Act]

    def entity(self, row: int) -> str:
        return self.entities[int(self.wires.entity[row])]

    def layer(self, row: int) -> str:
        return self.layers[int(self.wires.layer[row])]

    def act(self, kind: str, text: str, at: Point, size: float) -> None:
        self.acts.append(Act(kind=kind, text=text, at=at, size=size))


def heal(wires: Wires, layers: Sequence[str], entities: Sequence[str], *, gap: float = GAP) -> Healed:
    """The closed loops that the wires make, the chains that stay open, and everything that was done.

    Args:
        wires: in mm
        layers, entities: the names that the wires number
        gap: mm between two loose ends that are closed
    Raises:
        InputError: without a place: more ends lie on top of one another than can be told apart, or its arcs
            are too many and too long for their polygons
    """
    bench = _Bench(wires=wires, layers=layers, entities=entities, gap=gap, acts=[])
    _bound_points(wires)
    bench, length = _without_nothing(bench)
    bench, on_ring = _without_copies(bench, length)
    loose = np.flatnonzero(bench.wires.ring < 0)
    closed, opened = _chains(bench, loose)
    runs = sorted([*_rings(bench.wires), *closed], key=lambda run: run[0])
    drawn = _segments(bench.wires)
    loops, crossed = _loops(bench, drawn, runs)
    chains = _open_chains(bench, drawn, opened, on_ring)
    return Healed(
        loops=_without_twins(bench, loops), open_chains=chains, crossed=crossed, acts=tuple(bench.acts)
    )


def _bound_points(wires: Wires) -> None:
    arm = wires.start - wires.centre
    radius = np.nan_to_num(np.hypot(arm[:, 0], arm[:, 1]))
    points = len(wires) + float((np.abs(sweeps(wires)) * np.sqrt(radius / (8 * FLATTEN))).sum())
    if points > MOST_POINTS:
        raise InputError(
            f"its arcs are so long or so many that they take {points:.2g} points, over {MOST_POINTS:.0e}. "
            "Put fewer parts into one drawing, or check its unit: it may be drawn larger than it is."
        )


# --- what is nothing, and what is drawn twice


def _point(row: Floats) -> Point:
    return float(row[0]), float(row[1])


def _lengths(wires: Wires) -> Floats:
    way, arm = wires.end - wires.start, wires.start - wires.centre
    chord = np.hypot(way[:, 0], way[:, 1])
    return np.where(np.isnan(arm[:, 0]), chord, np.abs(sweeps(wires)) * np.hypot(arm[:, 0], arm[:, 1]))


def _without_nothing(bench: _Bench) -> tuple[_Bench, Floats]:
    """Without lines and arcs of no length; a closed entity whose ends lie too far apart counts as open."""
    wires = bench.wires
    length = _lengths(wires)
    short = length <= NOTHING
    for row in np.flatnonzero(short).tolist():
        at = _point(wires.start[row])
        text = f"{bench.entity(row)} at {spot(at)} has no length ({length[row]:.2g} mm) and was dropped."
        bench.act("zero length dropped", text, at, float(length[row]))
    kept = taken(wires, np.flatnonzero(~short))
    return replace(bench, wires=replace(kept, ring=_whole_rings(kept, bench.gap))), length[~short]


def _whole_rings(wires: Wires, gap: float) -> "np.ndarray[tuple[int], np.dtype[np.int32]]":
    """The ring of each row, -1 for one of a ring that doesn't close."""
    rows = np.argsort(wires.ring, kind="stable")
    rows = rows[wires.ring[rows] >= 0]
    ring = wires.ring[rows]
    if not len(rows):
        return wires.ring
    first = np.flatnonzero(np.concatenate(([True], ring[1:] != ring[:-1])))
    following = np.append(np.arange(1, len(rows)), 0)
    following[np.append(first[1:], len(rows)) - 1] = first
    apart = wires.start[rows[following]] - wires.end[rows]
    bad = np.unique(ring[np.hypot(apart[:, 0], apart[:, 1]) > gap])
    return np.where(np.isin(wires.ring, bad), -1, wires.ring).astype(np.int32)


def _without_copies(bench: _Bench, length: Floats) -> tuple[_Bench, Numbers]:
    """Without copies and overlaps, and for each row left the row of a ring that it lies on, or -1."""
    wires = bench.wires
    middle = middles(wires, sweeps(wires))
    gone = np.zeros(len(wires), bool)
    on_ring = np.full(len(wires), -1, np.int64)
    for keep, copy in copies(wires, middle, length).tolist():
        if wires.ring[keep] >= 0:
            on_ring[copy] = keep
        elif not gone[keep] and not gone[copy]:
            gone[copy] = True
            at = _point(middle[copy])
            text = (
                f"{bench.entity(copy)}, {length[copy]:.4g} mm long at {spot(at)}, lies on "
                f"{bench.entity(keep)} and was dropped."
            )
            bench.act("duplicate dropped", text, at, float(length[copy]))
    bench, gone = _without_overlaps(bench, gone)
    left = np.flatnonzero(~gone)
    number = np.full(len(wires) + 1, -1, np.int64)
    number[left] = np.arange(len(left))
    return replace(bench, wires=taken(bench.wires, left)), number[on_ring[left]]


def _without_overlaps(
    bench: _Bench, gone: "np.ndarray[tuple[int], np.dtype[np.bool_]]"
) -> tuple[_Bench, "np.ndarray[tuple[int], np.dtype[np.bool_]]"]:
    wires = bench.wires
    rows = np.flatnonzero((wires.ring < 0) & np.isnan(wires.centre[:, 0]) & ~gone)
    pairs = overlapping(wires, rows)
    if not pairs:
        return bench, gone
    place = np.arange(2 * len(wires)) + 2 * len(wires)  # a place of its own for what is gone
    left = np.flatnonzero(~gone)
    ends = np.column_stack((2 * left, 2 * left + 1)).reshape(-1)
    place[ends] = places(_ends(wires, left), NOTHING)
    merged, done = put_together(wires, pairs, place)
    gone = gone.copy()
    for keep, other, shared in done:
        gone[other] = True
        at = _point((wires.start[other] + wires.end[other]) / 2)
        text = (
            f"{bench.entity(other)} at {spot(at)} overlaps {bench.entity(keep)} by {shared:.4g} mm on one "
            "line: the two were made one."
        )
        bench.act("overlap merged", text, at, shared)
    return replace(bench, wires=merged), gone


def _ends(wires: Wires, rows: Numbers) -> Floats:
    """(2 n, 2) start and end of each of the rows, one after the other."""
    return np.stack((wires.start[rows], wires.end[rows]), axis=1).reshape(-1, 2)


# --- from loose rows to chains
#
# An end is 2 i for the start and 2 i + 1 for the end of the i-th loose row; a run is the ends by which its
# rows are entered.


def _chains(bench: _Bench, loose: Numbers) -> tuple[list[list[int]], list[list[int]]]:
    """Runs that close and runs that don't."""
    points = _ends(bench.wires, loose)
    partner, single = _partners(bench, loose, points)
    _close_gaps(bench, loose, points, partner, single)
    onward = partner.tolist()
    done = bytearray(len(loose))
    opened = [_walk(end, onward, done) for end in np.flatnonzero(partner < 0).tolist() if not done[end >> 1]]
    closed = [_walk(2 * row, onward, done) for row in range(len(loose)) if not done[row]]
    names = loose.tolist()
    closed, opened = (
        [[2 * names[end >> 1] + (end & 1) for end in run] for run in runs] for runs in (closed, opened)
    )
    return closed, opened


def _walk(begin: int, onward: list[int], done: bytearray) -> list[int]:
    run = []
    end = begin
    while end >= 0 and not done[end >> 1]:
        done[end >> 1] = 1
        run.append(end)
        end = onward[end ^ 1]
    return run


def _partners(bench: _Bench, loose: Numbers, points: Floats) -> tuple[Numbers, Numbers]:
    """For each end the one that it meets or -1, and the ends that meet none."""
    partner = np.full(len(points), -1, np.int64)
    if not len(points):
        return partner, np.empty(0, np.int64)
    place = places(points, NOTHING)
    order = np.argsort(place, kind="stable")
    first = np.flatnonzero(np.concatenate(([True], np.diff(place[order]) > 0)))
    count = np.diff(np.append(first, len(order)))
    pairs = first[count == 2]
    partner[order[pairs]], partner[order[pairs + 1]] = order[pairs + 1], order[pairs]
    for begin, size in zip(first[count > 2].tolist(), count[count > 2].tolist(), strict=True):
        _branch(bench, loose, points, order[begin : begin + size].tolist(), partner)
    return partner, order[first[count == 1]]


def _branch(bench: _Bench, loose: Numbers, points: Floats, ends: list[int], partner: Numbers) -> None:
    """Ends where three or more meet, paired by entity, then by layer; what is left is told."""
    wires = bench.wires
    for names in (wires.entity, wires.layer):
        by_name: defaultdict[int, list[int]] = defaultdict(list)
        for end in ends:
            by_name[int(names[loose[end >> 1]])].append(end)
        for pair in by_name.values():
            if len(pair) == 2:
                partner[pair[0]], partner[pair[1]] = pair[1], pair[0]
                ends = [end for end in ends if end not in pair]
    if len(ends) == 2:
        partner[ends[0]], partner[ends[1]] = ends[1], ends[0]
    elif len(ends) > 2:
        at = _point(points[ends[0]])
        counted = Counter(bench.entity(int(loose[end >> 1])) for end in ends)
        text = (
            f"{len(ends)} ends meet at {spot(at)}, of {', '.join(list(counted)[:6])}: which of them go on "
            "into which isn't certain. Take the others away, or put them on a layer of their own."
        )
        bench.act("branch", text, at, float(len(ends)))


def _close_gaps(bench: _Bench, loose: Numbers, points: Floats, partner: Numbers, single: Numbers) -> None:
    """Loose ends within the gap made partners, the nearest two first; `partner` is changed. Wider: told."""
    for distance, one, other in _nearest(bench, loose, points, single, bench.gap):
        partner[one], partner[other] = other, one
        if distance > NOTHING:
            _tell_gap(bench, loose, points, (one, other), distance, "gap closed", "was closed")
    left = single[partner[single] < 0]
    try:
        wide = _nearest(bench, loose, points, left, max(WIDE, bench.gap))
    except Crowded:
        at = _point(points[left[0]])
        text = f"{len(left)} loose ends lie too close to tell their gaps, the first at {spot(at)}."
        bench.act("gaps untold", text, at, float(len(left)))
        return
    for distance, one, other in wide:
        said = f"is over {bench.gap:g} mm and was left open: close it in the drawing"
        _tell_gap(bench, loose, points, (one, other), distance, "gap left open", said)


def _nearest(
    bench: _Bench, loose: Numbers, points: Floats, ends: Numbers, reach: float
) -> list[tuple[float, int, int]]:
    """Two and two of the ends, each in one pair at most: one layer's own first, then the nearest first."""
    pairs = ends[near_pairs(points[ends], reach)]
    pairs = pairs[pairs[:, 0] >> 1 != pairs[:, 1] >> 1]
    apart = points[pairs[:, 0]] - points[pairs[:, 1]]
    distance = np.hypot(apart[:, 0], apart[:, 1])
    layer = bench.wires.layer[loose]
    abroad = layer[pairs[:, 0] >> 1] != layer[pairs[:, 1] >> 1]
    free = dict.fromkeys(ends.tolist(), True)
    found = []
    order = np.lexsort((pairs[:, 1], pairs[:, 0], distance, abroad))
    for (one, other), far in zip(pairs[order].tolist(), distance[order].tolist(), strict=True):
        if free[one] and free[other]:
            free[one] = free[other] = False
            found.append((far, one, other))
    return found


def _tell_gap(
    bench: _Bench, loose: Numbers, points: Floats, pair: tuple[int, int], far: float, kind: str, said: str
) -> None:
    one, other = pair
    at = _point((points[one] + points[other]) / 2)
    names = f"{bench.entity(int(loose[one >> 1]))} and {bench.entity(int(loose[other >> 1]))}"
    bench.act(kind, f"the gap of {far:.3g} mm between {names} at {spot(at)} {said}.", at, far)


def _rings(wires: Wires) -> list[list[int]]:
    """The runs of entities that are closed by themselves."""
    rows = np.flatnonzero(wires.ring >= 0)
    rows = rows[np.argsort(wires.ring[rows], kind="stable")]
    cuts = np.flatnonzero(np.diff(wires.ring[rows])) + 1
    return [(2 * some).tolist() for some in np.split(rows, cuts) if len(some)]


# --- from runs to loops


def _segments(wires: Wires) -> list[Segment]:
    """Every row as a segment, as it is drawn."""
    columns = (wires.start, wires.end, wires.centre, wires.ccw)
    return [
        Segment((a[0], a[1]), (b[0], b[1]), None if c[0] != c[0] else (c[0], c[1]), ccw)
        for a, b, c, ccw in zip(*(one.tolist() for one in columns), strict=True)
    ]


def _turned(drawn: Sequence[Segment], run: Sequence[int]) -> list[Segment]:
    """A run's lines and arcs, each turned to run on from the one before it."""
    return [drawn[end >> 1].reversed() if end & 1 else drawn[end >> 1] for end in run]


def _loops(
    bench: _Bench, drawn: Sequence[Segment], runs: list[list[int]]
) -> tuple[list[Loop], tuple[Loop, ...]]:
    """Loops that enclose something, and those that cross themselves."""
    loops, crossed = [], []
    curves = [_curve(bench, drawn, run) for run in runs]
    regions = disc_polygons(curves) if curves else []
    validity = shapely.is_valid(np.array(regions, dtype=object)).tolist() if curves else []
    for run, curve, region, valid in zip(runs, curves, regions, validity, strict=True):
        row = run[0] >> 1
        if region is None or _extent(region, valid=valid) <= SLIVER * curve.length:
            at = curve.segments[0].start
            text = (
                f"the loop of {bench.entity(row)} at {spot(at)}, {curve.length:.4g} mm round, encloses "
                "nothing and was dropped."
            )
            bench.act("no area dropped", text, at, curve.length)
            continue
        loop = Loop(layer=bench.layer(row), entity=bench.entity(row), curve=curve, region=region)
        if valid:
            loops.append(loop)
        else:
            crossed.append(loop)
            _tell_crossing(bench, loop)
    return loops, tuple(crossed)


def _curve(bench: _Bench, drawn: Sequence[Segment], run: Sequence[int]) -> Curve:
    segments = _turned(drawn, run)
    if len(segments) >= FEWEST:
        segments = _refit(bench, segments, bench.entity(run[0] >> 1))
    return Curve(joined(segments))


def _refit(bench: _Bench, segments: list[Segment], entity: str) -> list[Segment]:
    made, refits, smooth = refitted(segments, closed=True)
    for one in refits:
        what = "a circle" if one.whole else "an arc"
        text = (
            f"{one.segments} segments of {entity} at {spot(one.at)} were made {what} of radius "
            f"{one.radius:.4f} mm; none lay further than {one.error:.4f} mm off it."
        )
        bench.act("circle refitted" if one.whole else "arc refitted", text, one.at, one.error)
    for at, shift in smooth:
        text = f"the join of line and refitted arc at {spot(at)} was made smooth: it moved {shift:.4f} mm."
        bench.act("join made smooth", text, at, shift)
    return made


def _extent(region: Polygon, *, valid: bool) -> float:
    """Its area; that of its hull where it crosses itself, so that what it goes round twice doesn't cancel."""
    return float(region.area if valid else region.convex_hull.area)


def _tell_crossing(bench: _Bench, loop: Loop) -> None:
    said = shapely.is_valid_reason(loop.region).partition("[")[2].rstrip("]").split()
    at = (float(said[0]), float(said[1])) if len(said) == 2 else loop.curve.segments[0].start
    text = (
        f"{loop.said} crosses or touches itself at {spot(at)}: it was left as it is and out of the loops. "
        "Draw it as one ring that never touches itself."
    )
    bench.act("self-crossing", text, at, loop.curve.length)


def _without_twins(bench: _Bench, loops: list[Loop]) -> tuple[Loop, ...]:
    """Without loops that lie on an earlier one of their layer."""
    if len(loops) < 2:
        return tuple(loops)
    bounds = shapely.bounds([one.region for one in loops])
    middle = (bounds[:, :2] + bounds[:, 2:]) / 2
    size = bounds[:, 2:] - bounds[:, :2]
    pairs = near_pairs(middle, 2 * TOLERANCE)
    alike = (np.abs(size[pairs[:, 0]] - size[pairs[:, 1]]) <= 2 * TOLERANCE).all(axis=1)
    gone: set[int] = set()
    for one, other in sorted(pairs[alike].tolist()):
        keep, copy = loops[one], loops[other]
        if one in gone or other in gone or keep.layer != copy.layer:
            continue
        if keep.region.symmetric_difference(copy.region).area <= TOLERANCE * copy.curve.length:
            gone.add(other)
            at = copy.curve.segments[0].start
            length = copy.curve.length
            text = f"{copy.said}, {length:.4g} mm round, lies on that of {keep.entity} and was dropped."
            bench.act("duplicate dropped", text, at, length)
    return tuple(loop for number, loop in enumerate(loops) if number not in gone)


def _open_chains(
    bench: _Bench, drawn: Sequence[Segment], runs: list[list[int]], on_ring: Numbers
) -> tuple[OpenChain, ...]:
    """Chains that don't close, but for those that only repeat a closed entity's edges."""
    chains = []
    for run in runs:
        segments = _turned(drawn, run)
        row = run[0] >> 1
        length = sum(one.length for one in segments)
        if all(on_ring[end >> 1] >= 0 for end in run):
            at = segments[0].start
            ring = bench.entity(int(on_ring[row]))
            text = f"{bench.entity(row)} at {spot(at)}, {length:.4g} mm long, lies on {ring} and was dropped."
            bench.act("duplicate dropped", text, at, length)
            continue
        ends = (segments[0].start, segments[-1].end)
        chain = OpenChain(ends=ends, length=length, layer=bench.layer(row), entity=bench.entity(row))
        chains.append(chain)
        text = (
            f"the chain from {bench.entity(row)} to {bench.entity(run[-1] >> 1)}, {length:.4g} mm long, is "
            f"open: its ends lie at {spot(ends[0])} and {spot(ends[1])}, {math.dist(*ends):.3g} mm apart."
        )
        bench.act("open chain", text, ends[0], length)
    return tuple(chains)
