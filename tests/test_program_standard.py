"""Rules of RS274/NGC, each named by its section in NISTIR 6556.

Kramer, Proctor and Messina, The NIST RS274/NGC Interpreter, version 3, NISTIR 6556 (2000), chapter 3. Rules
and section numbers are from memory; no words are quoted. `test_program_read.py` has the worked examples.
"""

import pytest

from proveout.finding import Level
from proveout.program.read import ReadProgram, read_program

AT_ZERO = "G21 G90 G17 G94\nG0 X0 Y0 Z0\nF600\n"


def read(lines: str) -> ReadProgram:
    return read_program(AT_ZERO + lines + "\nM30\n", file="some.nc")


def end(lines: str) -> list[float]:
    """Where the last move of a program ends that has nothing to be said of it."""
    program = read(lines)
    assert program.findings == ()
    return [round(value, 6) for value in program.motion.end[-1].tolist()]


ALLOWED = [
    ("3.2", "%", "no percent line is needed where M2 or M30 ends the program", "G1 X1", [1, 0, 0]),
    ("3.3", "blanks", "blanks and tabs between words mean nothing", "G 1 X\t12.5 Y 1", [12.5, 1, 0]),
    ("3.3.1", "N", "a line number of five digits, which nothing refers to", "N00007 G1 X1", [1, 0, 0]),
    ("3.3.2.1", "number", "a plus sign, and no digit on one side of the point", "G1 X+1. Y-.5", [1, -0.5, 0]),
    ("3.3.2.2", "##", "a parameter sign before a parameter", "#1=2 #2=7\nG1 X##1", [7, 0, 0]),
    ("3.3.2.3", "order", "operations of one level go from left to right", "G1 X[8/4/2] Y[8-4-2]", [1, 2, 0]),
    ("3.3.2.3", "power", "powers bind before products", "G1 X[2*3**2]", [18, 0, 0]),
    ("3.3.2.4", "ATAN", "of two values with a slash between them", "G1 X[ATAN[1]/[-1]]", [135, 0, 0]),
    ("3.3.3", "set", "a line may set several, the last one counts", "#3=6 #3=8\nG1 X#3", [8, 0, 0]),
    ("3.3.4", "comment", "comments may stand between words", "(a) G1 (b) X1 (c)", [1, 0, 0]),
    ("3.3.6", "order", "words may stand in any order", "Y2 X1 G1", [1, 2, 0]),
    ("3.4", "modal", "a code holds until another of its group", "G1 X1\nG91\nX1\nX1", [3, 0, 0]),
    ("3.5.1", "G0", "axes that are not named stay", "G0 X1\nG0 Y2", [1, 2, 0]),
    ("3.5.3.2", "I", "only one offset is needed", "G2 X2 I1", [2, 0, 0]),
    ("3.5.6", "G19", "the plane of an arc", "G19 G2 Y2 J1", [0, 2, 0]),
    ("3.5.7", "G20", "lengths in inches from its own line on", "G20\nG0 X1", [25.4, 0, 0]),
    (
        "3.5.15",
        "G80",
        "ends a cycle, and the next move needs its code",
        "G81 X1 Z-1 R1\nG80\nG0 X2 Z0",
        [2, 0, 0],
    ),
    ("3.5.16", "sticky", "R and Z hold for the next hole", "G99 G81 X1 Z-1 R1\nX2", [2, 0, 1]),
    ("3.5.17", "G91", "from where the cutter stands", "G91 G0 X1\nX1 Y1", [2, 1, 0]),
    ("3.5.19", "G93", "minutes upside down, on every move", "G93 G1 X1 F2\nX2 F4", [2, 0, 0]),
    ("3.5.20", "G99", "a cycle returns to R", "G0 Z9\nG99 G81 X1 Z-1 R2", [1, 0, 2]),
    ("3.6.1", "M0", "waits and goes on", "M0\nG1 X1", [1, 0, 0]),
    ("3.6.4", "M8", "coolant moves nothing", "M8\nG1 X1 M9", [1, 0, 0]),
]


