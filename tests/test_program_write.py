"""The writer: what it writes, the strict reader reads back to the same motion, in every dialect."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fit_bench import a_job, flat_cutter
from proveout.finding import Level
from proveout.job.records import DialectName, Machine
from proveout.motion import ARC, XY, ZX, Motion, MotionBuilder, Run, Section, chords, lengths, shifted
from proveout.program.read import read_program
from proveout.program.text import Program
from proveout.program.write import Heading, WriteError, write_outline_check, write_programs
from proveout.quantity import System

HEADING = Heading(
    title="test (with brackets) ; and more",
    notes=(
        "stock: birch plywood, 300 mm x 200 mm, a long note that a small controller could not take in one",
    ),
    zero_words="left front corner of the stock, on the bed",
)
DIALECTS: tuple[DialectName, ...] = ("plain", "full", "iso")
SYSTEMS: tuple[System, ...] = ("mm", "in")


def machine(dialect: DialectName = "plain", units: System = "mm") -> Machine:
    """A small machine that takes short lines."""
    return replace(a_job().shop.machine, dialect=dialect, units=units, line_limit=70)


def a_run(cutter: int = 1) -> Run:
    """A rapid, a ramp, a helix, a full turn at depth, a small arc, out."""
    moves = MotionBuilder((0.0, 0.0, 40.0))
    moves.cutter, moves.speed_rpm, moves.feed = cutter, 18_000.0, 20.0
    moves.rapid((30.0, 20.0, 40.0))
    moves.rapid((30.0, 20.0, 13.0))
    moves.feed = 5.0
    moves.line_to((30.0, 20.0, 12.0))
    moves.arc_to((30.0, 20.0, 9.0), (27.0, 20.0), 2 * math.tau)
    moves.feed = 20.0
    moves.arc_to((30.0, 20.0, 9.0), (27.0, 20.0), -math.tau)
    moves.arc_to((30.0003, 20.002, 9.0), (27.0, 20.0), math.atan2(0.002, 3.0003))
    moves.line_to((60.123456, 20.0, 9.0))
    moves.rapid((60.123456, 20.0, 40.0))
    return Run(cutter=cutter, motion=moves.motion(), sections=(Section(0, "knob 1: head recess"),))


def written(
    runs: list[Run],
    dialect: DialectName = "plain",
    units: System = "mm",
    zero: tuple[float, float, float] = (0, 0, 0),
) -> tuple[Program, ...]:
    """The programs of some runs."""
    cutters = tuple(flat_cutter(number, 3.0 * number, 15.0) for number in (1, 2))
    return write_programs(runs, machine=machine(dialect, units), cutters=cutters, zero=zero, heading=HEADING)


def points(motion: Motion) -> list[tuple[float, ...]]:
    """The motion as points along it, 0.002 mm chords, repeats left out."""
    pieces = chords(motion, 0.002)
    way = np.vstack((pieces.start[:1], pieces.end))
    keep = np.concatenate(([True], np.linalg.norm(np.diff(way, axis=0), axis=1) > 1e-3))
    return [tuple(row) for row in way[keep].tolist()]


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("units", SYSTEMS)
def test_what_is_written_reads_back_as_the_same_motion(dialect: DialectName, units: System) -> None:
    """Every dialect, in inches and millimetres, means the motion that went in, to a micrometre."""
    zero = (12.5, -3.0, 11.9)
    run = a_run()
    (program,) = written([run], dialect, units, zero)
    read = read_program(program.text, file=program.file, cutter=1, start=(-12.5, 3.0, 40.0 - 11.9))
    assert all(finding.level is Level.NOTE for finding in read.findings)
    assert read.units == units
    there = shifted(read.motion, zero)
    cutting = there.feed > 0
    assert lengths(there)[cutting].sum() == pytest.approx(
        lengths(run.motion)[run.motion.feed > 0].sum(), abs=0.01
    )
    mine, its = np.array(points(run.motion)), np.array(points(there))
    gaps = np.linalg.norm(mine[:, None, :] - its[None, :, :], axis=2).min(axis=1)
    assert gaps.max() < 0.25, "no point of the motion is far from a point read back"
    assert np.allclose(there.end[-1], run.motion.end[-1], atol=1e-3)
    assert set(there.speed_rpm[cutting].tolist()) == {18_000.0}
    slow, quick = min(run.motion.feed[run.motion.feed > 0]), max(run.motion.feed)
    assert there.feed[cutting].min() == pytest.approx(slow, rel=0.02)
    assert there.feed[cutting].max() == pytest.approx(quick, rel=0.02)


@pytest.mark.parametrize("dialect", DIALECTS)
def test_lines_are_short_plain_and_closed(dialect: DialectName) -> None:
    """No line is longer than the controller takes, all is ASCII capitals, and comments can't close early."""
    for program in written([a_run(1), a_run(2)], dialect):
        for line in program.text.splitlines():
            assert len(line) <= 70
            assert line.isascii()
            assert line == line.upper()
            assert line.count("(") == line.count(")") <= 1


def test_a_plain_controller_gets_one_program_a_cutter_and_no_tool_words() -> None:
    """Two cutters make two programs; none has a T word, a tool change or a length table."""
    programs = written([a_run(1), a_run(2)], "plain")
    assert [program.cutters for program in programs] == [(1,), (2,)]
    assert [program.file for program in programs] == ["1-3-two-flute.nc", "2-6-two-flute.nc"]
    for program in programs:
        blocks = [line for line in program.text.splitlines() if not line.startswith("(")]
        assert not any(word in block for block in blocks for word in ("T", "M6", "G43", "%", "N"))


