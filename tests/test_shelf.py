"""The shelf's tables against the standards, against arithmetic, and against slips of the pen."""

import math
import subprocess
import sys
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple, Protocol

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.shelf import tables as shelf
from proveout.shelf.movements import movements
from proveout.shelf.rows import BASES, Basis, Row
from proveout.shelf.rows import rows as table
from proveout.shelf.spelling import name as spelt_name

INCH = 25.4


class Sourced(Protocol):
    """What every row has."""

    @property
    def source(self) -> str: ...

    @property
    def basis(self) -> Basis: ...


def labelled(*parts: object) -> str:
    """How a row is called in a test's name and in the check that no key stands twice."""
    return " ".join(str(part) for part in parts)


@dataclass(frozen=True)
class SourcedRow:
    """A row that is read cell by cell, with its source and basis where the tests look for them."""

    row: Row

    @property
    def source(self) -> str:
        return self.row.text("source")

    @property
    def basis(self) -> Basis:
        return self.row.basis()


def every_row() -> dict[str, Sourced]:
    """All rows of all tables by table and key; a key that stands twice is an error."""
    named: list[tuple[str, Sourced]] = [
        *((labelled("head", row.size), row) for row in shelf.hex_heads()),
        *((labelled("nut", row.size), row) for row in shelf.hex_nuts()),
        *((labelled("washer", row.size, row.series), row) for row in shelf.washers()),
        *((labelled("hole", row.size, row.fit), row) for row in shelf.clearance_holes()),
        *((labelled("thread", row.size), row) for row in shelf.threads()),
        *((labelled("insert", row.thread), row) for row in shelf.inserts()),
        *((labelled("pin", row.size, row.kind), row) for row in shelf.dowel_pins()),
        *((labelled("material", row.name), row) for row in shelf.materials()),
        *((labelled("metal", row.name), row) for row in shelf.metals()),
        *((labelled("friction", row.pair), row) for row in shelf.frictions()),
        *((labelled("chip", row.chip_class, row.diameter), row) for row in shelf.chip_loads()),
        *((labelled("energy", row.energy_class), row) for row in shelf.cutting_energies()),
        *((labelled("nut factor", row.condition), row) for row in shelf.nut_factors()),
        *((labelled("hand", row.grip), row) for row in shelf.hand_torques()),
        *((labelled("moves", row.material), row) for row in movements()),
        *((labelled("ISO", row.text("over_mm")), SourcedRow(row)) for row in table("iso_limits.csv")),
    ]
    for material in shelf.materials():
        name = material.name
        named += [(labelled("panel", name, row.nominal), row) for row in shelf.panel_thicknesses(name)]
        named += [(labelled("ply", name, row.nominal), row) for row in shelf.plywood_strengths(name)]
    rows = dict(named)
    assert len(rows) == len(named)
    return rows


ROWS = every_row()
METRIC = ("M4", "M5", "M6", "M8", "M10", "M12")
INCHES = ("#10", "1/4", "5/16", "3/8", "7/16", "1/2")
SIZES = METRIC + INCHES


# --- where values come from


@pytest.mark.parametrize("label", ROWS)
def test_every_row_is_sourced(label: str) -> None:
    """Every row names a source that is told in full, and says how far it can be trusted."""
    assert ROWS[label].source in shelf.sources()
    assert ROWS[label].basis in BASES


def test_every_source_is_used_and_told() -> None:
    """No source stands idle, and each has a title and a word on what was really read."""
    used = {row.source for row in ROWS.values()}
    assert set(shelf.sources()) == used
    assert all(source.title and source.note for source in shelf.sources().values())


def test_placeholders_are_marked() -> None:
    """No standard governs inserts, so none of them passes for a read value."""
    assert {row.basis for row in shelf.inserts()} <= {"default", "practice"}
    assert all("easure" in row.note for row in shelf.inserts())


def test_estimates_of_cutting_force_are_marked() -> None:
    """No constants for routing wood are published, so each is shown as the project's own, with a range."""
    assert {row.basis for row in shelf.cutting_energies()} == {"default"}
    assert all((row.low, row.high) in ((0.5, 1.5), (0.5, 2.0)) for row in shelf.cutting_energies())


@pytest.mark.parametrize("energy", shelf.cutting_energies(), ids=lambda energy: energy.energy_class)
def test_cutting_forces_are_of_plausible_size(energy: shelf.CuttingEnergy) -> None:
    """Wood and plastics cost 10 to 80 J/cm3 at 0.1 mm, and 1.4 to 1.7 times that at a quarter of the chip."""
    assert 10 < energy.at_tenth < 80
    growth = shelf.specific_force(energy, 0.025) / shelf.specific_force(energy, 0.1)
    assert 1.4 < growth < 1.7


# --- heads and nuts


@pytest.mark.parametrize("size", SIZES)
def test_a_size_is_called_after_its_thread(size: str) -> None:
    """M6 is 6 mm and 1/4 a quarter inch over the thread; #10 is .060 + 10 x .013 = .190 in (ASME B1.1)."""
    if size.startswith("M"):
        nominal = float(size[1:])
    else:
        nominal = INCH * (0.060 + 0.013 * int(size[1:]) if size.startswith("#") else float(Fraction(size)))
    diameters = [row.diameter for row in (shelf.hex_head(size), shelf.hex_nut(size), shelf.thread(size))]
    assert diameters == pytest.approx([nominal] * 3)


@pytest.mark.parametrize("size", SIZES)
def test_heads_are_of_plausible_shape(size: str) -> None:
    """Across flats is 1.4 to 2 times the thread in every standard size, the head half to 0.8 as high."""
    head = shelf.hex_head(size)
    flats, height = head.across_flats, head.height
    assert flats.min < flats.max
    assert 1.4 < flats.max / head.diameter <= 2.0
    assert 0.5 * head.diameter < height.min < height.max < 0.8 * head.diameter
    assert head.bearing_diameter is None or head.diameter < head.bearing_diameter < head.across_flats.min


@pytest.mark.parametrize("size", SIZES)
def test_nuts_are_of_plausible_shape(size: str) -> None:
    """A nut is 0.6 to 1 thread high and takes a spanner of 1.4 to 2.1 times the thread."""
    nut = shelf.hex_nut(size)
    flats, height = nut.across_flats, nut.height
    assert 1.4 * nut.diameter < flats.min < flats.max < 2.1 * nut.diameter
    assert 0.6 * nut.diameter < height.min < height.max < nut.diameter


