"""Fit classes: how much wider than its hardware a recess or hole is cut, by material.

The classes and their ranges are the project's own defaults after common practice; no standard and no
published table for steel in wood was found. A router's own error is as large as a class is wide, so the
ranges are a starting point for a fit coupon. No class is narrower than 0.08 mm, and some overlap for it:
parts of one good shop differ so much that with all known one in ten misses a class of 0.05 mm, and what
nobody can hit is no class. Routed walls are rough by a hundredth or two, so a press may end where calipers
show a trace of room.
"""

from dataclasses import dataclass
from typing import Final, Literal

from proveout.finding import InputError

FitForm = Literal["flats", "round"]

SOURCE: Final = "project default, from common practice"

FIT_NAMES: Final = ("slides", "snug", "light press", "firm press")
PRESSED: Final = ("light press", "firm press")

# Clearance in mm, low and high, in the order of FIT_NAMES; negative is interference.
_Ranges = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]

# Plywood crushes end grain and takes more interference than solid wood, which splits; fibreboard splits at
# its edges; plastics spring back.
_FLATS: Final[dict[str, _Ranges]] = {
    "plywood": ((0.15, 0.30), (0.0, 0.10), (-0.10, 0.0), (-0.20, -0.10)),
    "solid wood": ((0.15, 0.30), (0.0, 0.10), (-0.065, 0.015), (-0.15, -0.05)),
    "fibreboard": ((0.20, 0.30), (0.035, 0.115), (-0.065, 0.015), (-0.115, -0.035)),
    "plastic": ((0.10, 0.20), (-0.015, 0.065), (-0.065, 0.015), (-0.15, -0.05)),
}

# A round pin bears all round, so it needs less than flats do.
_ROUND: Final[_Ranges] = ((0.05, 0.15), (-0.015, 0.065), (-0.065, 0.015), (-0.115, -0.035))


@dataclass(frozen=True, slots=True, kw_only=True)
class FitClass:
    """A named range of clearance between hardware and wood, mm; negative is interference."""

    name: str
    low: float
    high: float

    @property
    def target(self) -> float:
        """The clearance aimed at: the middle of the range."""
        return (self.low + self.high) / 2

    @property
    def is_press(self) -> bool:
        """Whether the hardware has to be forced in."""
        return self.name in PRESSED


def fit_class(name: str, material_kind: str, form: FitForm = "flats") -> FitClass:
    """The class of that name for hardware with flats, or round hardware, in that kind of material.

    Raises:
        InputError: a name that is not among FIT_NAMES
        KeyError: a kind of material that the shelf doesn't have
    """
    if name not in FIT_NAMES:
        raise InputError(f'"{name}" is not a fit class. Write one of: {", ".join(FIT_NAMES)}.')
    ranges = _FLATS[material_kind] if form == "flats" else _ROUND
    low, high = ranges[FIT_NAMES.index(name)]
    return FitClass(name=name, low=low, high=high)
