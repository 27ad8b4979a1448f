"""Threads: bolts' threads, inserts that give wood one, and the pins that locate without; lengths in mm."""

import math
from dataclasses import dataclass
from typing import Literal

from proveout.shelf.rows import Band, Basis, Row

PinKind = Literal["steel", "steel asme", "wood"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread, and what a bolt of the ordinary class stands in it."""

    size: str  # "M6", "1/4"; fine inch threads by their count: "1/4-28"
    diameter: float
    pitch: float
    stress_area: float  # mm2, as published
    proof_stress: float  # N/mm2: class 8.8, grade 5
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Insert:
    """A threaded insert for wood. No standard governs them: a row is a placeholder for the maker's sheet."""

    thread: str  # "M6", "1/4"
    body_diameter: float  # root of the outside thread
    outside_diameter: float
    length: float
    pilot_soft: float  # hole in softwood and plywood
    pilot_hard: float  # hole in hardwood or near an edge
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DowelPin:
    """A straight pin that locates one part on another."""

    size: str  # nominal: "6" in mm, "1/4" in inches
    kind: PinKind  # "steel" by ISO 8734 and ASME B18.8.2; "steel asme" by B18.8.5M; "wood"
    diameter: Band
    source: str
    basis: Basis
    note: str


def metric_stress_area(diameter: float, pitch: float) -> float:
    """Stress area of an ISO metric thread, mm2.

    As = pi/4 ((d2 + d3)/2)^2 with d2 = d - 0.649519 P and d3 = d - 1.226869 P.
    Source: ISO 898-1, with the thread form of ISO 68-1 (from memory; reproduces the published areas)
    """
    return math.pi / 4 * (diameter - 0.938194 * pitch) ** 2


def unified_stress_area(diameter: float, pitch: float) -> float:
    """Stress area of a Unified inch thread, mm2; diameter and pitch in mm.

    At = pi/4 (D - 0.974279 P)^2.
    Source: ASME B1.1 (from memory; reproduces the published areas)
    """
    return math.pi / 4 * (diameter - 0.974279 * pitch) ** 2


def read_thread(row: Row) -> Thread:
    """A thread from its row; inch rows give the pitch as threads an inch."""
    metric = "pitch_mm" in row.cells
    return Thread(
        size=row.text("size"),
        diameter=row.measure("diameter"),
        pitch=row.measure("pitch") if metric else 25.4 / row.number("threads_per_inch"),
        stress_area=row.measure("stress_area"),
        proof_stress=row.measure("proof_stress"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_insert(row: Row) -> Insert:
    """An insert from its row."""
    return Insert(
        thread=row.text("thread"),
        body_diameter=row.measure("body_diameter"),
        outside_diameter=row.measure("outside_diameter"),
        length=row.measure("length"),
        pilot_soft=row.measure("pilot_soft"),
        pilot_hard=row.measure("pilot_hard"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_dowel_pin(row: Row) -> DowelPin:
    """A pin from its row."""
    return DowelPin(
        size=row.text("size"),
        kind=pin_kind(row),
        diameter=row.band("diameter"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def pin_kind(row: Row) -> PinKind:
    """What a pin is made of, and to which standard."""
    match row.text("kind"):
        case "steel" | "steel asme" | "wood" as known:
            return known
        case other:
            raise ValueError(f"{row}: {other!r} is no kind of pin")