@pytest.mark.parametrize("size", SIZES)
def test_corners_belong_to_a_slightly_rounded_hexagon(size: str) -> None:
    """Least across corners is 1.11 to 1.155 times least across flats: a hexagon with its corners eased."""
    for part in (shelf.hex_head(size), shelf.hex_nut(size)):
        assert 1.11 < part.across_corners_min / part.across_flats.min < 2 / math.sqrt(3)


# ISO 4014, as tabulated by an open fastener data set and a supplier (both read): s max, s min, e min, k max,
# k min.
ISO_4014 = {
    "M4": (7.00, 6.78, 7.66, 2.925, 2.675),
    "M6": (10.00, 9.78, 11.05, 4.150, 3.850),
    "M8": (13.00, 12.73, 14.38, 5.450, 5.150),
    "M12": (18.00, 17.73, 20.03, 7.680, 7.320),
}
# ASME B18.2.1 as tabulated at astma193gradeb7.com and usefastener.com (read), #10 ASME B18.6.3 at
# adfastcomponents.com (read): F max, F min, G min, H max, H min in inches.
ASME_HEADS = {
    "#10": (0.312, 0.305, 0.340, 0.120, 0.105),
    "1/4": (0.438, 0.428, 0.488, 0.163, 0.150),
    "5/16": (0.500, 0.489, 0.557, 0.211, 0.195),
    "3/8": (0.562, 0.551, 0.628, 0.243, 0.226),
    "7/16": (0.625, 0.612, 0.698, 0.291, 0.272),
    "1/2": (0.750, 0.736, 0.840, 0.323, 0.302),
}
# ISO 4032, as tabulated by an open fastener data set (read): s max, s min, e min, m max, m min.
ISO_4032 = {
    "M5": (8.00, 7.78, 8.79, 4.70, 4.40),
    "M6": (10.00, 9.78, 11.05, 5.20, 4.90),
    "M10": (16.00, 15.73, 17.77, 8.40, 8.04),
}
# ASME B18.2.2, Machinery's Handbook 31 p. 1677 (read), #10 at torqbolt.com (read): F max, F min, G min,
# H max, H min.
ASME_NUTS = {
    "#10": (0.375, 0.362, 0.413, 0.130, 0.117),
    "1/4": (0.438, 0.428, 0.488, 0.226, 0.212),
    "5/16": (0.500, 0.489, 0.557, 0.273, 0.258),
    "3/8": (0.562, 0.551, 0.628, 0.337, 0.320),
    "7/16": (0.688, 0.675, 0.768, 0.385, 0.365),
    "1/2": (0.750, 0.736, 0.840, 0.448, 0.427),
}


def hexagon(part: shelf.HexHead | shelf.HexNut, unit: float) -> tuple[float, ...]:
    """A head's or nut's sizes in the order of the tables above, in the table's unit."""
    flats, height = part.across_flats, part.height
    sizes = (flats.max, flats.min, part.across_corners_min, height.max, height.min)
    return tuple(size / unit for size in sizes)


@pytest.mark.parametrize("size", ISO_4014)
def test_metric_heads_are_those_of_iso_4014(size: str) -> None:
    """A metric hexagon head has the flats, corners and height that ISO 4014 allows."""
    assert hexagon(shelf.hex_head(size), 1) == pytest.approx(ISO_4014[size])


@pytest.mark.parametrize("size", ASME_HEADS)
def test_inch_heads_are_those_of_asme(size: str) -> None:
    """An inch cap screw has the head of ASME B18.2.1, a #10 screw that of B18.6.3, both told in mm."""
    assert hexagon(shelf.hex_head(size), INCH) == pytest.approx(ASME_HEADS[size])


@pytest.mark.parametrize("size", ISO_4032)
def test_metric_nuts_are_those_of_iso_4032(size: str) -> None:
    """A metric nut has the flats, corners and height that ISO 4032 allows."""
    assert hexagon(shelf.hex_nut(size), 1) == pytest.approx(ISO_4032[size])


@pytest.mark.parametrize("size", ASME_NUTS)
def test_inch_nuts_are_those_of_asme(size: str) -> None:
    """An inch nut has the sizes of ASME B18.2.2; the 7/16 nut is wider than the 7/16 head."""
    assert hexagon(shelf.hex_nut(size), INCH) == pytest.approx(ASME_NUTS[size])


# Tolerance grades of ISO 286-1, Table 1, mm, for nominal sizes over 0 to 3, 3-6, 6-10, 10-18, 18-30, 30-50
# (from memory).
GRADES = {
    13: (0.14, 0.18, 0.22, 0.27, 0.33, 0.39),
    14: (0.25, 0.30, 0.36, 0.43, 0.52, 0.62),
    16: (0.60, 0.75, 0.90, 1.10, 1.30, 1.60),
}


def grade(number: int, nominal: float) -> float:
    """The width of a tolerance grade at a nominal size."""
    step = next(step for step, upto in enumerate((3, 6, 10, 18, 30, 50)) if nominal <= upto)
    return GRADES[number][step]


@pytest.mark.parametrize("size", METRIC)
def test_metric_hexagons_keep_to_the_tolerance_grades(size: str) -> None:
    """Flats are h13, head heights js14, nut heights h14, corners 1.13 flats (ISO 4759-1, from memory)."""
    head, nut = shelf.hex_head(size), shelf.hex_nut(size)
    for part in (head, nut):
        flats = part.across_flats
        assert flats.max - flats.min == pytest.approx(grade(13, flats.max))
        assert part.across_corners_min == pytest.approx(1.13 * flats.min, abs=0.006)
    nominal = (head.height.min + head.height.max) / 2
    assert head.height.max - head.height.min == pytest.approx(grade(14, nominal))
    assert nut.height.max - nut.height.min == pytest.approx(grade(14, nut.height.max))
    assert head.bearing_diameter == pytest.approx(
        head.across_flats.min - grade(16, head.across_flats.max), abs=0.006
    )


# --- washers and clearance holes


def washer_id(washer: shelf.Washer) -> str:
    """A washer's name in its test's name."""
    return labelled(washer.size, washer.series)


# Grades of bore and outside diameter by series: normal and large are product grade A, extra large is grade C.
SERIES = {"normal": (13, 14), "large": (13, 14), "extra large": (14, 16)}


@pytest.mark.parametrize("washer", [row for row in shelf.washers() if row.size in METRIC], ids=washer_id)
def test_metric_washers_keep_to_the_tolerance_grades(washer: shelf.Washer) -> None:
    """Bores are H13 and outsides h14 in grade A, H14 and h16 in grade C (ISO 4759-3, from memory)."""
    bore, outside = SERIES[washer.series]
    assert washer.bore.max - washer.bore.min == pytest.approx(grade(bore, washer.bore.min))
    assert washer.outside.max - washer.outside.min == pytest.approx(grade(outside, washer.outside.max))


