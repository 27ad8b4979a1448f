"""Every field of the job file and the shop file: name, kind, example, and what stands for it when left out.

One class for each table; the reference in docs/job-file.md is checked against them.
"""

from typing import Any, Final

from proveout.job import defaults
from proveout.job.kinds import (
    MOST_READINGS,
    from_shelf,
    from_zero,
    list_of,
    number_or_name,
    one_of,
    part_name,
    path,
    percent,
    positive,
    several,
    signed,
    temperature,
    text,
    whole,
    yes_no,
)
from proveout.job.table import Field, defaulted, optional, required
from proveout.quantity import Kind
from proveout.shelf import tables as shelf
from proveout.shelf.iso_limits import iso_zone

MOST_CUTTERS: Final = 100
MOST_LAYERS: Final = 100
MOST_CLAMPS: Final = 100
MOST_MEANS: Final = 50  # stops, dowels, tapes or screws
MOST_FLAWS: Final = 100
MOST_PARTS: Final = 200
MOST_COPIES: Final = 2000
FEWEST_STEPS: Final = 2  # of a coupon
MOST_STEPS: Final = 15
MOST_COATS: Final = 12

LENGTH, SPEED, TURNING, ANGLE = Kind.LENGTH, Kind.SPEED, Kind.TURNING, Kind.ANGLE


def _names(*words: str) -> dict[str, Any]:
    return {word: word for word in words}


class ShopFields:
    """The shop file's top."""

    units: Field[Any] = optional("units", "mm or in", one_of(_names("mm", "in")), '"mm"')
    name = required("name", "text", text, '"evening class"')
    book = defaulted("book", "path", path, '"shop-book.sqlite"', defaults.BOOK)


class MachineFields:
    """[machine]"""

    name = required("name", "text", text, '"bench router"')
    travel = required(
        "travel", "3 lengths", several(positive(LENGTH), "XYZ"), '["500 mm", "400 mm", "90 mm"]'
    )
    tip_reach = required("tip_reach", "length", positive(LENGTH), '"85 mm"')
    max_feed = required(
        "max_feed",
        "3 speeds",
        several(positive(SPEED), "XYZ"),
        '["4000 mm/min", "4000 mm/min", "1500 mm/min"]',
    )
    acceleration = required(
        "acceleration",
        "3 accelerations",
        several(positive(Kind.ACCELERATION), "XYZ"),
        '["400 mm/s2", "400 mm/s2", "300 mm/s2"]',
    )
    corner_deviation = defaulted(
        "corner_deviation", "length", positive(LENGTH), '"0.02 mm"', defaults.CORNER_DEVIATION
    )
    stiffness = required("stiffness", "stiffness", positive(Kind.STIFFNESS), '"250 N/mm"')
    dialect = required("dialect", "word", one_of(_names("plain", "full", "iso")), '"plain"')
    program_units = required("program_units", "mm or in", one_of(_names("mm", "in")), '"mm"')
    line_limit = defaulted("line_limit", "whole number", whole(40, 256), "72", defaults.LINE_LIMIT)
    repeatability = defaulted(
        "repeatability", "length", from_zero(LENGTH), '"0.02 mm"', defaults.REPEATABILITY
    )
    out_of_square = defaulted(
        "out_of_square", "length", from_zero(LENGTH), '"0.1 mm"', defaults.OUT_OF_SQUARE
    )


class SpindleFields:
    """[machine.spindle]"""

    min_speed = required("min_speed", "turning speed", positive(TURNING), '"8000 rpm"')
    max_speed = required("max_speed", "turning speed", positive(TURNING), '"24000 rpm"')
    power = required("power", "power", positive(Kind.POWER), '"400 W"')
    nut_diameter = required("nut_diameter", "length", positive(LENGTH), '"20 mm"')
    nut_length = required("nut_length", "length", positive(LENGTH), '"16 mm"')
    body_diameter = required("body_diameter", "length", positive(LENGTH), '"65 mm"')
    spin_up = defaulted("spin_up", "time", from_zero(Kind.TIME), '"3 s"', defaults.SPIN_UP)


