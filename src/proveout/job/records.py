"""What a person states: the job and the bench. Frozen records; mm, mm/s, N, N mm, turns a minute inside."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from proveout.book.learned import Learned, LearnedMinutes
from proveout.job import defaults
from proveout.quantity import System

DialectName = Literal["plain", "full", "iso"]
CutterKind = Literal["flat", "ball", "bull nose", "vee", "drill"]
Spiral = Literal["up", "down", "straight", "compression"]
Corner = Literal["left front", "right front", "left back", "right back", "centre"]
ZeroLevel = Literal["top", "bed"]
Towards = Literal["left", "right", "front", "back"]
Sawn = Literal["flat-sawn", "quarter-sawn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """A cutter as it stands in its collet."""

    number: int
    name: str  # "3 mm two-flute up-cut"
    kind: CutterKind
    diameter: float  # measured
    flutes: int
    flute_length: float  # that cuts, from the tip
    stick_out: float  # from the tip to the collet nut's face
    shank_diameter: float
    centre_cutting: bool
    spiral: Spiral
    carbide: bool  # else high-speed steel
    point_deg: float | None = None  # included angle of a vee or a drill's point
    corner_radius: float | None = None  # of a bull nose: its end is flat within, and rises to its side in it
    max_rpm: float | None = None  # marked on the cutter
    diameter_error: float = 0.0  # mm by which the diameter may be off, either way
    runout: float = 0.0  # mm, total reading of an indicator on the turning cutter

    @property
    def radius(self) -> float:
        """Half the diameter."""
        return self.diameter / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Spindle:
    """The spindle and what is thick above the cutter."""

    min_rpm: float
    max_rpm: float
    power: float  # W at the shaft
    nut_diameter: float  # collet nut
    nut_length: float
    body_diameter: float  # the housing above the nut
    spin_up: float  # s to full speed


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A 3-axis gantry router and what its controller can do."""

    name: str
    travel: tuple[float, float, float]
    tip_reach: float  # from the plate's face up to the cutter's tip at the top of travel
    max_feed: tuple[float, float, float]  # mm/s per axis; rapids run at these
    acceleration: tuple[float, float, float]  # mm/s2 per axis
    corner_deviation: float  # mm by which the controller's corners may be rounded in its speed plan
    stiffness: float  # N/mm at the cutter, sideways
    dialect: DialectName
    units: System  # of the programs it is given
    line_limit: int  # characters in a line of program
    spindle: Spindle
    repeatability: float = 0.02  # mm by which a place that it goes to again may be off, either way
    out_of_square: float = 0.1  # mm by which Y may lean off square to X over 300 mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Inserts:
    """The threaded inserts in the plate, one at each hole of the grid."""

    thread: str  # "M6"
    diameter: float
    depth_below_face: float  # how far the metal's top lies under the plate's face; 0 is flush
    length: float | None = None  # of the thread; None: the shelf's placeholder


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """The fixture plate: a grid of holes named by column letter (along X) and row number (along Y)."""

    size: tuple[float, float]
    at: tuple[float, float]  # its left front corner in the machine's travel
    first_hole: tuple[float, float]  # A1, from the plate's left front corner
    pitch: float
    columns: int
    rows: int
    inserts: Inserts
    cut_allowance: float  # how deep a through cut may go into the plate's face
    material: str | None = None  # that the inserts hold in; None: not stated


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampKind:
    """A strap clamp as the shop has it: a bar over the work, a bolt through it, a knob or nut on top."""

    name: str
    count: int
    length: float
    width: float
    thickness: float  # of the bar
    nose_to_bolt: float  # from the end over the work to the bolt's axis
    bolt: str  # "M6"
    knob_diameter: float
    knob_height: float  # of knob, nut and bolt end above the bar
    knob_floor: float = 0.0  # of the knob under the bolt's head
    bolt_lengths: tuple[float, ...] = ()  # on hand, from under the head
    material: str | None = None  # of the bar; None: not stated
    knob_material: str | None = (
        None  # of a knob that holds the bolt's head by its wood alone; None: none does
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampAt:
    """A clamp at a named hole, its nose pointing towards the work."""

    clamp: str  # name of a ClampKind
    hole: str  # "B2"
    towards: Towards


@dataclass(frozen=True, slots=True, kw_only=True)
class StopAt:
    """A block fixed to the plate against one of the blank's edges: it pushes and never pulls."""

    at: tuple[float, float]  # where it touches the edge, from the stock's left front corner
    side: Towards  # the edge that it stands at
    width: float  # along the edge
    depth: float  # away from it
    height: float | None  # of its top above the bed; None: level with the thinnest reading
    stands: float | None  # N before it shifts; None: not known


@dataclass(frozen=True, slots=True, kw_only=True)
class DowelAt:
    """A pin in a hole of the plate and of the blank."""

    at: tuple[float, float]  # from the stock's left front corner, like the rest of these
    diameter: float
    height: float | None  # of its top above the bed; None: level with the thickest reading


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeAt:
    """Double-sided tape under the blank, a rectangle of it."""

    at: tuple[float, float]  # its left front corner
    size: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewAt:
    """A wood screw through waste of the blank into the plate."""

    at: tuple[float, float]
    diameter: float  # of the shank, or over the thread where it is threaded all along
    length: float  # under the head, or overall where that is sunk
    head_diameter: float
    head_height: float  # above the blank; 0 where it is sunk


@dataclass(frozen=True, slots=True, kw_only=True)
class VacuumAt:
    """A sealed area under the blank from which the air is drawn."""

    at: tuple[float, float]
    size: tuple[float, float]
    pressure: float | None  # N/mm2 below the air's, by a gauge; None: not read


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherMeans:
    """What holds a blank besides clamps."""

    stops: tuple[StopAt, ...] = ()
    dowels: tuple[DowelAt, ...] = ()
    tape: tuple[TapeAt, ...] = ()
    screws: tuple[ScrewAt, ...] = ()
    vacuum: VacuumAt | None = None


NO_OTHERS = OtherMeans()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """The bench: what jobs share."""

    file: Path
    name: str
    machine: Machine
    plate: Plate
    cutters: tuple[Cutter, ...]
    clamps: tuple[ClampKind, ...]
    book: Path = Path(defaults.BOOK)  # the shop's record of its own readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """The sheet on the bench."""

    material: str  # a name on the shelf
    size: tuple[float, float]
    readings: tuple[float, ...]  # thickness by caliper
    measured: bool  # False where a nominal thickness was stated for want of readings
    at: tuple[float, float]  # its left front corner, from the plate's left front corner
    edge_margin: float  # kept clear along the sheet's edge

    @property
    def thinnest(self) -> float:
        """The smallest reading: where a floor must survive."""
        return min(self.readings)

    @property
    def thickest(self) -> float:
        """The largest reading: where a cut must go through."""
        return max(self.readings)

    @property
    def mean(self) -> float:
        """The mean of the readings."""
        return sum(self.readings) / len(self.readings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The air that the stock is cut in and its parts are used in: wood moves with its moisture."""

    cut_humidity: float  # relative, per cent
    cut_temperature: float  # deg C
    use_humidity: tuple[float, float]  # driest and dampest, per cent
    use_temperature: float
    moisture: float | None  # of the stock when it is cut, per cent, by a meter; None: what the air gives it
    sawn: Sawn | None  # None: not stated, or a panel
    stated: bool = True  # False where nothing was said and usual air is taken


# Cut in an indoor workshop and used in rooms that are heated in winter; project default.
USUAL_AIR = Air(
    cut_humidity=50.0,
    cut_temperature=20.0,
    use_humidity=(40.0, 60.0),
    use_temperature=20.0,
    moisture=None,
    sawn=None,
    stated=False,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Zero:
    """Where the program's zero is set."""

    corner: Corner
    level: ZeroLevel  # on the stock's top or on the bed
    error_across: float = 0.0  # mm by which it may be off, either way, along X and along Y
    error_height: float = 0.0  # mm, along Z


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardware:
    """A bolt, nut or pin that a part takes, with what the calipers said of it where they did."""

    size: str  # "M6", "1/4"
    form: Literal["hex head", "hex nut", "dowel"]
    across_flats: float | None = None  # measured; None: the standard's band
    height: float | None = None  # measured; None: the standard's band
    diameter: float | None = None  # measured, of a dowel
    others: tuple[float, ...] = ()  # further readings of flats or diameter, of other pieces of the same box
    limits: str | None = None  # ISO 286 zone of a dowel, "h8"; None: the pin standard's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What the bolt through a part clamps, and the thread that it ends in."""

    least: float  # mm between the part and the thread, where it is used on the thinnest
    greatest: float
    into: Literal["insert", "nut"]  # the plate's inserts, or a loose nut or the part's own


@dataclass(frozen=True, slots=True, kw_only=True)
class KnobWanted:
    """A round knob with scallops and a captive hex."""

    diameter: float
    lobes: int
    scallop_depth: float
    hardware: Hardware
    fit: str  # fit class of the hex
    clearance: str  # class of the bolt's through hole: "close", "normal", "loose"
    use: Use | None = None  # None: not stated


@dataclass(frozen=True, slots=True, kw_only=True)
class StrapWanted:
    """A strap clamp: a round-ended bar with a slot for a bolt."""

    length: float
    width: float
    bolt: str
    clearance: str
    slot_length: float  # overall
    slot_from_nose: float  # from the nose end to the slot's near end
    use: Use | None = None  # None: not stated


@dataclass(frozen=True, slots=True, kw_only=True)
class StopWanted:
    """A stop block with a row of dowel holes."""

    length: float
    width: float
    corner_radius: float
    hardware: Hardware
    fit: str
    holes: int
    spacing: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponWanted:
    """A strip with a row of recesses or holes of rising size, to find a fit by trial."""

    hardware: Hardware
    fit: str  # fit class in whose middle the sizes lie, unless `around` says another middle
    clearance: str  # class of the hole through each recess, by which the head is pushed out again
    steps: int  # how many sizes
    step: float  # between neighbours
    around: float | None  # the middle size; None: what proveout would cut


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnRule:
    """Which closed curves of a drawing are cut, and how deep; all that it says of a curve must hold."""

    layer: str | None
    size: float | None  # diameter of a circle, distance across the flats of a hexagon
    curve: str | None  # the number that `look` gives it, or its entity's name
    depth: float | None  # below the stock's top
    floor: float | None  # above the bed; neither depth nor floor: right through
    takes: "Takes | None" = None  # what goes in, to which it is sized; None: cut as it is drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Takes:
    """The hardware that a drawn hole is meant for."""

    bolt: str | None  # whose shank goes through; None for a dowel
    hardware: Hardware | None  # a captive head or nut, or the dowel; None where only a bolt goes through
    fit: str
    clearance: str  # of the bolt


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnWanted:
    """A part as it is drawn."""

    drawing: str  # a path, as from the job file's folder
    known: str | None  # a dimension that settles the drawing's unit: "width = 120 mm"
    units: System | None  # of the drawing, where the person states it
    layers: tuple[str, ...] | None  # those that count; None: all
    part: int | None  # of a drawing of several parts, as `look` numbers them; None: it holds one
    outline: str | None  # the layer of its outline; None: whatever lies in nothing else
    rules: tuple[DrawnRule, ...]  # the first that holds counts; where none does, a curve is cut right through


Pattern = KnobWanted | StrapWanted | StopWanted | DrawnWanted | CouponWanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """So many of one part."""

    name: str
    count: int
    pattern: Pattern
    rotations_deg: tuple[float, ...]
    cutter: int | None  # the cutter the person named for this part; None lets proveout choose


FinishKind = Literal["oil", "wipe-on varnish", "water-based"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """What is wiped on the finished parts."""

    kind: FinishKind
    coats: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceAt:
    """Where a person put one of the parts; the rest are laid out around it."""

    part: str  # as it is named where it lies: "knob 3"
    at: tuple[float, float]  # left front corner of its extent as it is turned, from the sheet's
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaw:
    """A knot, split or stain that no part should hold; exactly one of size and diameter."""

    at: tuple[float, float]  # left front corner of its extent, from the sheet's
    size: tuple[float, float] | None
    diameter: float | None
    what: str  # "knot"


Anchor = Literal["zero", "corner"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorStated:
    """A layer of a drawing that is cut down to a floor: its depth or its height, exactly one of them."""

    layer: str
    depth: float | None  # below the stock's top
    floor: float | None  # above the bed
    tolerance: float | None  # None: the part's


@dataclass(frozen=True, slots=True, kw_only=True)
class TabStated:
    """A bridge that the program leaves, at a point of the drawing on the part's outline."""

    at: tuple[float, float]
    length: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class IntendedStated:
    """A part as a drawing shows it and as it shall lie in the sheet."""

    name: str
    drawing: str  # path, from the setup file's folder
    units: System | None  # of the drawing; None: its header's
    known: str | None  # a dimension that settles the drawing's unit
    at: tuple[float, float]  # from the stock's left front corner
    anchor: Anchor  # what lies there: the drawing's zero, or the left front corner of the turned outline
    turn_deg: float
    outline: str | None  # layer; None: the outermost loop of all
    through: tuple[str, ...]  # layers
    floors: tuple[FloorStated, ...]
    tabs: tuple[TabStated, ...]
    tolerance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """What is wanted, and what is on the bench for it."""

    file: Path
    name: str
    units: System  # in which its owner reads numbers
    shop: Shop
    stock: Stock
    zero: Zero
    clamps: tuple[ClampAt, ...]
    wanted: tuple[Wanted, ...]
    through_allowance: float  # below the thickest reading, for through cuts
    safe_above: float  # of the safe height over the highest thing on the bed
    means: OtherMeans = NO_OTHERS  # besides the clamps
    air: Air = USUAL_AIR
    intended: tuple[IntendedStated, ...] = ()  # of a setup file, whose programs come from elsewhere
    finish: Finish | None = None  # None: the parts stay bare
    places: tuple[PlaceAt, ...] = ()  # parts that lie where a person put them
    flaws: tuple[Flaw, ...] = ()
    learned: tuple[Learned, ...] = ()  # from the shop book
    learned_minutes: LearnedMinutes | None = None
