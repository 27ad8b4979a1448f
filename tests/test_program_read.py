"""The reader: what programs mean by RS274/NGC, and what it refuses.

"NISTIR 6556" is Kramer, Proctor and Messina, The NIST RS274/NGC Interpreter, version 3 (2000), whose rules
and examples were read; the two examples of canned cycles are from memory of its section 3.5.16.
"""

import csv
import math
import re
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuzz_reader import cases, fault_of
from proveout.finding import Level
from proveout.motion import ARC, LINE, RAPID, Motion, chords, lengths
from proveout.program.expressions import SLOT
from proveout.program.frames import MachineFrame
from proveout.program.read import ASSUMED_START, ReadLimits, ReadProgram, read_program

XYZ = tuple[float, float, float]

SHARED = Path(__file__).parent.parent.parent / "shared" / "programs"
HEAD = "G21 G90 G17 G94\n"
AT_ZERO = HEAD + "G0 X0 Y0 Z0\nF600\n"


def read(text: str, start: XYZ | None = None) -> ReadProgram:
    return read_program(text, file="some.nc", start=start)


def ends(program: ReadProgram) -> list[XYZ]:
    return [(x, y, z) for x, y, z in program.motion.end.round(6).tolist()]


def stops(program: ReadProgram) -> list[tuple[int | None, str]]:
    return [(found.line, found.text) for found in program.findings if found.level is Level.STOP]


def only_stop(program: ReadProgram) -> tuple[int | None, str]:
    (stop,) = stops(program)
    return stop


def kinds(program: ReadProgram) -> set[str]:
    return {found.kind for found in program.findings}


def clean(lines: str) -> ReadProgram:
    """A program with a proper head and end, read without a finding."""
    program = read(AT_ZERO + lines + "\nM30\n")
    assert program.findings == ()
    return program


# -- words -----------------------------------------------------------------------------------------------


def test_a_whole_number_may_be_off_by_a_ten_thousandth() -> None:
    """T1.99995 is cutter 2, T1.9 is none (NISTIR 6556, 3.3.2.1)."""
    assert read(HEAD + "T1.99995 M6\nM30").tool_changes == ((0, 2),)
    assert "T takes a whole number" in only_stop(read(HEAD + "T1.9 M6\nM30"))[1]


def test_blanks_and_capitals_mean_nothing() -> None:
    """`g0x +0. 12 34y 7` goes to X 0.1234, Y 7 (NISTIR 6556, 3.3); blanks between words are nothing."""
    assert ends(read(AT_ZERO + "g0x +0. 12 34y 7\nM30"))[-1] == (0.1234, 7, 0)
    assert ends(clean("g 0 x +0.1234y 7"))[-1] == (0.1234, 7, 0)


@pytest.mark.parametrize(
    ("line", "column", "joined"),
    [("G0 X1 Z5 2.6", 7, "Z52.6"), ("G1 X5 0 F60", 4, "X50"), ("g0x +0. 12 34y 7", 3, "x+0.1234")],
)
def test_blanks_inside_a_number_are_asked_about(line: str, column: int, joined: str) -> None:
    """`Z5 2.6` is Z52.6 by the standard, and more often a letter that was forgotten."""
    at, text = only_stop(read(AT_ZERO + line + "\nM30"))
    assert at == 4
    assert f"column {column}," in text
    assert f"as the standard says, {joined};" in text
    assert read(AT_ZERO + "G0 X1 (5 2.6)\nG0 X2 ;5 2.6\nM30").findings == ()


@pytest.mark.parametrize(
    ("value", "result"),
    [
        ("[2.0/3*1.5-5.5/11.0]", 0.5),  # NISTIR 6556, 3.3.2.3
        ("[1 --3]", 4),  # from here on: the standard's own sample program c2, results as it states them
        ("[1 + 2 * 3 - 4 / 5]", 6.2),
        ("[15 MOD 4.0]", 3),
        ("[2 ** 3.0]", 8),
        ("[2 and 2]", 1),
        ("[2 xor 2]", 0),
        ("[0 or 0]", 0),
        ("sqrt[3**2 + 4**2]", 5),
        ("sin[30]", 0.5),
        ("atan[1.7321]/[1.0]", 60.0),
        ("acos[0.707107]", 45.0),
        ("round[-0.5001]", -1),
        ("round[9.975]", 10),
        ("fix[-0.499]", -1),
        ("fup[-0.5001]", 0),
        ("ln[10.0]", 2.3026),
        ("exp[2.3026]", 10),
        ("abs[-1.23]", 1.23),
        ("[-7 MOD 4]", 1),  # never negative
        ("fix[-2.8]", -3),  # NISTIR 6556, 3.3.2.4
        ("fup[-2.8]", -2),
    ],
)
def test_expressions(value: str, result: float) -> None:
    """Powers bind before products, products before sums and logic; angles are in degrees."""
    assert ends(clean(f"G1 X{value}"))[-1][0] == pytest.approx(result, abs=1e-3)


def test_parameters_are_set_when_the_line_is_done() -> None:
    """With #3 = 15, `#3=6 G1 X#3` goes to X 15, and the line after it to 6 (NISTIR 6556, 3.3.3)."""
    assert [x for x, _, _ in ends(clean("#3=15\n#3=6 G1 X#3\nX#3"))[-2:]] == [15, 6]


def test_a_parameter_that_was_never_set_is_not_taken_for_nothing() -> None:
    """The controller keeps parameters from yesterday's program, so their values are unknown."""
    line, text = only_stop(read(AT_ZERO + "G1 X#7\nM30"))
    assert (line, "parameter 7 was not set by this program" in text) == (4, True)


