"""Words that the stated machine's controller doesn't take.

What small controllers lack is common practice, no source; that the "plain" record lacks a changer and cycles
is said in docs/job-file.md.
"""

import pytest

from proveout.job.records import DialectName
from proveout.program.abilities import ABILITIES
from proveout.program.read import ReadLimits, ReadProgram, read_program

HEAD = "G21 G90 G17\nG0 X0 Y0 Z5\nF600\n"


def read(lines: str, dialect: DialectName = "plain", limits: ReadLimits | None = None) -> ReadProgram:
    """A program read as a controller of this dialect takes it."""
    return read_program(
        HEAD + lines + "\nM30\n", file="a.nc", cutter=1, able=ABILITIES[dialect], limits=limits
    )


def lacking(program: ReadProgram) -> list[tuple[str, int | None, str]]:
    """Level, line and the text's beginning of what the controller lacks."""
    return [
        (one.level.value, one.line, one.text.split(": ")[0])
        for one in program.findings
        if one.kind == "controller-lacks"
    ]


@pytest.mark.parametrize(
    ("line", "level", "place"),
    [
        ("T1", "caution", 'column 1, "T1"'),
        ("T1 M6", "caution", 'column 1, "T1"'),
        ("T2 M6", "stop", 'column 1, "T2"'),
        ("G43 H1", "stop", 'column 1, "G43"'),
        ("G99 G81 X1 R2 Z-1", "stop", 'column 5, "G81"'),
        ("G83 X1 R2 Z-1 Q1", "stop", 'column 1, "G83"'),
        ("G2 X4 Y0 R2", "caution", 'column 10, "R2"'),
        ("M9 G2 X4 Y0 R2", "caution", 'column 13, "R2"'),
        ("G18", "caution", 'column 1, "G18"'),
        ("#1=2", "stop", 'column 1, "#1=2"'),
        ("G1 X[1+2]", "stop", 'column 5, "[1+2]"'),
        ("M60", "caution", 'column 1, "M60"'),
        ("M1", "caution", 'column 1, "M1"'),
    ],
)
def test_words_that_a_plain_controller_does_not_take(line: str, level: str, place: str) -> None:
    """Each is told at its line and column, on a machine of the plain dialect and on no full one."""
    assert lacking(read(line)) == [(level, 4, place)]
    assert lacking(read(line, "full")) == []


def test_a_zero_beyond_the_six_is_told() -> None:
    """G59.1 before the first move is read, and not taken by a plain controller."""
    text = "G21 G90 G17 G59.1\nG0 X0 Y0 Z5\nM30\n"
    assert lacking(read_program(text, file="a.nc", able=ABILITIES["plain"])) == [
        ("stop", 1, 'column 13, "G59.1"')
    ]


def test_o_words_are_told() -> None:
    """A plain controller has no subprograms and no loops (common practice, no source); told once."""
    loop = "o1 repeat [2]\nG1 X1\no1 endrepeat\no2 repeat [1]\no2 endrepeat"
    assert lacking(read(loop)) == [
        ("stop", 4, 'column 1, "O1 repeat"'),
        ("stop", 4, 'column 11, "[2]"'),
    ]
    assert lacking(read(loop, "full")) == []


def test_the_line_of_an_o_word_is_judged_like_any_other() -> None:
    """Its length, and blanks inside its numbers; a name may have them."""
    lines = "o<a 1 2> repeat [1 0]\nG1 X1\no<a 1 2> endrepeat"
    program = read(lines, "full", ReadLimits(block_length=20))
    assert [(one.line, one.text[:26]) for one in program.findings] == [
        (4, "A line of 21 characters wi"),
        (4, 'column 18, "1 0": blanks i'),
    ]
    assert len(program.motion) == 11


def test_what_every_controller_takes_is_silent() -> None:
    """Straight moves, arcs by their centre, helices, dwells, stops, line numbers, comments."""
    lines = "N10 G1 X1 (G81 R2 #1 [)\nG2 X3 Y0 I1 ; T2\nG3 X3 Y0 Z1 I-1 J0\nG4 P1\nS9000 M3\nM0\nM5\nG54"
    assert lacking(read(lines.replace("[", ""))) == []
    assert lacking(read("G1 X1 (#1 = [2])\nM9 (#1 = [2])")) == []


def test_a_kept_cycle_is_told_once() -> None:
    """The second hole of a cycle, without its code on the line, adds nothing; a T that changes does."""
    assert len(lacking(read("G81 X1 R2 Z-1\nX2\nX3"))) == 1
    assert [one[0] for one in lacking(read("T1\nT1\nT2"))] == ["caution", "stop"]


def test_what_the_controller_lacks_is_read_all_the_same() -> None:
    """The moves are proved as the standard has them, whatever the controller makes of them."""
    plain, full = (read("G81 X1 Y2 R2 Z-1", dialect) for dialect in ("plain", "full"))
    assert plain.motion.end.tolist() == full.motion.end.tolist()


def test_a_line_longer_than_the_controller_takes() -> None:
    """The machine's line limit counts what is not comment."""
    limits = ReadLimits(block_length=20)
    assert lacking(read("G1 X1.0000 Y2.000000", limits=limits)) == []
    assert lacking(read("G1 X1 (a long comment in brackets)", limits=limits)) == []
    (found,) = lacking(read("G1 X1.0000 Y2.0000000\nG1 X1.0000 Y2.00000000", limits=limits))
    assert found[:2] == ("caution", 4)
    assert "21 characters" in found[2]


def test_a_program_that_must_stand_between_two_percents() -> None:
    """ISO 6983-1 has a program begin with % (from memory)."""
    assert [one[1] for one in lacking(read("G1 X1", "iso"))] == [1]
    framed = read_program(f"%\n{HEAD}G1 X1\nM30\n%\n", file="a.nc", able=ABILITIES["iso"])
    assert lacking(framed) == []
