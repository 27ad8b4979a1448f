"""What is typed for a reading: read where it can mean one thing only, asked back where it may be a slip."""

from dataclasses import replace
from datetime import date

import pytest

from proveout.book import typed
from proveout.book.doubts import Stated, doubts, key
from proveout.book.entry import Entry
from proveout.quantity import QuantityError, System

TODAY = date(2026, 3, 31)


def stated(found: float, asked: float = 9.73, *, step: float | None = None, on: date = TODAY) -> Stated:
    """A size read with a caliper to 0.01 mm."""
    entry = Entry(
        kind="size", taken_on=on, who="Ada", subject="knob 1", asked=asked, found=found, resolution=0.01
    )
    return Stated(entry=entry, step=step)


def said(one: Stated, *, units: System = "mm") -> str:
    """All doubts about it."""
    return " ".join(doubts(one, today=TODAY, known=(), units=units))


@pytest.mark.parametrize(
    ("text", "value", "step"),
    [
        ("9.87", 9.87, 0.01),
        ("9.87 mm", 9.87, 0.01),
        (".389 in", 9.8806, 0.0254),
        ("9,87", 9.87, 0.01),
        ("0,389 in", 9.8806, 0.0254),
        ("11,8 mm", 11.8, 0.1),
        ("25/64 in", 9.921875, None),
        ("1-1/4 in", 31.75, None),
        ("12", 12.0, 1.0),
        (" 9.870 ", 9.87, 0.001),
    ],
)
def test_a_size_is_read_as_it_is_typed(text: str, value: float, step: float | None) -> None:
    """Its value and how finely it was told; inches are 25.4 mm by definition."""
    found = typed.length(text, "mm")
    assert found.value == pytest.approx(value, abs=1e-9)
    assert found.step == (pytest.approx(step) if step else None)


def test_a_bare_number_counts_in_the_jobs_units() -> None:
    """.389 of an inch job is 9.8806 mm."""
    assert typed.length(".389", "in").value == pytest.approx(9.8806)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1,234", "may be a thousand or a decimal"),
        ("-3", "not more than zero"),
        ("0", "not more than zero"),
        ("12 m", "longer than anything"),
        ("nine", "is not a length"),
        ("9.87 kg", "is not a length"),
        ("9.87 rpm", "turning speed"),
        ("9" * 400, "is not a length"),
        ("1" + " " * 100_000 + "x", "is not a length"),
    ],
)
def test_a_size_that_cannot_be_read_is_told_why(text: str, why: str) -> None:
    """In words, and at once."""
    with pytest.raises(QuantityError, match=why):
        typed.length(text, "mm")


def test_a_comma_with_three_digits_is_a_decimal_where_commas_are() -> None:
    """In a file whose cells are parted by semicolons the comma is the decimal point."""
    assert typed.length("11,820", "mm", comma_is_point=True).value == pytest.approx(11.82)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("14", 840), ("14.5", 870), ("14,5", 870), ("14:30", 870), ("1:05:00", 3900), ("14 min 30 s", 870),
     ("1 h 05 min", 3900), ("90 s", 90), ("2h", 7200)],
)  # fmt: skip
def test_a_time_is_read_as_minutes_unless_it_says_otherwise(text: str, seconds: float) -> None:
    """The ways in which a shop writes how long something took."""
    assert typed.seconds(text) == seconds


@pytest.mark.parametrize("text", ["", "soon", "0", "-3", "14 m", "9" * 300, "1e9", "99999 min"])
def test_a_time_that_cannot_be_read_is_told(text: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(QuantityError, match="is not a time"):
        typed.seconds(text)


def test_days_and_words_are_read_in_few_ways() -> None:
    """Year first or dots; first letters where one word is left."""
    assert typed.day("2026-03-31") == typed.day("31.3.2026") == TODAY
    assert (typed.fitted("f"), typed.fitted("too L"), typed.fitted("sn")) == (
        "firm press",
        "too loose",
        "snug",
    )
    for text in ("11/28/2026", "2026-02-30", "20261128", "yesterday"):
        with pytest.raises(QuantityError, match="is not a day"):
            typed.day(text)
    with pytest.raises(QuantityError, match="may be slides or snug or split"):
        typed.fitted("s")
    with pytest.raises(QuantityError, match="not one of the words"):
        typed.fitted("perfect")


@pytest.mark.parametrize("found", [9.73, 9.70, 9.98, 10.5, 9.0])
def test_a_size_near_what_was_asked_is_not_doubted(found: float) -> None:
    """Cutters and gantries are off by tenths of a millimetre."""
    assert said(stated(found, step=0.01)) == ""


@pytest.mark.parametrize(
    ("found", "asked", "why"),
    [
        (97.5, 9.73, "a slipped decimal point"),
        (0.975, 9.73, "a slipped decimal point"),
        (975.0, 9.73, "a slipped decimal point"),
        (0.0975, 9.73, "a slipped decimal point"),
        (0.3839, 9.73, "inches taken for millimetres"),
        (247.7, 9.73, "millimetres taken for inches"),
        (11.0, 9.73, "1.27 mm off the 9.73 mm"),
        (91.5, 90.0, "1.5 mm off the 90 mm"),
        (3.5, 3.0, "0.5 mm off the 3 mm"),
    ],
)
def test_a_slip_of_point_unit_or_part_is_doubted(found: float, asked: float, why: str) -> None:
    """Ten or a hundred times, 25.4 times, or farther off than wood and gantry are."""
    assert why in said(stated(found, asked))


def test_a_recess_is_doubted_sooner_than_an_outline() -> None:
    """27/64 in typed for 0.437 in: 0.39 mm is nothing on an outline of 11 mm, and much on a recess."""
    loose = stated(10.71, 11.1)
    assert said(loose) == ""
    assert "0.39 mm off" in said(replace(loose, entry=replace(loose.entry, feature="recess")))


def test_more_digits_than_the_instrument_has_are_doubted() -> None:
    """9.876 mm from a caliper to 0.01 mm; zeros at the end, or a coarser reading, say nothing."""
    assert "more finely than the instrument reads, which is to 0.01 mm" in said(stated(9.876, step=0.001))
    assert said(stated(9.87, step=0.001)) == said(stated(9.8, step=0.1)) == ""
    halves = Entry(kind="size", taken_on=TODAY, who="Ada", found=0.3895 * 25.4, resolution=0.0005 * 25.4)
    assert said(Stated(entry=halves, step=0.00254)) == ""


def test_a_day_to_come_or_long_ago_is_doubted() -> None:
    """A clock or a typist is wrong."""
    assert "is still to come" in said(stated(9.7, on=date(2026, 4, 1)))
    assert "is long ago" in said(stated(9.7, on=date(1926, 11, 28)))
    assert said(stated(9.7, on=date(2026, 3, 30))) == ""


def test_a_time_far_from_what_was_reckoned_is_doubted() -> None:
    """Seconds for minutes; twice as long is only slow."""
    for found, doubted in ((1200.0, False), (600.0 * 60, True), (60.0, True)):
        entry = Entry(kind="minutes", taken_on=TODAY, who="Ada", asked=600.0, found=found)
        assert bool(said(Stated(entry=entry))) is doubted


def test_the_same_reading_again_is_doubted() -> None:
    """Same sitting, subject, size, person and day, however the name is written."""
    again = stated(9.75)
    known = [key(Entry(kind="size", taken_on=TODAY, who="ADA", subject="knob 1", found=9.75))]
    assert "stands in the book already" in " ".join(doubts(again, today=TODAY, known=known, units="mm"))
    assert doubts(stated(9.76), today=TODAY, known=known, units="mm") == ()
