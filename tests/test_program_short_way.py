"""The short way of reading a line against the long one: the same motion, events, lacks and other findings.

The long way reads every line word by word. It is what the other tests of the reader hold to the standard;
here the short way is turned off, and nothing else may change.
"""

from collections.abc import Callable
from dataclasses import fields
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuzz_reader import SEEDS
from proveout.finding import Level
from proveout.job.read import read_job
from proveout.job.records import DialectName
from proveout.motion import Motion
from proveout.plan import plan
from proveout.program import read as reader
from proveout.program.abilities import ABILITIES, Abilities
from proveout.program.read import ReadLimits, ReadProgram, read_program

EXAMPLES = Path(__file__).parent.parent / "examples"
SHARED = Path(__file__).parent.parent.parent / "shared" / "programs"
DIALECTS = st.sampled_from(sorted(ABILITIES))
LIMITS = ReadLimits(steps=10**9, block_length=24)  # a line that is read word by word costs more steps
HEAD = "G21 G90 G17\nG0 X0 Y0 Z0\nF600 S900 M3"

Short = Callable[["reader._Reading", str, int], bool]


def read(text: str, able: Abilities, short: Short | None = None) -> ReadProgram:
    with pytest.MonkeyPatch.context() as patch:
        if short:
            patch.setattr(reader._Reading, "read_short", short)
        return read_program(text, file="a.nc", cutter=1, able=able, limits=LIMITS)


def never(reading: "reader._Reading", raw: str, number: int) -> bool:
    return False


def assert_same(text: str, able: Abilities) -> ReadProgram:
    """Everything that is known of a program, by both ways."""
    short, long = read(text, able), read(text, able, never)
    assert short.findings == long.findings
    assert short.events == long.events
    assert same_motion(short.motion, long.motion)
    for name in ("units", "tool_changes", "stops", "spin_ups", "ended", "placed_from", "zero"):
        assert getattr(short, name) == getattr(long, name), name
    return short


def same_motion(one: Motion, other: Motion) -> bool:
    names = (field.name for field in fields(Motion))
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in names)


# -- programs --------------------------------------------------------------------------------------------


@cache
def programs() -> dict[str, str]:
    """Those of the examples, planned or bought, those that the fuzzer spoils, and collected ones if here."""
    found = {path.name: path.read_text() for path in sorted(EXAMPLES.glob("*/*.nc"))}
    for job in sorted(EXAMPLES.glob("*/job.toml")):
        for program in plan(read_job(job)).programs:
            found[f"{job.parent.name} {program.file}"] = program.text
    found |= {f"seed {number}": text for number, text in enumerate(SEEDS)}
    for path in sorted(SHARED.glob("*.n*c*")):
        found[path.name] = path.read_bytes().decode("latin-1")
    return found


@pytest.mark.parametrize("dialect", sorted(ABILITIES))
def test_whole_programs_are_read_alike(dialect: DialectName) -> None:
    """Motion, events and findings of every program, for every controller."""
    for name, text in programs().items():
        program = assert_same(text, ABILITIES[dialect])
        assert program.events or program.findings, name


def test_the_short_way_is_taken() -> None:
    """Almost every line of the planned programs, or the comparison above would say nothing."""
    taken = {True: 0, False: 0}
    true_way = reader._Reading.read_short

    def counted(reading: "reader._Reading", raw: str, number: int) -> bool:
        took = true_way(reading, raw, number)
        taken[took] += 1
        return took

    for name, text in programs().items():
        if name.startswith(("clamp-kit", "inch-knobs")):
            read(text, ABILITIES["plain"], counted)
    assert taken[True] > 5_000
    assert taken[False] < taken[True] / 50


# -- lines -----------------------------------------------------------------------------------------------

SPINDLE = (
    "M3",
    "M4",
    "M5",
    "S0",
    "S800",
    "S900",
    "S900 M3",
    "M5 S0",
    "M4 M8",
    "X1 S0",
    "X1 S900",
    "G1 X2 M3 S5",
)
WAITS = ("M0", "M1", "M60", "M0 X1", "G4 P1", "G4 P0", "G4 P[1/4]", "M2", "M30", "X3 M5", "G81 Z-1 R1 X1 M0")
ZEROS = (
    "G54",
    "G54 X1",
    "G54 G0 X2",
    "G55",
    "G10 L2 P1 X4",
    "G10 L2 P2 X4 Y0 Z0",
    "G92 X1",
    "G92.1",
    "G59.1",
)
LACKING = (
    *(
        "T1",
        "T2",
        "T1 M6",
        "T2 M6",
        "M6",
        "T#1",
        "G43 H1",
        "G43.1 Z4",
        "G49",
        "G18",
        "G19",
        "G17",
        "G18 G0 X1",
    ),
    *("G81 X1 R2 Z-1", "G82 X2 R2 Z-1 P1", "X5 Y5", "X6 R3", "G80", "G83 X1 R2 Z-1 Q1 L2"),
    *("G2 X4 Y0 R2", "G3 X0 Y0 R-9", "G2 X1 I1", "R2 X3", "M9 G2 X4 Y0 R2", "G1 X3 R2", "/M9", "N9 T1"),
)
PARAMETERS = ("#1=2", "#1=1", "G1 X[1+2]", "X#1", "Y[#1*2] R3", "G1 X1 (#1)", "M9 (#1 = [2])", "#7=[1/0]")
SPLIT = (
    "X5 2.6",
    "G1 . X1",
    "M3 .",
    "G 1 X 2",
    "N1 0 X1",
    "N10 X1",
    "S9 00",
    "M5 (1 2)",
    "X1 ;2 3",
    "X 4 . 5",
    "#1 =2",
)
LONG = (
    "G1 X1.0000 Y2.0000000 Z3.00",
    "M9 (a long comment in brackets)",
    "G1 X2 (a long comment in brackets)",
    "G1 X1 Y2 F600 S900 M3 M8 (a)",
    "M5                                 M9",
)
PLAIN = (
    "",
    "(a)",
    "G0 X1",
    "G1 X2 Y3",
    "Z-1",
    "G91",
    "G90",
    "G20",
    "G21",
    "F300",
    "M8",
    "G94",
    "G93",
    "x- 4",
    "X--4",
)
BRANCHES = (
    *("o1 repeat [3]", "o1 endrepeat", "o2 if [#1 EQ 2]", "o2 else", "o2 endif", "o3 sub", "o3 endsub"),
    *("o3 call", "/o3 call", "o3 call [1 0]", "o<a 1 2> call", "o4 call (a long comment in brackets)"),
)
LINES = st.lists(
    st.one_of(
        *(
            st.sampled_from(kind)
            for kind in (SPINDLE, WAITS[:-4], ZEROS, LACKING, LACKING, PARAMETERS, SPLIT)
        ),
        st.sampled_from((*LONG, *PLAIN, *WAITS)),
    ),
    max_size=25,
)