class PlateFields:
    """[plate]"""

    size = required("size", "2 lengths", several(positive(LENGTH), "XY"), '["460 mm", "340 mm"]')
    at = required("at", "2 lengths", several(from_zero(LENGTH), "XY"), '["20 mm", "20 mm"]')
    first_hole = required("first_hole", "2 lengths", several(positive(LENGTH), "XY"), '["17.5 mm", "20 mm"]')
    pitch = required("pitch", "length", positive(LENGTH), '"25 mm"')
    columns = required("columns", "whole number", whole(1, 26), "18")
    rows = required("rows", "whole number", whole(1, 99), "13")
    cut_allowance = defaulted(
        "cut_allowance", "length", from_zero(LENGTH), '"0.5 mm"', defaults.CUT_ALLOWANCE
    )
    material = optional(
        "material", "material", from_shelf(lambda name: shelf.bench_material(name).name), '"birch plywood"'
    )


class InsertFields:
    """[plate.inserts]"""

    thread = required("thread", "thread", from_shelf(lambda name: shelf.thread(name).size), '"M6"')
    diameter = required("diameter", "length", positive(LENGTH), '"9 mm"')
    depth_below_face = defaulted(
        "depth_below_face", "length", from_zero(LENGTH), '"1.5 mm"', defaults.DEPTH_BELOW_FACE
    )
    length = optional("length", "length", positive(LENGTH), '"13 mm"')


class CutterFields:
    """[[cutters]]"""

    number = required("number", "whole number", whole(1, 999), "1")
    name = required("name", "text", text, '"3 mm two-flute"')
    kind = required("kind", "word", one_of(_names("flat", "ball", "bull nose", "vee", "drill")), '"flat"')
    diameter = required("diameter", "length", positive(LENGTH), '"3 mm"')
    flutes = required("flutes", "whole number", whole(1, 12), "2")
    flute_length = required("flute_length", "length", positive(LENGTH), '"15 mm"')
    stick_out = required("stick_out", "length", positive(LENGTH), '"26 mm"')
    shank_diameter = optional("shank_diameter", "length", positive(LENGTH), '"3 mm"')
    centre_cutting = optional("centre_cutting", "true or false", yes_no, "true")
    spiral: Field[Any] = defaulted(
        "spiral", "word", one_of(_names("up", "down", "straight", "compression")), '"up"', defaults.SPIRAL
    )
    made_of = defaulted(
        "made_of", "word", one_of(_names("carbide", "high-speed steel")), '"carbide"', defaults.MADE_OF
    )
    point = optional("point", "angle", positive(ANGLE), '"118 deg"')
    corner_radius = optional("corner_radius", "length", positive(LENGTH), '"0.5 mm"')
    max_speed = optional("max_speed", "turning speed", positive(TURNING), '"24000 rpm"')
    diameter_error = optional("diameter_error", "length", positive(LENGTH), '"0.02 mm"')
    runout = optional("runout", "length", positive(LENGTH), '"0.03 mm"')


class ClampFields:
    """[[clamps]] of the shop file"""

    name = required("name", "text", text, '"low strap"')
    count = required("count", "whole number", whole(1, MOST_CLAMPS), "4")
    length = required("length", "length", positive(LENGTH), '"75 mm"')
    width = required("width", "length", positive(LENGTH), '"25 mm"')
    thickness = required("thickness", "length", positive(LENGTH), '"12 mm"')
    nose_to_bolt = required("nose_to_bolt", "length", positive(LENGTH), '"30 mm"')
    bolt = required("bolt", "thread", from_shelf(lambda name: shelf.thread(name).size), '"M6"')
    knob_diameter = required("knob_diameter", "length", positive(LENGTH), '"40 mm"')
    knob_height = required("knob_height", "length", positive(LENGTH), '"18 mm"')
    knob_floor = optional("knob_floor", "length", from_zero(LENGTH), '"8 mm"')
    bolt_lengths: Field[Any] = optional(
        "bolt_lengths", "length or list of lengths", list_of(positive(LENGTH), most=MOST_CLAMPS), '["40 mm"]'
    )
    material = optional(
        "material", "material", from_shelf(lambda name: shelf.bench_material(name).name), '"birch plywood"'
    )
    knob_material = optional(
        "knob_material", "material", from_shelf(lambda name: shelf.material(name).name), '"birch plywood"'
    )


