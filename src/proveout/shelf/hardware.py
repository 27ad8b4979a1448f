"""Hardware: heads, nuts, washers and the holes that let them through; lengths in mm."""

from dataclasses import dataclass
from typing import Literal

from proveout.shelf.rows import Band, Basis, Row

HoleFit = Literal["close", "normal", "loose"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HexHead:
    """The head of a hexagon bolt or screw."""

    size: str  # "M6", "1/4", "#10"
    diameter: float  # of the thread, nominal
    across_flats: Band
    across_corners_min: float  # the standard's least; the most a head can have is the sharp corner
    height: Band
    bearing_diameter: float | None  # of the washer face, least; None where the standard gives none
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HexNut:
    """A hexagon nut of ordinary height."""

    size: str
    diameter: float
    across_flats: Band
    across_corners_min: float
    height: Band
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Washer:
    """A plain washer."""

    size: str
    series: str  # "normal", "large", "extra large" of ISO; "narrow", "wide" of ASME
    bore: Band
    outside: Band
    thickness: Band
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearanceHole:
    """A hole that lets a bolt through."""

    size: str
    fit: HoleFit  # ISO 273 says fine, medium, coarse
    diameter: float  # the least
    drill: str  # the drill that the standard names for it: "6.6 mm", "17/64 in", "#2"
    source: str
    basis: Basis
    note: str


def read_hex_head(row: Row) -> HexHead:
    """A head from its row."""
    return HexHead(
        size=row.text("size"),
        diameter=row.measure("diameter"),
        across_flats=row.band("across_flats"),
        across_corners_min=row.measure("across_corners_min"),
        height=row.band("height"),
        bearing_diameter=row.measure_or_none("bearing_diameter_min"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_hex_nut(row: Row) -> HexNut:
    """A nut from its row."""
    return HexNut(
        size=row.text("size"),
        diameter=row.measure("diameter"),
        across_flats=row.band("across_flats"),
        across_corners_min=row.measure("across_corners_min"),
        height=row.band("height"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_washer(row: Row) -> Washer:
    """A washer from its row."""
    return Washer(
        size=row.text("size"),
        series=row.text("series"),
        bore=row.band("bore"),
        outside=row.band("outside"),
        thickness=row.band("thickness"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_clearance_hole(row: Row) -> ClearanceHole:
    """A clearance hole from its row."""
    return ClearanceHole(
        size=row.text("size"),
        fit=hole_fit(row),
        diameter=row.measure("diameter_min"),
        drill=row.text("drill"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def hole_fit(row: Row) -> HoleFit:
    """The class of a hole."""
    match row.text("fit"):
        case "close" | "normal" | "loose" as known:
            return known
        case other:
            raise ValueError(f"{row}: {other!r} is no class of hole")
