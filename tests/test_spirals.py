"""Spirals: what they do to edges, and which of two cutters of a size is taken. Common practice, no source."""

from dataclasses import replace

import pytest

from fit_bench import flat_cutter
from proveout.fit.cutters import flat_cutters
from proveout.fit.spirals import torn_edges
from proveout.job.records import Spiral


def test_an_up_cut_lifts_the_upper_face() -> None:
    """In plywood the upper edge may splinter, and the better face lies down; in plastic nothing does."""
    cutter = flat_cutter(1, 3.0, 12.0)
    (found,) = torn_edges([cutter], "plywood")
    assert "upper face" in found.text
    assert "better face down" in found.remedy
    assert torn_edges([cutter], "plastic") == ()


def test_a_straight_cutter_says_nothing_and_a_down_cut_warns_of_the_lower_face() -> None:
    """A straight edge neither lifts nor presses; a down-cut leaves the lower edge to splinter."""
    cutter = flat_cutter(1, 3.0, 12.0)
    assert torn_edges([replace(cutter, spiral="straight")], "plywood") == ()
    (found,) = torn_edges([replace(cutter, spiral="down")], "plywood")
    assert "lower face away, whose edges may splinter" in found.text


@pytest.mark.parametrize(("through", "first"), [(True, "compression"), (False, "up")])
def test_of_two_cutters_of_one_size_the_spiral_that_suits_is_taken(through: bool, first: Spiral) -> None:
    """Right through, clean faces count; in a recess, that chips come out. A larger one still comes first."""
    every: tuple[Spiral, ...] = ("up", "down", "straight", "compression")
    same = [replace(flat_cutter(number, 6.0, 22.0), spiral=one) for number, one in enumerate(every, 1)]
    large = flat_cutter(9, 8.0, 22.0)
    chosen = flat_cutters([*same, large], None, through=through)
    assert chosen[0] == large
    assert chosen[1].spiral == first
