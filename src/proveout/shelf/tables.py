"""The look-ups: every table of the shelf as typed rows, and one row by its key.

All lengths come back in mm, forces in N, stresses in N/mm2, whatever the table's own unit. A key is taken in
any common spelling; an unknown one raises ShelfError, which names the nearest. Files are read at first use.
"""

from collections.abc import Callable
from functools import cache
from typing import TypeVar

from proveout.shelf.cutting import (
    ChipLoad,
    CuttingEnergy,
    chip_load_between,
    read_chip_load,
    read_cutting_energy,
    specific_force,
)
from proveout.shelf.hardware import (
    ClearanceHole,
    HexHead,
    HexNut,
    HoleFit,
    Washer,
    read_clearance_hole,
    read_hex_head,
    read_hex_nut,
    read_washer,
)
from proveout.shelf.holding import (
    Friction,
    HandTorque,
    NutFactor,
    read_friction,
    read_hand_torque,
    read_nut_factor,
)
from proveout.shelf.materials import (
    Material,
    MaterialKind,
    PanelThickness,
    PlywoodStrength,
    read_panel_thickness,
    read_plywood_strength,
    read_sheet_material,
    read_solid_wood,
)
from proveout.shelf.rows import Band, Basis, Row, rows
from proveout.shelf.sources import Source, read_sources
from proveout.shelf.spelling import ShelfError, found
from proveout.shelf.spelling import name as spelt_name
from proveout.shelf.spelling import size as spelt_size
from proveout.shelf.threads import (
    DowelPin,
    Insert,
    PinKind,
    Thread,
    metric_stress_area,
    read_dowel_pin,
    read_insert,
    read_thread,
    unified_stress_area,
)

# The one door to the shelf: whoever asks for a row finds the words for it here too.
__all__ = [
    "Band",
    "Basis",
    "ChipLoad",
    "ClearanceHole",
    "CuttingEnergy",
    "DowelPin",
    "Friction",
    "HandTorque",
    "HexHead",
    "HexNut",
    "HoleFit",
    "Insert",
    "Material",
    "MaterialKind",
    "NutFactor",
    "PanelThickness",
    "PinKind",
    "PlywoodStrength",
    "ShelfError",
    "Source",
    "Thread",
    "Washer",
    "bench_material",
    "chip_load",
    "chip_loads",
    "clearance_hole",
    "clearance_holes",
    "cutting_energies",
    "cutting_energy",
    "dowel_pin",
    "dowel_pins",
    "friction",
    "frictions",
    "hand_torque",
    "hand_torques",
    "hex_head",
    "hex_heads",
    "hex_nut",
    "hex_nuts",
    "insert",
    "inserts",
    "material",
    "materials",
    "metals",
    "metric_stress_area",
    "nut_factor",
    "nut_factors",
    "panel_thicknesses",
    "plywood_strengths",
    "sources",
    "specific_force",
    "thread",
    "threads",
    "unified_stress_area",
    "washer",
    "washers",
]

Record = TypeVar("Record")
Named = TypeVar("Named", Friction, Material, NutFactor)  # the records that go by several names

# The ordinary and the wide washer go by other names in ISO's list than in ASME's.
SAME_SERIES = {"normal": "narrow", "narrow": "normal", "large": "wide", "wide": "large"}


@cache
def sources() -> dict[str, Source]:
    """Every source that a row may name, by its key."""
    return read_sources()


@cache
def hex_heads() -> tuple[HexHead, ...]:
    """Heads of hexagon bolts and screws, metric then inch."""
    return _read(read_hex_head, "hex_heads_metric.csv", "hex_heads_inch.csv")


def hex_head(size: str) -> HexHead:
    """The head of a bolt size: "M6", "1/4", "#10".

    Raises:
        ShelfError: an unknown size
    """
    return found({row.size: row for row in hex_heads()}, spelt_size(size).name, said=size, kind="hex heads")


@cache
def hex_nuts() -> tuple[HexNut, ...]:
    """Hexagon nuts of ordinary height, metric then inch."""
    return _read(read_hex_nut, "hex_nuts_metric.csv", "hex_nuts_inch.csv")


def hex_nut(size: str) -> HexNut:
    """The nut of a bolt size.

    Raises:
        ShelfError: an unknown size
    """
    return found({row.size: row for row in hex_nuts()}, spelt_size(size).name, said=size, kind="hex nuts")