@pytest.mark.parametrize(
    ("line", "column", "rule"),
    [
        ("G1 X1 X2", 7, "X stands twice"),
        ("G0 G1 X1", 4, "a second code of the group motion"),
        ("G17 G18", 5, "a second code of the group plane"),
        ("G20 G21", 5, "a second code of the group units"),
        ("M3 M5", 4, "a second code of the group spindle"),
        ("G4 P1 G53 G0 X1", 7, "a second code of the group one-line codes"),
        ("M3 M8 M48 M0 M6 T1", 14, "more than 4 M words"),
        ("G1 X", 4, "a value is missing"),
        ("G1 Xfoo[1]", 4, "its function is not known"),
        ("G1 X1.2.3", 8, "not the beginning of a word"),
        ("G1 X1,5", 6, "a decimal comma is not read"),
        ("G1 X1e5", 6, "a number has no exponent"),
        ("G1 XNaN", 4, "its function is not known"),
        ("G1 X-#1", 5, "a sign that no number follows"),
        ("G1 X[1+2", 5, "bracket isn't closed"),
        ("G1 X[1 EQ 2]", 5, "a sign that isn't known"),
        ("G1 X[1/0]", 7, "a division by zero"),
        ("G1 Xsqrt[-1]", 5, "the root of a negative number"),
        ("G1 Xacos[2]", 5, "ACOS of a value outside -1 to 1"),
        ("G1 Xln[0]", 5, "the logarithm"),
        ("G1 X[10**400]", 8, "too large"),
        ("G1 X[[-8]**0.5]", 10, "a broken power of a negative number"),
        ("#0=1", 1, "from 1 to 5399"),
        ("#5221=4", 1, "belongs to the controller"),
        ("#<depth>=4", 1, "a parameter with a name"),
        ("#1", 1, "an = is missing"),
        ("N123456 G1 X1", 1, "at most 5 digits"),
        ("G1 N10 X1", 4, "at the beginning of the line"),
        ("G1 X1 (one (two))", 7, "a comment that is not closed"),
        ("G1 X1 (one", 7, "a comment that is not closed"),
        ("G1 X1 )", 7, "a bracket that closes no comment"),
        ("G1 X(here)5", 4, "a value is missing"),
        ("G1 X1 F-5", 7, "F can't be negative"),
        ("T1.5", 1, "T takes a whole number"),
        ("G1 X1 é", 7, "not an ASCII character"),
        ("G1 X1 \x07", 7, "not the beginning of a word"),
        (f"G1 X{SLOT}", 4, "a value is missing"),
        (f"G1 X1 Y-{SLOT}", 8, "a sign that no number follows"),
        ("G5.1 X1", 1, "not a code that is read here"),
        ("M123", 1, "not a code that is read here"),
        ("G41 D1", 1, "cutter radius compensation"),
        ("G38.2 Z-5", 1, "probing"),
        ("G84 X1 R1 Z-1", 1, "tapping"),
        ("M98 P100", 1, "subprogram call"),
        ("G1 X1 A90", 7, "a rotary axis"),
        ("G1 X1 U2", 7, "a second linear axis"),
        ("G1 X1 D1", 7, "no code on the line uses it"),
        ("G1 X1 H1", 7, "no code on the line uses it"),
        ("G1 X1 P1", 7, "no code on the line uses it"),
        ("G1 X1 Q1", 7, "no code on the line uses it"),
        ("G1 X1 R1", 7, "no code on the line uses it"),
        ("G1 X1 I1", 7, "no code on the line uses it"),
        ("G1 X1 L2", 7, "no code on the line uses it"),
        ("G1", 1, "a motion code with no X, Y or Z"),
        ("G80 X1", 5, "no motion code is in force"),
        ("G92 X1 G1", 8, "uses the axis words too"),
        ("G4", 1, "a dwell needs P"),
        ("G53 X1 G2 I1", 1, "works with G0 or G1"),
        ("G43", 1, "no H"),
        ("G43.1", 1, "no Z says the length"),
        ("G43.1 X1 Z1", 7, "along this axis"),
        ("G43.1 Z1 G0", 10, "uses the axis words too"),
        ("G92 Z1 G43.1", 1, "uses the axis words too"),
        ("G42 D1", 1, "cutter radius compensation"),
        ("M6", 1, "no T before it"),
        ("G10 L1 P1 X0", 1, "only G10 L2 and G10 L20"),
        ("G2 X10", 1, "an arc needs I or J, or R"),
        ("G2 I5", 1, "a motion code with no X, Y or Z"),
        ("G2 Z-1 I5 J0", 1, "needs X or Y for its end"),
        ("G2 X10 I5 R5", 8, "by its centre or by R"),
        ("G2 X10 K5", 8, "not in this plane"),
        ("G2 X10 I5 K0", 11, "not in this plane"),
        ("G1 F100 X1 F200", 12, "F stands twice"),
        ("G2 X0 Y0 I0 J0", 1, "an arc without a radius"),
        ("G2 X0 Y0 R5", 1, "start and end are the same"),
        ("G2 X20 R5", 1, "too small"),
        ("G2 X0.0003 Y0 I10", 1, "one controller turns full circle"),
        ("G1 X1000000000000", 4, "too large for any router"),
        ("G1 X1000000", 4, "further than 100 m"),
        ("G2 X1 R900000000", 1, "900000 m radius"),
        ("G83 X1 Z-9 R1 Q0", 1, "needs Q"),
        ("G82 X1 Z-9 R1", 1, "needs P"),
        ("G81 X1 R1", 1, "needs Z"),
        ("G81 X1 Z2 R1", 1, "lies above R"),
        ("G81 X1 Z-2 R1 L0", 15, "at least once"),
        ("G83 X1 Z-9 R1 Q0.00001", 1, "more than 100000 moves"),
        ("G93 G1 X5", 5, "has its own F"),
        ("G55 X1", 1, "another work zero"),
        ("G28 Z0", 1, "stored in the machine"),
        ("G53 G0 Z0", 1, "machine coordinates"),
        ("G91 G53 G0 Z0", 5, "incremental distance mode"),
        ("G92.3", 1, "has not made"),
        ("T0 M6 G1 X5", 7, "no cutter in the spindle"),
    ],
)
def test_what_breaks_a_rule_is_refused_where_it_stands(line: str, column: int, rule: str) -> None:
    """Each fault of the standard's error list, and each code that isn't read, stops at its column."""
    program = read(AT_ZERO + line + "\nG0 X7 Y8 Z9\nM30\n")
    where, text = only_stop(program)
    assert (where, text.startswith(f"column {column}, "), rule in text) == (4, True, True), text
    assert ends(program) == [(0, 0, 0), (7, 8, 9)]


def test_a_bad_line_is_left_out_whole_and_hides_nothing() -> None:
    """Nothing of a bad line is done, its feed and spindle words neither; the next bad line is found."""
    program = read(AT_ZERO + "G1 X5\nG2 X9 F60 S900 M3\nY5\nG1 Y6 B1\nM30\n")
    assert [line for line, _ in stops(program)] == [5, 7]
    assert ends(program)[1:] == [(5, 0, 0), (5, 5, 0)]
    assert program.motion.feed[-1] == pytest.approx(10)
    assert program.motion.speed_rpm[-1] == 0
    assert "what follows is read from X 5.000, Y 0.000, Z 0.000 mm" in stops(program)[0][1]


def test_comments_and_line_numbers_change_nothing() -> None:
    """Comments in brackets or after a semicolon, and N words, are passed over."""
    plain = clean("G1 X1\nY2")
    dressed = clean("N10 (first) G1 (then) X1 (;) ; last (\nN20Y2(end)")
    assert ends(plain) == ends(dressed)


# -- arcs ------------------------------------------------------------------------------------------------


def arc_from_seven(end: str, units: str = "G21") -> ReadProgram:
    return read(f"{units} G90 G17\nG0 X7 Y7 Z0\nF100\nG2 {end} I3 J4\nM30\n")


