"""Which places for clamps are clear of the cutters, once it is known where the parts lie.

The other way round than `lay`: parts first, clamps after. The rules are those of the layout, so that parts
laid out again with such clamps on the bed come to lie where they did.
"""

from collections.abc import Sequence
from typing import Final

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from proveout.curve import polygon
from proveout.hold.clamps import solids_at
from proveout.hold.places import Place
from proveout.job.records import Cutter, Spindle
from proveout.layout.keepouts import standoff
from proveout.layout.lay import CLEARANCE, WEB
from proveout.motion import Floats
from proveout.parts.part import PlacedPart, lies

GRID: Final = 1.5  # mm, by which the layout's grid may take a part's room for larger than it is
ROUGH: Final = 0.05  # mm, chord error of outlines
CORNERS: Final = 0.5  # mm, by which corners of the way are taken further out, to be fewer


def cut_round(placed: PlacedPart, cutters: Sequence[Cutter]) -> Polygon:
    """Where the axes of the cutters go that cut a part out: its outline grown by its cutter's radius."""
    part = lies(placed)
    radius = next(one.radius for one in cutters if one.number == part.cutter)
    grown = polygon((part.outline,), tolerance=ROUGH).buffer(radius, quad_segs=16)
    return max(grown.geoms, key=lambda one: one.area) if isinstance(grown, MultiPolygon) else grown


def cut_corners(placed: Sequence[PlacedPart], cutters: Sequence[Cutter]) -> Floats:
    """The corners, (n, 2), of a convex shape around all ways of the cutters.

    What friction stands has no weaker place within a convex shape than at its corners: its give is convex.
    """
    ways = shapely.union_all([cut_round(one, cutters) for one in placed])
    around = ways.convex_hull.buffer(CORNERS, quad_segs=4).simplify(CORNERS)
    corners: Floats = shapely.get_coordinates(around)[:-1]
    return corners


def clear_places(
    found: Sequence[Place],
    placed: Sequence[PlacedPart],
    cutters: Sequence[Cutter],
    spindle: Spindle,
    *,
    thickest: float,
    lowest_tip: float,
) -> tuple[Place, ...]:
    """The places at which bar, bolt and knob are in the way of no cutter, shank, collet nut or spindle.

    Args:
        found: all places
        placed: parts, each cut by the cutters that its outline and features name
        thickest: of the stock, mm
        lowest_tip: of any cutter, mm above the bed
    """
    ways = [(cut_round(one, cutters), _cutters_of(one, cutters)) for one in placed]
    return tuple(
        one for one in found if not _in_the_way(one, ways, spindle, thickest=thickest, lowest_tip=lowest_tip)
    )


def _cutters_of(placed: PlacedPart, cutters: Sequence[Cutter]) -> tuple[Cutter, ...]:
    numbers = {placed.part.cutter, *(feature.cutter for feature in placed.part.features)}
    return tuple(one for one in cutters if one.number in numbers)


def _in_the_way(
    place: Place,
    ways: Sequence[tuple[BaseGeometry, tuple[Cutter, ...]]],
    spindle: Spindle,
    *,
    thickest: float,
    lowest_tip: float,
) -> bool:
    for solid in solids_at(place.kind, place.bar, place.bolt, thickest=thickest, name=place.at.hole):
        for way, cutters in ways:
            away = max(standoff(solid, cutter, spindle, lowest_tip) for cutter in cutters)
            if away > 0 and way.distance(solid.footprint) < away + max(CLEARANCE, WEB / 2) + GRID:
                return True
    return False
