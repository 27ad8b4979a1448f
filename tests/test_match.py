"""What drawn circles and hexagons are taken for, against the standards' printed sizes."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.curve import circle, from_points
from proveout.drawing.match import NEAR, TIGHT, WIDE, largest_seated, matches, seating
from proveout.drawing.shapes import Shape, shape_of
from proveout.fit.seating import least_flats
from proveout.shelf.tables import ClearanceHole, clearance_holes, hex_heads, hex_nuts


def hole(diameter: float) -> Shape:
    return shape_of(circle((3.0, 4.0), diameter))


def hexagon(flats: float) -> Shape:
    reach = flats / math.sqrt(3)
    return shape_of(
        from_points(
            [(reach * math.cos(k * math.pi / 3), reach * math.sin(k * math.pi / 3)) for k in range(6)]
        )
    )


# ISO 273, table: fine, medium and coarse series of M4 to M12 (from memory, apart from the shelf).
ISO_273 = [
    ("M4", 4.3, 4.5, 4.8),
    ("M5", 5.3, 5.5, 5.8),
    ("M6", 6.4, 6.6, 7.0),
    ("M8", 8.4, 9.0, 10.0),
    ("M10", 10.5, 11.0, 12.0),
    ("M12", 13.0, 13.5, 14.5),
]


@pytest.mark.parametrize(
    ("size", "fit", "diameter"),
    [
        (size, fit, diameter)
        for size, *three in ISO_273
        for fit, diameter in zip(("close", "normal", "loose"), three, strict=True)
    ],
)
def test_a_clearance_hole_of_iso_273_comes_first(size: str, fit: str, diameter: float) -> None:
    best = matches(hole(diameter))[0]
    assert (best.use, best.intent) == ("bolt hole", f"bolt hole for {size}, {fit}")
    assert "ISO 273" in best.text
    assert best.off == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("wanted", clearance_holes(), ids=lambda row: f"{row.size} {row.fit}")
def test_every_hole_on_the_shelf_is_found_within_the_tolerance_only(wanted: ClearanceHole) -> None:
    def found(diameter: float) -> bool:
        return any(one.intent == f"bolt hole for {wanted.size}, {wanted.fit}" and one.use == "bolt hole"
                   for one in matches(hole(diameter)))  # fmt: skip

    assert all(found(wanted.diameter + off) for off in (0.0, NEAR - 0.001, 0.001 - NEAR))
    assert not any(found(wanted.diameter + off) for off in (NEAR + 0.001, -NEAR - 0.001))


# ISO 4014, ISO 4032: largest width across flats; ASME B18.2.1, B18.2.2: in inches (from memory).
FLATS = {"M4": 7.0, "M5": 8.0, "M6": 10.0, "M8": 13.0, "M10": 16.0, "M12": 18.0,
         "1/4": 7 / 16 * 25.4, "5/16": 1 / 2 * 25.4, "3/8": 9 / 16 * 25.4, "1/2": 3 / 4 * 25.4}  # fmt: skip


@pytest.mark.parametrize(("size", "flats"), FLATS.items())
def test_a_hexagon_of_the_largest_head_is_that_head(size: str, flats: float) -> None:
    best = matches(hexagon(flats))[0]
    assert best.size == size
    assert best.use.startswith("hex head")
    assert abs(best.off) <= 0.02


def test_a_hexagon_says_how_loose_it_would_be() -> None:
    # M6: 9.78 to 10 mm across flats (ISO 4014)
    best = matches(hexagon(10.02))[0]
    assert best.text == (
        "hexagon 10.02 mm across flats: M6 head or nut (9.78 to 10 mm): cut literally it would be loose by "
        "0.02 to 0.24 mm"
    )
    assert best.intent == "captive M6 hex head or nut"
    tight = matches(hexagon(9.9))[0]
    assert "too tight by 0.1 mm for the largest, loose by 0.12 mm for the least" in tight.text
    small = next(one for one in matches(hexagon(9.75)) if one.size == "M6")
    assert "too tight by 0.03 to 0.25 mm" in small.text


def test_a_bolts_own_diameter_offers_its_clearance_hole() -> None:
    own = next(one for one in matches(hole(8.0)) if one.use == "bolt body")
    assert own.intent == "bolt hole for M8, normal"
    assert "9 mm" in own.text


@pytest.mark.parametrize("shape", [hole(300.0), hexagon(5.0), hexagon(90.0)])
def test_what_is_near_nothing_matches_nothing(shape: Shape) -> None:
    assert matches(shape) == ()


@given(st.floats(6.0, 40.0), st.floats(0.5, 3.0))
def test_what_seats_is_what_the_fitted_recess_reckons(flats: float, radius: float) -> None:
    # two ways apart: the largest head of a recess, and the least recess of a head
    assert largest_seated(least_flats(flats, radius), 2 * radius) == pytest.approx(flats)


@given(st.floats(6.0, 40.0), st.floats(0.5, 3.0))
def test_the_seated_hexagons_corner_touches_the_fillet(flats: float, radius: float) -> None:
    # coordinates: the fillet's centre on the bisector, 2 r / sqrt(3) in from the drawn corner
    centre = flats / math.sqrt(3) - 2 * radius / math.sqrt(3)
    inner = largest_seated(flats, 2 * radius)
    assert math.dist((inner / math.sqrt(3), 0.0), (centre, 0.0)) == pytest.approx(radius)


def test_seating_says_how_much_wider_it_would_have_to_be() -> None:
    shape = hexagon(10.0)
    said = seating(shape, matches(shape)[0], 3.0)
    # (2 - sqrt(3)) x 1.5 = 0.402
    assert "0.4 mm wider" in said
    assert "none of them seats" in said
    wide = hexagon(10.45)
    assert "still seat" in seating(wide, matches(wide)[0], 3.0)


def test_every_head_and_nut_on_the_shelf_is_found() -> None:
    bands = [(one.size, one.across_flats) for one in hex_heads()]
    for size, band in (*bands, *((one.size, one.across_flats) for one in hex_nuts())):
        for flats in (max(band.min, band.max - TIGHT + 0.001), band.max, band.max + WIDE - 0.001):
            assert size in {one.size for one in matches(hexagon(flats))}


def test_a_hexagon_a_little_too_small_comes_after_one_that_is_as_much_too_large() -> None:
    # a hexagon 0.16 mm below the 10 mm of M6 is 0.315 mm above the 9.525 mm of a #10 nut (3/8 in)
    assert [one.size for one in matches(hexagon(9.84))] == ["#10", "M6"]
    assert [one.size for one in matches(hexagon(9.86))] == ["M6", "#10"]