@cache
def washers() -> tuple[Washer, ...]:
    """Plain washers of every series, metric then inch."""
    return _read(read_washer, "washers_metric.csv", "washers_inch.csv")


def washer(size: str, series: str = "normal") -> Washer:
    """The washer of a bolt size in a series: "normal", "large", "extra large"; inch also "narrow", "wide".

    Raises:
        ShelfError: an unknown size, or one that has no washer of the series
    """
    by_size = {row.size: row for row in washers()}
    key = found(by_size, spelt_size(size).name, said=size, kind="washers").size
    by_series = {row.series: row for row in washers() if row.size == key}
    asked = spelt_name(series)
    if asked not in by_series:
        asked = SAME_SERIES.get(asked, asked)
    return found(by_series, asked, said=series, kind=f"{key} washers")


@cache
def clearance_holes() -> tuple[ClearanceHole, ...]:
    """Clearance holes of every class, metric then inch."""
    return _read(read_clearance_hole, "clearance_holes_metric.csv", "clearance_holes_inch.csv")


def clearance_hole(size: str, fit: HoleFit | str) -> ClearanceHole:
    """The hole that lets a bolt through, by class: "close", "normal", "loose".

    Raises:
        ShelfError: an unknown size or class
    """
    by_size = {row.size: row for row in clearance_holes()}
    key = found(by_size, spelt_size(size).name, said=size, kind="clearance holes").size
    by_fit: dict[str, ClearanceHole] = {row.fit: row for row in clearance_holes() if row.size == key}
    return found(by_fit, spelt_name(fit), said=fit, kind="classes of clearance hole")


@cache
def threads() -> tuple[Thread, ...]:
    """Threads: metric coarse, inch coarse, inch fine."""
    return _read(read_thread, "threads_metric.csv", "threads_inch.csv")


def thread(size: str) -> Thread:
    """The thread of a size, coarse where no pitch is given: "M6", "1/4", "1/4-20"; fine ones: "1/4-28".

    Raises:
        ShelfError: an unknown size, or a pitch that the shelf doesn't have for it
    """
    known = {row.size: row for row in threads()}
    spelt = spelt_size(size)
    if spelt.pitch is None:
        return found(known, spelt.name, said=size, kind="threads")
    coarse = known.get(spelt.name)
    if coarse and abs(_pitch(spelt.name, spelt.pitch) - coarse.pitch) < 0.001:
        return coarse
    return found(known, f"{spelt.name}-{spelt.pitch}", said=size, kind="threads")


def _pitch(size: str, pitch: str) -> float:
    """A written pitch in mm: metric sizes give it so, inch sizes as threads an inch."""
    return float(pitch) if size.startswith("M") else 25.4 / max(float(pitch), 1)


@cache
def inserts() -> tuple[Insert, ...]:
    """Threaded inserts for wood: placeholders, every one of them."""
    return _read(read_insert, "inserts_metric.csv", "inserts_inch.csv")


def insert(thread: str) -> Insert:
    """The placeholder insert for a thread.

    Raises:
        ShelfError: an unknown thread
    """
    return found({row.thread: row for row in inserts()}, spelt_size(thread).name, said=thread, kind="inserts")


@cache
def dowel_pins() -> tuple[DowelPin, ...]:
    """Steel pins and wooden dowels, metric then inch."""
    return _read(read_dowel_pin, "dowel_pins_metric.csv", "dowel_pins_inch.csv")


def dowel_pin(size: str, kind: PinKind | str = "steel") -> DowelPin:
    """The pin of a nominal size, "6" in mm or "1/4" in inches; kind "steel", "steel asme" or "wood".

    Raises:
        ShelfError: an unknown size, or one that doesn't come in the kind
    """
    by_size = {row.size: row for row in dowel_pins()}
    key = found(by_size, spelt_size(size).name, said=size, kind="dowel pins").size
    by_kind: dict[str, DowelPin] = {row.kind: row for row in dowel_pins() if row.size == key}
    return found(by_kind, spelt_name(kind), said=kind, kind=f"kinds of {key} dowel pin")


@cache
def materials() -> tuple[Material, ...]:
    """Panels and plastics, then solid woods."""
    return _read(read_sheet_material, "sheet_materials.csv") + _read(read_solid_wood, "solid_woods.csv")


def material(name: str) -> Material:
    """The material of a name: "birch plywood", "mdf", "sugar maple", "hdpe".

    Raises:
        ShelfError: an unknown name
    """
    return _named({row.name: row for row in materials()}, name, kind="materials")


