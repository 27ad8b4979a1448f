"""A small bench for the prover's tests, and the reader of its case files.

A case file says what is on the bench in a few lines, then the program, then what must be found:

    A sentence that the case shows to be true.

    stock 60 x 40 x 12
    clamp C2 bar 0 10 14 24 from 12 to 24 bolt -6 17 diameter 6
    part knob circle 40 20 radius 8
    ---- program
    G21 ...
    ---- findings
    stop clamp-struck 7: the collet nut strikes clamp at C2
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from shapely import Polygon, box
from shapely.geometry import Point

from proveout.finding import Finding
from proveout.job.records import Cutter, Machine, Spindle
from proveout.motion import Motion, MotionBuilder
from proveout.program.text import Program
from proveout.proof.trial import Trial
from proveout.setup import Block, IntendedFeature, IntendedPart, Obstacle, PlacedClamp, Reach, Setup, Tab

CUTTER = Cutter(
    number=1,
    name="3 mm two-flute",
    kind="flat",
    diameter=3.0,
    flutes=2,
    flute_length=15.0,
    stick_out=26.0,
    shank_diameter=3.0,
    centre_cutting=True,
    spiral="up",
    carbide=True,
    max_rpm=24000.0,
)

SPINDLE = Spindle(
    min_rpm=8000.0,
    max_rpm=24000.0,
    power=400.0,
    nut_diameter=20.0,
    nut_length=16.0,
    body_diameter=65.0,
    spin_up=2.0,
)

MACHINE = Machine(
    name="bench router",
    travel=(500.0, 400.0, 90.0),
    tip_reach=80.0,
    max_feed=(4000 / 60, 4000 / 60, 1500 / 60),
    acceleration=(400.0, 400.0, 400.0),
    corner_deviation=0.02,
    stiffness=250.0,
    dialect="plain",
    units="mm",
    line_limit=80,
    spindle=SPINDLE,
)


def setup(
    size: tuple[float, float, float] = (60.0, 40.0, 12.0),
    *,
    parts: Sequence[IntendedPart] = (),
    clamps: Sequence[PlacedClamp] = (),
    inserts: Sequence[Obstacle] = (),
    tabs: Sequence[Tab] = (),
    cutters: Sequence[Cutter] = (CUTTER,),
) -> Setup:
    """A sheet on a plate that reaches 100 mm beyond it on every side; 0.3 mm into the bed is allowed."""
    width, depth, thick = size
    return Setup(
        name="case",
        stock=Block(
            size=(width, depth), thinnest=thick, mean=thick, thickest=thick, material="birch plywood"
        ),
        machine=MACHINE,
        reach=Reach(low=(-100.0, -100.0, -5.0), high=(width + 100, depth + 100, 80.0)),
        cutters=tuple(cutters),
        clamps=tuple(clamps),
        inserts=tuple(inserts),
        plate=box(-100, -100, width + 100, depth + 100),
        bed_allowance=0.3,
        zero=(0.0, 0.0, 0.0),
        parts=tuple(parts),
        tabs=tuple(tabs),
    )


def disc(x: float, y: float, radius: float) -> Polygon:
    """A circle as a polygon that misses it by less than 0.001 mm."""
    sides = max(64, math.ceil(math.pi / math.acos(1 - 0.001 / radius)))
    return Point(x, y).buffer(radius, quad_segs=math.ceil(sides / 4))


def part(
    outline: Polygon, *features: IntendedFeature, name: str = "knob", tolerance: float = 0.01
) -> IntendedPart:
    """A part on sheet 1."""
    return IntendedPart(name=name, sheet=1, outline=outline, features=features, tolerance=tolerance)


def hole(region: Polygon, name: str = "bolt hole", tolerance: float = 0.01) -> IntendedFeature:
    """A feature that goes through."""
    return IntendedFeature(name=name, intent="", region=region, floor=0.0, through=True, tolerance=tolerance)


def recess(
    region: Polygon, floor: float, name: str = "head recess", tolerance: float = 0.01
) -> IntendedFeature:
    """A blind feature."""
    return IntendedFeature(
        name=name, intent="", region=region, floor=floor, through=False, tolerance=tolerance
    )


def clamp(hole: str, bar: Polygon, bottom: float, top: float, bolt: Polygon | None = None) -> PlacedClamp:
    """A clamp whose bar presses wherever it lies over the sheet's first quadrant."""
    name = f"clamp at {hole}"
    bolts = () if bolt is None else (_solid("bolt", name, bolt, 0.0, top + 8),)
    return PlacedClamp(
        name=name,
        hole=hole,
        bar=_solid("clamp", name, bar, bottom, top),
        bolt=bolts,
        pressing=bar,
        force=400.0,
        bolt_size="M6",
    )


def insert(hole: str, x: float, y: float, top: float = -1.5) -> Obstacle:
    """A threaded insert of 9 mm in the plate."""
    return _solid("insert", f"insert at {hole}", disc(x, y, 4.5), -12.0, top)


def _solid(kind: str, name: str, footprint: Polygon, bottom: float, top: float) -> Obstacle:
    return Obstacle(kind=kind, name=name, footprint=footprint, bottom=bottom, top=top)  # type: ignore[arg-type]  # from case files


def builder(at: tuple[float, float, float] = (0.0, 0.0, 40.0)) -> MotionBuilder:
    """A motion that starts above everything with the spindle turning and cutter 1 in it."""
    moves = MotionBuilder(at)
    moves.feed, moves.speed_rpm, moves.cutter, moves.line = 20.0, 18000.0, 1, 1
    return moves


