"""The unit of a drawing: settled by a person, a known dimension or the file; else refused with its sizes."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.curve import Curve, Segment, circle, flatten, from_points, moved
from proveout.drawing.units import Settled, circles, extents, settle
from proveout.drawing.wires import Act, Sheet, UnitClaim, Wires
from proveout.finding import InputError
from proveout.quantity import System


def wires(curves: list[Curve]) -> Wires:
    """Closed entities as their reader would give them."""
    rows = [(one, number) for number, curve in enumerate(curves) for one in curve.segments]
    none = (math.nan, math.nan)
    return Wires(
        start=np.array([one.start for one, _ in rows], float).reshape(-1, 2),
        end=np.array([one.end for one, _ in rows], float).reshape(-1, 2),
        centre=np.array([one.centre or none for one, _ in rows], float).reshape(-1, 2),
        ccw=np.array([one.ccw for one, _ in rows], bool),
        layer=np.zeros(len(rows), np.int32),
        entity=np.array([number for _, number in rows], np.int32),
        ring=np.array([number for _, number in rows], np.int32),
    )


def plate(width: float = 120.0, height: float = 80.0, hole: float = 6.6, big: float = 30.0) -> list[Curve]:
    """A plate of four holes and one large one."""
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    spots = [(0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)]
    holes = [circle((width * x, height * y), hole) for x, y in spots]
    return [from_points(corners), *holes, circle((width / 2, height / 2), big)]


def sheet(unit: float, mm: float | None, *, sure: bool = True, curves: list[Curve] | None = None) -> Sheet:
    """The plate drawn in a unit, in a file that claims another."""
    made = wires(curves or plate())
    made = Wires(
        start=made.start / unit,
        end=made.end / unit,
        centre=made.centre / unit,
        ccw=made.ccw,
        layer=made.layer,
        entity=made.entity,
        ring=made.ring,
    )
    entities = tuple(f"E {number}" for number in range(10))
    claim = UnitClaim(mm=mm, basis="its header says so" if mm else "no unit in its header", sure=sure)
    acts = (Act(kind="text ignored", text="1 text", at=(10 / unit, 20 / unit), size=5 / unit),)
    return Sheet(
        file=Path("a.svg"), wires=made, layers=("0",), entities=entities, claim=claim, acts=acts, pixels=True
    )


def width(settled: Settled) -> float:
    low, high = extents(settled.wires)
    return float(high[0] - low[0])


KNOWN = ["width = 120 mm", "outer width = 12 cm", "height = 80 mm", "HEIGHT: 80mm", "diameter = 30 mm",
         "hole = 6.6 mm", "hole for M6", "hole for an M6", "width = 4.7244 in"]  # fmt: skip


@pytest.mark.parametrize("known", KNOWN)
@pytest.mark.parametrize("unit", [1.0, 10.0, 25.4, 25.4 / 72, 25.4 / 96, 25.4 / 90])
def test_one_known_dimension_brings_out_the_unit(known: str, unit: float) -> None:
    settled = settle(sheet(unit, None), known=known)
    assert settled.mm_per_unit == pytest.approx(unit, rel=1e-9)
    assert width(settled) == pytest.approx(120, rel=1e-9)
    assert known in settled.basis
    assert settled.acts[0].at == pytest.approx((10, 20))
    assert settled.acts[0].size == pytest.approx(5)


@pytest.mark.parametrize("fit", [6.4, 6.6, 7.0])  # ISO 273: M6 fine, medium, coarse
def test_a_hole_for_a_screw_may_be_of_any_class(fit: float) -> None:
    settled = settle(sheet(25.4, None, curves=plate(hole=fit)), known="hole for M6")
    assert settled.mm_per_unit == pytest.approx(25.4)


def test_the_most_frequent_circle_counts() -> None:
    # 4 of 6.6 mm drawn in inches; a single one of 6.6 units would mean millimetres
    settled = settle(sheet(25.4, None, curves=plate(big=6.6 * 25.4)), known="hole for M6")
    assert settled.mm_per_unit == pytest.approx(25.4)


def test_two_circles_that_fit_as_often_are_refused() -> None:
    once = [
        from_points([(0, 0), (400, 0), (400, 300), (0, 300)]),
        circle((50, 50), 6.6),
        circle((200, 150), 6.6 * 25.4),
    ]
    with pytest.raises(InputError, match="fits two circles"):
        settle(sheet(25.4, None, curves=once), known="hole for M6")


def test_a_person_goes_before_the_file_and_both_sizes_are_shown() -> None:
    settled = settle(sheet(1.0, 25.4), units="mm")
    act = settled.acts[-1]
    assert settled.mm_per_unit == 1.0
    assert act.kind == "unit contradicted"
    assert "120 x 80 mm" in act.text and "3048 x 2032 mm" in act.text


def test_a_known_dimension_goes_before_the_file_and_both_sizes_are_shown() -> None:
    settled = settle(sheet(1.0, 25.4), known="width = 120 mm")
    act = settled.acts[-1]
    assert settled.mm_per_unit == 1.0
    assert act.kind == "unit contradicted"
    assert "120 x 80 mm" in act.text and "3048 x 2032 mm" in act.text


def test_a_file_that_agrees_is_not_contradicted() -> None:
    settled = settle(sheet(1.0, 1.0), known="width = 121 mm")
    assert settled.mm_per_unit == 1.0  # nothing is stretched by the missing millimetre
    assert [one.kind for one in settled.acts[1:]] == ["known dimension off"]
    assert settled.acts[-1].size == pytest.approx(1.0)


def test_a_scale_of_no_unit_is_never_silent() -> None:
    settled = settle(sheet(1.0, 1.0), known="width = 150 mm")
    assert settled.mm_per_unit == pytest.approx(1.25)
    assert {one.kind for one in settled.acts} >= {"unit contradicted", "scaled"}


def test_a_person_who_contradicts_himself_is_refused() -> None:
    with pytest.raises(InputError, match="wrong"):
        settle(sheet(1.0, None), known="width = 120 mm", units="in")


def test_without_a_unit_every_sensible_size_is_shown() -> None:
    with pytest.raises(InputError) as error:
        settle(sheet(1.0, None))
    text = str(error.value)
    # 120 units: 1200 mm in cm, 120 x 25.4, then / 72, / 96, / 90 (CSS Values 3, 6.2: 1 in = 72 pt = 96 px)
    for shown in (
        "120 x 80 mm",
        "1200 x 800 mm",
        "3048 x 2032",
        "42.33 x 28.22",
        "31.75 x 21.17",
        "33.87 x 22.58",
    ):
        assert shown in text
    assert 'units = "mm"' in text and "known" in text


def test_a_claim_that_is_not_sure_is_no_claim() -> None:
    with pytest.raises(InputError, match="isn't certain"):
        settle(sheet(1.0, 25.4 / 96, sure=False))
    assert settle(sheet(1.0, 1.0)).basis == "its header says so"


@pytest.mark.parametrize(("unit", "mm", "doubtful"), [
    (1.0, 25.4, False), (0.5, 25.4, True), (25.4, 1.0, True), (10.0, 1.0, False), (10.0, 10.0, False),
])  # fmt: skip
def test_a_claim_that_makes_no_sense_is_refused(unit: float, mm: float, doubtful: bool) -> None:
    drawn = sheet(unit, mm)
    if not doubtful:
        assert settle(drawn).mm_per_unit == mm
        return
    with pytest.raises(InputError, match="doubtful") as error:
        settle(drawn)
    assert f"{120 / unit:.4g} x" in str(error.value) and f"{120 / unit * 25.4:.4g} x" in str(error.value)


@pytest.mark.parametrize("known", ["", "wide", "width = 120", "width = mm", "width = -3 mm", "width = 0 mm",
                                   "hole for M999", "hole for", "hole = 11 mm", "depth = 3 mm", "x" * 500,
                                   "width = 1e9 mm"])  # fmt: skip
def test_a_known_dimension_that_says_nothing_is_refused(known: str) -> None:
    with pytest.raises(InputError):
        settle(sheet(1.0, None), known=known)


@pytest.mark.parametrize("units", [None, "mm"])
def test_an_empty_drawing_is_refused(units: System | None) -> None:
    with pytest.raises(InputError, match="nothing is drawn"):
        empty = sheet(1.0, 1.0)
        settle(
            Sheet(file=empty.file, wires=wires([]), layers=(), entities=(), claim=empty.claim), units=units
        )


def test_no_hole_is_looked_for_in_pixels_where_none_can_be_drawn() -> None:
    """The same circles are holes of 6.6 mm at 90 px to the inch, and none in a file that knows no px."""
    found = sheet(25.4 / 90, None)
    assert settle(found, known="hole = 6.6 mm").mm_per_unit == pytest.approx(25.4 / 90)
    with pytest.raises(InputError, match=r"no circle of 6\.6 mm in mm, cm or in"):
        settle(replace(found, pixels=False), known="hole = 6.6 mm")


@given(
    turn=st.floats(-180, 180),
    radius=st.floats(0.5, 50),
    sweep=st.floats(0.1, 6.2),
    ccw=st.booleans(),
    at=st.tuples(st.floats(-100, 100), st.floats(-100, 100)),
)
def test_extents_are_those_of_the_flattened_curves(
    turn: float, radius: float, sweep: float, ccw: bool, at: tuple[float, float]
) -> None:
    last = sweep if ccw else -sweep
    arc = Segment((radius, 0.0), (radius * math.cos(last), radius * math.sin(last)), (0.0, 0.0), ccw)
    curve = moved(Curve((arc, Segment(arc.end, arc.start))), x=at[0], y=at[1], turn_deg=turn)
    low, high = extents(wires([curve]))
    points = flatten(curve, 1e-6 * radius)
    assert np.allclose(low, points.min(axis=0), atol=1e-4)
    assert np.allclose(high, points.max(axis=0), atol=1e-4)


def test_circles_are_counted_however_they_are_cut_up() -> None:
    quarter = [(math.cos(one * math.pi / 2), math.sin(one * math.pi / 2)) for one in range(4)]
    cut = Curve(tuple(Segment(quarter[one], quarter[(one + 1) % 4], (0.0, 0.0)) for one in range(4)))
    half = Curve((Segment((9.0, 0.0), (7.0, 0.0), (8.0, 0.0)), Segment((7.0, 0.0), (9.0, 0.0))))
    found = circles(wires([cut, half, circle((20, 0), 2.0), circle((30, 0), 5.0)]))
    assert [count for _, count in found] == [2, 1]
    assert [size for size, _ in found] == pytest.approx([2.0, 5.0])