def test_arc_by_centre() -> None:
    """From (7, 7), `G2 X10 Y16 I3 J4` turns 143.13 degrees about (10, 11) (NISTIR 6556, 3.5.3)."""
    motion = arc_from_seven("X10 Y16").motion
    assert motion.centre[-1].tolist() == [10, 11, 0]
    assert math.degrees(motion.sweep[-1]) == pytest.approx(-143.1301, abs=1e-4)
    assert lengths(motion)[-1] == pytest.approx(12.49, abs=0.005)


def test_the_radii_at_both_ends_agree() -> None:
    """In millimetres 0.0015 mm apart is taken and 0.003 mm is not; in inches 0.0002 in is the limit."""
    assert stops(arc_from_seven("X10 Y16.0015")) == []
    assert "5.0000 mm at the start and 5.0030 mm at the end" in only_stop(arc_from_seven("X10 Y16.003"))[1]
    assert stops(arc_from_seven("X10 Y16.00015", "G20")) == []
    assert "0.0002 in" in only_stop(arc_from_seven("X10 Y16.0003", "G20"))[1]


@pytest.mark.parametrize(("units", "unit"), [("G21", 1.0), ("G20", 25.4)])
@pytest.mark.parametrize("words", ["X10 Y15 R20 Z5", "X10 Y15 Z5 R20"])
def test_arc_by_radius(units: str, unit: float, words: str) -> None:
    """`G2 X10 Y15 R20 Z5` from zero is a helix about (19.855, -2.403), 53.58 degrees, 19.36 long."""
    motion = read(f"{units} G90 G17\nG0 X0 Y0 Z0\nF10\nG1 X0\nG2 {words}\nM30").motion
    assert motion.centre[-1, :2] / unit == pytest.approx((19.85507, -2.40338), abs=1e-4)
    assert math.degrees(motion.sweep[-1]) == pytest.approx(-53.58, abs=0.005)
    assert lengths(motion)[-1] / unit == pytest.approx(19.36, abs=0.005)


def test_a_flat_arc_in_inches() -> None:
    """A chord of 1 in at R 100 in turns by twice the angle whose sine is 0.5 / 100 (closed form)."""
    motion = read("G20 G90 G17\nG0 X0 Y0 Z0\nG1 X0 F10\nG2 X1 Y0 R100\nM30").motion
    assert motion.sweep[-1] == pytest.approx(-2 * math.asin(0.005), rel=1e-9)
    assert motion.centre[-1, 1] == pytest.approx(-25.4 * math.sqrt(100**2 - 0.5**2), rel=1e-9)


@pytest.mark.parametrize("code", ["G2", "G3"])
@given(x=st.floats(-9, 9), y=st.floats(-9, 9), over=st.floats(1.001, 5.0), long_way=st.booleans())
@settings(max_examples=40, deadline=None)
def test_a_negative_radius_goes_the_long_way(
    code: str, x: float, y: float, over: float, long_way: bool
) -> None:
    """R > 0 turns less than half round, R < 0 more; clockwise for G2; both ends lie on the circle."""
    chord = math.hypot(x, y)
    if chord < 0.1:
        return
    radius = chord / 2 * over
    sign = "-" if long_way else ""
    motion = clean(f"{code} X{x:.6f} Y{y:.6f} R{sign}{radius:.6f}").motion
    turn = motion.sweep[-1] * (1 if code == "G3" else -1)
    assert (turn > math.pi) == long_way
    assert 0 < turn < math.tau
    for point in (motion.start[-1], motion.end[-1]):
        assert math.dist(point[:2], motion.centre[-1, :2]) == pytest.approx(radius, abs=1e-5)


@pytest.mark.parametrize("between", [" ", "\n"])
@pytest.mark.parametrize(
    ("plane", "words", "top"),
    [
        ("G17", "G2 X10 Y0 I5", (5, 5, 0)),
        ("G17", "G3 X10 Y0 I5", (5, -5, 0)),
        ("G18", "G2 X0 Z10 K5", (5, 0, 5)),
        ("G18", "G3 X0 Z10 K5", (-5, 0, 5)),
        ("G19", "G2 Y10 Z0 J5", (0, 5, 5)),
        ("G19", "G3 Y10 Z0 J5", (0, 5, -5)),
        ("G18", "G2 X0 Z10 R5", (5, 0, 5)),
        ("G19", "G3 Y10 Z0 R5", (0, 5, -5)),
    ],
)
def test_clockwise_is_seen_from_the_axis(plane: str, words: str, top: XYZ, between: str) -> None:
    """In each plane G2 is clockwise seen from the positive end of the axis that it turns about (ISO 841)."""
    motion = clean(plane + between + words).motion
    pieces = chords(motion, 0.0001)
    middle = np.abs(pieces.end - np.array(top)).sum(axis=1).min()
    assert middle < 0.05


def test_equal_ends_make_a_full_circle() -> None:
    """`G2 X0 J2.5` turns once; with Z it is a turn of a helix: 15.779 mm at radius 2.5, pitch 1.5."""
    motion = clean("G2 X0 J2.5\nG3 X0 Y0 I2.5 Z-1.5").motion
    assert motion.sweep[-2:] == pytest.approx([-math.tau, math.tau])
    assert lengths(motion)[-1] == pytest.approx(15.77942, abs=1e-5)


def test_arc_centres_from_the_zero() -> None:
    """After G90.1 I and J are places, and both are needed; after G91.1 they are offsets again."""
    program = clean("G0 X10 Y0\nG90.1 G3 X0 Y10 I0 J0\nG91.1 X-10 Y0 J-10")
    assert program.motion.centre[-2:].tolist() == [[0, 0, 0], [0, 0, 0]]
    assert "an arc needs I and J" in only_stop(read(AT_ZERO + "G90.1\nG2 X1 Y1 I1\nM30"))[1]


# -- order, feeds, spindle -------------------------------------------------------------------------------


def test_settings_come_before_the_move() -> None:
    """`G1 X10 F600 M3 S18000` starts the spindle first; `X20 M5` stops it first (NISTIR 6556, table 8)."""
    motion = clean("G1 X10 F1200 M3 S18000\nX11\nX12 S9000\nX20 M5\nX30").motion
    assert motion.speed_rpm[-5:].tolist() == [18000, 18000, 9000, 0, 0]
    assert motion.feed[-5:] == pytest.approx([20] * 5)


def test_feeds_are_along_the_path() -> None:
    """60 in/min is 25.4 mm/s, F first or last; in inverse time F2 takes half a minute at any length."""
    inch = read("G20 G90 G17\nG0 X0 Y0 Z0\nG1 X1 F60\nM30")
    assert inch.motion.feed[-1] == pytest.approx(25.4)
    assert clean("G1 F120 X5\nF90 X6\nX7 F30").motion.feed[-3:] == pytest.approx([2, 1.5, 0.5])
    motion = clean("G93 G1 X30 Y40 F2\nG2 X30 Y40 I5 F2\nG2 X30 Y40 Z-50 I5 F2").motion
    assert (lengths(motion) / np.maximum(motion.feed, 1e-9))[-3:] == pytest.approx([30, 30, 30])


