"""Setup: everything the prover may know. Nothing of how the program came to be.

Frame: mm; X right, Y away, Z up; origin at the stock's left front corner; Z = 0 on the bed, which is the
plate's face.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from shapely import Polygon

from proveout.job.records import Cutter, Machine

ObstacleKind = Literal["clamp", "bolt", "insert", "stop"]
GripKind = Literal["dowel", "tape", "screw", "vacuum"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """A solid that nothing may touch: an upright prism."""

    kind: ObstacleKind
    name: str  # "clamp at B2"
    footprint: Polygon
    bottom: float
    top: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedClamp:
    """A clamp where it sits: its bar over the work, its bolt and knob, and the force it presses with."""

    name: str  # "clamp at B2"
    hole: str
    bar: Obstacle
    bolt: tuple[Obstacle, ...]  # the bolt below the bar, the knob above
    pressing: Polygon  # where it bears on the stock
    force: float  # N on the work, at the unfavourable end
    bolt_size: str  # "M6"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """What holds the blank besides clamps, where it does; each force at its unfavourable end."""

    kind: GripKind
    name: str  # "screw 2"
    pressing: Polygon  # where it holds
    force: float  # N that presses the blank on the plate
    shear: float  # N that it stands sideways of its own
    down: float  # N of a pull up that it stands
    solids: tuple[Obstacle, ...] = ()

    @property
    def holds_down(self) -> bool:
        """Whether the blank can't be lifted off it."""
        return self.down > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedStop:
    """A stop where it touches an edge of the blank."""

    name: str  # "stop 1"
    at: tuple[float, float]
    push: tuple[float, float]  # of length 1: the way it can push, into the blank
    stands: float  # N before it or the edge gives
    solid: Obstacle


class Hole(NamedTuple):
    """A hole of the plate that a clamp's bolt can stand in."""

    name: str  # "B2"
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tab:
    """A bridge that keeps a part in the sheet until it is cut by hand."""

    part: str
    at: tuple[float, float]  # middle of the bridge on the part's outline
    length: float  # of the waist, along the outline
    height: float  # left standing above the bed


@dataclass(frozen=True, slots=True, kw_only=True)
class IntendedFeature:
    """A region to be taken away, down to a floor."""

    name: str
    intent: str
    region: Polygon
    floor: float
    through: bool
    tolerance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class IntendedPart:
    """A part as it shall lie in the sheet when the cutting is done."""

    name: str
    sheet: int
    outline: Polygon
    features: tuple[IntendedFeature, ...]
    tolerance: float  # of the outline


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """The stock as it lies: from (0, 0) to size, from the bed to its thickness."""

    size: tuple[float, float]
    thinnest: float
    mean: float
    thickest: (
        float  # the height that the proof uses: it is the one that a rapid hits and a cut must go through
    )
    material: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """The box that the cutter's tip can reach, in the internal frame."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What stands on the machine when the program runs, and what shall come of it."""

    name: str
    stock: Block
    machine: Machine
    reach: Reach
    cutters: tuple[Cutter, ...]
    clamps: tuple[PlacedClamp, ...]
    inserts: tuple[Obstacle, ...]
    plate: Polygon  # the plate's outline; off it there is nothing to hold a cut
    bed_allowance: float  # how deep the plate's face may be cut
    zero: tuple[float, float, float]  # the program's zero in the internal frame
    zero_error: tuple[float, float] = (
        0.0,
        0.0,
    )  # mm by which it may be off either way: across, and in height
    parts: tuple[IntendedPart, ...]
    tabs: tuple[Tab, ...]
    holes: tuple[Hole, ...] = ()  # of the plate's grid; none where it isn't known
    grips: tuple[Grip, ...] = ()
    stops: tuple[PlacedStop, ...] = ()


def cutter_by_number(setup: Setup, number: int) -> Cutter | None:
    """The cutter that a program's T word means; None where the setup doesn't have it."""
    return next((cutter for cutter in setup.cutters if cutter.number == number), None)


def obstacles(setup: Setup) -> tuple[Obstacle, ...]:
    """Every solid on the bed that nothing may touch, inserts included."""
    found: list[Obstacle] = []
    for clamp in setup.clamps:
        found.append(clamp.bar)
        found.extend(clamp.bolt)
    return (*found, *other_solids(setup.grips, setup.stops), *setup.inserts)


def other_solids(grips: Iterable[Grip], stops: Iterable[PlacedStop]) -> tuple[Obstacle, ...]:
    """What of the other means a cutter could strike."""
    return (*(solid for grip in grips for solid in grip.solids), *(stop.solid for stop in stops))


def holders(setup: Setup) -> tuple[PlacedClamp | Grip, ...]:
    """All that keeps the blank from being lifted."""
    return (*setup.clamps, *(grip for grip in setup.grips if grip.holds_down))
