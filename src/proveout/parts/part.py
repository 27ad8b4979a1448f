"""Part and Feature: what a part is once it is sized, and the same part where it lies on the sheet."""

from dataclasses import dataclass, replace
from typing import Literal

from proveout.curve import Curve, moved

FeatureKind = Literal["hole", "recess", "slot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """Material to be taken away inside a part, bounded by curves that its cutter can really follow."""

    name: str  # "head recess"
    kind: FeatureKind
    intent: str  # "captive M6 hex head, firm press"
    curves: tuple[Curve, ...]  # the outer boundary, then islands; corners as the finishing cutter leaves them
    floor: float  # height above the bed; 0 where it goes through
    through: bool
    tolerance: float  # of its walls
    cutter: int  # that finishes it
    takes: str = ""  # what goes in, as one would fetch it: "M6 hex head bolt"; "" where a drawing doesn't say


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part, in its own frame (origin where the pattern says, usually the middle)."""

    name: str
    outline: Curve  # anticlockwise
    cutter: int  # that cuts the outline
    features: tuple[Feature, ...]  # in any order
    rotations_deg: tuple[float, ...]  # by which it may be turned on the sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPart:
    """A part where it lies: turned about its own origin, then shifted."""

    name: str  # "knob 3"
    part: Part
    sheet: int  # 1-based
    x: float
    y: float
    turn_deg: float


def lies(placed: PlacedPart) -> Part:
    """The part with all its curves in the internal frame."""

    def there(curve: Curve) -> Curve:
        return moved(curve, x=placed.x, y=placed.y, turn_deg=placed.turn_deg)

    part = placed.part
    return replace(
        part,
        name=placed.name,
        outline=there(part.outline),
        features=tuple(
            replace(feature, curves=tuple(there(curve) for curve in feature.curves))
            for feature in part.features
        ),
    )