def test_no_feed_no_cut() -> None:
    """A cut needs a feed; one of the other feed mode, or set before the units changed, is none."""
    assert "no feed above 0" in only_stop(read(HEAD + "G0 X0 Y0 Z0\nG1 X1\nM30"))[1]
    assert "no feed above 0" in only_stop(read(AT_ZERO + "G93 G1 X1 F2\nG94 G1 X2\nM30"))[1]
    assert "set in the other units" in only_stop(read(AT_ZERO + "G20\nG1 X1\nM30"))[1]


def test_a_dwell_is_waited_before_the_next_move() -> None:
    """G4 P2.5 waits 2.5 seconds; a dwell of minutes is asked about, as P may be meant in milliseconds."""
    assert clean("G4 P2.5\nG1 X1\nX2").motion.dwell.tolist() == [0, 2.5, 0]
    long = read(AT_ZERO + "G4 P2500\nG1 X1\nM30")
    assert [found.level for found in long.findings] == [Level.CAUTION]


def test_stops_and_starts_are_counted() -> None:
    """M0, M1 and M60 wait for the operator; each start of the spindle takes its time; M4 is asked about."""
    program = read(AT_ZERO + "S9000 M3\nM0\nM5\nM1\nM3\nM60\nS0\nS5000\nM4\nM30")
    assert (program.stops, program.spin_ups) == (3, 4)
    assert [found.line for found in program.findings] == [12]


def test_cutter_changes() -> None:
    """T selects, M6 changes and stops the spindle; moves carry the number of the cutter that makes them."""
    program = read(HEAD + "T2 M6\nG43 H2\nG0 X0 Y0 Z5\nS900 M3\nG1 X5 F60\nT3\nX6\nM6\nG43 H3\nX7\nM30")
    assert stops(program) == []
    assert program.tool_changes == ((0, 2), (3, 3))
    assert program.motion.cutter.tolist() == [2, 2, 2, 3]
    assert program.motion.speed_rpm.tolist() == [0, 900, 900, 0]


def test_a_cutter_needs_its_own_length() -> None:
    """With the last cutter's G43 in force Z is wrong, and it stops; with none a person is asked."""
    cut = HEAD + "T1 M6\nG43 H1\nG0 X0 Y0 Z5\nG1 X5 F60\nT2 M6\n"
    assert "cutter 2 cuts with the length of cutter 1" in only_stop(read(cut + "G1 X9\nM30"))[1]
    assert "the length of cutter 1, with cutter 2" in only_stop(read(cut + "G43 H1\nM30"))[1]
    asked = read(cut + "G49\nG1 X9\nM30")
    assert [found.line for found in asked.findings if found.level is Level.CAUTION] == [8]


def test_a_length_that_the_program_states() -> None:
    """G43.1 Z is a length and no move; it is taken for the cutter in the spindle, and asked about."""
    program = read(HEAD + "T1 M6\nG43.1 Z42.5\nG0 X0 Y0 Z5\nG1 X5 F60\nM30")
    assert (ends(program), [(found.line, found.level) for found in program.findings]) == (
        [(0, 0, 5), (5, 0, 5)],
        [(3, Level.CAUTION)],
    )


def test_a_cutter_that_is_only_selected() -> None:
    """T without M6 changes nothing, and is pointed out; the caller's cutter makes the moves."""
    program = read_program(AT_ZERO + "T4\nM30", file="a.nc", cutter=2)
    assert program.motion.cutter.tolist() == [2]
    assert [(found.line, found.level) for found in program.findings] == [(4, Level.CAUTION)]


# -- what a program leaves unsaid ------------------------------------------------------------------------


def test_units_are_stated_before_they_matter() -> None:
    """The first length or feed before G20 or G21 stops, once; on the same line G21 counts for the places."""
    program = read("G90 G17\nG0 X1 Y1 Z1\nG0 X2\nM30")
    assert [(found.line, found.kind) for found in program.findings] == [(2, "units-unstated")]
    assert program.units is None
    assert "units-unstated" in kinds(read("G90 G17\nF100\nG21\nM30"))
    same_line = read("G17 G90 G20 G0 X1 Y1 Z1\nM30")
    assert (same_line.findings, same_line.units, ends(same_line)) == ((), "in", [(25.4, 25.4, 25.4)])


def test_a_program_has_an_end() -> None:
    """M2, M30 or a closing % ends it; without any it may have been cut short; what follows is never run."""
    assert not read(AT_ZERO).ended
    assert kinds(read(AT_ZERO)) == {"program-end"}
    for whole in (AT_ZERO + "M2", AT_ZERO + "M30\n%\n", f"%\n{AT_ZERO}%\n", f"\n %\n{AT_ZERO}M30\n%\nG0 X9"):
        assert read(whole).ended
        assert len(read(whole).motion) == 1
    late = read(AT_ZERO + "M2\n\n(end)\nG0 X9\n")
    assert ([found.line for found in late.findings], kinds(late)) == ([7], {"program-end"})
    assert kinds(read(f"%\n{AT_ZERO}M30\n")) == {"program-end"}
    assert "closes a program that no % opened" in only_stop(read(f"{AT_ZERO}%\nM30\n"))[1]


def test_where_the_cutter_stands_at_the_start_is_not_guessed_in_silence() -> None:
    """Moves before X, Y and Z are all said start from an assumed place, and are told apart."""
    program = read(HEAD + "G0 Z5\nG0 X1 Y2\nG1 X3 F60\nM30")
    assert (program.placed_from, program.findings) == (2, ())
    assert program.motion.start[0].tolist() == list(ASSUMED_START)
    assert read(HEAD + "G0 Z5\nM30", start=(1.0, 2.0, 3.0)).placed_from == 0
    assert read(HEAD + "G0 Z5\nM30", start=(1.0, 2.0, 3.0)).motion.start[0].tolist() == [1, 2, 3]
    early = read(HEAD + "G0 X1\nG1 Z-1 F60\nM30")
    assert [found.level for found in early.findings] == [Level.CAUTION]
    blind = read(HEAD + "G91\nG0 X5\nG1 Z-1 F60\nM30")
    assert blind.placed_from == 2
    assert "where the cutter stands in X, Y, Z" in only_stop(blind)[1]
    assert "has not said" in only_stop(read(HEAD + "G0 Z5\nF60\nG2 X5 I2.5\nM30"))[1]


def test_distance_mode_and_plane_are_stated() -> None:
    """A program that says neither is read as G90 and G17, and told so."""
    program = read("G21\nG0 X0 Y0 Z0\nF60\nG2 X5 Y0 I2.5\nM30")
    assert [(found.line, found.level) for found in program.findings] == [(2, Level.CAUTION), (4, Level.NOTE)]


def test_block_delete_is_asked_about() -> None:
    """A line with a slash is carried out, and a person is told that a switch decides."""
    program = read(AT_ZERO + "/G0 X5\nM30")
    assert (ends(program)[-1], [found.level for found in program.findings]) == ((5, 0, 0), [Level.CAUTION])


