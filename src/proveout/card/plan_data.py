"""What the page's plan shows and lets move: the bed from above as plain data for a picture.

Frame: mm; X right, Y away; origin at the sheet's left front corner. Paths are SVG path data in that frame, so
that the picture turns them over once; arcs are kept as arcs.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from proveout.curve import Curve, Point, Segment, polygon
from proveout.drawing.svg_out import curve_path
from proveout.finding import Finding
from proveout.hold.clamps import bar_outline, solids_at
from proveout.hold.places import Place, places
from proveout.job.grid import holes_of
from proveout.job.records import ClampAt, ClampKind, Cutter, Job, Towards
from proveout.layout.keepouts import keep_out
from proveout.layout.lay import CLEARANCE
from proveout.pack.plan_picture import numbered, tab_runs
from proveout.parts.part import Part, PlacedPart, lies
from proveout.plan import zero_of
from proveout.quantity import show_length
from proveout.reckon import Held
from proveout.setup import Tab
from proveout.shelf.tables import thread

TOUCHING: Final = 1e-6  # mm by which bars may lie on each other, as the reader of jobs has it
APART: Final = 10.0  # mm between two marks of one finding: closer ones would only hide each other
_FINE: Final = 0.02  # mm, by which a keep-out's outline may be simpler than it is


def plan_data(
    job: Job,
    placed: Sequence[PlacedPart],
    held: Held,
    *,
    tabs: Sequence[Tab] = (),
    findings: Sequence[Finding] = (),
) -> dict[str, object]:
    """All that the interactive plan needs, as values that JSON has."""
    lying = [lies(one) for one in placed]
    cutters = _used(job, placed)
    return {
        "name": job.name,
        "units": job.units,
        "sheet": {
            "size": _point(job.stock.size),
            "margin": job.stock.edge_margin,
            "at": _point(job.stock.at),
            "thickness": show_length(job.stock.mean, job.units),
        },
        "plate": _plate(job),
        "zero": {"at": _point(zero_of(job)[:2]), "corner": job.zero.corner, "level": job.zero.level},
        "places": len(job.places),
        "parts": _parts(job, placed, lying),
        "clamps": _clamps(job, held, cutters),
        "others": list(_others(held)),
        "flaws": _flaws(job),
        "tabs": [{"part": tab.part, "path": " ".join(map(_line, tab_runs(tab, lying)))} for tab in tabs],
        "findings": list(_marks(findings)),
    }


def _used(job: Job, placed: Iterable[PlacedPart]) -> tuple[Cutter, ...]:
    """The cutters of the placed parts; all on hand where there is none."""
    numbers = {one.part.cutter for one in placed}
    numbers |= {feature.cutter for one in placed for feature in one.part.features}
    return tuple(one for one in job.shop.cutters if one.number in numbers) or job.shop.cutters


def _plate(job: Job) -> dict[str, object]:
    plate, stock = job.shop.plate, job.stock
    taken = {at.hole for at in job.clamps}
    sheet = shapely.box(0.0, 0.0, *stock.size)
    holes = []
    for name, xy in holes_of(plate):
        at = xy[0] - stock.at[0], xy[1] - stock.at[1]
        free = name not in taken and not sheet.covers(shapely.Point(at))
        holes.append({"name": name, "at": _point(at), "free": free})
    low = (-stock.at[0], -stock.at[1])
    return {
        "box": [*_point(low), *_point((low[0] + plate.size[0], low[1] + plate.size[1]))],
        "hole": plate.inserts.diameter,  # across
        "pitch": plate.pitch,
        "holes": holes,
    }


def _parts(job: Job, placed: Sequence[PlacedPart], lying: Sequence[Part]) -> list[dict[str, object]]:
    index = {wanted.name: number for number, wanted in enumerate(job.wanted)}
    by_hand = {place.part: number for number, place in enumerate(job.places)}
    across = {one.number: one.diameter for one in job.shop.cutters}
    return [
        {
            "name": one.name,
            "of": one.part.name,
            "part": index.get(one.part.name),
            "placed": one.name in by_hand,
            "place": by_hand.get(one.name),
            "path": sheet_path((part.outline,)),
            "box": [round(side, 4) for side in polygon((part.outline,)).bounds],
            "turn": one.turn_deg,
            "turns": list(one.part.rotations_deg),
            "kerf": across.get(one.part.cutter, 0.0),
            "features": [
                {"name": feature.name, "path": sheet_path(feature.curves), "through": feature.through}
                for feature in sorted(part.features, key=lambda feature: -feature.floor)
            ],
        }
        for one, part in zip(placed, lying, strict=True)
    ]


def _clamps(job: Job, held: Held, cutters: Sequence[Cutter]) -> list[dict[str, object]]:
    kinds = {kind.name: kind for kind in job.shop.clamps}
    used = {name: kinds[name] for name in {at.clamp for at in job.clamps}}
    shapes = {name: _clamp_shape(kind, job, cutters) for name, kind in used.items()}
    stands = {name: places(job.shop.plate, job.stock, (kind,)) for name, kind in used.items()}
    bars = [one.bar.footprint for one in held.clamps]
    return [
        {
            "index": index,
            "name": at.clamp,
            "hole": at.hole,
            "towards": at.towards,
            "may": _beside(at, stands[at.clamp], [*bars[:index], *bars[index + 1 :]]),
            **shapes[at.clamp],
        }
        for index, at in enumerate(job.clamps)
    ]


def _beside(here: ClampAt, stands: Iterable[Place], others: Sequence[Polygon]) -> dict[str, list[Towards]]:
    """The holes that the other clamps leave, and its own, each with the ways that the nose may point."""
    free: dict[str, list[Towards]] = {here.hole: [here.towards]}
    for one in stands:
        if one.at != here and not any(_overlap(one.bar, other) for other in others):
            free.setdefault(one.at.hole, []).append(one.at.towards)
    return dict(sorted(free.items(), key=lambda item: (item[0][0], int(item[0][1:]))))


def _overlap(one: Polygon, other: Polygon) -> bool:
    """Whether two bars, which lie along X or Y, lie on each other."""
    (left, front, right, back), (low_x, low_y, high_x, high_y) = one.bounds, other.bounds
    return bool(min(right, high_x) - max(left, low_x) > TOUCHING < min(back, high_y) - max(front, low_y))


def _clamp_shape(kind: ClampKind, job: Job, cutters: Sequence[Cutter]) -> dict[str, object]:
    """A clamp in its own frame: its bolt at the origin, its nose to the right."""
    bar = bar_outline(kind, ClampAt(clamp=kind.name, hole="", towards="right"), (0.0, 0.0))
    solids = solids_at(kind, bar, (0.0, 0.0), thickest=job.stock.thickest, name=kind.name)
    away = keep_out(
        solids,
        cutters,
        job.shop.machine.spindle,
        lowest_tip=-job.through_allowance,
        clearance=CLEARANCE,
    )
    return {
        "bar": _ground(bar),
        "bolt": thread(kind.bolt).diameter,
        "boltSize": kind.bolt,
        "knob": kind.knob_diameter,
        "keepOut": _ground(away.simplify(_FINE)),
    }


def _others(held: Held) -> Iterator[dict[str, object]]:
    """What holds the sheet besides clamps; it is shown, and moved in the job file."""
    for stop in held.stops:
        yield {"kind": "stop", "name": stop.name, "path": _ground(stop.solid.footprint)}
    for grip in held.grips:
        solid = max((one.footprint for one in grip.solids), key=lambda one: float(one.area), default=None)
        yield {"kind": grip.kind, "name": grip.name, "path": _ground(solid or grip.pressing)}


def _flaws(job: Job) -> list[dict[str, object]]:
    """Flaws by their extents; a round one says so, since its file has a diameter instead of a size."""
    return [
        {
            "index": index,
            "at": _point(flaw.at),
            "size": _point(flaw.size or (flaw.diameter or 0.0, flaw.diameter or 0.0)),
            "round": flaw.size is None,
            "what": flaw.what,
        }
        for index, flaw in enumerate(job.flaws)
    ]


def _marks(findings: Sequence[Finding]) -> Iterator[dict[str, object]]:
    """A mark for each place of each finding that has one; of those close together the first."""
    for number, told in numbered(findings):
        seen: set[tuple[int, int]] = set()
        for one in told.each or (told,):
            if one.at is None:
                continue
            cell = int(one.at[0] // APART), int(one.at[1] // APART)
            if cell not in seen:
                seen.add(cell)
                yield {
                    "number": number,
                    "level": told.level.value,
                    "at": _point(one.at[:2]),
                    "text": one.text,
                }


def sheet_path(curves: Iterable[Curve]) -> str:
    """Curves as path data with Y away from the front; arcs stay arcs."""
    return " ".join(curve_path(_mirrored(curve)) for curve in curves)


def _mirrored(curve: Curve) -> Curve:
    """The curve turned over, since `curve_path` turns it over once more."""

    def over(point: Point) -> Point:
        return point[0], -point[1]

    return Curve(
        tuple(
            Segment(over(one.start), over(one.end), over(one.centre) if one.centre else None, not one.ccw)
            for one in curve.segments
        )
    )


def _ground(shape: BaseGeometry) -> str:
    """A region's rings as path data."""
    pieces = [
        one for one in getattr(shape, "geoms", (shape,)) if isinstance(one, Polygon) and not one.is_empty
    ]
    rings = [ring for piece in pieces for ring in (piece.exterior, *piece.interiors)]
    return " ".join(f"{_line(list(ring.coords)[:-1])} Z" for ring in rings)


def _line(points: Iterable[Point]) -> str:
    return "M" + " L".join(f"{round(x, 3):g} {round(y, 3):g}" for x, y in points)


def _point(point: Sequence[float]) -> list[float]:
    return [round(value, 4) for value in point]
