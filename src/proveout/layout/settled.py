"""Parts that lie where a person put them, and the flaws of the sheet, in the internal frame."""

from collections.abc import Mapping, Sequence
from typing import Final

from shapely import Point, Polygon, box, union_all
from shapely.geometry.base import BaseGeometry

from proveout.curve import moved, polygon
from proveout.job.read_places import placed_name
from proveout.job.records import Flaw, PlaceAt
from proveout.parts.part import Part, PlacedPart, lies

FINE: Final = 0.001  # mm, chord error of the outline whose extent is measured


def settled_parts(places: Sequence[PlaceAt], parts: Sequence[tuple[Part, int]]) -> tuple[PlacedPart, ...]:
    """The parts that have a place, in the order of the places; a place of no part is passed over."""
    named = {
        placed_name(part.name, number, count): part for part, count in parts for number in range(1, count + 1)
    }
    return tuple(_settled(place, named[place.part]) for place in places if place.part in named)


def _settled(place: PlaceAt, part: Part) -> PlacedPart:
    left, front = corner_of(part, place.turn_deg)
    return PlacedPart(
        name=place.part,
        part=part,
        sheet=1,
        x=place.at[0] - left,
        y=place.at[1] - front,
        turn_deg=place.turn_deg,
    )


def corner_of(part: Part, turn_deg: float) -> tuple[float, float]:
    """The left front corner of a part's extent when it is turned about its own origin, mm from there."""
    left, front, _, _ = polygon((moved(part.outline, x=0.0, y=0.0, turn_deg=turn_deg),), FINE).bounds
    return left, front


def settled_rooms(settled: Sequence[PlacedPart], reach: Mapping[int, float], more: float) -> BaseGeometry:
    """What such parts take of the sheet: each outline grown by its cutter's reach, and by more, mm."""
    return union_all(
        [
            polygon((lies(one).outline,), 0.01).buffer(reach[one.part.cutter], quad_segs=16).buffer(more)
            for one in settled
        ]
    )


def flaw_outline(flaw: Flaw) -> Polygon:
    """A flaw's extent on the sheet."""
    x, y = flaw.at
    if flaw.size is not None:
        return box(x, y, x + flaw.size[0], y + flaw.size[1])
    radius = (flaw.diameter or 0.0) / 2
    return Point(x + radius, y + radius).buffer(radius, quad_segs=32)