def test_feed_and_units_on_one_line() -> None:
    """By the standard F is carried out before G21: a first statement is asked about, a change stops."""
    first = read("G17 G90 G21 F600 G0 X0 Y0 Z0\nG1 X1\nM30")
    assert [found.level for found in first.findings] == [Level.CAUTION]
    assert first.motion.feed[-1] == pytest.approx(10)
    assert "in which is it" in only_stop(read(AT_ZERO + "G20 F9\nM30"))[1]


def test_a_program_number_is_passed_over() -> None:
    """A lone O word with a number names the program; a second one begins another, which is not read."""
    named = read(f"%\nO1234 (clamp)\n{AT_ZERO}M30\n%")
    assert (len(named.motion), [found.level for found in named.findings]) == (1, [Level.NOTE])
    two = read(f"O1234\n{AT_ZERO}O1235\nG0 X9\nM30")
    assert ("the number of another program" in only_stop(two)[1], len(two.motion)) == (True, 1)


# -- zeros -----------------------------------------------------------------------------------------------


def test_the_first_work_zero_is_the_frame() -> None:
    """G55 from the start is the program's own zero, and its operator is told which one to set."""
    program = read(HEAD + "G55\nG0 X1 Y2 Z3\nM30")
    assert ends(program) == [(1, 2, 3)]
    assert ["G55" in found.text for found in program.findings] == [True]


def test_another_work_zero_is_followed_where_both_are_stated() -> None:
    """With G10 L2 for G54 and G55 the second lies 20 mm to the right of the first."""
    zeros = "G10 L2 P1 X10 Y0 Z-30\nG10 L2 P2 X30 Y0 Z-30\n"
    program = read(HEAD + zeros + "G54 G0 X0 Y0 Z5\nG55 G0 X1\nG53 G0 Z0\nM30")
    assert ends(program) == [(0, 0, 5), (21, 0, 5), (21, 0, 30)]
    assert stops(program) == []


def test_a_zero_set_from_where_the_cutter_stands() -> None:
    """G10 L20 P1 X3 at X 10 moves the zero 7 mm to the right, for what follows; a G92 counts from there."""
    assert ends(clean("G0 X10\nG10 L20 P1 X3\nG0 X5 Y1"))[-1] == (12, 1, 0)
    shifted = read(AT_ZERO + "G0 X10\nG10 L20 P1 X3\nG92 X1\nG0 X5\nG10 L20 P1 X2\nG0 X3\nM30")
    assert [x for x, _, _ in ends(shifted)[1:]] == [10, 14, 15]


def test_a_zero_that_is_stated_anew() -> None:
    """G10 L2 moves the zero in force by the difference of what it says; from an unknown place it can't."""
    program = read(HEAD + "G10 L2 P1 X10\nG0 X0 Y0 Z5\nG10 L2 P1 X25\nG0 X0\nM30")
    assert ends(program)[-1] == (15, 0, 5)
    assert "how far from the last one" in only_stop(read(AT_ZERO + "G10 L2 P1 X10\nM30"))[1]


def test_shifts() -> None:
    """G92 X7 at X 2 makes 8 mean 3; G92.1 takes it back; G92.3 brings back what G92.2 put aside."""
    program = read(AT_ZERO + "G0 X2\nG92 X7\nX8\nG92.2\nX8\nG92.3\nX8\nG92.1\nX8\nM30")
    assert [x for x, _, _ in ends(program)[2:]] == [3, 8, 3, 8]
    assert [(found.line, found.level) for found in program.findings] == [(5, Level.CAUTION)]


def test_a_shift_at_the_start_makes_the_zero() -> None:
    """G92 X0 Y0 Z0 before the first move: the program's zero is where somebody put the cutter."""
    program = read(HEAD + "G92 X0 Y0 Z1\nG0 X5\nM30")
    assert (program.motion.start[0].tolist(), ends(program), program.placed_from) == (
        [0, 0, 1],
        [(5, 0, 1)],
        0,
    )
    assert {found.level for found in program.findings} == {Level.CAUTION}
    assert "from the start" in only_stop(read(HEAD + "G92 X0 Y0 Z1\nG92.1\nM30"))[1]


def test_machine_places_are_followed_for_those_who_know_them() -> None:
    """With the machine's zero and home known, G53 and G28 lead there; G28 with one axis stays in doubt."""
    machine = MachineFrame(zero=(-100.0, -50.0, 80.0), home=(-90.0, -40.0, 80.0))
    text = AT_ZERO + "G53 G0 Z-5\nG28 X5 Y5 Z70\n"
    program = read_program(text + "M30", file="a.nc", machine=machine)
    assert ends(program)[1:] == [(0, 0, 75), (5, 5, 70), (-90, -40, 80)]
    doubtful = read_program(AT_ZERO + "G28 Z5\nM30", file="a.nc", machine=machine)
    assert "all three axes go home" in only_stop(doubtful)[1]


# -- canned cycles ---------------------------------------------------------------------------------------


def test_a_drilling_cycle_from_the_zero() -> None:
    """From (1, 2, 3), `G90 G81 G98 X4 Y5 Z1.5 R2.8`: over, to R, to Z, back to 3 (NISTIR 6556)."""
    program = read(HEAD + "G0 X1 Y2 Z3\nF60\nG90 G81 G98 X4 Y5 Z1.5 R2.8\nM30")
    assert ends(program)[1:] == [(4, 5, 3), (4, 5, 2.8), (4, 5, 1.5), (4, 5, 3)]
    assert program.motion.kind[1:].tolist() == [RAPID, RAPID, LINE, RAPID]


def test_a_drilling_cycle_in_steps() -> None:
    """From (1, 2, 3), `G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3` drills 3 holes from 4.8 to 4.2 (NISTIR 6556)."""
    program = read(HEAD + "G0 X1 Y2 Z3\nF60\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\nM30")
    holes = [[(x, y, 4.8), (x, y, 4.2), (x, y, 4.8)] for x, y in ((5, 7), (9, 12), (13, 17))]
    assert ends(program)[1:] == [(1, 2, 4.8), *holes[0], *holes[1], *holes[2]]


def test_pecking() -> None:
    """Between pecks G83 comes out to R, then back to 0.254 mm above the bottom; G73 backs off that far."""
    program = read(HEAD + "G0 X0 Y0 Z5\nF60\nG83 X1 Z-5 R1 Q2.5\nG73 X1 Z-5 R1 Q2.5\nM30")
    heights = [z for _, _, z in ends(program)[2:]]
    assert heights[:9] == pytest.approx([1, -1.5, 1, -1.246, -4, 1, -3.746, -5, 5])
    assert heights[9:] == pytest.approx([1, -1.5, -1.246, -4, -3.746, -5, 5])


