"""What clamps stand where something is cut: the weakest of some places on the blank."""

from collections.abc import Sequence
from dataclasses import dataclass

from proveout.hold.slip import Contacts, SlipMap, contacts, slip_map, tip_share
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
    slips: SlipMap


def held_blank(
    clamps: Sequence[PlacedClamp],
    stock: Material,
    size: tuple[float, float],
    grips: Sequence[Grip] = (),
    stops: Sequence[PlacedStop] = (),
) -> HeldBlank | None:
    """A blank under its clamps and whatever else holds it; None where nothing does."""
    held = contacts(clamps, stock, grips, stops)
    return HeldBlank(size=size, contacts=held, slips=slip_map(held, size)) if len(held) else None


def stands_at(blank: HeldBlank | None, places: Floats) -> Stands | None:
    """What the clamps stand at the weakest of places (n, 2); None where there is no place or no clamp."""
    if blank is None or not len(places):
        return None
    held, size = blank.contacts, blank.size
    slides = blank.slips.at(places)
    weakest = int(slides.argmin())
    x, y = places[weakest].tolist()
    return Stands(
        slides=float(slides[weakest]),
        at=(x, y),
        lost=held.lost,
        tips=float(tip_share(held, places, size).min()),
    )