class JobFields:
    """The job file's top."""

    units = ShopFields.units
    name = required("name", "text", part_name, '"clamp kit"')
    shop = required("shop", "path", path, '"shop.toml"')
    through_allowance = defaulted(
        "through_allowance", "length", positive(LENGTH), '"0.3 mm"', defaults.THROUGH_ALLOWANCE
    )
    safe_above = defaulted("safe_above", "length", positive(LENGTH), '"12.7 mm"', defaults.SAFE_ABOVE)
    finish: Field[Any] = defaulted(
        "finish", "word", one_of(_names("none", "oil", "wipe-on varnish", "water-based")), '"oil"', "none"
    )
    coats = optional("coats", "whole number", whole(1, MOST_COATS), "2")


class StockFields:
    """[stock]"""

    material = required(
        "material", "material", from_shelf(lambda name: shelf.material(name).name), '"birch plywood"'
    )
    size = required("size", "2 lengths", several(positive(LENGTH), "XY"), '["330 mm", "230 mm"]')
    thickness = optional(
        "thickness",
        "length or list of lengths",
        list_of(positive(LENGTH), most=MOST_READINGS),
        '["11.8 mm", "11.9 mm"]',
    )
    nominal_thickness = optional("nominal_thickness", "length", positive(LENGTH), '"12 mm"')
    at = required("at", "2 lengths", several(from_zero(LENGTH), "XY"), '["60 mm", "50 mm"]')
    edge_margin = defaulted("edge_margin", "length", from_zero(LENGTH), '"6 mm"', defaults.EDGE_MARGIN)


class AirFields:
    """[air]"""

    cut_humidity = defaulted("cut_humidity", "percentage", percent(5, 95), '"45 %"', defaults.CUT_HUMIDITY)
    cut_temperature = defaulted(
        "cut_temperature", "temperature", temperature, '"20 C"', defaults.AIR_TEMPERATURE
    )
    use_humidity: Field[Any] = optional(
        "use_humidity",
        "percentage or list of percentages",
        list_of(percent(5, 95), most=2),
        '["30 %", "65 %"]',
    )
    use_temperature = defaulted(
        "use_temperature", "temperature", temperature, '"20 C"', defaults.AIR_TEMPERATURE
    )
    moisture = optional("moisture", "percentage", percent(2, 30), '"8.5 %"')
    sawn: Field[Any] = optional("sawn", "word", one_of(_names("flat-sawn", "quarter-sawn")), '"flat-sawn"')


class ZeroFields:
    """[zero]"""

    corner: Field[Any] = defaulted(
        "corner",
        "word",
        one_of(_names("left front", "right front", "left back", "right back", "centre")),
        '"left front"',
        defaults.CORNER,
    )
    level = required("level", "word", one_of(_names("top", "bed")), '"bed"')
    error_across = optional("error_across", "length", positive(LENGTH), '"0.2 mm"')
    error_height = optional("error_height", "length", positive(LENGTH), '"0.05 mm"')


class ClampAtFields:
    """[[clamps]] of the job file"""

    clamp = required("clamp", "text", text, '"low strap"')
    hole = required("hole", "text", text, '"B4"')
    towards = required("towards", "word", one_of(_names("left", "right", "front", "back")), '"right"')


class StopAtFields:
    """[[stops]] of the job file"""

    at = required("at", "2 lengths", several(from_zero(LENGTH), "XY"), '["0 mm", "60 mm"]')
    side = required("side", "word", one_of(_names("left", "right", "front", "back")), '"left"')
    width = defaulted("width", "length", positive(LENGTH), '"20 mm"', defaults.STOP_WIDTH)
    depth = defaulted("depth", "length", positive(LENGTH), '"20 mm"', defaults.STOP_DEPTH)
    height = optional("height", "length", positive(LENGTH), '"9 mm"')
    stands = optional("stands", "force", positive(Kind.FORCE), '"300 N"')


class DowelAtFields:
    """[[dowels]] of the job file"""

    at = required("at", "2 lengths", several(positive(LENGTH), "XY"), '["20 mm", "20 mm"]')
    diameter = required("diameter", "length", positive(LENGTH), '"6 mm"')
    height = optional("height", "length", positive(LENGTH), '"9 mm"')


