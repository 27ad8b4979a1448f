"""Benches and jobs that the tests of fit and parts share: one metric, one in inches."""

from dataclasses import replace
from pathlib import Path

from proveout.job.records import (
    Cutter,
    Hardware,
    Inserts,
    Job,
    KnobWanted,
    Machine,
    Plate,
    Shop,
    Spindle,
    Stock,
    StopWanted,
    StrapWanted,
    Wanted,
    Zero,
    ZeroLevel,
)
from proveout.quantity import System

INCH = 25.4
M6_HEAD = Hardware(size="M6", form="hex head")  # not measured


def flat_cutter(number: int, diameter: float, flute_length: float) -> Cutter:
    """A two-flute carbide end mill that cuts at its centre."""
    return Cutter(
        number=number,
        name=f"{diameter:g} two-flute",
        kind="flat",
        diameter=diameter,
        flutes=2,
        flute_length=flute_length,
        stick_out=flute_length + 10,
        shank_diameter=diameter,
        centre_cutting=True,
        spiral="up",
        carbide=True,
    )


def drill(number: int, diameter: float, flute_length: float, point_deg: float = 118.0) -> Cutter:
    """A drill."""
    like = flat_cutter(number, diameter, flute_length)
    return replace(like, kind="drill", name=f"{diameter:g} drill", point_deg=point_deg)


METRIC_CUTTERS = (flat_cutter(1, 3.0, 15.0), flat_cutter(2, 6.0, 22.0), drill(3, 6.0, 40.0))
INCH_CUTTERS = (flat_cutter(1, INCH / 8, INCH / 2), flat_cutter(2, INCH / 4, INCH * 3 / 4))


def a_job(
    *wanted: Wanted,
    readings: tuple[float, ...] = (11.7, 11.9, 11.8),
    material: str = "birch plywood",
    cutters: tuple[Cutter, ...] = METRIC_CUTTERS,
    level: ZeroLevel = "bed",
    units: System = "mm",
    measured: bool = True,
) -> Job:
    """A job for those parts on a small machine."""
    stock = Stock(
        material=material,
        size=(330.0, 230.0),
        readings=readings,
        measured=measured,
        at=(50.0, 50.0),
        edge_margin=6.0,
    )
    return Job(
        file=Path("job.toml"),
        name="test job",
        units=units,
        shop=_shop(cutters),
        stock=stock,
        zero=Zero(corner="left front", level=level),
        clamps=(),
        wanted=wanted,
        through_allowance=0.3,
        safe_above=12.7,
    )


def an_inch_job(*wanted: Wanted) -> Job:
    """Plywood sold as 1/4 in that measures 0.235 in, and 1/8 and 1/4 in cutters."""
    return a_job(*wanted, readings=(0.235 * INCH,), cutters=INCH_CUTTERS, level="top", units="in")


def a_knob(hardware: Hardware = M6_HEAD, fit: str = "firm press") -> KnobWanted:
    """A six-lobed knob of 44 mm."""
    return KnobWanted(
        diameter=44.0, lobes=6, scallop_depth=3.0, hardware=hardware, fit=fit, clearance="normal"
    )


def an_inch_knob() -> KnobWanted:
    """A knob of 1-1/2 in around a 1/4 in hex cap screw whose head was measured at 5/32 in."""
    head = Hardware(size="1/4", form="hex head", across_flats=0.435 * INCH, height=5 / 32 * INCH)
    return KnobWanted(
        diameter=1.5 * INCH, lobes=6, scallop_depth=0.1 * INCH, hardware=head, fit="snug", clearance="close"
    )


def a_strap() -> StrapWanted:
    """A strap of 90 x 28 mm with a slot for an M6 bolt."""
    return StrapWanted(
        length=90.0, width=28.0, bolt="M6", clearance="normal", slot_length=40.0, slot_from_nose=25.0
    )


def a_stop(fit: str = "snug") -> StopWanted:
    """A block of 60 x 32 mm on two 6 mm dowels."""
    dowel = Hardware(size="6", form="dowel")
    return StopWanted(
        length=60.0, width=32.0, corner_radius=4.0, hardware=dowel, fit=fit, holes=2, spacing=25.0
    )


def want(
    pattern: KnobWanted | StrapWanted | StopWanted, name: str = "part", cutter: int | None = None
) -> Wanted:
    """Two of a part."""
    return Wanted(name=name, count=2, pattern=pattern, rotations_deg=(0.0, 90.0), cutter=cutter)


def _shop(cutters: tuple[Cutter, ...]) -> Shop:
    spindle = Spindle(
        min_rpm=8000.0,
        max_rpm=24000.0,
        power=400.0,
        nut_diameter=20.0,
        nut_length=16.0,
        body_diameter=65.0,
        spin_up=3.0,
    )
    machine = Machine(
        name="bench router",
        travel=(500.0, 400.0, 90.0),
        tip_reach=85.0,
        max_feed=(66.0, 66.0, 25.0),
        acceleration=(400.0, 400.0, 300.0),
        corner_deviation=0.02,
        stiffness=250.0,
        dialect="plain",
        units="mm",
        line_limit=80,
        spindle=spindle,
    )
    plate = Plate(
        size=(460.0, 340.0),
        at=(20.0, 20.0),
        first_hole=(17.5, 20.0),
        pitch=25.0,
        columns=18,
        rows=13,
        inserts=Inserts(thread="M6", diameter=9.0, depth_below_face=1.5),
        cut_allowance=0.3,
    )
    return Shop(
        file=Path("shop.toml"), name="test shop", machine=machine, plate=plate, cutters=cutters, clamps=()
    )
