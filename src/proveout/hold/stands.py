"""What clamps stand where something is cut: the weakest of some places on the blank."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.hold.slip import Contacts, SlipMap, contacts, tip_share
from proveout.hold.weakest import coarse_map, weakest_place
from proveout.motion import Floats
from proveout.setup import Grip, PlacedClamp, PlacedStop
from proveout.shelf.materials import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """What the hold-down stands at the weakest of some places."""

    slides: float  # N sideways before the blank slides or turns
    at: tuple[float, float]  # where that is, mm
    lost: float  # N of that for each newton that is pulled up
    tips: float  # N up before the blank tips


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldBlank:
    """A blank under its clamps."""

    size: tuple[float, float]
    contacts: Contacts
    coarse: SlipMap  # of what friction stands


def held_blank(
    clamps: Sequence[PlacedClamp],
    stock: Material,
    size: tuple[float, float],
    grips: Sequence[Grip] = (),
    stops: Sequence[PlacedStop] = (),
    before: HeldBlank | None = None,
) -> HeldBlank | None:
    """A blank under its clamps and whatever else holds it; None where nothing does.

    Args:
        before: a blank held before, which comes back if it is this one
    """
    held = contacts(clamps, stock, grips, stops)
    if before and before.size == size and _is_same(before.contacts, held):
        return before
    return HeldBlank(size=size, contacts=held, coarse=coarse_map(held, size)) if len(held) else None


def _is_same(one: Contacts, other: Contacts) -> bool:
    """Whether a blank is held alike, to the last bit."""

    def parts(held: Contacts) -> tuple[Floats | None, ...]:
        return (
            held.at,
            held.friction,
            held.own,
            held.down,
            held.stops.at,
            held.stops.normal,
            held.stops.stands,
        )

    pairs = zip(parts(one), parts(other), strict=True)
    return one.pressed == other.pressed and all(np.array_equal(a, b) for a, b in pairs)  # type: ignore[arg-type]


def stands_at(blank: HeldBlank | None, places: Floats) -> Stands | None:
    """What the clamps stand at the weakest of places (n, 2); None where there is no place or no clamp."""
    if blank is None or not len(places):
        return None
    held, size = blank.contacts, blank.size
    weakest, slides = weakest_place(held, size, blank.coarse, places)
    x, y = places[weakest].tolist()
    return Stands(
        slides=slides,
        at=(x, y),
        lost=held.lost,
        tips=float(tip_share(held, places, size).min()),
    )