class TapeFields:
    """[[tape]] of the job file"""

    at = required("at", "2 lengths", several(from_zero(LENGTH), "XY"), '["10 mm", "10 mm"]')
    size = required("size", "2 lengths", several(positive(LENGTH), "XY"), '["180 mm", "50 mm"]')


class ScrewFields:
    """[[screws]] of the job file"""

    at = required("at", "2 lengths", several(positive(LENGTH), "XY"), '["15 mm", "15 mm"]')
    diameter = required("diameter", "length", positive(LENGTH), '"4 mm"')
    length = required("length", "length", positive(LENGTH), '"30 mm"')
    head_diameter = optional("head_diameter", "length", positive(LENGTH), '"8 mm"')
    head_height = optional("head_height", "length", from_zero(LENGTH), '"0 mm"')


class VacuumFields:
    """[vacuum] of the job file"""

    at = required("at", "2 lengths", several(from_zero(LENGTH), "XY"), '["20 mm", "20 mm"]')
    size = required("size", "2 lengths", several(positive(LENGTH), "XY"), '["160 mm", "100 mm"]')
    pressure = optional("pressure", "pressure", positive(Kind.PRESSURE), '"0.5 bar"')


class FlawFields:
    """[[flaws]] of the job file"""

    at = required("at", "2 lengths", several(from_zero(LENGTH), "XY"), '["120 mm", "80 mm"]')
    size = optional("size", "2 lengths", several(positive(LENGTH), "XY"), '["30 mm", "12 mm"]')
    diameter = optional("diameter", "length", positive(LENGTH), '"18 mm"')
    what = defaulted("what", "text", text, '"knot"', defaults.FLAW)


class PlaceFields:
    """[[places]] of the job file"""

    part = required("part", "text", text, '"knob 3"')
    at = required("at", "2 lengths", several(signed(LENGTH), "XY"), '["120 mm", "80 mm"]')
    turn = defaulted("turn", "angle", signed(ANGLE), '"90 deg"', defaults.PLACE_TURN)


class PartFields:
    """What every one of the [[parts]] has."""

    name = required("name", "text", part_name, '"knob"')
    count = required("count", "whole number", whole(1, MOST_COPIES), "8")
    pattern = required(
        "pattern",
        "word",
        one_of(_names("lobed knob", "slotted strap", "stop block", "drawn part", "coupon")),
        '"lobed knob"',
    )
    rotations: Field[Any] = optional(
        "rotations", "angle or list of angles", list_of(signed(ANGLE), most=36), '["0 deg", "90 deg"]'
    )
    cutter = optional("cutter", "whole number", whole(1, 999), "1")


_FITS: Final = ("slides", "snug", "light press", "firm press")
_CLEARANCES: Final = ("close", "normal", "loose")


class KnobFields(PartFields):
    """A lobed knob."""

    diameter = required("diameter", "length", positive(LENGTH), '"44 mm"')
    lobes = required("lobes", "whole number", whole(3, 24), "6")
    scallop_depth = required("scallop_depth", "length", positive(LENGTH), '"3 mm"')
    bolt = required("bolt", "size", from_shelf(lambda name: shelf.hex_head(name).size), '"M6"')
    holds: Field[Any] = defaulted(
        "holds", "word", one_of({"head": "hex head", "nut": "hex nut"}), '"head"', "hex head"
    )
    across_flats: Field[Any] = optional(
        "across_flats",
        "length or list of lengths",
        list_of(positive(LENGTH), most=MOST_READINGS),
        '"9.92 mm"',
    )
    head_height = optional("head_height", "length", positive(LENGTH), '"4.05 mm"')
    fit = defaulted("fit", "word", one_of(_names(*_FITS)), '"firm press"', defaults.FIT)
    clearance = defaulted("clearance", "word", one_of(_names(*_CLEARANCES)), '"normal"', defaults.CLEARANCE)
    grips: Field[Any] = optional(
        "grips", "length or list of lengths", list_of(positive(LENGTH), most=2), '["6 mm", "25 mm"]'
    )
    into: Field[Any] = optional("into", "word", one_of(_names("insert", "nut")), '"insert"')


