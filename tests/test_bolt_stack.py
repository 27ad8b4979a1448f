"""Bolts through knob, washer, strap and work into an insert: which reach, and which would bottom."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.hold.stack import (
    METRIC,
    Stack,
    choose_bolt,
    fewest,
    held_range,
    length_error,
    reach,
    stack_of,
    standard_lengths,
)
from proveout.shelf.spelling import ShelfError

STRAP = Stack(bolt="M6", floor=5.0, washers=1, bar=12.0, below_face=0.0, thread_length=13.0)


def test_a_bolt_by_hand() -> None:
    """Floor 5, washer of 1.4 to 1.8 (ISO 7089), bar 12, work 12: 40 mm leaves 8.7 to 10.1 mm less js15.

    js15 of 40 mm is 0.5 mm either way (ISO 4759-1, from memory): 8.7 to 10.1 mm of thread, 6 wanted, 12.5 the
    most in an insert of 13.
    """
    found = reach(STRAP, 40.0, (12.0, 12.0))
    assert (found.least, found.most) == pytest.approx(
        (40 - 0.5 - 5 - 1.8 - 12 - 12, 40 + 0.5 - 5 - 1.4 - 12 - 12)
    )
    assert found.holds
    assert "6.0 mm are wanted" in reach(STRAP, 35.0, (12.0, 12.0)).why
    assert "end of a thread 13.0 mm long" in reach(STRAP, 45.0, (12.0, 12.0)).why


def test_what_is_on_hand_goes_before_what_is_to_be_bought() -> None:
    """The shortest that holds; where none does, the shortest standard length (ISO 4017)."""
    choice = choose_bolt(STRAP, (12.0, 12.2), [30, 40, 45])
    assert [one.length for one in choice.on_hand] == [40]
    assert [one.length for one in choice.refused] == [30, 45]
    assert choice.buy is None
    bought = choose_bolt(STRAP, (18.0, 18.2), [30, 40])
    assert not bought.on_hand
    assert bought.buy is not None
    assert bought.buy.length == 45


@given(st.floats(0.0, 40.0), st.sampled_from(METRIC))
def test_the_range_that_a_bolt_holds_is_where_it_reaches(work: float, length: float) -> None:
    """Inside the range it holds, outside it doesn't."""
    held = held_range(STRAP, length)
    inside = held is not None and held[0] <= work <= held[1]
    edge = held is not None and min(abs(work - held[0]), abs(work - held[1])) < 1e-6
    assert edge or reach(STRAP, length, (work, work)).holds == inside


@settings(max_examples=60)
@given(st.floats(3, 30), st.floats(1, 40), st.floats(9.0, 25.0))
def test_no_smaller_set_covers_the_range(low: float, more: float, thread: float) -> None:
    """Against every smaller set of the standard lengths, tried one by one."""
    stack = Stack(bolt="M6", floor=0.0, washers=1, bar=10.0, below_face=1.0, thread_length=thread)
    found = fewest(stack, low, low + more, standard_lengths("M6"))

    def covers(lengths: tuple[float, ...]) -> bool:
        at = low
        for begin, end in sorted(held for one in lengths if (held := held_range(stack, one))):
            if begin <= at + 1e-9:
                at = max(at, end)
        return at >= low + more - 1e-9

    if found is None:
        assert not covers(standard_lengths("M6"))
        return
    assert covers(found)
    if 1 < len(found) <= 4:
        assert not any(covers(one) for one in itertools.combinations(standard_lengths("M6"), len(found) - 1))


def test_inch_bolts_and_the_shelfs_inserts() -> None:
    """A quarter inch takes lengths in eighths; an insert that the shelf doesn't have is refused by name."""
    assert standard_lengths("1/4")[:2] == pytest.approx((12.7, 15.875))
    assert stack_of("M8", bar=12, below_face=0).thread_length == 15  # the shelf's placeholder
    with pytest.raises(ShelfError, match="M7"):
        stack_of("M7", bar=12, below_face=0)


@pytest.mark.parametrize(("length", "error"), [(16, 0.35), (25, 0.42), (40, 0.5), (60, 0.6), (100, 0.7)])
def test_lengths_may_be_off_by_js15(length: float, error: float) -> None:
    """Half of IT15: ISO 286-1, table 1 gives 0.70, 0.84, 1.00, 1.20, 1.40 mm (from memory)."""
    assert length_error(length) == error