@pytest.mark.parametrize(
    ("section", "what", "rule", "lines", "due"), ALLOWED, ids=lambda value: str(value)[:24]
)
def test_what_the_standard_allows(section: str, what: str, rule: str, lines: str, due: list[float]) -> None:
    """Each line means what its section says, without a word about it."""
    assert end(lines) == due, f"{section} {what}: {rule}"


def test_blanks_inside_a_number_mean_nothing_and_are_told() -> None:
    """3.3 lets blanks and tabs stand anywhere; the number is read so, and one stop asks about it."""
    program = read("G 1 X\t1 2 . 5")
    ((line, level),) = ((found.line, found.level) for found in program.findings)
    assert (line, level) == (4, Level.STOP)
    assert program.motion.end[-1].tolist() == [12.5, 0, 0]


FORBIDDEN = [
    ("3.3.1", "a line number with a point", "N1.5 G1 X1"),
    ("3.3.2.1", "a value that is far from whole where a whole one is needed", "T2.3"),
    ("3.3.2.2", "a parameter below 1 or above 5399", "#5400=1"),
    ("3.3.2.3", "a division by zero", "G1 X[1/0]"),
    ("3.3.2.4", "the root of a negative number", "G1 XSQRT[-1]"),
    ("3.3.4", "a comment within a comment", "(a (b))"),
    ("3.3.4", "a comment that is not closed", "G1 X1 (a"),
    ("3.3.5", "two words with one letter", "G1 X1 X2"),
    ("3.3.5", "two codes of one modal group", "G20 G21"),
    ("3.3.5", "more than four M words", "M0 M3 M8 M48 M6 T1"),
    ("3.4", "a code of group 1 and one of group 0 that both use axis words", "G0 G92 X1"),
    ("3.5.1", "G0 without axis words", "G0"),
    ("3.5.2", "G1 without axis words", "G1"),
    ("3.5.3", "radii that differ by more than 0.002 mm", "G2 X2 I1.01"),
    ("3.5.3.1", "R with the end where the start is", "G2 X0 Y0 R1"),
    ("3.5.3.2", "both offsets left out", "G2 X1"),
    ("3.5.3.2", "an offset of an axis out of the plane", "G2 X2 I1 K1"),
    ("3.5.4", "a negative dwell", "G4 P-1"),
    ("3.5.5", "P of G10 that is none of 1 to 9", "G10 L2 P10 X1"),
    ("3.5.12", "G53 without G0 or G1 in force", "G80\nG53 X1"),
    ("3.5.16", "a cycle without X, Y or Z", "G81 R1"),
    ("3.5.16", "L that is zero", "G81 X1 Z-1 R1 L0"),
    ("3.5.16", "R below Z", "G81 X1 Z2 R1"),
    ("3.5.16.2", "G82 without P", "G82 X1 Z-1 R1"),
    ("3.5.16.3", "G83 with Q of nothing", "G83 X1 Z-1 R1 Q0"),
    ("3.5.18", "G92 without axis words", "G92"),
    ("3.5.19", "inverse time without F on the line", "G93 G1 X1"),
    ("3.7.2", "a negative speed of the spindle", "S-1"),
    ("3.7.3", "a negative number of a cutter", "T-1"),
]


@pytest.mark.parametrize(("section", "rule", "lines"), FORBIDDEN, ids=lambda value: str(value)[:24])
def test_what_the_standard_forbids(section: str, rule: str, lines: str) -> None:
    """Each is one stop at its line and column, and the line after it is read."""
    program = read(lines + "\nG0 X7 Y8 Z9")
    (stop,) = (found for found in program.findings if found.level is Level.STOP)
    assert stop.line == 4 + lines.count("\n"), f"{section}: {rule}"
    assert stop.text.startswith("column ")
    assert program.motion.end[-1].tolist() == [7, 8, 9]
