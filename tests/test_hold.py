"""Clamps: where they sit, how hard they press, what the friction under the blank stands."""

from dataclasses import replace
from pathlib import Path

import pytest

from fit_bench import a_job
from proveout.finding import Level
from proveout.hold.clamps import bite_of, placed_clamps, placed_inserts
from proveout.hold.friction import holding_force, margin_findings, spread_findings
from proveout.hold.preload import clamp_force, strap_share
from proveout.hold.slip import contacts
from proveout.job.grid import hole_at
from proveout.job.records import ClampAt, ClampKind, Job
from proveout.shelf.tables import material

WOOD = material("birch plywood")

STRAP = ClampKind(
    name="strap",
    count=4,
    length=75.0,
    width=25.0,
    thickness=12.0,
    nose_to_bolt=30.0,
    bolt="M6",
    knob_diameter=40.0,
    knob_height=18.0,
)


def job(*clamps: ClampAt) -> Job:
    """A job with these clamps; its plate has a 25 mm grid."""
    plain = a_job()
    return replace(plain, shop=replace(plain.shop, clamps=(STRAP,), file=Path("shop.toml")), clamps=clamps)


def at(hole: str, towards: str = "right") -> ClampAt:
    """A clamp at a hole."""
    return ClampAt(clamp="strap", hole=hole, towards=towards)  # type: ignore[arg-type]  # a parametrised word


def test_holes_are_named_by_column_and_row() -> None:
    """A1 is the first hole; the letter counts along X and the number along Y."""
    plate = job().shop.plate
    x, y = plate.first_hole
    assert hole_at(plate, "A1") == (x, y)
    assert hole_at(plate, "C2") == (x + 2 * plate.pitch, y + plate.pitch)
    for wrong in ("", "7", "AA1", "A0", f"A{plate.rows + 1}", "?3"):
        with pytest.raises(ValueError, match="not a hole"):
            hole_at(plate, wrong)


@pytest.mark.parametrize("towards", ["left", "right", "front", "back"])
def test_a_bar_points_where_it_should(towards: str) -> None:
    """The nose lies the stated length from the bolt, in the stated direction; the heel on the other side."""
    where = job(at("F5", towards))
    (clamp,) = placed_clamps(where)
    x, y = (a - b for a, b in zip(hole_at(where.shop.plate, "F5"), where.stock.at, strict=True))
    left, front, right, back = clamp.bar.footprint.bounds
    nose = {"right": right - x, "left": x - left, "back": back - y, "front": y - front}[towards]
    heel = {"right": x - left, "left": right - x, "back": y - front, "front": back - y}[towards]
    assert nose == pytest.approx(30.0)
    assert heel == pytest.approx(45.0)


def test_bite_is_what_lies_over_the_stock() -> None:
    """The bite equals the overlap of bar and stock along the bar."""
    where = job(at("B4", "right"))
    (clamp,) = placed_clamps(where)
    left, _, right, _ = clamp.pressing.bounds
    assert bite_of(STRAP, where.clamps[0], where) == pytest.approx(right - left)


def test_strap_share_is_statics() -> None:
    """1875 N at the bolt, 60 mm from the heel and 40 mm from the work: 1125 N on the work."""
    assert 1875 * strap_share(60.0, 40.0) == pytest.approx(1125.0)
    assert strap_share(2.0, 1.0) == pytest.approx(2 / 3)


def test_a_clamp_s_force_has_a_range_and_counts_at_its_low_end() -> None:
    """By hand: 80 N at the rim of a 40 mm knob, K 0.35 at the worst, M6, and the strap's share of it."""
    figure = clamp_force(STRAP, bite=15.0)
    share = strap_share(75.0 - 30.0 - 5.0, 30.0 - 7.5)
    assert figure.low == pytest.approx(80 * 20 / (0.35 * 6) * share, rel=0.01)
    assert figure.low is not None
    assert figure.high is not None
    assert figure.low < figure.value < figure.high
    where = job(at("B4"))
    (clamp,) = placed_clamps(where)
    bite = bite_of(STRAP, where.clamps[0], where)
    assert clamp.force == clamp_force(STRAP, bite=bite).low


def test_a_plastic_slides_more_easily_than_wood() -> None:
    """0.15 for a plastic on a wooden plate, 0.25 for wood (the shelf's rows, project defaults)."""
    clamps = tuple(replace(clamp, force=1000.0) for clamp in placed_clamps(job(at("B3"), at("B7"))))
    for name, stands in (("birch plywood", 500.0), ("mdf", 500.0), ("hdpe", 300.0)):
        assert holding_force(clamps, material(name)).value == pytest.approx(stands)
        assert contacts(clamps, material(name)).friction.sum() == pytest.approx(stands)


def test_friction_margin_of_two_clamps_worked_by_hand() -> None:
    """Two clamps of 1125 N and friction 0.25 stand 562.5 N; against 60 N that is a margin of 9.4: silent."""
    clamps = tuple(replace(clamp, force=1125.0) for clamp in placed_clamps(job(at("B3"), at("B7"))))
    capacity = holding_force(clamps, WOOD)
    assert capacity.value == pytest.approx(562.5)
    assert not margin_findings(capacity, 60.0, clamps, WOOD)
    (caution,) = margin_findings(capacity, 562.5 / 2, clamps, WOOD)
    assert caution.level is Level.CAUTION
    assert "margin of 2.0" in caution.text
    assert "use 3 clamps" in caution.remedy
    assert not margin_findings(capacity, 180.0, clamps, WOOD)
    (lifted,) = margin_findings(capacity, 180.0, clamps, WOOD, lift=180.0 * 0.577)
    assert "stands 537 N" in lifted.text, "0.25 x (2250 - 104): an up-cut takes load off the bed"
    (stop,) = margin_findings(capacity, 600.0, clamps, WOOD)
    assert stop.level is Level.STOP


def test_clamps_at_one_end_only_are_a_caution() -> None:
    """One clamp, or two at the left end, let the far end swing; one at each end is silent."""
    left, both = placed_clamps(job(at("B3"), at("B7"))), placed_clamps(job(at("B3"), at("P7", "left")))
    for clamps, count in ((left[:1], 1), (left, 1), (both, 0)):
        found = spread_findings(clamps, (330.0, 230.0))
        assert [one.kind for one in found] == ["hold-margin"] * count
    assert "at least 165 mm" in spread_findings(left, (330.0, 230.0))[0].remedy


def test_inserts_lie_under_every_hole_with_their_metal_below_the_face() -> None:
    """Each hole has its insert, at the stated depth below the plate's face."""
    where = job()
    inserts = placed_inserts(where.shop.plate, where.stock)
    assert len(inserts) == where.shop.plate.columns * where.shop.plate.rows
    assert {one.top for one in inserts} == {-where.shop.plate.inserts.depth_below_face}