class StrapFields(PartFields):
    """A slotted strap."""

    length = required("length", "length", positive(LENGTH), '"90 mm"')
    width = required("width", "length", positive(LENGTH), '"28 mm"')
    bolt = required("bolt", "size", from_shelf(lambda name: shelf.thread(name).size), '"M6"')
    clearance = KnobFields.clearance
    slot_length = required("slot_length", "length", positive(LENGTH), '"40 mm"')
    slot_from_nose = required("slot_from_nose", "length", positive(LENGTH), '"25 mm"')
    grips = KnobFields.grips
    into = KnobFields.into


class StopFields(PartFields):
    """A stop block."""

    length = required("length", "length", positive(LENGTH), '"60 mm"')
    width = required("width", "length", positive(LENGTH), '"32 mm"')
    corner_radius = required("corner_radius", "length", positive(LENGTH), '"5 mm"')
    dowel = required("dowel", "size", from_shelf(lambda name: shelf.dowel_pin(name).size), '"6"')
    dowel_diameter: Field[Any] = optional(
        "dowel_diameter",
        "length or list of lengths",
        list_of(positive(LENGTH), most=MOST_READINGS),
        '"6.02 mm"',
    )
    dowel_limits = optional(
        "dowel_limits",
        "ISO 286 zone",
        from_shelf(iso_zone),
        '"h8"',
    )
    fit = defaulted("fit", "word", one_of(_names(*_FITS)), '"snug"', defaults.PIN_FIT)
    holes = required("holes", "whole number", whole(1, 24), "2")
    spacing = required("spacing", "length", positive(LENGTH), '"24 mm"')


class CouponFields(PartFields):
    """A fit coupon."""

    bolt = optional("bolt", "size", from_shelf(lambda name: shelf.hex_head(name).size), '"M6"')
    holds: Field[Any] = optional("holds", "word", one_of({"head": "hex head", "nut": "hex nut"}), '"head"')
    across_flats = KnobFields.across_flats
    head_height = KnobFields.head_height
    clearance = optional("clearance", "word", one_of(_names(*_CLEARANCES)), '"normal"')
    dowel = optional("dowel", "size", from_shelf(lambda name: shelf.dowel_pin(name).size), '"6"')
    dowel_diameter = StopFields.dowel_diameter
    dowel_limits = StopFields.dowel_limits
    fit = optional("fit", "word", one_of(_names(*_FITS)), '"firm press"')
    steps = defaulted("steps", "whole number", whole(FEWEST_STEPS, MOST_STEPS), "5", defaults.STEPS)
    step = optional("step", "length", positive(LENGTH), '"0.05 mm"')
    around = optional("around", "length", positive(LENGTH), '"9.83 mm"')


class DrawnFields(PartFields):
    """A part as it is drawn."""

    drawing = required("drawing", "path", path, '"bracket.dxf"')
    known = optional("known", "text", text, '"width = 120 mm"')
    units: Field[Any] = optional("units", "mm or in", one_of({"mm": "mm", "in": "in"}), '"mm"')
    layers: Field[Any] = optional(
        "layers", "text or list of texts", list_of(text, most=MOST_LAYERS), '["CUT", "HOLES"]'
    )
    part = optional("part", "whole number", whole(1, 5000), "2")
    outline = optional("outline", "text", text, '"OUTLINE"')


class RuleFields:
    """[[parts.rules]] of a drawn part"""

    layer = optional("layer", "text", text, '"POCKET"')
    size = optional("size", "length", positive(LENGTH), '"6.6 mm"')
    curve = optional("curve", "whole number or text", number_or_name, "3")
    depth = optional("depth", "length", positive(LENGTH), '"5 mm"')
    floor = optional("floor", "length", positive(LENGTH), '"7 mm"')
    bolt = optional("bolt", "size", from_shelf(lambda name: shelf.thread(name).size), '"M6"')
    holds: Field[Any] = optional("holds", "word", one_of({"head": "hex head", "nut": "hex nut"}), '"head"')
    across_flats = KnobFields.across_flats
    head_height = KnobFields.head_height
    clearance = optional("clearance", "word", one_of(_names(*_CLEARANCES)), '"normal"')
    dowel = optional("dowel", "size", from_shelf(lambda name: shelf.dowel_pin(name).size), '"6"')
    dowel_diameter = StopFields.dowel_diameter
    dowel_limits = StopFields.dowel_limits
    fit = optional("fit", "word", one_of(_names(*_FITS)), '"snug"')