def trial(bench: Setup, motion: Motion) -> Trial:
    """The motion as the only program on a bench."""
    return Trial(
        setup=bench, files=("case.nc",), motion=motion, program=np.zeros(len(motion), dtype=np.int32)
    )


# --- case files


@dataclass(frozen=True)
class Expected:
    """One finding that a case file asks for."""

    level: str
    kind: str
    line: int | None
    text: str  # that the finding's text contains

    def meets(self, finding: Finding) -> bool:
        """Whether a finding is the one asked for."""
        return (self.level, self.kind, self.line) == (
            finding.level.value,
            finding.kind,
            finding.line,
        ) and self.text in finding.text


@dataclass(frozen=True)
class Case:
    """What a case file says."""

    claim: str
    bench: Setup
    program: Program
    expected: tuple[Expected, ...]


def read_case(file: Path) -> Case:
    """A case file as a bench, a program and what must be found."""
    above, program, expected = file.read_text(encoding="utf-8").split("----")
    claim, _, bench = above.partition("\n\n")
    return Case(
        claim=" ".join(claim.split()),
        bench=_bench(bench.splitlines()),
        program=Program(
            file=f"{file.stem}.nc",
            text=program.removeprefix(" program\n"),
            cutters=(1,),
            dialect="plain",
            units="mm",
        ),
        expected=tuple(_expected(line) for line in expected.removeprefix(" findings\n").splitlines() if line),
    )


def _expected(line: str) -> Expected:
    head, _, text = line.partition(":")
    level, kind, number = (*head.split(), None)[:3]
    return Expected(str(level), str(kind), int(number) if number else None, text.strip())


def _bench(lines: list[str]) -> Setup:
    bench = setup()
    for line in lines:
        words = line.split()
        if words and not line.startswith("#"):
            bench = SAYINGS[words[0]](bench, words[1:])
    return bench


def _say_stock(bench: Setup, words: list[str]) -> Setup:
    width, depth, thick = (float(word) for word in words[0::2])
    return replace(setup((width, depth, thick)), cutters=bench.cutters)


def _say_zero(bench: Setup, words: list[str]) -> Setup:
    x, y, z = (float(word) for word in words)
    return replace(bench, zero=(x, y, z))


def _say_cutter(bench: Setup, words: list[str]) -> Setup:
    """cutter 1 flutes 15 stick-out 26 shank 6 diameter 3 kind vee point 90 centre no"""
    said = dict(zip(words[1::2], words[2::2], strict=True))
    old = next((one for one in bench.cutters if one.number == int(words[0])), CUTTER)
    new = replace(
        old,
        number=int(words[0]),
        kind=said.get("kind", old.kind),  # type: ignore[arg-type]  # from case files
        diameter=float(said.get("diameter", old.diameter)),
        flute_length=float(said.get("flutes", old.flute_length)),
        stick_out=float(said.get("stick-out", old.stick_out)),
        shank_diameter=float(said.get("shank", old.shank_diameter)),
        centre_cutting=said.get("centre", "yes") == "yes",
        point_deg=float(said["point"]) if "point" in said else old.point_deg,
        max_rpm=float(said["rpm"]) if "rpm" in said else old.max_rpm,
    )
    others = tuple(one for one in bench.cutters if one.number != new.number)
    return replace(bench, cutters=(*others, new))


def _say_clamp(bench: Setup, words: list[str]) -> Setup:
    """clamp C2 bar LEFT FRONT RIGHT BACK from BOTTOM to TOP [bolt X Y diameter D]"""
    name, _, *sides, _, bottom, _, top = words[:10]
    bolt = None
    if len(words) > 10:
        bolt = disc(float(words[11]), float(words[12]), float(words[14]) / 2)
    one = clamp(name, box(*(float(side) for side in sides)), float(bottom), float(top), bolt)
    return replace(bench, clamps=(*bench.clamps, one))


def _say_insert(bench: Setup, words: list[str]) -> Setup:
    """insert B2 at X Y top Z"""
    one = insert(words[0], float(words[2]), float(words[3]), float(words[5]))
    return replace(bench, inserts=(*bench.inserts, one))


def _say_part(bench: Setup, words: list[str]) -> Setup:
    """part knob circle X Y radius R | part bar box LEFT FRONT RIGHT BACK"""
    return replace(bench, parts=(*bench.parts, part(_region(words[1:]), name=words[0])))


def _say_hole(bench: Setup, words: list[str]) -> Setup:
    return _with_feature(bench, hole(_region(words)))


def _say_recess(bench: Setup, words: list[str]) -> Setup:
    """recess floor Z circle ..."""
    return _with_feature(bench, recess(_region(words[2:]), float(words[1])))


def _with_feature(bench: Setup, feature: IntendedFeature) -> Setup:
    *before, last = bench.parts
    return replace(bench, parts=(*before, replace(last, features=(*last.features, feature))))


def _say_tab(bench: Setup, words: list[str]) -> Setup:
    """tab knob at X Y length L height H"""
    one = Tab(
        part=words[0],
        at=(float(words[2]), float(words[3])),
        length=float(words[5]),
        height=float(words[7]),
    )
    return replace(bench, tabs=(*bench.tabs, one))


def _region(words: list[str]) -> Polygon:
    if words[0] == "circle":
        return disc(float(words[1]), float(words[2]), float(words[4]))
    return box(*(float(word) for word in words[1:5]))


SAYINGS = {
    "stock": _say_stock,
    "zero": _say_zero,
    "cutter": _say_cutter,
    "clamp": _say_clamp,
    "insert": _say_insert,
    "part": _say_part,
    "hole": _say_hole,
    "recess": _say_recess,
    "tab": _say_tab,
}