# Nominal thickness, M4 to M12 (extra large: M5 to M12). ISO 7089 (read), ISO 7093 and 7094 (from memory).
THICKNESSES = {
    "normal": (0.8, 1.0, 1.6, 1.6, 2.0, 2.5),
    "large": (1.0, 1.2, 1.6, 2.0, 2.5, 3.0),
    "extra large": (2.0, 2.0, 3.0, 3.0, 4.0),
}


@pytest.mark.parametrize("series", THICKNESSES)
def test_metric_washers_are_as_thick_as_they_are_called(series: str) -> None:
    """The nominal thickness is the middle of what a metric washer may measure."""
    bands = [washer.thickness for washer in shelf.washers() if washer.series == series]
    assert [(band.min + band.max) / 2 for band in bands] == pytest.approx(THICKNESSES[series])


# ISO 7089, 7093, 7094 in public data files (read): least bore, largest outside, largest thickness.
ISO_WASHERS = {
    ("M4", "normal"): (4.30, 9.00, 0.90),
    ("M6", "normal"): (6.40, 12.00, 1.80),
    ("M10", "normal"): (10.50, 20.00, 2.20),
    ("M5", "large"): (5.30, 15.00, 1.40),
    ("M8", "large"): (8.40, 24.00, 2.20),
    ("M6", "extra large"): (6.60, 22.00, 2.30),
    ("M12", "extra large"): (13.50, 44.00, 4.60),
}


@pytest.mark.parametrize("key", ISO_WASHERS)
def test_metric_washers_are_those_of_iso(key: tuple[str, str]) -> None:
    """A metric washer has the bore, outside and thickness of its standard."""
    washer = shelf.washer(*key)
    assert (washer.bore.min, washer.outside.max, washer.thickness.max) == pytest.approx(ISO_WASHERS[key])


# ASME B18.21.1 type A, Machinery's Handbook 31 (read): basic bore, outside, thickness in inches.
ASME_WASHERS = {
    ("#10", "narrow"): (0.219, 0.500, 0.049),
    ("1/4", "narrow"): (0.281, 0.625, 0.065),
    ("1/4", "wide"): (0.312, 0.734, 0.065),
    ("5/16", "narrow"): (0.344, 0.688, 0.065),
    ("5/16", "wide"): (0.375, 0.875, 0.083),
    ("3/8", "narrow"): (0.406, 0.812, 0.065),
    ("3/8", "wide"): (0.438, 1.000, 0.083),
    ("7/16", "narrow"): (0.469, 0.922, 0.065),
    ("7/16", "wide"): (0.500, 1.250, 0.083),
    ("1/2", "narrow"): (0.531, 1.062, 0.095),
    ("1/2", "wide"): (0.562, 1.375, 0.109),
}
# The same table: limits of the thickness by its basic size.
ASME_GAUGES = {
    0.049: (0.036, 0.065),
    0.065: (0.051, 0.080),
    0.083: (0.064, 0.104),
    0.095: (0.074, 0.121),
    0.109: (0.086, 0.132),
}


@pytest.mark.parametrize("key", ASME_WASHERS)
def test_inch_washers_keep_to_the_standards_limits(key: tuple[str, str]) -> None:
    """Bores run .005 under to .015 over (#10: .008), outsides .007 under to .015 over, wide ones .030."""
    washer = shelf.washer(*key)
    bore, outside, thickness = ASME_WASHERS[key]
    over = 0.008 if key[0] == "#10" else 0.015
    outer = 0.030 if key[1] == "wide" else 0.015
    assert [limit / INCH for limit in washer.bore] == pytest.approx([bore - 0.005, bore + over])
    assert [limit / INCH for limit in washer.outside] == pytest.approx([outside - 0.007, outside + outer])
    assert [limit / INCH for limit in washer.thickness] == pytest.approx(ASME_GAUGES[thickness])


@pytest.mark.parametrize("washer", shelf.washers(), ids=washer_id)
def test_washers_pass_their_bolt_and_cover_its_hole(washer: shelf.Washer) -> None:
    """Every washer slides over its bolt, and is wide enough to cover the loosest hole for it."""
    assert washer.bore.min > shelf.thread(washer.size).diameter
    assert washer.outside.min > 1.3 * shelf.clearance_hole(washer.size, "loose").diameter
    assert 0.6 < washer.thickness.min < washer.thickness.max < 5


def test_ordinary_and_wide_washers_are_found_by_either_standards_word() -> None:
    """A "large" washer for 1/4 in is the wide one; where no series is named, the narrow one is meant."""
    assert shelf.washer("1/4").series == "narrow"
    assert shelf.washer("1/4", "large") == shelf.washer("1/4", "wide")
    assert shelf.washer("M6", "wide") == shelf.washer("M6", "large")


# ISO 273 in two public charts (read): fine, medium, coarse.
ISO_273 = {
    "M4": (4.3, 4.5, 4.8),
    "M5": (5.3, 5.5, 5.8),
    "M6": (6.4, 6.6, 7.0),
    "M8": (8.4, 9.0, 10.0),
    "M10": (10.5, 11.0, 12.0),
    "M12": (13.0, 13.5, 14.5),
}
# ASME B18.2.8 names drills; Machinery's Handbook 31 p. 1741 (read) gives the loose and normal ones, a public
# data file (read) all. Letter and number drills in inches from the American drill size list (from memory).
ASME_DRILLS = {
    "#10": ("#5", "#2", "B"),
    "1/4": ("17/64", "9/32", "19/64"),
    "5/16": ("21/64", "11/32", "23/64"),
    "3/8": ("25/64", "13/32", "27/64"),
    "7/16": ("29/64", "15/32", "31/64"),
    "1/2": ("17/32", "9/16", "39/64"),
}
GAUGES = {"#5": 0.2055, "#2": 0.2210, "B": 0.2380}


def holes(size: str) -> tuple[float, ...]:
    """The close, normal and loose hole of a size."""
    return tuple(shelf.clearance_hole(size, fit).diameter for fit in ("close", "normal", "loose"))


@pytest.mark.parametrize("size", ISO_273)
def test_metric_clearance_holes_are_those_of_iso_273(size: str) -> None:
    """Close, normal and loose are ISO 273's fine, medium and coarse; M12 medium is 13.5, not the older 14."""
    assert holes(size) == pytest.approx(ISO_273[size])


