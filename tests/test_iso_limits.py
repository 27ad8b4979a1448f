"""ISO 286 limits against published limits, the standard's own formula, and pins that were read elsewhere."""

import pytest

from proveout.shelf.iso_limits import iso_limits, iso_zone
from proveout.shelf.rows import rows
from proveout.shelf.spelling import ShelfError
from proveout.shelf.tables import dowel_pins

# Limit deviations in micrometres, as in ISO 286-2 (from memory; common in every workshop table).
PUBLISHED = (
    (6, "H7", 0, 12),
    (8, "H7", 0, 15),
    (10, "H8", 0, 22),
    (12, "H7", 0, 18),
    (20, "H7", 0, 21),
    (6, "h8", -18, 0),
    (8, "h9", -36, 0),
    (12, "h6", -11, 0),
    (5, "m6", 4, 12),
    (8, "m6", 6, 15),
    (12, "g6", -17, -6),
    (6, "f7", -22, -10),
    (10, "k6", 1, 10),
    (16, "n6", 12, 23),
    (25, "p6", 22, 35),
)


@pytest.mark.parametrize(("size", "zone", "low", "high"), PUBLISHED)
def test_limits_are_the_published_ones(size: float, zone: str, low: int, high: int) -> None:
    """ISO 286-2, limit deviations, to the micrometre."""
    found = iso_limits(size, zone)
    assert [round((one - size) * 1000) for one in found] == [low, high]


def test_grades_follow_the_standards_formula() -> None:
    """ISO 286-1: i = 0.45 D^(1/3) + 0.001 D, D the mean of each step; IT6 is 10 i, IT7 16 ... IT11 100.

    The tabled grades are that, rounded: within a micrometre or 8 per cent. The step to 3 mm was rounded up by
    more, and is left to the published limits above.
    """
    times = {5: 7, 6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100}
    for row in rows("iso_limits.csv")[1:]:
        low, high = row.number("over_mm"), row.number("to_mm")
        mean = (low * high) ** 0.5
        unit = 0.45 * mean ** (1 / 3) + 0.001 * mean
        for grade, many in times.items():
            assert row.number(f"it{grade}_um") == pytest.approx(many * unit, rel=0.08, abs=1.0)


def test_steel_dowel_pins_are_m6() -> None:
    """ISO 8734 pins of the shelf, whose limits were read elsewhere, are m6 of ISO 286."""
    metric = [pin for pin in dowel_pins() if pin.source == "iso-8734" and pin.kind == "steel"]
    assert len(metric) >= 4
    for pin in metric:
        assert iso_limits(float(pin.size), "m6") == pytest.approx(pin.diameter)


@pytest.mark.parametrize("zone", ["", "h", "8", "z9", "h3", "h99", "k8", "M6", "m6 "])
def test_a_zone_that_is_none_is_told_what_would_be(zone: str) -> None:
    """Spaces around it are no fault."""
    if zone.strip() == "m6":
        assert iso_zone(zone) == "m6"
        return
    with pytest.raises(ShelfError, match="Write one such as h8"):
        iso_zone(zone)


def test_sizes_beyond_the_table_are_refused() -> None:
    """30 mm is its end."""
    assert iso_limits(30.0, "h8").min == pytest.approx(30 - 0.033)
    with pytest.raises(ShelfError, match="30 mm"):
        iso_limits(31.0, "h8")