@given(lines=LINES, dialect=DIALECTS, headed=st.booleans())
@settings(max_examples=400, deadline=None)
def test_lines_are_read_alike(lines: list[str], dialect: DialectName, headed: bool) -> None:
    """Whatever stands on the lines, and whatever the controller takes."""
    assert_same("\n".join([*([HEAD] if headed else []), *lines, "M30", ""]), ABILITIES[dialect])


@given(
    line=st.sampled_from((*SPINDLE, *WAITS, *ZEROS, *LACKING, *PARAMETERS, *SPLIT, *LONG, *PLAIN)),
    times=st.integers(2, 3),
)
@settings(max_examples=200, deadline=None)
def test_a_line_that_comes_again_is_read_alike(line: str, times: int) -> None:
    """In a loop a line is known from its first pass; it is told once all the same."""
    loop = f"{HEAD}\n#1=1\no1 repeat [{times}]\n{line}\no1 endrepeat\nM30\n"
    for able in ABILITIES.values():
        program = assert_same(loop, able)
        told = [(found.line, found.kind, found.text) for found in program.findings]
        assert len(set(told)) == len(told)


@given(
    lines=st.lists(st.sampled_from((*BRANCHES, *SPINDLE[:6], *LACKING, *PARAMETERS)), max_size=20),
    dialect=DIALECTS,
)
@settings(max_examples=200, deadline=None)
def test_lines_among_o_words_are_read_alike(lines: list[str], dialect: DialectName) -> None:
    """Subprograms, loops and choices, whole or broken."""
    assert_same("\n".join([HEAD, "#1=1", *lines, "M30", ""]), ABILITIES[dialect])


# -- what the short way must not miss --------------------------------------------------------------------


def test_events_of_lone_words() -> None:
    """The spindle by lone M and S words, each line an event where something changed, and none where not."""
    lines = ["G21 G90", "S900", "M3", "M3", "M4", "S0", "S800", "M8", "M5", "M5", "M30"]
    events = read_program("\n".join(lines), file="a.nc").events
    assert [(event.what, event.line, event.turning) for event in events] == [
        ("on", 3, True),
        ("reversed", 5, True),
        ("off", 6, False),
        ("on", 7, True),
        ("off", 9, False),
        ("end", 11, False),
    ]


def test_events_of_a_loop_come_each_time() -> None:
    """What happens three times is three events, each before the move that follows it."""
    text = f"{HEAD}\no1 repeat [3]\nG1 X1\nM5\nG4 P1\nS900 M3\no1 endrepeat\nM30\n"
    events = read_program(text, file="a.nc").events
    assert [(event.what, event.before, event.line) for event in events] == [
        ("on", 1, 3),
        *(
            (what, 2 + turn, line)
            for turn in range(3)
            for what, line in (("off", 6), ("dwell", 7), ("on", 8))
        ),
        ("end", 4, 10),
    ]


@pytest.mark.parametrize("line", ["G2 X4 Y0 R2", "X[1+2]", "T1", "M1", "G18", "G43 H1", "G81 X1 R2 Z-1"])
def test_a_lack_is_told_at_its_first_line(line: str) -> None:
    """Once, at the first line that holds it, though lines of its shape come many times."""
    program = read(f"{HEAD}\nM8\n{line}\nM9\n{line}\n{line}\nM30\n", ABILITIES["plain"])
    assert [one.line for one in program.findings if one.kind == "controller-lacks"] == [5]


@pytest.mark.parametrize("line", ["G1 . X1", "M3 .", "X5 2.6", "N10 X1 0"])
def test_each_split_number_is_told(line: str) -> None:
    """At every line that has one: each is a number of its own to look at."""
    program = read(f"{HEAD}\nM8\n{line}\nM9\n{line}\nM30\n", ABILITIES["full"])
    assert [one.line for one in program.findings if one.level is Level.STOP] == [5, 7]