@pytest.mark.parametrize("size", ASME_DRILLS)
def test_inch_clearance_holes_are_those_of_their_drills(size: str) -> None:
    """The least hole that ASME B18.2.8 gives is the size of the drill that it names."""
    drills = ASME_DRILLS[size]
    drilled = [GAUGES.get(drill) or float(Fraction(drill)) for drill in drills]
    assert [hole / INCH for hole in holes(size)] == pytest.approx(drilled, abs=0.0006)
    for fit, drill in zip(("close", "normal", "loose"), drills, strict=True):
        assert shelf.clearance_hole(size, fit).drill.removesuffix(" in") == drill


@pytest.mark.parametrize("size", SIZES)
def test_a_bolt_passes_its_hole_and_its_head_does_not(size: str) -> None:
    """Each class of hole is looser than the one before, lets the bolt through and holds its head."""
    close, normal, loose = holes(size)
    head = shelf.hex_head(size)
    assert head.diameter < close < normal < loose < head.across_flats.min
    assert loose < 1.27 * head.diameter


# --- threads


@pytest.mark.parametrize("thread", shelf.threads(), ids=lambda thread: thread.size)
def test_stress_areas_follow_from_the_thread_form(thread: shelf.Thread) -> None:
    """Published stress areas are those of ISO 898-1's and ASME B1.1's formulas, to one in the last figure."""
    if thread.size.startswith("M"):
        computed = math.pi / 4 * (thread.diameter - 0.938194 * thread.pitch) ** 2
        assert thread.stress_area == pytest.approx(computed, rel=0.003)
        assert shelf.metric_stress_area(thread.diameter, thread.pitch) == pytest.approx(computed)
    else:
        per_inch = INCH / thread.pitch
        computed = math.pi / 4 * (thread.diameter / INCH - 0.974279 / per_inch) ** 2
        assert thread.stress_area / INCH**2 == pytest.approx(computed, abs=0.0001)
        assert shelf.unified_stress_area(thread.diameter, thread.pitch) / INCH**2 == pytest.approx(computed)


# ISO 898-1, proof loads of class 8.8, coarse threads, N (read in a supplier's table).
PROOF_LOADS = {"M4": 5100, "M5": 8230, "M6": 11600, "M8": 21200, "M10": 33700, "M12": 48900}


@pytest.mark.parametrize("size", PROOF_LOADS)
def test_metric_proof_loads_are_those_of_iso_898(size: str) -> None:
    """Area times proof stress gives the proof load that ISO 898-1 prints, rounded, for class 8.8."""
    thread = shelf.thread(size)
    assert thread.stress_area * thread.proof_stress == pytest.approx(PROOF_LOADS[size], rel=0.006)


def test_inch_proof_loads_are_those_of_grade_5() -> None:
    """A 3/8-16 bolt of SAE J429 grade 5 stands 85 000 psi on 0.0775 square inches: 6 587 lbf."""
    thread = shelf.thread("3/8-16")
    assert thread.stress_area * thread.proof_stress / 4.4482216 == pytest.approx(6587, abs=1)


@pytest.mark.parametrize(
    "thread", [row for row in shelf.threads() if row.diameter > 6], ids=lambda row: row.size
)
def test_ordinary_bolts_are_of_one_strength(thread: shelf.Thread) -> None:
    """Class 8.8 proves 580 N/mm2 (ISO 898-1, read), grade 5 proves 85 ksi, 1 % more (SAE J429, read)."""
    assert thread.proof_stress == pytest.approx(580 if thread.size.startswith("M") else 586.05, abs=0.01)


@pytest.mark.parametrize("size", ("#10", "#10-32"))
def test_machine_screws_are_taken_as_soft(size: str) -> None:
    """Grade 5 begins at 1/4 in, so a #10 screw is trusted with grade 1's 33 ksi only (SAE J429, read)."""
    assert shelf.thread(size).proof_stress == pytest.approx(227.5, abs=0.1)


def test_coarse_is_meant_where_no_pitch_is_said() -> None:
    """1/4 is 1/4-20 and M8 is M8x1.25; 1/4-28 is another thread, and M8x1 is not on the shelf."""
    assert shelf.thread("1/4") == shelf.thread("1/4-20 UNC")
    assert shelf.thread("M8") == shelf.thread("M8 x 1.25")
    assert shelf.thread("1/4-28 UNF").stress_area > shelf.thread("1/4").stress_area
    with pytest.raises(shelf.ShelfError):
        shelf.thread("M8x1")


# --- pins and inserts


# ISO 286-2, tolerance m6, um above nominal (read in an extract).
M6_LIMITS = {"4": (4, 12), "5": (4, 12), "6": (4, 12), "8": (6, 15), "10": (6, 15), "12": (7, 18)}


@pytest.mark.parametrize("size", M6_LIMITS)
def test_metric_pins_are_m6(size: str) -> None:
    """A hardened metric pin is over its nominal size by the limits of m6."""
    low, high = M6_LIMITS[size]
    band = shelf.dowel_pin(size).diameter
    assert [1000 * (limit - float(size)) for limit in band] == pytest.approx([low, high])


# ASME B18.8.5M, standard pins, um above nominal (read).
ASME_LIMITS = {"4": (3, 8), "5": (3, 8), "6": (3, 9), "8": (3, 9), "10": (3, 9), "12": (3, 9)}


@pytest.mark.parametrize("size", ASME_LIMITS)
def test_metric_pins_sold_by_asme_are_slimmer(size: str) -> None:
    """An American metric pin is 3 to 9 um over nominal, whatever its size, and never above m6."""
    band = shelf.dowel_pin(size, "steel asme").diameter
    assert [1000 * (limit - float(size)) for limit in band] == pytest.approx(ASME_LIMITS[size])
    assert band.max < shelf.dowel_pin(size).diameter.max


@pytest.mark.parametrize("size", ("1/8", "3/16", "1/4", "5/16", "3/8", "1/2"))
def test_inch_pins_are_two_tenths_over(size: str) -> None:
    """A standard inch pin is .0002 in over nominal, give or take .0001 (ASME B18.8.2, read in two tables)."""
    band = shelf.dowel_pin(f'{size}"').diameter
    over = [limit / INCH - float(Fraction(size)) for limit in band]
    assert over == pytest.approx([0.0001, 0.0003])


