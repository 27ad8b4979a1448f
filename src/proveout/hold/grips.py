"""Dowels, tape, screws and vacuum as they hold a blank: where, how hard, and why; each at its low end."""

from collections.abc import Iterator
from math import pi
from typing import Final

from shapely import Point, Polygon, box

from proveout.figure import Figure
from proveout.job.records import DowelAt, Job, ScrewAt, Stock, TapeAt, VacuumAt
from proveout.setup import Grip, Obstacle
from proveout.shelf.cited import cited
from proveout.shelf.materials import Material
from proveout.shelf.tables import material

DEEP: Final = 50.0  # mm below the plate's face that pins and screws count as metal; deeper than any cut

# Double-sided cloth tape between brushed wooden faces, N/mm2. A teaching page on routing gives 5 to 15 psi,
# 0.034 to 0.103 N/mm2, as what it holds (read); the low end is a little under that.
TAPE_SHEAR: Final = (0.03, 0.06, 0.10)  # project default
# Against being pulled straight off half of that, for a rigid blank loads one edge of it first (project
# default); and no more than it stands in peel all round its edge, N/mm: data sheets of general-purpose tapes
# say 5 to 20 N for 25 mm on steel (from memory).
TAPE_PULL: Final = (0.015, 0.03, 0.05)
TAPE_PEEL: Final = (0.2, 0.4, 0.8)

# A wood screw's lateral load, p = C D^2, N/mm2: the allowable of the weakest group of woods, 2520 psi, and
# of the strongest, 4800 psi, for a screw 7 D deep, in proportion down to 4 D, below which it counts nothing.
# Loads: a handbook of civil engineering formulas (read); depths: Wood Handbook, chapter 8 (from memory).
SCREW_LATERAL: Final = (17.4, 22.3, 33.1)
SCREW_DEEP: Final = (4.0, 7.0)  # of the diameter
# Its withdrawal, allowable: 2850 psi G^2 D for each length of thread in side grain (read in two places), for
# spruce, G 0.41: what the plate is made of is not known. In N/mm2.
SCREW_PULL: Final = 19.65 * 0.41**2

# What a shop's vacuum gives under a panel on a bleeding board or in a seal: 0.2 to 0.8 bar, N/mm2. Common
# practice, no source. What a gauge at the pump reads is not what is left under the work.
VACUUM: Final = (0.02, 0.05, 0.08)
UNDER_GAUGE: Final = 0.8  # of the gauge's reading; project default


def placed_grips(job: Job) -> tuple[Grip, ...]:
    """The job's dowels, tape, screws and vacuum in the internal frame, each force at its low end."""
    wood, stock, means = material(job.stock.material), job.stock, job.means
    return (
        *(_dowel(one, number, stock, wood) for number, one in enumerate(means.dowels, 1)),
        *(_tape(one, number) for number, one in enumerate(means.tape, 1)),
        *(_screw(one, number, stock, wood) for number, one in enumerate(means.screws, 1)),
        *([_vacuum(means.vacuum)] if means.vacuum else []),
    )


def grip_figures(job: Job) -> tuple[Figure, ...]:
    """What each of them holds with, and why."""
    return tuple(_figures(job))


def _figures(job: Job) -> Iterator[Figure]:
    wood, stock, means = material(job.stock.material), job.stock, job.means
    for number, dowel in enumerate(means.dowels, 1):
        yield dowel_shear(dowel, f"dowel {number}", stock, wood)
    for number, tape in enumerate(means.tape, 1):
        yield from (tape_shear(tape, f"tape {number}"), tape_pull(tape, f"tape {number}"))
    for number, screw in enumerate(means.screws, 1):
        name = f"screw {number}"
        yield from (screw_shear(screw, name, stock, wood), screw_pull(screw, name, stock, wood))
    if means.vacuum:
        yield vacuum_press(means.vacuum)


# Dowels


def dowel_shear(dowel: DowelAt, name: str, stock: Stock, wood: Material) -> Figure:
    """What a pin stands sideways, N: its diameter times the sheet's thinnest reading times what dents it."""
    deep = min(stock.thinnest, dowel.height or stock.thinnest)
    return Figure(
        name=f"hold.{name}.shear",
        value=wood.crush * dowel.diameter * deep,
        unit="N",
        rule="bearing of the hole: the pin's diameter times its length in it times what dents the wood",
        source=f"statics; {cited(wood)}",
        low=wood.crush_low * dowel.diameter * deep,
        high=wood.crush * dowel.diameter * deep,
    )


def _dowel(dowel: DowelAt, number: int, stock: Stock, wood: Material) -> Grip:
    name = f"dowel {number}"
    top = stock.thickest if dowel.height is None else dowel.height
    return Grip(
        kind="dowel",
        name=name,
        pressing=_round(dowel.at, dowel.diameter),
        force=0.0,
        shear=dowel_shear(dowel, name, stock, wood).low or 0.0,
        down=0.0,
        solids=(_pin(name, dowel.at, dowel.diameter, -DEEP, top),),
    )


# Tape


def tape_shear(tape: TapeAt, name: str) -> Figure:
    """What tape stands sideways, N: so much for each square millimetre."""
    return _of_area(
        f"hold.{name}.shear",
        tape,
        TAPE_SHEAR,
        "the tape's area times what cloth tape stands sideways between brushed wooden faces",
    )


