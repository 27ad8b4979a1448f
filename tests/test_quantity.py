"""Quantities: what a person writes is what is meant, exactly, or it is refused with the way to write it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.quantity import (
    DECLARED,
    UNITS,
    Kind,
    QuantityError,
    System,
    parse,
    seen,
    show,
    show_length,
    show_speed,
    show_time,
)

LENGTH = Kind.LENGTH


@pytest.mark.parametrize(
    ("said", "millimetres"),
    [
        ("6.35 mm", 6.35),
        ("6.35mm", 6.35),
        ("1/4 in", 6.35),
        ('1/4"', 6.35),
        ("1-3/16 in", 30.1625),
        ("1 3/16 in", 30.1625),
        ("-1-3/16 in", -30.1625),
        (".235 in", 5.969),
        ("80 thou", 2.032),
        ("1.2 cm", 12.0),
        ("1 ft", 304.8),
        ("  18  mm ", 18.0),
    ],
)
def test_a_length_is_read_as_a_shop_writes_it(said: str, millimetres: float) -> None:
    """An inch is 25.4 mm exactly (the yard and pound agreement of 1959), and fractions are not rounded."""
    assert parse(said, LENGTH) == millimetres


@pytest.mark.parametrize(
    ("said", "kind", "value", "source"),
    [
        ("12 m/min", Kind.SPEED, 200.0, "12000 mm in 60 s"),
        ("60 in/min", Kind.SPEED, 25.4, "an inch a second"),
        ("18000 rpm", Kind.TURNING, 18000.0, ""),
        ("18000 1/min", Kind.TURNING, 18000.0, "as motor plates have it"),
        ("30°", Kind.ANGLE, 30.0, ""),
        ("1 hp", Kind.POWER, 745.69987158227022, "550 ft lbf/s, as NIST SP 811 prints it; from memory"),
        ("1 lbf", Kind.FORCE, 4.4482216152605, "NIST SP 811, exact; from memory"),
        ("1 lbf in", Kind.TORQUE, 112.98482902761668, "the pound-force times 25.4 mm"),
        ("1 ft-lbf", Kind.TORQUE, 1355.8179483314004, "NIST SP 811; from memory"),
        ("2.5 N·m", Kind.TORQUE, 2500.0, ""),
        ("2 min", Kind.TIME, 120.0, ""),
        ("0.4 m/s²", Kind.ACCELERATION, 400.0, ""),
        ("1400 lbf/in", Kind.STIFFNESS, 1400 * 0.175126835246476, "NIST SP 811, N/mm; from memory"),
    ],
)
def test_other_quantities_have_their_published_size(said: str, kind: Kind, value: float, source: str) -> None:
    """Each unit is as large as the published conversion says."""
    assert parse(said, kind) == pytest.approx(value, rel=1e-13), source


@given(st.integers(0, 999), st.integers(0, 999), st.integers(1, 999))
def test_an_inch_fraction_is_exact(whole: int, over: int, under: int) -> None:
    """Whole inches and a fraction are the nearest number to their exact value, not a sum of roundings."""
    exact = (Fraction(whole) + Fraction(over, under)) * Fraction(254, 10)
    assert parse(f"{whole}-{over}/{under} in", LENGTH) == float(exact)
    assert parse(f"{whole} {over}/{under}", LENGTH, "in") == float(exact)


@given(st.integers(1, 64 * 100))
def test_sixty_fourths_come_back_as_they_were_written(sixty_fourths: int) -> None:
    """An inch rule's graduation that is shown and read again is the same length."""
    length = float(Fraction(sixty_fourths, 64) * Fraction(254, 10))
    assert parse(show_length(length, "in"), LENGTH) == length


@given(st.floats(-5000, 5000), st.sampled_from(["mm", "in"]))
def test_a_shown_length_reads_back_to_what_calipers_tell_apart(length: float, system: System) -> None:
    """What is printed is within 0.005 mm, or within half a thou and a rounding, of what was meant."""
    back = parse(show_length(length, system), LENGTH)
    assert abs(back - length) <= (0.005 if system == "mm" else 0.0005 * 25.4) + 1e-9


@given(st.floats(0, 500), st.sampled_from(["mm", "in"]))
def test_a_shown_speed_reads_back(speed: float, system: System) -> None:
    """A feed is printed to half a mm/min or a twentieth of an in/min."""
    back = parse(show_speed(speed, system), Kind.SPEED)
    assert abs(back - speed) <= (0.5 / 60 if system == "mm" else 0.05 * 25.4 / 60) + 1e-9


@given(
    st.sampled_from([(kind, unit) for kind in Kind for unit in UNITS[kind]]),
    st.decimals(0, 9999, places=3, allow_nan=False),
)
def test_every_unit_can_be_written(pair: tuple[Kind, str], number: object) -> None:
    """Every unit of the table is understood as it stands there, behind a space."""
    kind, unit = pair
    assert parse(f"{number} {unit}", kind) == float(Fraction(str(number)) * UNITS[kind][unit])