@pytest.mark.parametrize("size", ("4", "5", "6", "8", "10", "12", "1/4", "5/16", "3/8", "1/2"))
def test_wooden_dowels_vary_far_more_than_steel_pins(size: str) -> None:
    """A wooden dowel may be 0.2 mm under or over, a steel pin not a tenth of that. Common practice."""
    wood, steel = shelf.dowel_pin(size, "wood").diameter, shelf.dowel_pin(size).diameter
    nominal = float(Fraction(size)) * (INCH if "/" in size else 1)
    assert list(wood) == pytest.approx([nominal - 0.2, nominal + 0.2], abs=0.005)
    assert steel.max - steel.min < 0.02


@pytest.mark.parametrize("insert", shelf.inserts(), ids=lambda insert: insert.thread)
def test_inserts_grow_from_the_inside_out(insert: shelf.Insert) -> None:
    """Pilots: the body's size in soft wood, 1/32 in more in hard (two woodworking magazines, read)."""
    assert shelf.thread(insert.thread).diameter < insert.body_diameter < insert.outside_diameter
    assert insert.pilot_soft == pytest.approx(insert.body_diameter)
    assert insert.pilot_hard - insert.pilot_soft == pytest.approx(INCH / 32, abs=0.01)
    assert insert.pilot_hard < insert.outside_diameter < 1.4 * insert.body_diameter
    assert 1 < insert.length / shelf.thread(insert.thread).diameter < 3


# --- materials


class Psi(NamedTuple):
    """A row of the Wood Handbook's Table 5-3b, in inch-pound units (read, in part from memory)."""

    modulus: float  # million psi
    bending: float  # psi
    crush: float  # psi, compression perpendicular to grain
    shear: float  # psi


WOODS = {
    "yellow birch": Psi(2.01, 16600, 970, 1880),
    "sugar maple": Psi(1.83, 15800, 1470, 2330),
    "red maple": Psi(1.64, 13400, 1000, 1850),
    "white ash": Psi(1.74, 15000, 1160, 1910),
    "american beech": Psi(1.72, 14900, 1010, 2010),
    "black cherry": Psi(1.49, 12300, 690, 1700),
    "northern red oak": Psi(1.82, 14300, 1010, 1780),
    "white oak": Psi(1.78, 15200, 1070, 2000),
    "black walnut": Psi(1.68, 14600, 1010, 1370),
    "paper birch": Psi(1.59, 12300, 600, 1210),
    "shagbark hickory": Psi(2.16, 20200, 1760, 2430),
    "yellow poplar": Psi(1.58, 10100, 500, 1190),
    "basswood": Psi(1.46, 8700, 370, 990),
    "eastern white pine": Psi(1.24, 8600, 440, 900),
    "loblolly pine": Psi(1.79, 12800, 790, 1390),
    "douglas fir": Psi(1.95, 12400, 800, 1130),
    "western redcedar": Psi(1.11, 7500, 460, 990),
}
PSI = 0.006894757  # N/mm2


@pytest.mark.parametrize("name", WOODS)
def test_woods_agree_between_the_metric_and_the_inch_table(name: str) -> None:
    """Both tables of the Wood Handbook give one wood: stiffness and crushing agree to the printed figures."""
    wood = shelf.material(name)
    assert wood.kind == "solid wood"
    assert wood.modulus == pytest.approx(WOODS[name].modulus * 1e6 * PSI, abs=90)
    assert wood.crush == pytest.approx(WOODS[name].crush * PSI, abs=0.09)


@pytest.mark.parametrize("name", WOODS)
def test_woods_are_reckoned_at_their_unfavourable_end(name: str) -> None:
    """One piece in ten dents or shears below the stated low, one in twenty breaks: 28, 14, 16 % scatter."""
    wood = shelf.material(name)
    assert wood.crush_low == pytest.approx(wood.crush * (1 - 1.28 * 0.28))
    assert wood.panel_shear == pytest.approx(WOODS[name].shear * PSI * (1 - 1.28 * 0.14), abs=0.09)
    assert wood.bending == pytest.approx(WOODS[name].bending * PSI * (1 - 1.645 * 0.16), abs=0.7)


def test_wood_density_counts_its_moisture() -> None:
    """At 12 % yellow birch weighs 694, sugar maple 706, white pine 392 kg/m3 (Wood Handbook, ch. 4)."""
    names = ("yellow birch", "sugar maple", "eastern white pine")
    weights = [shelf.material(name).density for name in names]
    assert weights == pytest.approx([694, 706, 392], abs=0.6)


@pytest.mark.parametrize("material", shelf.materials(), ids=lambda material: material.name)
def test_materials_are_of_plausible_strength(material: shelf.Material) -> None:
    """Nothing here is lighter than cork or heavier than laminate, and nothing is stronger at its bad end."""
    assert 300 < material.density < 1500
    assert 0 < material.crush_low <= material.crush < 70
    assert 0 < material.planar_shear <= material.panel_shear < material.bending
    assert 5 < material.bending < 120
    assert 900 < material.modulus < 16000


@pytest.mark.parametrize("name", WOODS)
def test_heavier_wood_is_stronger(name: str) -> None:
    """Bending strength goes with density: 171 G^1.13 in hardwoods, G^1.01 in softwoods, within a quarter.

    Source: Wood Handbook, relations of strength to specific gravity, Table 5-11a (from memory)
    """
    wood = shelf.material(name)
    gravity = wood.density / 1120
    expected = 171.0 * gravity ** (1.01 if wood.energy_class == "softwood" else 1.13)
    assert WOODS[name].bending * PSI == pytest.approx(expected, rel=0.25)


@pytest.mark.parametrize("material", shelf.materials(), ids=lambda material: material.name)
def test_every_material_can_be_cut(material: shelf.Material) -> None:
    """Chip load and cutting force are known for each material."""
    assert shelf.chip_load(material.chip_class, 3.175).load.min > 0
    assert shelf.cutting_energy(material.energy_class).at_tenth > 0


def test_birch_plywood_dents_like_birch() -> None:
    """Across its faces plywood is only as hard as the wood it is made of."""
    plywood, birch = shelf.material("birch plywood"), shelf.material("yellow birch")
    assert plywood.crush == birch.crush
    assert plywood.crush_low == pytest.approx(birch.crush_low, abs=0.05)


def test_softwood_plywood_dents_like_the_softest_pine() -> None:
    """Softwood plywood may be faced with any softwood, so the softest common one decides."""
    plywood, pine = shelf.material("softwood plywood"), shelf.material("eastern white pine")
    assert plywood.crush == pine.crush
    assert plywood.crush_low == pytest.approx(pine.crush_low, abs=0.05)