def tape_pull(tape: TapeAt, name: str) -> Figure:
    """What tape stands of a pull straight up, N: by its area, and no more than peeling all round its edge."""
    wide, deep = tape.size
    low, usual, high = (
        min(pull * wide * deep, peel * 2 * (wide + deep))
        for pull, peel in zip(TAPE_PULL, TAPE_PEEL, strict=True)
    )
    return Figure(
        name=f"hold.{name}.pull",
        value=usual,
        unit="N",
        rule="the tape's area times what it stands straight up, at most its peel all round its edge",
        source="project default; peel from data sheets of general-purpose tapes (from memory)",
        low=low,
        high=high,
    )


def _of_area(name: str, tape: TapeAt, each: tuple[float, float, float], rule: str) -> Figure:
    area = tape.size[0] * tape.size[1]
    low, usual, high = (one * area for one in each)
    source = "project default, after a teaching page that gives 5 to 15 psi (read)"
    return Figure(name=name, value=usual, unit="N", rule=rule, source=source, low=low, high=high)


def _tape(tape: TapeAt, number: int) -> Grip:
    name = f"tape {number}"
    return Grip(
        kind="tape",
        name=name,
        pressing=_rectangle(tape.at, tape.size),
        force=0.0,
        shear=tape_shear(tape, name).low or 0.0,
        down=tape_pull(tape, name).low or 0.0,
    )


# Screws


def screw_depth(screw: ScrewAt, stock: Stock) -> float:
    """How deep a screw sits in the plate, mm, under the thickest reading."""
    return max(screw.length - stock.thickest, 0.0)


def screw_shear(screw: ScrewAt, name: str, stock: Stock, wood: Material) -> Figure:
    """What a wood screw stands sideways, N: C D^2 of its depth in the plate, at most bearing in the sheet."""
    least, full = (share * screw.diameter for share in SCREW_DEEP)
    depth = screw_depth(screw, stock)
    share = min(depth / full, 1.0) if depth >= least else 0.0

    def stands(constant: float, crush: float) -> float:
        lateral = constant * screw.diameter**2 * share
        return min(lateral, crush * screw.diameter * stock.thinnest)

    low, usual, high = SCREW_LATERAL
    return Figure(
        name=f"hold.{name}.shear",
        value=stands(usual, wood.crush),
        unit="N",
        rule="p = C D^2, less where it is under 7 D deep in the plate, nothing under 4 D; at most what dents "
        "the sheet beside it",
        source="allowable loads of wood screws, a handbook of civil engineering formulas (read); depths: "
        f"Wood Handbook, chapter 8 (from memory); {cited(wood)}",
        low=stands(low, wood.crush_low),
        high=stands(high, wood.crush),
    )


def screw_pull(screw: ScrewAt, name: str, stock: Stock, wood: Material) -> Figure:
    """What a wood screw stands of a pull up, N: its thread in the plate, at most its head in the sheet."""
    ring = pi / 4 * (screw.head_diameter**2 - screw.diameter**2)
    thread = SCREW_PULL * screw.diameter * screw_depth(screw, stock)
    return Figure(
        name=f"hold.{name}.pull",
        value=min(thread, wood.crush * ring),
        unit="N",
        rule="19.65 G^2 D for each mm in the plate, counted as spruce; at most what dents the sheet under "
        "its head",
        source=f"allowable withdrawal of wood screws (read); {cited(wood)}",
        low=min(thread, wood.crush_low * ring),
        high=min(thread, wood.crush * ring),
    )


def _screw(screw: ScrewAt, number: int, stock: Stock, wood: Material) -> Grip:
    name = f"screw {number}"
    top = stock.thickest + screw.head_height
    return Grip(
        kind="screw",
        name=name,
        pressing=_round(screw.at, screw.head_diameter),
        force=0.0,
        shear=screw_shear(screw, name, stock, wood).low or 0.0,
        down=screw_pull(screw, name, stock, wood).low or 0.0,
        solids=(
            _pin(name, screw.at, screw.diameter, -DEEP, top),
            # Sunk or not, the head is steel as wide as it is down to where its cone ends.
            _pin(name, screw.at, screw.head_diameter, stock.thickest - screw.head_diameter / 2, top),
        ),
    )


# Vacuum


def vacuum_press(vacuum: VacuumAt) -> Figure:
    """What a vacuum presses the blank on the plate with, N: its pressure times its area."""
    area = vacuum.size[0] * vacuum.size[1]
    if vacuum.pressure is None:
        low, usual, high = VACUUM
        source = "common practice, no source: 0.2 to 0.8 bar under a panel"
    else:
        low, usual, high = UNDER_GAUGE * vacuum.pressure, vacuum.pressure, vacuum.pressure
        source = "the job's own gauge; four fifths of it at the low end (project default)"
    return Figure(
        name="hold.vacuum.force",
        value=usual * area,
        unit="N",
        rule="the pressure below the air's times the sealed area",
        source=source,
        low=low * area,
        high=high * area,
    )


def _vacuum(vacuum: VacuumAt) -> Grip:
    force = vacuum_press(vacuum).low or 0.0
    return Grip(
        kind="vacuum",
        name="vacuum",
        pressing=_rectangle(vacuum.at, vacuum.size),
        force=force,
        shear=0.0,
        down=force,
    )


def _rectangle(at: tuple[float, float], size: tuple[float, float]) -> Polygon:
    return box(at[0], at[1], at[0] + size[0], at[1] + size[1])


def _round(at: tuple[float, float], diameter: float) -> Polygon:
    return Point(at).buffer(diameter / 2, quad_segs=16)


def _pin(name: str, at: tuple[float, float], diameter: float, bottom: float, top: float) -> Obstacle:
    return Obstacle(kind="stop", name=name, footprint=_round(at, diameter), bottom=bottom, top=top)