def test_cycles_keep_their_numbers_and_come_back_to_their_level() -> None:
    """R, Z and P hold for the next hole; G99 returns to R, G98 to where the series began; G89 feeds out."""
    program = read(HEAD + "G0 X0 Y0 Z5\nF60\nG99 G82 X1 Z-1 R2 P1.5\nX2\nG98 X3\nG89 Z-2 R2 P1 X4\nG80\nM30")
    assert stops(program) == []
    assert [z for _, _, z in ends(program)[1:]] == [5, 2, -1, 2, 2, -1, 2, 2, -1, 5, 5, 2, -2, 5]
    assert program.motion.dwell[program.motion.dwell > 0].tolist() == [1.5, 1.5, 1.5, 1.0]
    assert program.motion.kind[-1] == LINE
    again = read(HEAD + "G0 X0 Y0 Z5\nF60\nG81 X1 Z-1 R2\nG0 X2\nG81 X3\nM30")
    assert "needs Z and R" in only_stop(again)[1]


def test_cycles_in_another_plane() -> None:
    """With G18 a hole goes along Y."""
    assert ends(clean("G18 G81 X1 Z2 R3 Y-1"))[-2:] == [(1, -1, 2), (1, 3, 2)]


# -- hostile texts ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("filling", ["1", " ", "\t", "(", "N1 ", "G1X1"])
def test_a_line_of_twenty_megabytes(filling: str) -> None:
    """A line over 256 characters is refused (NISTIR 6556, 3.3.1) at once, however long it is."""
    began = time.perf_counter()
    line, text = only_stop(read(AT_ZERO + filling * (20_000_000 // len(filling)) + "\nM30"))
    assert (line, "a controller takes 256 at most" in text) == (4, True)
    assert len(text) < 400
    assert time.perf_counter() - began < 3


def test_texts_without_end_are_given_up() -> None:
    """Rubbish, a flood of moves and a flood of text each end at their limit, and it is said."""
    rubbish = read_program("\x00\x01\n" * 500_000, file="a.nc", limits=ReadLimits(bad_lines=20))
    assert (len(rubbish.findings), "nothing after this one was" in rubbish.findings[-1].text) == (21, True)
    flood = read_program(AT_ZERO + "G91 G0 X1\n" * 5000, file="a.nc", limits=ReadLimits(moves=1000))
    assert (len(flood.motion), "More than 1000 moves" in only_stop(flood)[1]) == (1001, True)
    big = read_program("G21\n" * 100, file="a.nc", limits=ReadLimits(characters=99))
    assert "at most 99 are read" in only_stop(big)[1]


def test_deep_brackets_are_refused() -> None:
    """Brackets, parameter signs and functions may be nested 30 deep; more is no program of this trade."""
    assert stops(read(AT_ZERO + "G1 X" + "[" * 30 + "1" + "]" * 30 + "\nM30")) == []
    for nested in ("[" * 110 + "1" + "]" * 110, "#" * 240 + "1", "ABS[" * 40 + "1" + "]" * 40):
        assert "more than 30 deep" in only_stop(read(AT_ZERO + f"G1 X{nested}\nM30"))[1]


def test_line_ends() -> None:
    """Any one kind of line end gives the same program; a lone return among line feeds stops."""
    text = AT_ZERO + "G1 X5\nM30\n"
    for line_end in ("\r\n", "\r"):
        other = read(text.replace("\n", line_end))
        assert (ends(other), other.findings, other.motion.line.tolist()) == (ends(read(text)), (), [2, 4])
    assert only_stop(read(AT_ZERO + "G1 X5\rG0 Z5\nM30\n"))[0] == 4


@pytest.mark.parametrize("seed", [1, 2])
def test_spoiled_programs(seed: int) -> None:
    """A thousand spoiled programs: no exception, no lost time, no move that doesn't join the one before."""
    assert [(text, fault) for text in cases(1000, seed) if (fault := fault_of(text))] == []


def test_a_long_program_is_read_whole_and_soon() -> None:
    """A megabyte of moves: each has its line, starts where the last one ended, and takes a second or so."""
    cuts = "".join(f"G1 X{i % 977}.25 Y{i % 1013}.5\n" for i in range(60_000))
    text = f"{HEAD}G0 X0 Y0 Z0\nF600 S9000 M3\n{cuts}M5\nT2 M6\nM30\n"
    began = time.perf_counter()
    program = read_program(text, file="long.nc", cutter=1)
    motion = program.motion
    assert time.perf_counter() - began < 3
    assert set(motion.speed_rpm[1:].tolist()) == {9000}
    assert (set(motion.cutter.tolist()), program.tool_changes) == ({1}, ((60_001, 2),))
    assert motion.line.tolist() == [2, *range(4, 60_004)]
    assert (motion.start[1:] == motion.end[:-1]).all()
    assert motion.end[-1].tolist() == [59_999 % 977 + 0.25, 59_999 % 1013 + 0.5, 0]


# -- the same moves, written in many ways ----------------------------------------------------------------


@dataclass(frozen=True)
class Told:
    """A move as the test tells it: in thousandths of an inch, which are whole tenths of a micrometre."""

    code: int  # 0 to 3
    to: tuple[int, int, int]
    centre: tuple[int, int] = (0, 0)


@dataclass(frozen=True)
class Hand:
    """A way of writing."""

    inch: bool
    incremental: bool
    lower: bool
    between: str
    after: str


HANDS = st.builds(
    Hand,
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["", " ", "\t"]),
    st.sampled_from(["", "M9", "M[9]"]),
)
COUNTS = st.integers(-4000, 4000)


@st.composite
def tales(draw: st.DrawFn) -> list[Told]:
    """Some moves, each from where the last one ended; arcs are quarters, so that all numbers are exact."""
    at = (draw(COUNTS), draw(COUNTS), draw(COUNTS))
    told = [Told(0, at)]
    for _ in range(draw(st.integers(0, 12))):
        code = draw(st.integers(0, 3))
        if code < 2:
            at = (draw(COUNTS), draw(COUNTS), draw(COUNTS))
            told.append(Told(code, at))
            continue
        radius = draw(st.integers(1, 3000))
        centre = (at[0] + radius, at[1])  # from the circle's left side
        at = (centre[0], centre[1] + (radius if code == 2 else -radius), draw(COUNTS))
        told.append(Told(code, at, centre))
    return told


def decimal(count: int, inch: bool) -> str:
    sign, size = "-" if count < 0 else "", abs(count)
    if inch:
        return f"{sign}{size // 1000}.{size % 1000:03d}"
    tenths = size * 254
    return f"{sign}{tenths // 10_000}.{tenths % 10_000:04d}"


def written(told: Sequence[Told], hand: Hand) -> str:
    """The tale as a program, by a writer that shares nothing with the reader or with proveout's own."""
    lines = ["G20" if hand.inch else "G21", "G17", "G90", "F10"]
    at = told[0].to
    for number, move in enumerate(told):
        base = at if hand.incremental and number else (0, 0, 0)
        words = [f"G{move.code}"]
        words += [
            f"{letter}{decimal(there - here, hand.inch)}"
            for letter, there, here in zip("XYZ", move.to, base, strict=True)
        ]
        if move.code > 1:
            words += [
                f"I{decimal(move.centre[0] - at[0], hand.inch)}",
                f"J{decimal(move.centre[1] - at[1], hand.inch)}",
            ]
        lines.append(hand.between.join([*words, hand.after]))
        if hand.incremental and not number:
            lines.append("G91")
        at = move.to
    text = "\n".join([*lines, "M30", ""])
    return text.lower() if hand.lower else text


@given(told=tales(), hand=HANDS)
@settings(max_examples=150, deadline=None)
def test_a_program_means_the_same_however_it_is_written(told: list[Told], hand: Hand) -> None:
    """Inch or millimetre, from the zero or in steps, capitals or not, blanks or none: the same way."""
    program = read(written(told, hand))
    assert program.findings == ()
    motion = program.motion
    assert motion.kind.tolist() == [(RAPID, LINE, ARC, ARC)[move.code] for move in told]
    assert motion.end == pytest.approx(np.array([move.to for move in told]) * 0.0254, abs=1e-6)
    for move, centre, sweep in zip(told, motion.centre, motion.sweep, strict=True):
        if move.code > 1:
            assert centre[:2] == pytest.approx(np.array(move.centre) * 0.0254, abs=1e-6)
            assert sweep == pytest.approx(math.pi / 2 * (-1 if move.code == 2 else 1), abs=1e-6)


@given(told=tales(), hand=HANDS)
@settings(max_examples=60, deadline=None)
def test_the_short_way_reads_as_the_long_one(told: list[Told], hand: Hand) -> None:
    """A code that is worked out (M[9]) sends each line through all the rules; the motion is the same."""
    short = read(written(told, Hand(hand.inch, hand.incremental, hand.lower, hand.between, ""))).motion
    long = read(written(told, Hand(hand.inch, hand.incremental, hand.lower, hand.between, "M[9]"))).motion
    assert_same(short, long)


NUMBERS = st.sampled_from(["0", "-0", "1", "2.5", "-3.", ".75", "10", "+4"])


def word(letter: str) -> st.SearchStrategy[str]:
    """A word with this letter, or more often none."""
    return st.one_of(
        *[st.just("")] * (2 if letter in "XYZ" else 5), NUMBERS.map(lambda value: letter + value)
    )


PLAIN_LINES = st.lists(
    st.tuples(
        st.sampled_from(["", "", "G0", "G1", "G2", "G03", "G3"]),
        *map(word, "FXYZIJKRF"),
        st.sampled_from(["", "", "", "S900", "(a word)", "; F9"]),
    ).map(" ".join),
    max_size=25,
)
OTHER_LINES = st.sampled_from(
    [
        *("G17", "G18", "G19", "G20", "G21", "G90", "G91", "G90.1", "G91.1", "G92 X1", "G92.1", "G93", "G94"),
        *("G40", "G49", "G54", "G55", "G61", "G64 P.1", "G80", "G98", "G99", "G4 P.5", "G4 P99", "G4"),
        *(
            "M3",
            "M4",
            "M5",
            "M8",
            "M9",
            "M0",
            "S800",
            "F300",
            "F0",
            "T2",
            "M6",
            "T3 M6",
            "G43 H3",
            "G43 H2",
            "G43.1 Z4",
        ),
        *(
            "G81 X1 Z-1 R2",
            "G99 G82 Z-2 R1 P1 L2",
            "G83 X2 Z-3 R1 Q1.5",
            "G89 Z-1 R1 P0",
            "X3 Y2",
            "N7 G1 X3",
        ),
        *(
            "#1=3",
            "#2=[#1+1] #3=#2",
            "X#1 Y[#1*2]",
            "G1 X[#2-ABS[-3]] F[#1*100]",
            "X#9",
            "#4=[1/0]",
            "G2 X#1 R9",
        ),
        *(
            "G1 G90 X2",
            "G0 G17 G21 G94 X1 (a) Y2",
            "M8 X4",
            "G1 X1 S901",
            "G53 G0 X1",
            "/X4",
            "N12 /X5",
            "/N9 M9",
        ),
        *(
            "X1 2",
            "X 1 .5",
            "G1 7",
            "# 1 2=4",
            "X#12",
            "x- 4",
            "X--4",
            "G0X1G1",
            "XX",
            "M3 M5",
            "N1234567",
            "N1.5",
        ),
        *(
            "G10 L2 P1 X4",
            "G10 L20 P1 X4",
            "X1 (\u00e9)",
            "(\u00e9)",
            "X\u00e9",
            "X1 (a) ; (b",
            "(a (b))",
            "X(1)2",
        ),
    ]
)
UNUSUAL = f"({SLOT})"
MIXED_LINES = st.lists(OTHER_LINES, max_size=25)


def the_long_way(line: str) -> str:
    """The same line with a comment in which stands what no shape may hold, so that no short cut is taken."""
    return f"/{UNUSUAL}{line[1:]}" if line.startswith("/") else UNUSUAL + line


@given(lines=MIXED_LINES)
@settings(max_examples=300, deadline=None)
def test_a_lines_shape_says_what_its_words_say(lines: list[str]) -> None:
    """Whatever stands on a line, reading it by its shape and word by word finds and makes the same."""
    head = ["G21 G90", "G0 X0 Y0 Z0", "F600 S900 M3"]
    bare = [line for line in lines if not re.match(r"/?\s*N", line)]
    short = read("\n".join([*head, *bare, "M30"]))
    long = read("\n".join([*head, *map(the_long_way, bare), "M30"]))
    assert [found.text for found in short.findings] == [
        re.sub(r"column (\d+)", lambda found: f"column {int(found[1]) - len(UNUSUAL)}", found.text)
        for found in long.findings
    ]
    assert_same(short.motion, long.motion)
    assert (short.stops, short.spin_ups, short.tool_changes, short.units, short.ended) == (
        long.stops,
        long.spin_ups,
        long.tool_changes,
        long.units,
        long.ended,
    )


@given(lines=MIXED_LINES)
@settings(max_examples=100, deadline=None)
def test_line_numbers_change_nothing(lines: list[str]) -> None:
    """With N words before every line that has none the same is found and made."""
    plain = [line for line in lines if "N" not in line]
    bare = read("\n".join(["G21 G90", "G0 X0 Y0 Z0 F600", *plain, "M30"]))
    dressed = [
        "G21 G90",
        "G0 X0 Y0 Z0 F600",
        *(
            line.replace("/", "/N12 ") if "/" in line[:1] else f"N{number} {line}"
            for number, line in enumerate(plain)
        ),
        "M30",
    ]
    assert_same(bare.motion, read("\n".join(dressed)).motion)


SWITCHES = st.lists(
    st.sampled_from(["G17", "G18", "G19", "G20", "G21", "G90", "G91", "G90.1", "G92 X1"]), max_size=4
)


@given(first=PLAIN_LINES, switches=SWITCHES, then=PLAIN_LINES, placed=st.booleans())
@settings(max_examples=150, deadline=None)
def test_the_short_way_judges_as_the_long_one(
    first: list[str], switches: list[str], then: list[str], placed: bool
) -> None:
    """Right lines and wrong ones, in any plane and mode: with M[9] on each nothing else is found or made."""
    lines = ["G21 G90", *(["G0 X0 Y0 Z0"] if placed else []), "F600 S900 M3", *first, *switches, *then, "M30"]
    short = read("\n".join(lines))
    long = read("\n".join(f"M[9] {line}" for line in lines))
    assert [re.sub(r"^column \d+", "", found.text) for found in short.findings] == [
        re.sub(r"^column \d+", "", found.text) for found in long.findings
    ]
    assert_same(short.motion, long.motion)


def assert_same(one: Motion, other: Motion) -> None:
    for name in (
        "kind",
        "start",
        "end",
        "centre",
        "sweep",
        "plane",
        "feed",
        "speed_rpm",
        "dwell",
        "cutter",
        "line",
    ):
        assert (getattr(one, name) == getattr(other, name)).all(), name


# -- programs by others ----------------------------------------------------------------------------------


def shared(name: str) -> str:
    path = SHARED / name
    if not path.exists():
        pytest.skip(f"{path} is not here")
    return path.read_bytes().decode("latin-1")


def shared_rows() -> Iterable[dict[str, str]]:
    index = SHARED / "INDEX.csv"
    return list(csv.DictReader(index.read_text().splitlines())) if index.exists() else []


@pytest.mark.parametrize("row", shared_rows(), ids=lambda row: row["file"])
def test_collected_programs_say_their_units(row: dict[str, str]) -> None:
    """The units that the collection's index states are those that were read."""
    program = read(shared(row["file"]))
    if row["file"] == "nist_cds_two_percent.ngc":  # its G20 stands after the % that ends it
        assert program.units is None
        return
    assert program.units == {"G20": "in", "G21": "mm"}.get(row["units"])
    if row["malformed"] == "yes":
        assert stops(program)


def test_two_helical_turns() -> None:
    """fw_helix_g17: a clockwise and an anticlockwise turn of 1/4 in radius, each down by 3/8 in."""
    program = read(shared("fw_helix_g17.ngc"))
    assert program.findings == ()
    arcs = program.motion.kind == ARC
    assert program.motion.sweep[arcs] == pytest.approx([-math.tau, math.tau])
    rise = (program.motion.end - program.motion.start)[arcs, 2]
    assert rise == pytest.approx([-0.375 * 25.4] * 2)
    assert program.motion.feed[arcs] == pytest.approx([100 * 25.4 / 60] * 2)


def test_nothing_runs_after_the_end() -> None:
    """fw_m2_then_code: the rapid after M2 is not made; the A word of line 3 is refused."""
    program = read(shared("fw_m2_then_code.ngc"))
    assert only_stop(program)[0] == 3
    assert program.motion.end[:, 0] == pytest.approx([-1.2 * 25.4])


def test_the_standards_hello() -> None:
    """nist_c1_hello: X from 0 to 81, Y from 0 to 10, two full circles among five arcs, 20 mm/min."""
    program = read(shared("nist_c1_hello.ngc"))
    motion = program.motion
    assert stops(program) == []
    assert (motion.end.min(axis=0).tolist(), motion.end.max(axis=0).tolist()) == ([0, 0, -0.5], [81, 10, 50])
    turns = np.abs(motion.sweep[motion.kind == ARC])
    assert (len(turns), int(np.isclose(turns, math.tau).sum())) == (5, 2)
    assert motion.feed[motion.kind != RAPID] == pytest.approx(20 / 60)
    assert set(motion.speed_rpm[2:].tolist()) == {4000}


def test_the_standards_expressions() -> None:
    """nist_c2_expressions: every line says in its comment which X must come of it."""
    text = shared("nist_c2_expressions.ngc")
    motion = read(text).motion
    by_line = dict(zip(motion.line.tolist(), motion.end[:, 0].tolist(), strict=True))
    checked = 0
    for number, line in enumerate(text.splitlines(), start=1):
        if "should be " in line:
            due = line.split("should be ")[1].split(")")[0].split(",")[0]
            assert by_line[number] == pytest.approx(float(due), abs=1e-3), line
            checked += 1
    assert checked > 40


def test_the_standards_cycles() -> None:
    """nist_c3_cycles: drilling, pecking and boring are followed; each of the rest is refused."""
    program = read(shared("nist_c3_cycles.ngc"), start=(0.0, 0.0, 50.8))
    refused = {text.split('"')[1] for _, text in stops(program) if "not read here" in text}
    assert refused == {"G84", "G86", "G87", "G88"}
    drilled = program.motion.end[(program.motion.kind == LINE) & (program.motion.line == 3)]
    assert drilled == pytest.approx(np.array([[3, 4, -1.1]]) * 25.4)
    repeats = program.motion.end[(program.motion.kind == LINE) & (program.motion.line == 4)]
    assert repeats[:, :2] == pytest.approx(np.array([[4, 4], [5, 4], [6, 4]]) * 25.4)


def test_a_second_percent_ends_the_program() -> None:
    """nist_cds_two_percent: after the % of line 12 nothing is run, and a person is told."""
    program = read(shared("nist_cds_two_percent.ngc"))
    assert program.ended
    assert program.motion.end[:, 0].tolist() == pytest.approx([30.0])
    assert (14, "program-end") in [(found.line, found.kind) for found in program.findings]


def test_a_window_in_a_plate() -> None:
    """plate_window: once its units are stated, the window is 38.62 by 7.10 mm of path, in three passes."""
    text = shared("plate_window.nc")
    assert [found.kind for found in read(text).findings] == ["units-unstated"]
    program = read("G21 G17\n" + text)
    assert program.findings == ()
    cuts = program.motion.end[(program.motion.kind == LINE) & (program.motion.end[:, 2] < 0)]
    width, height, _ = (cuts.max(axis=0) - cuts.min(axis=0)).tolist()
    assert (round(width, 3), round(height, 3)) == (38.62, 7.1)


def test_a_rotary_program_is_refused_at_its_rotary_words() -> None:
    """rotary_subprograms: both lines with a B word are named, once each however often they are called."""
    found = stops(read(shared("rotary_subprograms.nc")))
    assert [(line, text.split('"')[1]) for line, text in found if "rotary" in text] == [
        (96, "B-360"),
        (140, "B90"),
    ]
    assert len({line for line, _ in found}) == len(found)


def test_a_library_of_subprograms_moves_nothing() -> None:
    """sub_pocket: it defines a subprogram that nothing calls, and has no end of its own."""
    program = read(shared("sub_pocket.ngc"))
    assert (len(program.motion), kinds(program)) == (0, {"program-end"})