def test_layers_of_birch_roll_off_like_birch() -> None:
    """Birch plywood's planar shear is 18 to 28 % of birch's along the grain (Wood Handbook, from memory)."""
    share = shelf.material("birch plywood").planar_shear / (WOODS["yellow birch"].shear * PSI)
    assert 0.17 < share < 0.28


def test_mdf_is_reckoned_at_its_standards_least() -> None:
    """EN 622-5 asks 18 N/mm2 and 2 100 N/mm2 of the thickest common boards and more of thinner (read)."""
    mdf = shelf.material("mdf")
    assert (mdf.bending, mdf.modulus) == (18, 2100)
    assert 700 <= mdf.density <= 800


# Specific gravity, tensile modulus in ksi, low end of tensile strength in N/mm2 (Machinery's Handbook,
# properties of plastics, read in a reprint; acetal's strength from memory).
PLASTICS = {"hdpe": (0.96, 156, 22), "acetal": (1.41, 437, 60), "acrylic": (1.19, 400, 48)}


@pytest.mark.parametrize("name", PLASTICS)
def test_plastics_are_those_of_the_handbook(name: str) -> None:
    """Weight, stiffness and strength of a plastic are the printed ones; it shears at 0.6 of its tension."""
    plastic = shelf.material(name)
    gravity, modulus, strength = PLASTICS[name]
    assert plastic.density == pytest.approx(1000 * gravity)
    assert plastic.modulus == pytest.approx(modulus * 1000 * PSI, abs=3)
    assert plastic.bending == strength
    assert plastic.panel_shear == plastic.planar_shear == pytest.approx(0.6 * strength, abs=0.25)


def layered_beam(plies: int, thickness: float) -> float:
    """Share of the stiffness that lies in layers along the face grain: 1.4 mm veneers, faces sanded."""
    depths = [thickness, *(1.4 * count for count in range(plies - 2, 0, -2))]
    along = sum(depth**3 for depth in depths[::2]) - sum(depth**3 for depth in depths[1::2])
    return along / thickness**3


@pytest.mark.parametrize("sheet", shelf.plywood_strengths("birch plywood"), ids=lambda sheet: sheet.nominal)
def test_plywood_is_a_layered_beam(sheet: shelf.PlywoodStrength) -> None:
    """Veneers of 17 500 N/mm2 along and nothing across, glued crosswise, give every printed value again."""
    share = layered_beam(sheet.plies, sheet.thickness)
    inner = 1.4 * (sheet.plies - 2)  # the outermost layer that lies across
    assert sheet.modulus_along == pytest.approx(17500 * share, abs=1)
    assert sheet.modulus_across == pytest.approx(17500 * (1 - share), abs=1)
    assert sheet.bending_along == pytest.approx(70 * share, abs=0.06)
    assert sheet.bending_across == pytest.approx(70 * (1 - share) * sheet.thickness / inner, abs=0.06)


def test_plywood_is_told_alike_in_both_its_tables() -> None:
    """Thicknesses and strengths name the same sheets, with as many plies and within 0.3 mm as thick."""
    panels, sheets = shelf.panel_thicknesses("birch plywood"), shelf.plywood_strengths("birch plywood")
    for panel, sheet in zip(panels, sheets, strict=True):
        assert (panel.nominal, panel.plies) == (sheet.nominal, sheet.plies)
        assert panel.mean == pytest.approx(sheet.thickness, abs=0.3)


def test_plywood_is_reckoned_in_its_weaker_direction() -> None:
    """From 6.5 mm up no birch sheet is weaker or softer, in either direction, than the material says."""
    plywood = shelf.material("birch plywood")
    sheets = [sheet for sheet in shelf.plywood_strengths("birch plywood") if sheet.nominal > 6]
    assert plywood.bending == min(min(sheet.bending_along, sheet.bending_across) for sheet in sheets)
    assert plywood.modulus == min(min(sheet.modulus_along, sheet.modulus_across) for sheet in sheets)


@pytest.mark.parametrize("panel", shelf.panel_thicknesses("birch plywood"), ids=lambda panel: panel.nominal)
def test_birch_sheets_keep_within_en_315(panel: shelf.PanelThickness) -> None:
    """Sanded plywood is within +(0.2 + 0.03 t), -(0.4 + 0.03 t) of nominal, printed to 0.1 mm (EN 315)."""
    assert panel.lower > panel.nominal - (0.4 + 0.03 * panel.nominal) - 0.05
    assert panel.upper < panel.nominal + (0.2 + 0.03 * panel.nominal) + 0.05
    assert panel.plies is not None
    assert panel.plies % 2 == 1
    assert panel.density == pytest.approx(shelf.material("birch plywood").density, rel=0.05)


@pytest.mark.parametrize(("name", "tolerance"), [("softwood plywood", INCH / 32), ("mdf", 0.2)])
def test_sheets_vary_as_their_standard_allows(name: str, tolerance: float) -> None:
    """Softwood plywood varies 1/32 in either way (PS 1, read), fibreboard 0.2 mm (a supplier, read)."""
    for panel in shelf.panel_thicknesses(name):
        assert panel.upper - panel.nominal == pytest.approx(tolerance, abs=0.02)
        assert panel.nominal - panel.lower == pytest.approx(tolerance, abs=0.02)


@pytest.mark.parametrize("name", ("birch plywood", "softwood plywood", "mdf"))
def test_sheets_are_told_thinnest_first_around_their_mean(name: str) -> None:
    """A sheet's mean lies between its limits, within 6 % of what it is sold as."""
    panels = shelf.panel_thicknesses(name)
    assert [panel.nominal for panel in panels] == sorted(panel.nominal for panel in panels)
    for panel in panels:
        assert panel.lower < panel.mean < panel.upper
        assert panel.mean == pytest.approx(panel.nominal, rel=0.06)


# --- cutting

# Feed per tooth on heavy machines, inches, at 1/8 and 1/4 in (a cutter maker's chart, two copies read).
HEAVY = {
    "softwood": ((0.004, 0.006), (0.011, 0.013)),
    "plywood": ((0.004, 0.006), (0.011, 0.013)),
    "hardwood": ((0.003, 0.005), (0.009, 0.011)),
    "fibreboard": ((0.004, 0.007), (0.013, 0.016)),
    "plastic": ((0.003, 0.006), (0.007, 0.010)),
    "acrylic": ((0.003, 0.005), (0.008, 0.010)),
}