@pytest.mark.parametrize("dialect", ["full", "iso"])
def test_a_tool_changer_gets_one_program_that_changes_tools(dialect: DialectName) -> None:
    """One program; the spindle stands before each change, and the length is taken from the table after it."""
    (program,) = written([a_run(1), a_run(2)], dialect)
    assert program.cutters == (1, 2)
    words = [line.split(" ", 1)[1] if line[:1] == "N" else line for line in program.text.splitlines()]
    for number in (1, 2):
        change = words.index(f"T{number} M6")
        assert words[change - 1] == "M5"
        assert words[change + 1] == f"G43 H{number}"
        assert words[change + 2].startswith("G0 Z"), "first of all, up to the safe height"
    read = read_program(program.text, file=program.file, start=(0, 0, 40))
    assert [cutter for _, cutter in read.tool_changes] == [1, 2]


def test_iso_stands_between_percent_signs_and_numbers_its_blocks() -> None:
    """ISO 6983-1: program start and end marks, N words in rising order."""
    (program,) = written([a_run()], "iso")
    lines = program.text.splitlines()
    assert (lines[0], lines[-1]) == ("%", "%")
    numbers = [int(line.split(" ")[0][1:]) for line in lines if line.startswith("N")]
    assert numbers == sorted(set(numbers))


def test_the_spindle_turns_and_has_run_up_before_the_first_cut() -> None:
    """Start, dwell of the stated time, and only then a move below the safe height."""
    (program,) = written([a_run()])
    lines = program.text.splitlines()
    start = lines.index("S18000 M3")
    assert lines[start + 1] == f"G4 P{machine().spindle.spin_up:.1f}"
    assert lines.index("G0 Z40") < start < next(i for i, line in enumerate(lines) if line.startswith("G1 "))
    assert lines[-2:] == ["M5", "M30"]


def test_a_change_of_speed_within_a_run_is_written_with_time_to_reach_it() -> None:
    """Where the planner changes speed, the program says so and waits."""
    moves = MotionBuilder((0.0, 0.0, 40.0))
    moves.cutter, moves.speed_rpm, moves.feed = 1, 18_000.0, 20.0
    moves.rapid((10.0, 0.0, 40.0))
    moves.speed_rpm = 8_000.0
    moves.rapid((20.0, 0.0, 40.0))
    (program,) = written([Run(cutter=1, motion=moves.motion(), sections=())])
    lines = program.text.splitlines()
    assert lines[lines.index("S8000 M3") + 1].startswith("G4 P")


def test_the_outline_check_never_starts_the_spindle() -> None:
    """A program to be watched with the spindle off has no M3, no S and no cutter."""
    moves = MotionBuilder((0.0, 0.0, 50.0))
    moves.feed = 20.0
    moves.line_to((100.0, 0.0, 50.0))
    run = Run(cutter=0, motion=moves.motion(), sections=())
    for dialect in DIALECTS:
        program = write_outline_check(run, machine=machine(dialect), zero=(0, 0, 0), heading=HEADING)
        blocks = [line for line in program.text.splitlines() if not line.startswith("(")]
        assert not any("M3" in block.split() or " S" in block or "T" in block for block in blocks)
        assert program.cutters == ()
        read = read_program(program.text, file=program.file, start=(0, 0, 60))
        assert not read.motion.speed_rpm.any()


def test_an_arc_in_another_plane_is_refused() -> None:
    """The writer has no words for an arc that stands upright, and says so."""
    moves = MotionBuilder((0.0, 0.0, 40.0))
    moves.cutter, moves.speed_rpm, moves.feed = 1, 18_000.0, 20.0
    moves.arc_to((0.0, 0.0, 40.0), (50.0, 0.0), math.tau, ZX)
    with pytest.raises(WriteError, match="XY plane"):
        written([Run(cutter=1, motion=moves.motion(), sections=())])


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.floats(-200, 200),
            st.floats(-200, 200),
            st.floats(0.02, 150),
            st.floats(-6.2, 6.2),
            st.floats(-2, 2),
        ),
        min_size=1,
        max_size=12,
    ),
    st.sampled_from(SYSTEMS),
)
def test_any_arc_survives_rounding(
    arcs: list[tuple[float, float, float, float, float]], units: System
) -> None:
    """Rounded to the last decimal, both radii of every arc still agree: the strict reader takes it."""
    moves = MotionBuilder((0.0, 0.0, 40.0))
    moves.cutter, moves.speed_rpm, moves.feed = 1, 18_000.0, 20.0
    for x, y, radius, sweep, rise in arcs:
        moves.line_to((x, y, 10.0))
        centre = (x - radius, y)
        end = (centre[0] + radius * math.cos(sweep), centre[1] + radius * math.sin(sweep), 10.0 + rise)
        if abs(sweep) * radius > 1e-3:
            moves.arc_to(end, centre, sweep)
    motion = moves.motion()
    (program,) = written([Run(cutter=1, motion=motion, sections=())], "plain", units)
    read = read_program(program.text, file=program.file, cutter=1, start=(0, 0, 40))
    assert not read.findings
    assert lengths(read.motion).sum() == pytest.approx(lengths(motion).sum(), abs=0.01 + 0.002 * len(motion))
    assert np.allclose(read.motion.end[-1], motion.end[-1], atol=1e-3)
    assert not ((read.motion.kind == ARC) & (read.motion.plane != XY)).any()
