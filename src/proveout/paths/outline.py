"""A part's outline: climb cut, ramped down pass by pass, over its tabs, the last pass right through."""

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final, NamedTuple

import shapely

from proveout.curve import Curve, Point, polygon
from proveout.cutting.data import CuttingData
from proveout.paths.along import begun_at, place, stretch
from proveout.paths.offset import offset_rings, region_of
from proveout.paths.tabs import TabPlan
from proveout.paths.travel import TOUCH, Cut, Descent, Travel, levels

UNREACHED: Final = 0.01  # mm, hollows that stay fuller than this are reported


def outline_rings(outline: Curve, radius: float) -> tuple[Curve, ...]:
    """The cutter's paths round a part, first the one round the outside, all clockwise to the part: climb.

    A spindle that turns clockwise, seen from above, climbs where the part is on the right of the travel.
    """
    rings = [ring.reversed() for ring in offset_rings((outline,), radius)]
    return tuple(sorted(rings, key=lambda ring: -ring.length))


@lru_cache(maxsize=128)
def outline_unreached(outline: Curve, radius: float) -> tuple[Point, ...]:
    """Places in an outline's hollows that a cutter outside it can't come to."""
    around = region_of(offset_rings((outline,), radius), 0.001)
    left = around.buffer(-radius, quad_segs=64).difference(polygon((outline,))).buffer(-UNREACHED / 2)
    inside = [piece.representative_point() for piece in shapely.get_parts(left) if not piece.is_empty]
    return tuple((spot.x, spot.y) for spot in inside)


class Slope(NamedTuple):
    """A stretch of the path over which the height changes evenly; lengths run on round after round."""

    first: float
    last: float
    high: float  # at the first
    low: float  # at the last


def passes(length: float, top: float, floors: Sequence[float], ramp_deg: float) -> tuple[Slope, ...]:
    """A descent round a closed path: each pass ramps down, then runs level until the path is closed.

    The first ramp begins a touch above the surface, before the path's first point, so that all ramps are
    parallel and none bites deeper than its pass. The last pass is followed by a level stretch over its own
    ramp, so that the whole path ends at the floor.
    """
    fall = math.tan(math.radians(ramp_deg))
    slopes = [Slope(-TOUCH / fall, 0.0, top + TOUCH, top)]
    at = 0.0
    for high, low in pairwise((top, *floors)):
        run = (high - low) / fall
        slopes.append(Slope(at, at + run, high, low))
        if run < length:
            slopes.append(Slope(at + run, at + length, low, low))
        at += max(run, length)
    over = min((slopes[1].last - slopes[1].first), length)
    slopes.append(Slope(at, at + over, floors[-1], floors[-1]))
    return tuple(slopes)


class Span(NamedTuple):
    """Where the cutter must not go below a height, as lengths along the path."""

    first: float
    last: float
    height: float


def kept_up(slopes: Sequence[Slope], spans: Sequence[Span], length: float) -> Iterator[Slope]:
    """The same descent, lifted over the spans in every round; no stretch is partly in a span."""
    for slope in slopes:
        marks = {slope.first, slope.last}
        for span in _repeated(spans, slope.first, slope.last, length):
            marks |= {at for at in (span.first, span.last) if slope.first < at < slope.last}
            crossing = _passes_height(slope, span.height)
            if crossing is not None and span.first < crossing < span.last:
                marks.add(crossing)
        cuts = sorted(marks)
        for first, last in pairwise(cuts):
            if last - first > 1e-6:
                yield _lifted(slope, first, last, spans, length)


def _repeated(spans: Sequence[Span], first: float, last: float, length: float) -> Iterator[Span]:
    for lap in range(math.floor(first / length) - 1, math.floor(last / length) + 2):
        for span in spans:
            yield Span(span.first + lap * length, span.last + lap * length, span.height)


def _passes_height(slope: Slope, height: float) -> float | None:
    if not slope.low < height < slope.high:
        return None
    return slope.first + (slope.last - slope.first) * (slope.high - height) / (slope.high - slope.low)


def _lifted(slope: Slope, first: float, last: float, spans: Sequence[Span], length: float) -> Slope:
    def level(at: float) -> float:
        share = (at - slope.first) / (slope.last - slope.first)
        return slope.low if share >= 1 else slope.high + (slope.low - slope.high) * share

    middle = (first + last) / 2
    inside = [
        span.height for span in _repeated(spans, first, last, length) if span.first < middle < span.last
    ]
    least = max(inside, default=-math.inf)
    return Slope(first, last, max(level(first), least), max(level(last), least))


def begin_at(length: float, middles: Sequence[float], programmed: float) -> float:
    """Where the descent begins and ends: a quarter into the widest gap between two tabs."""
    if not middles:
        return 0.0
    ordered = sorted(at % length for at in middles)
    gaps = [
        ((following - at) % length or length, -at)
        for at, following in zip(ordered, ordered[1:] + ordered[:1], strict=True)
    ]
    gap, before = max(gaps)
    return (-before + programmed / 2 + (gap - programmed) / 4) % length


def cut_round(ring: Curve, tabs: TabPlan | None, down: Descent) -> Cut:
    """One outline ring cut through, but for its tabs."""
    length, data = ring.length, down.data
    origin = begin_at(length, tabs.middles, tabs.programmed) if tabs else 0.0
    ring = begun_at(ring, origin)
    spans = _spans(tabs, origin, length) if tabs else ()
    travel = Travel(down.heights, data)
    descent = passes(length, down.top, levels(down.top, down.floor, data.depth_of_cut), data.ramp_deg)
    travel.reach(place(ring, descent[0].first), descent[0].high)
    clear = _clear_run(spans, length)
    for slope in kept_up(descent, spans, length):
        if slope.high < travel.z - 1e-9 and not down.cutter.centre_cutting:
            _zigzag_down(travel, ring, slope, clear, data)
        travel.straight_to(slope.high)
        travel.follow(stretch(ring, slope.first, slope.last), slope.low)
    return travel.done()


def _spans(tabs: TabPlan, origin: float, length: float) -> tuple[Span, ...]:
    half = tabs.programmed / 2
    middles = sorted((at - origin) % length for at in tabs.middles)
    return tuple(Span(at - half, at + half, tabs.height) for at in middles)


def _clear_run(spans: Sequence[Span], length: float) -> float:
    """How far one can go on from any tab before the next, mm; half the ring where there is one or none."""
    ordered = sorted(spans)
    gaps = [following.first - span.last for span, following in pairwise(ordered)]
    if ordered:
        gaps.append(ordered[0].first + length - ordered[-1].last)
    return min([*gaps, length / 2])


def _zigzag_down(travel: Travel, ring: Curve, slope: Slope, clear: float, data: CuttingData) -> None:
    """Down behind a tab on a ramp there and back, for a cutter that can't go straight down."""
    drop = travel.z - slope.high
    run = drop / math.tan(math.radians(data.ramp_deg)) / 2
    times = max(1, math.ceil(run / clear))
    begin = travel.z
    way = stretch(ring, slope.first, slope.first + run / times)
    back = tuple(piece.reversed() for piece in reversed(way))
    for number in range(times):
        travel.follow(way, begin - drop * (2 * number + 1) / (2 * times))
        travel.follow(back, begin - drop * (2 * number + 2) / (2 * times))