@given(st.sampled_from(list(Kind)), st.sampled_from(["mm", "in"]), st.integers(0, 9999))
def test_a_bare_number_means_the_declared_unit(kind: Kind, system: System, number: int) -> None:
    """With units declared, 5 and "5" and "5 unit" are one and the same."""
    spelt = parse(f"{number} {DECLARED[system][kind]}", kind)
    assert parse(number, kind, system) == parse(str(number), kind, system) == spelt
    assert parse(float(number), kind, system) == spelt


def test_decimals_in_a_file_are_as_exact_as_in_quotes() -> None:
    """0.235 and "0.235" mean the same length to the last bit."""
    assert parse(0.235, LENGTH, "in") == parse("0.235", LENGTH, "in") == float(Fraction(235, 1000) * 254 / 10)


WRITE = 'Write "18.5 mm" or "3/4 in".'


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        ("18mm5", f'"18mm5" is not a length. {WRITE}'),
        ("", f'"" is not a length. {WRITE}'),
        ("mm", f'"mm" is not a length. {WRITE}'),
        ("1/0 in", f'"1/0 in" divides by zero. {WRITE}'),
        ("1e3 mm", f'"1e3 mm" is not a length. {WRITE}'),
        ("6,35 mm", f'"6,35 mm" is not a length. {WRITE} A decimal comma is not read: write a point.'),
        (
            "11.8, 11.9",
            f'"11.8, 11.9" is not a length. {WRITE} A list stands in brackets, each value in its own quotes.',
        ),
        ("1 1/4 3 in", f'"1 1/4 3 in" is not a length. {WRITE}'),
        ("5 furlong", f'"5 furlong" is not a length. {WRITE}'),
        ("300 W", f'"300 W" is a power, where a length is wanted. {WRITE}'),
        (True, f"true is not a length. {WRITE}"),
        (None, f"nothing is not a length. {WRITE}"),
        ([1, 2], f"a list is not a length. {WRITE}"),
        (float("nan"), f"nan is not a length. {WRITE}"),
        (float("inf"), f"inf is not a length. {WRITE}"),
        (16**3000, f"a huge number is not a length. {WRITE}"),
        ("٣ mm", f'"٣ mm" is not a length. {WRITE}'),
        ("5\x1b[31m", f'"5?[31m" is not a length. {WRITE}'),
        ("5" * 90, f'"{"5" * 57}..." is not a length. {WRITE}'),
    ],
)
def test_what_is_not_a_length_is_refused_with_an_example(value: object, sentence: str) -> None:
    """The message repeats what was read, cut short and made safe to show, and says what to write."""
    with pytest.raises(QuantityError) as caught:
        parse(value, LENGTH, "mm")
    assert str(caught.value) == sentence


def test_a_number_without_a_unit_is_not_guessed() -> None:
    """Where a file declares no units, 5 is neither 5 mm nor 5 in."""
    with pytest.raises(QuantityError) as caught:
        parse("5", LENGTH)
    assert str(caught.value) == (
        '"5" has no unit, and this file declares none. Write "18.5 mm" or "3/4 in", or put units = "mm" '
        '(or "in") at the top of the file.'
    )


@given(st.text(max_size=200) | st.floats() | st.integers() | st.lists(st.integers()) | st.booleans())
def test_anything_at_all_is_read_or_refused(value: object) -> None:
    """No value of a file crashes the reader, and no message holds what a terminal would act upon."""
    try:
        parse(value, LENGTH, "mm")
    except QuantityError as error:
        assert str(error).isprintable()
        assert len(str(error)) < 250


def test_a_quantity_has_at_most_sixty_characters() -> None:
    """Longer text is refused unread, so that a run of spaces can't keep the reader busy."""
    assert parse("5" + " " * 57 + "mm", LENGTH) == 5.0
    for spaces in (58, 1_000_000):
        with pytest.raises(QuantityError):
            parse("5" + " " * spaces + "mm", LENGTH)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (6.35, "mm", "6.35 mm"),
        (120.0, "mm/s", "7200 mm/min"),
        (2500.0, "N mm", "2.5 N m"),
        (412.3, "N", "412 N"),
        (4.25, "N", "4.2 N"),
        (18000.0, "rpm", "18000 rpm"),
        (0.25, "", "0.25"),
        (-0.001, "mm", "0 mm"),
    ],
)
def test_values_are_shown_with_the_digits_a_shop_can_use(value: float, unit: str, shown: str) -> None:
    """No more digits than a shop can set or measure, and no minus before nothing."""
    assert show(value, unit) == shown


@pytest.mark.parametrize(
    ("seconds", "aloud"), [(42.4, "42 s"), (59.7, "1 min 00 s"), (200, "3 min 20 s"), (3900, "1 h 05 min")]
)
def test_durations_read_aloud(seconds: float, aloud: str) -> None:
    """Seconds, then minutes, then hours; 59.7 s is a minute and not 60 s."""
    assert show_time(seconds) == aloud


def test_values_are_named_by_what_they_are() -> None:
    """A message says what stood in the file, in a word."""
    assert [seen(value) for value in ("x", 5, 0.5, False, [1], {"a": 1})] == [
        '"x"',
        "5",
        "0.5",
        "false",
        "a list",
        "a table",
    ]
