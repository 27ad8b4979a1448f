"""A small job made by hand: two knobs, a strap and two clamps, as the road would hand them to the pack."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from proveout.curve import Curve, Point, Segment, circle, from_points, polygon
from proveout.figure import Figure
from proveout.finding import Finding, Level, is_ready
from proveout.job.records import (
    ClampAt,
    ClampKind,
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
    StrapWanted,
    Wanted,
    Zero,
)
from proveout.motion import MotionBuilder
from proveout.motion_time import Minutes
from proveout.pack.made import Made
from proveout.parts.part import Feature, Part, PlacedPart, lies
from proveout.program.text import Program
from proveout.proof.verdict import HeightField, ProvedProgram, Verdict
from proveout.quantity import System
from proveout.setup import (
    Block,
    IntendedFeature,
    IntendedPart,
    Obstacle,
    PlacedClamp,
    Reach,
    Setup,
    Tab,
)

SHEET = (220.0, 140.0)
READINGS = (11.72, 11.80, 11.85, 11.78)
BED_TO_RECESS = 7.37
STOP = Finding(
    level=Level.STOP,
    kind="clamp-struck",
    text="The collet nut strikes the clamp at B6: it passes 3.1 mm inside the bar, 4 mm below its top.",
    remedy="Raise the safe height to at least 31.5 mm above the bed.",
    program="1-3mm-two-flute.nc",
    line=14,
    at=(12.0, 70.0, 20.0),
)


def made(*, units: System = "mm", stopped: bool = False, job_name: str = "clamp knobs") -> Made:
    """The whole example; `stopped` adds one finding that forbids cutting."""
    findings = (*_findings(), STOP) if stopped else _findings()
    placed = _placed()
    return Made(
        job=_job(units, job_name),
        setup=_setup(placed, job_name),
        placed=placed,
        programs=_programs(),
        verdict=_verdict(placed, findings),
        findings=findings,
        figures=_figures(),
    )


def renamed(made_job: Made, name: str) -> Made:
    """The same job under another name, in every place where a person wrote one."""
    parts = tuple(replace(one, name=name, part=replace(one.part, name=name)) for one in made_job.placed)
    first, *rest = made_job.findings
    finding = replace(first, text=name, remedy=name)
    return replace(
        made_job,
        job=replace(made_job.job, name=name),
        setup=replace(made_job.setup, name=name),
        placed=parts,
        findings=(finding, *rest),
    )


def knob() -> Part:
    """A six-lobed knob of 44 mm with an M6 hex recess and a clearance hole."""
    hexagon = [(5 / math.cos(math.pi / 6) * math.cos(a), 5 / math.cos(math.pi / 6) * math.sin(a)) for a in
               (math.radians(60 * corner) for corner in range(6))]  # fmt: skip
    recess = Feature(
        name="head recess",
        kind="recess",
        intent="captive M6 hex head, firm press",
        curves=(from_points(hexagon),),
        floor=BED_TO_RECESS,
        through=False,
        tolerance=0.1,
        cutter=1,
    )
    hole = Feature(
        name="bolt hole",
        kind="hole",
        intent="M6 bolt, normal clearance",
        curves=(circle((0.0, 0.0), 6.6),),
        floor=0.0,
        through=True,
        tolerance=0.1,
        cutter=1,
    )
    return Part(
        name="knob", outline=_lobes(22.0, 3.0), cutter=1, features=(recess, hole), rotations_deg=(0.0,)
    )


def strap() -> Part:
    """A slotted strap of 90 x 28 mm."""
    slot = Feature(
        name="slot",
        kind="slot",
        intent="M6 bolt, normal clearance",
        curves=(_obround(40.0, 6.6),),
        floor=0.0,
        through=True,
        tolerance=0.1,
        cutter=1,
    )
    return Part(
        name="strap", outline=_obround(90.0, 28.0), cutter=2, features=(slot,), rotations_deg=(0.0, 90.0)
    )


def _lobes(radius: float, depth: float) -> Curve:
    scallop = 7.0
    away = radius + scallop - depth
    half = math.acos((radius**2 + away**2 - scallop**2) / (2 * radius * away))

    def on(distance: float, angle: float) -> Point:
        return distance * math.cos(angle), distance * math.sin(angle)

    segments: list[Segment] = []
    for lobe in range(6):
        here, following = math.radians(60 * lobe), math.radians(60 * (lobe + 1))
        rim_end = on(radius, following - half)
        next_start = on(radius, following + half) if lobe < 5 else on(radius, half)
        segments.append(Segment(on(radius, here + half), rim_end, (0.0, 0.0)))
        segments.append(Segment(rim_end, next_start, on(away, following), ccw=False))
    return Curve(tuple(segments))


def _obround(length: float, width: float) -> Curve:
    reach, radius = length / 2 - width / 2, width / 2
    corners = (reach, -radius), (reach, radius), (-reach, radius), (-reach, -radius)
    return Curve(
        (
            Segment(corners[0], corners[1], (reach, 0.0)),
            Segment(corners[1], corners[2]),
            Segment(corners[2], corners[3], (-reach, 0.0)),
            Segment(corners[3], corners[0]),
        )
    )


def _placed() -> tuple[PlacedPart, ...]:
    return (
        PlacedPart(name="knob 1", part=knob(), sheet=1, x=58.0, y=98.0, turn_deg=0.0),
        PlacedPart(name="knob 2", part=knob(), sheet=1, x=112.0, y=98.0, turn_deg=90.0),
        PlacedPart(name="strap 1", part=strap(), sheet=1, x=92.0, y=36.0, turn_deg=0.0),
    )


def cutters() -> tuple[Cutter, ...]:
    """The two cutters that the example uses."""
    small = Cutter(
        number=1,
        name="3 mm two-flute up-cut",
        kind="flat",
        diameter=3.0,
        flutes=2,
        flute_length=15.0,
        stick_out=26.0,
        shank_diameter=3.0,
        centre_cutting=True,
        spiral="up",
        carbide=True,
        max_rpm=30000,
    )
    large = replace(
        small, number=2, name="6 mm two-flute up-cut", diameter=6.0, flute_length=22.0, stick_out=30.0
    )
    return small, large


def _machine() -> Machine:
    return Machine(
        name="bench router",
        travel=(500.0, 400.0, 90.0),
        tip_reach=80.0,
        max_feed=(66.0, 66.0, 25.0),
        acceleration=(400.0, 400.0, 200.0),
        corner_deviation=0.02,
        stiffness=250.0,
        dialect="plain",
        units="mm",
        line_limit=70,
        spindle=Spindle(
            min_rpm=8000,
            max_rpm=24000,
            power=400,
            nut_diameter=20,
            nut_length=16,
            body_diameter=65,
            spin_up=3,
        ),
    )


def _job(units: System, name: str) -> Job:
    plate = Plate(
        size=(460.0, 340.0),
        at=(20.0, 30.0),
        first_hole=(20.0, 20.0),
        pitch=25.0,
        columns=17,
        rows=12,
        inserts=Inserts(thread="M6", diameter=9.0, depth_below_face=1.5),
        cut_allowance=0.5,
    )
    clamps = ClampKind(
        name="low strap",
        count=4,
        length=60.0,
        width=22.0,
        thickness=12.0,
        nose_to_bolt=30.0,
        bolt="M6",
        knob_diameter=30.0,
        knob_height=18.0,
    )
    m6 = Hardware(size="M6", form="hex head", across_flats=9.92, height=4.05)
    wanted = (
        Wanted(
            name="knob",
            count=2,
            pattern=KnobWanted(
                diameter=44, lobes=6, scallop_depth=3, hardware=m6, fit="firm press", clearance="normal"
            ),
            rotations_deg=(0.0,),
            cutter=None,
        ),
        Wanted(
            name="strap",
            count=1,
            pattern=StrapWanted(
                length=90, width=28, bolt="M6", clearance="normal", slot_length=40, slot_from_nose=25
            ),
            rotations_deg=(0.0, 90.0),
            cutter=None,
        ),
    )
    return Job(
        file=Path("job.toml"),
        name=name,
        units=units,
        shop=Shop(
            file=Path("shop.toml"),
            name="the boat shed",
            machine=_machine(),
            plate=plate,
            cutters=cutters(),
            clamps=(clamps,),
        ),
        stock=Stock(
            material="birch plywood",
            size=SHEET,
            readings=READINGS,
            measured=True,
            at=(60.0, 80.0),
            edge_margin=6.0,
        ),
        zero=Zero(corner="left front", level="bed"),
        clamps=(
            ClampAt(clamp="low strap", hole="B6", towards="right"),
            ClampAt(clamp="low strap", hole="L6", towards="left"),
        ),
        wanted=wanted,
        through_allowance=0.3,
        safe_above=12.7,
    )


def _clamp(hole: str, bolt_x: float, nose: int) -> PlacedClamp:
    """A clamp whose bolt stands at (bolt_x, 65), its nose to the right (1) or to the left (-1)."""
    ends = sorted((bolt_x + nose * 30, bolt_x - nose * 30))
    bar = shapely.box(ends[0], 54.0, ends[1], 76.0)
    name = f"clamp at {hole}"
    around = shapely.Point(bolt_x, 65.0)
    return PlacedClamp(
        name=name,
        hole=hole,
        bar=Obstacle(kind="clamp", name=name, footprint=bar, bottom=11.85, top=23.85),
        bolt=(
            Obstacle(kind="bolt", name=name, footprint=around.buffer(3.0), bottom=0.0, top=23.85),
            Obstacle(kind="bolt", name=name, footprint=around.buffer(15.0), bottom=23.85, top=41.85),
        ),
        pressing=bar.intersection(shapely.box(0, 0, *SHEET)),
        force=410.0,
        bolt_size="M6",
    )


def _setup(placed: tuple[PlacedPart, ...], name: str) -> Setup:
    return Setup(
        name=name,
        stock=Block(
            size=SHEET,
            thinnest=min(READINGS),
            mean=sum(READINGS) / 4,
            thickest=max(READINGS),
            material="birch plywood",
        ),
        machine=_machine(),
        reach=Reach(low=(-80.0, -110.0, -10.0), high=(420.0, 290.0, 80.0)),
        cutters=cutters(),
        clamps=(_clamp("B6", -15.0, 1), _clamp("L6", 235.0, -1)),
        inserts=(),
        plate=shapely.box(-60.0, -80.0, 400.0, 260.0),
        bed_allowance=0.5,
        zero=(0.0, 0.0, 0.0),
        parts=tuple(_intended(one) for one in placed),
        tabs=_tabs(),
    )


def _intended(placed: PlacedPart) -> IntendedPart:
    part = lies(placed)
    return IntendedPart(
        name=part.name,
        sheet=1,
        outline=polygon((part.outline,), 0.05),
        features=tuple(
            IntendedFeature(
                name=feature.name,
                intent=feature.intent,
                region=polygon(feature.curves, 0.05),
                floor=feature.floor,
                through=feature.through,
                tolerance=feature.tolerance,
            )
            for feature in part.features
        ),
        tolerance=0.1,
    )


def _tabs() -> tuple[Tab, ...]:
    def at(part: str, x: float, y: float) -> Tab:
        return Tab(part=part, at=(x, y), length=6.0, height=2.4)

    return (
        *(
            at("knob 1", 58 + 22 * math.cos(math.radians(a)), 98 + 22 * math.sin(math.radians(a)))
            for a in (30, 150, 270)
        ),
        *(
            at("knob 2", 112 + 22 * math.cos(math.radians(a)), 98 + 22 * math.sin(math.radians(a)))
            for a in (0, 120, 240)
        ),
        at("strap 1", 92, 50),
        at("strap 1", 137, 36),
        at("strap 1", 92, 22),
    )


def _programs() -> tuple[Program, ...]:
    def text(what: str) -> str:
        return f"({what})\nG21 G90 G17\nG0 Z35\nG0 X10 Y10\nM30\n"

    return (
        Program(
            file="0-outline-check.nc", text=text("outline check"), cutters=(), dialect="plain", units="mm"
        ),
        Program(
            file="1-3mm-two-flute.nc", text=text("3 mm two-flute"), cutters=(1,), dialect="plain", units="mm"
        ),
        Program(
            file="2-6mm-two-flute.nc", text=text("6 mm two-flute"), cutters=(2,), dialect="plain", units="mm"
        ),
    )


def _verdict(placed: tuple[PlacedPart, ...], findings: tuple[Finding, ...]) -> Verdict:
    builder = MotionBuilder((0.0, 0.0, 35.0))
    builder.rapid((10.0, 10.0, 35.0))
    motion = builder.motion()

    def proved(file: str, cutting: float, air: float) -> ProvedProgram:
        return ProvedProgram(
            file=file,
            motion=motion,
            minutes=Minutes(total=cutting + air, cutting=cutting, air=air, tool_changes=0.0),
        )

    return Verdict(
        ready=is_ready(findings),
        findings=tuple(one for one in findings if one.program),
        minutes=Minutes(total=17.1, cutting=11.9, air=2.2, tool_changes=3.0),
        programs=(
            proved("0-outline-check.nc", 0.0, 0.6),
            proved("1-3mm-two-flute.nc", 7.6, 1.1),
            proved("2-6mm-two-flute.nc", 4.3, 0.5),
        ),
        result=result_field(placed),
        removed=41250.0,
        notes=(
            "The proof used cells of 0.2 mm for heights; walls were checked exactly.",
            "Not modelled: how far the cutter bends, and how round it runs.",
        ),
        corners=(),
        loads=None,
    )


def result_field(placed: tuple[PlacedPart, ...], cell: float = 0.2) -> HeightField:
    """What stands after a perfect cut with 3 mm kerfs, tabs left standing."""
    columns, rows = round(SHEET[0] / cell), round(SHEET[1] / cell)
    x, y = np.meshgrid((np.arange(columns) + 0.5) * cell, (np.arange(rows) + 0.5) * cell)
    heights = np.full((rows, columns), 11.85, dtype=np.float32)
    for one in placed:
        part = lies(one)
        outline = polygon((part.outline,), 0.05)
        heights[shapely.contains_xy(outline.buffer(3.0).difference(outline), x, y)] = -0.3
        for feature in sorted(part.features, key=lambda feature: -feature.floor):
            floor = -0.3 if feature.through else feature.floor
            heights[shapely.contains_xy(polygon(feature.curves, 0.05), x, y)] = floor
    for tab in _tabs():
        near = np.hypot(x - tab.at[0], y - tab.at[1]) < tab.length / 2 + 0.5
        heights[near & (heights < tab.height)] = tab.height
    heights.setflags(write=False)
    return HeightField(heights=heights, cell=cell, origin=(0.0, 0.0))


def _findings() -> tuple[Finding, ...]:
    return (
        Finding(
            level=Level.CAUTION,
            kind="wood-gives-first",
            text="The recess in knob 1 holds 1.9 N m, and the hand can give 2.6 N m: the wood yields first.",
            remedy="Tighten with the fingertips, or choose a bolt with a taller head: 5.3 mm holds 2.6 N m.",
        ),
        Finding(
            level=Level.NOTE,
            kind="estimate",
            text="The clamps' force rests on hand torque and friction, which vary by 30 % either way.",
            remedy="Pull at the sheet before you start; it must not creep.",
        ),
    )


def _figures() -> tuple[Figure, ...]:
    thinnest = Figure(
        name="stock.thinnest",
        value=11.72,
        unit="mm",
        rule="The smallest of the caliper readings.",
        source="measured: 4 readings",
    )
    head = Figure(
        name="knob.bolt.head height",
        value=4.05,
        unit="mm",
        rule="The height of the bolt's head by caliper.",
        source="measured: 1 reading",
    )
    depth = Figure(
        name="knob.head recess.depth",
        value=4.35,
        unit="mm",
        rule="The head's height and 0.3 mm more, so that it lies below the face.",
        source="common practice",
        inputs=(head, thinnest),
    )
    floor = Figure(
        name="knob.head recess.floor left",
        value=7.37,
        unit="mm",
        rule="What stands under the head at the thinnest place.",
        source="difference",
        inputs=(thinnest, depth),
    )
    return (
        depth,
        floor,
        Figure(
            name="outline.feed",
            value=1400 / 60,
            unit="mm/s",
            rule="Chip load times flutes times turning speed, held down to what the tabs stand.",
            source="common practice",
            low=1100 / 60,
            high=1500 / 60,
        ),
        Figure(
            name="clamp.force",
            value=410.0,
            unit="N",
            rule="The bolt's tension shared by the lever of nose and heel, at the unfavourable end.",
            source="lever law; T = K D F with K from 0.15 to 0.3",
            low=410.0,
            high=820.0,
        ),
    )