@cache
def metals() -> tuple[Material, ...]:
    """Metals that clamps and plates are made of; nobody cuts them here, so that no job's stock is one."""
    return _read(read_sheet_material, "metals.csv")


def bench_material(name: str) -> Material:
    """The material of something on the bench, metals among them: "birch plywood", "steel".

    Raises:
        ShelfError: an unknown name
    """
    return _named({row.name: row for row in (*materials(), *metals())}, name, kind="materials")


def panel_thicknesses(material_name: str) -> tuple[PanelThickness, ...]:
    """The thicknesses in which a panel is sold, thinnest first; none where the shelf knows none.

    Raises:
        ShelfError: an unknown material
    """
    wanted = material(material_name).name
    return tuple(row for row in _all_panel_thicknesses() if row.material == wanted)


@cache
def _all_panel_thicknesses() -> tuple[PanelThickness, ...]:
    return _read(read_panel_thickness, "panel_thicknesses_metric.csv", "panel_thicknesses_inch.csv")


def plywood_strengths(material_name: str) -> tuple[PlywoodStrength, ...]:
    """Bending stiffness and strength of a plywood by nominal thickness; none where the shelf knows none.

    Raises:
        ShelfError: an unknown material
    """
    wanted = material(material_name).name
    return tuple(row for row in _all_plywood_strengths() if row.material == wanted)


@cache
def _all_plywood_strengths() -> tuple[PlywoodStrength, ...]:
    return _read(read_plywood_strength, "plywood_strengths.csv")


@cache
def frictions() -> tuple[Friction, ...]:
    """Coefficients of friction, a row a pair."""
    return _read(read_friction, "frictions.csv")


def friction(pair: str) -> Friction:
    """The friction of a pair: "wood on wood", "wood under steel".

    Raises:
        ShelfError: an unknown pair
    """
    return _named({row.pair: row for row in frictions()}, pair, kind="friction pairs")


@cache
def chip_loads() -> tuple[ChipLoad, ...]:
    """Feeds per tooth for light machines, by class and then cutter diameter."""
    return _read(read_chip_load, "chip_loads.csv")


def chip_load(chip_class: str, diameter: float) -> ChipLoad:
    """Feed per tooth at a cutter diameter in mm: linear between a class's rows, the end rows' own outside.

    Raises:
        ShelfError: an unknown class
    """
    classes = {row.chip_class: row.chip_class for row in chip_loads()}
    key = found(classes, spelt_name(chip_class), said=chip_class, kind="chip load classes")
    return chip_load_between([row for row in chip_loads() if row.chip_class == key], diameter)


@cache
def cutting_energies() -> tuple[CuttingEnergy, ...]:
    """Specific cutting forces, a row a class: estimates, all of them."""
    return _read(read_cutting_energy, "cutting_energies.csv")


def cutting_energy(energy_class: str) -> CuttingEnergy:
    """The specific cutting force of a class.

    Raises:
        ShelfError: an unknown class
    """
    known = {row.energy_class: row for row in cutting_energies()}
    return found(known, spelt_name(energy_class), said=energy_class, kind="cutting energy classes")


@cache
def nut_factors() -> tuple[NutFactor, ...]:
    """K of T = K D F, a row a condition of the thread."""
    return _read(read_nut_factor, "nut_factors.csv")


def nut_factor(condition: str) -> NutFactor:
    """The nut factor of a condition: "plain steel dry", "zinc plated dry", "oiled".

    Raises:
        ShelfError: an unknown condition
    """
    return _named({row.condition: row for row in nut_factors()}, condition, kind="nut factors")


@cache
def hand_torques() -> tuple[HandTorque, ...]:
    """What a hand brings to a grip."""
    return _read(read_hand_torque, "hand_torques.csv")


def hand_torque(grip: str = "knob") -> HandTorque:
    """What a hand brings to one grip.

    Raises:
        ShelfError: an unknown grip
    """
    return found({row.grip: row for row in hand_torques()}, spelt_name(grip), said=grip, kind="grips")


def _named(known: dict[str, Named], said: str, *, kind: str) -> Named:
    """The record that goes by a name, its first or another."""
    also = {other: name for name, row in known.items() for other in row.also}
    asked = spelt_name(said)
    return found(known, also.get(asked, asked), said=said, kind=kind)


def _read(record: Callable[[Row], Record], *tables: str) -> tuple[Record, ...]:
    return tuple(record(row) for table in tables for row in rows(table))