@pytest.mark.parametrize("chip_class", HEAVY)
def test_light_machines_take_a_part_of_the_heavy_machines_chip(chip_class: str) -> None:
    """A light gantry takes 0.2 to 0.8 of the chip that makers print for industrial routers."""
    for diameter, chart in zip((1 / 8, 1 / 4), HEAVY[chip_class], strict=True):
        light = shelf.chip_load(chip_class, diameter * INCH).load
        assert 0.2 < light.min / (chart[0] * INCH) < 0.8
        assert 0.2 < light.max / (chart[1] * INCH) < 0.8


@pytest.mark.parametrize("chip_class", HEAVY)
def test_bigger_cutters_take_bigger_chips(chip_class: str) -> None:
    """Chip load grows with the cutter at both ends of its range."""
    rows = [row.diameter for row in shelf.chip_loads() if row.chip_class == chip_class]
    assert rows == pytest.approx([INCH / 16, INCH / 8, INCH / 4], abs=0.03)
    loads = [shelf.chip_load(chip_class, tenths / 10).load for tenths in range(10, 80)]
    for thin, thick in pairwise(loads):
        assert thin.min <= thick.min
        assert thin.max <= thick.max
        assert thin.min < thin.max


def test_chip_loads_between_rows_lie_on_the_line() -> None:
    """Half way between 3.2 and 6.35 mm the chip in plywood is half way between 0.04-0.08 and 0.08-0.15."""
    load = shelf.chip_load("plywood", (3.2 + 6.35) / 2)
    assert load.diameter == pytest.approx(4.775)
    assert load.load == pytest.approx((0.06, 0.115))


def test_chip_loads_are_not_stretched_past_the_table() -> None:
    """A 12 mm cutter gets the chip of a 6.35 mm one, a 1 mm cutter that of a 1.6 mm one."""
    assert shelf.chip_load("plywood", 12.0).load == (0.08, 0.15)
    assert shelf.chip_load("plywood", 1.0).load == (0.02, 0.03)
    assert shelf.chip_load("plywood", 3.2).load == pytest.approx((0.04, 0.08))


def test_cutting_force_grows_as_the_chip_thins() -> None:
    """35 N/mm2 at 0.1 mm, exponent 0.35: 15.63 at 1 mm and 44.61 at 0.05 mm (Kienzle's form, by hand)."""
    plywood = shelf.cutting_energy("plywood")
    forces = [shelf.specific_force(plywood, chip) for chip in (1.0, 0.1, 0.05)]
    assert forces == pytest.approx([15.63, 35.0, 44.61], abs=0.005)


def test_cutting_force_in_hardwood_goes_with_its_weight() -> None:
    """Basswood, at 414 kg/m3, needs 0.64 of the force of a 650 kg/m3 hardwood; plywood is taken as it is."""
    hardwood, plywood = shelf.cutting_energy("hardwood"), shelf.cutting_energy("plywood")
    assert shelf.specific_force(hardwood, 0.1, density=414.0) == pytest.approx(35 * 414 / 650)
    assert shelf.specific_force(plywood, 0.1, density=414.0) == pytest.approx(35)


def test_a_chip_needs_a_thickness() -> None:
    """There is no cutting force for a chip of no thickness."""
    with pytest.raises(ValueError, match="chip thickness must be positive, not 0"):
        shelf.specific_force(shelf.cutting_energy("fibreboard"), 0)


def test_particleboard_measurements_lie_in_the_fibreboard_range() -> None:
    """32.0 and 37.6 N/mm2, measured in particleboard (Palubicki 2021, read), lie within the stated range."""
    board = shelf.cutting_energy("fibreboard")
    for measured in (32.0, 37.6):
        assert board.low * board.at_tenth < measured < board.high * board.at_tenth


# --- holding


@pytest.mark.parametrize("pair", shelf.frictions(), ids=lambda pair: pair.pair)
def test_design_friction_is_on_the_safe_side(pair: shelf.Friction) -> None:
    """The value to reckon with lies in the lower third of what has been measured, and never above 0.3."""
    assert 0.05 < pair.low <= pair.design <= pair.low + (pair.high - pair.low) / 3
    assert pair.design < 0.3
    assert pair.high < 0.9


def test_wood_friction_is_reckoned_under_what_was_measured() -> None:
    """Wood slides on wood at 0.33, on smooth steel at 0.17 (Int. Agrophysics 2020, Forests 13, read)."""
    assert shelf.friction("wood on wood").design < 0.33
    assert shelf.friction("wood under steel").design < 0.17


def long_nut_factor(diameter: float, pitch: float, friction: float) -> float:
    """K from thread geometry and one friction for thread and collar (Shigley, ch. 8, from memory)."""
    middle = diameter - 0.649519 * pitch
    lead = pitch / (math.pi * middle)
    wedge = friction / math.cos(math.radians(30))
    return middle / (2 * diameter) * (lead + wedge) / (1 - lead * wedge) + 0.625 * friction


def test_dry_steel_has_the_nut_factor_of_friction_015() -> None:
    """The long formula at a friction of 0.15 gives M8 and 3/8-16 the 0.2 that everyone uses for dry steel."""
    dry = shelf.nut_factor("plain steel dry")
    assert long_nut_factor(8, 1.25, 0.15) == pytest.approx(dry.usual, abs=0.005)
    assert long_nut_factor(0.375, 1 / 16, 0.15) == pytest.approx(dry.usual, abs=0.005)


# A clamp maker's table (read): torque in lb ft, stud tension in lbf.
STUDS = {"#10-32": (2, 600), "1/4": (4, 1000), "5/16": (9, 1800), "3/8": (16, 2600), "1/2": (38, 4600)}


@pytest.mark.parametrize("size", STUDS)
def test_a_clamp_makers_table_has_the_nut_factor_of_dry_steel(size: str) -> None:
    """Torques and tensions that a maker of strap clamps prints give K within the range for dry steel."""
    torque, tension = STUDS[size]
    dry = shelf.nut_factor("dry")
    assert dry.low <= torque * 12 / (shelf.thread(size).diameter / INCH * tension) <= dry.high


@pytest.mark.parametrize("factor", shelf.nut_factors(), ids=lambda factor: factor.condition)
def test_nut_factors_are_in_order(factor: shelf.NutFactor) -> None:
    """The usual value lies within its range, and no thread is slicker than 0.1 or stickier than 0.5."""
    assert 0.1 <= factor.low < factor.usual < factor.high <= 0.5


def test_a_strong_hand_matches_what_men_did_on_a_knob() -> None:
    """On a 50 mm knob the upper force gives 4.4 N m; 14 men did 4.07 +/- 0.81 (Kreifeldt 1985, read)."""
    hand = shelf.hand_torque("knob")
    assert hand.diameter_min < 50 < hand.diameter_max
    assert abs(hand.upper * 0.050 / 2 - 4.07) < 0.81
    assert hand.comfortable < hand.strong < hand.upper


def test_hands_are_those_of_the_handwheel_study() -> None:
    """Mean greatest rim force on a handwheel: 113 N for women, 175 N for men (read)."""
    hand = shelf.hand_torque("knob")
    assert (hand.strong, hand.upper) == (113, 175)


# --- asking


@pytest.mark.parametrize(
    ("said", "size"),
    [
        ("M6", "M6"),
        (" m6 ", "M6"),
        ("M 6", "M6"),
        ("M6x1", "M6"),
        ("M6 × 1.0 x 30", "M6"),
        ("M6-1.0", "M6"),
        ("1/4", "1/4"),
        ("1/4 in", "1/4"),
        ('1/4"', "1/4"),
        ("1/4''", "1/4"),
        ("1/4″", "1/4"),
        ("¼ inch", "1/4"),
        ("0.25 in", "1/4"),
        ("1/4-20", "1/4"),
        ('1/4"-20 UNC x 1', "1/4"),
        ("4/16", "1/4"),
        ("#10", "#10"),
        ("No. 10", "#10"),
        ("no 10", "#10"),
        ("#10-24", "#10"),
    ],
)
def test_sizes_are_found_in_common_spellings(said: str, size: str) -> None:
    """A bolt is found however a shop writes its size."""
    assert shelf.hex_head(said).size == size
    assert shelf.hex_nut(said).size == size


@pytest.mark.parametrize("said", ["6", "6 mm", "6.0 mm", "06"])
def test_pins_are_found_by_their_millimetres(said: str) -> None:
    """A pin of 6 mm is found with its unit or without."""
    assert shelf.dowel_pin(said).size == "6"


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("MDF", "mdf"),
        ("Birch Plywood", "birch plywood"),
        ("birch-ply", "birch plywood"),
        ("hard maple", "sugar maple"),
        ("Douglas-fir", "douglas fir"),
        ("HDPE", "hdpe"),
    ],
)
def test_materials_are_found_by_their_names(said: str, name: str) -> None:
    """A material is found in capitals, hyphenated, and by its other names."""
    assert shelf.material(said).name == name


def test_other_names_lead_to_one_row_only() -> None:
    """No name means two materials, pairs or conditions, and each is written as it will be looked up."""
    for names in (
        [name for row in shelf.materials() for name in (row.name, *row.also)],
        [name for row in shelf.frictions() for name in (row.pair, *row.also)],
        [name for row in shelf.nut_factors() for name in (row.condition, *row.also)],
    ):
        assert len(set(names)) == len(names)
        assert [spelt_name(name) for name in names] == names


def test_an_unknown_size_names_the_nearest() -> None:
    """Who asks for a head that isn't there reads which are."""
    with pytest.raises(shelf.ShelfError) as raised:
        shelf.hex_head("M7")
    assert str(raised.value) == '"M7" is not among the shelf\'s hex heads. Nearest: M8, M6, M5.'
    assert raised.value.nearest == ("M8", "M6", "M5")


def test_an_unknown_material_names_the_nearest() -> None:
    """A slip in a material's name is met with the name that was meant."""
    with pytest.raises(shelf.ShelfError, match="Nearest: birch plywood") as raised:
        shelf.material("brich plywod")
    assert raised.value.nearest[0] == "birch plywood"


def test_where_nothing_is_near_everything_is_told() -> None:
    """A class that is like none is answered with all there are."""
    with pytest.raises(shelf.ShelfError) as raised:
        shelf.clearance_hole("M6", "wobbly")
    said = '"wobbly" is not among the shelf\'s classes of clearance hole. It has: close, normal, loose.'
    assert str(raised.value) == said


@pytest.mark.parametrize(
    ("series", "nearest"),
    [("extra-large", "extra large"), ("Extra Large", "extra large"), ("NORMAL", "normal")],
)
def test_series_are_found_in_any_case(series: str, nearest: str) -> None:
    """A washer's series is found in capitals and hyphenated."""
    assert shelf.washer("M8", series).series == nearest


def test_m4_has_no_extra_large_washer() -> None:
    """ISO 7094 begins at M5, and the shelf says so rather than take another size."""
    with pytest.raises(shelf.ShelfError, match=r"is not among the shelf's M4 washers\. Nearest: large"):
        shelf.washer("M4", "extra large")


def test_a_page_of_text_is_not_read_back_aloud() -> None:
    """Where someone pastes a page for a size, the message repeats no more than sixty characters of it."""
    with pytest.raises(shelf.ShelfError) as raised:
        shelf.hex_head("z" * 100_000)
    assert 50 < str(raised.value).count("z") <= 60


@given(st.text(max_size=200) | st.text('M#No.0123456789/-x "in', max_size=20))
def test_any_text_is_answered(said: str) -> None:
    """Whatever is asked for, the answer is a row or one readable message of bounded length."""
    for ask in (shelf.hex_head, shelf.thread, shelf.dowel_pin, shelf.material, shelf.friction):
        try:
            ask(said)
        except shelf.ShelfError as error:
            assert len(str(error)) < 1000


# --- the files


def test_a_slip_in_a_table_is_named_by_file_and_line() -> None:
    """A cell that is no number stops the reading with its place."""
    row = Row("hex_heads_metric.csv", 3, {"diameter_mm": "6,0"})
    with pytest.raises(
        ValueError, match=r"shelf/hex_heads_metric\.csv:3: diameter_mm: '6,0' is not a number"
    ):
        row.measure("diameter")


def test_inch_columns_are_told_in_millimetres() -> None:
    """7/16 in is 11.1125 mm, to the last figure; 85 ksi is 586 N/mm2; an empty cell is no measure."""
    row = Row("any.csv", 2, {"flats_in": "7/16", "proof_ksi": "85", "washer_face_mm": ""})
    assert row.measure("flats") == 11.1125
    assert row.measure("proof") == pytest.approx(586.05, abs=0.01)
    assert row.measure_or_none("washer_face") is None
    with pytest.raises(ValueError, match="no column height with a known unit"):
        row.measure("height")


def test_the_shelf_is_light_to_pick_up() -> None:
    """Importing the look-ups reads no table and brings in neither numpy nor a plane geometry library."""
    asked = (
        "import sys; from proveout.shelf import tables; "
        "print([name for name in ('numpy', 'shapely', 'scipy', 'numba') if name in sys.modules], "
        "tables.hex_heads.cache_info().currsize, tables.sources.cache_info().currsize)"
    )
    answer = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[] 0 0"
