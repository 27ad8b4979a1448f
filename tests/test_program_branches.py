"""O words: subprograms, loops and choices of a program, followed, bounded and located.

RS274/NGC (NISTIR 6556) has none; what is tested is their common extension as manuals of controllers that
descend from it describe it. Programs are checked against the same moves written out, or a plain loop.
"""

import math
import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.finding import Level
from proveout.program.read import ReadLimits, ReadProgram, read_program

HEAD = "G21 G90 G17 G94\nG0 X0 Y0 Z0\nF600\n"  # three lines
FEW = ReadLimits(steps=20_000, moves=5_000)


def read(text: str, limits: ReadLimits = FEW) -> ReadProgram:
    return read_program(text, file="some.nc", limits=limits)


def places(program: ReadProgram) -> list[float]:
    """The X of each move after the first."""
    return [round(x, 6) for x in program.motion.end[1:, 0].tolist()]


def run(lines: str) -> list[float]:
    """The X of each move of a program that has nothing to be said of it."""
    program = read(HEAD + lines + "\nM30\n")
    assert program.findings == ()
    return places(program)


def stops(program: ReadProgram) -> list[tuple[int | None, str]]:
    return [(found.line, found.text) for found in program.findings if found.level is Level.STOP]


def only_stop(lines: str) -> tuple[int, str]:
    """Line, counted from the one after the head, and text of the only stop."""
    ((line, text),) = stops(read(HEAD + lines + "\nM30\n"))
    return (line or 0) - 3, text


# -- what they do ----------------------------------------------------------------------------------------


def test_a_while_loop_may_go_round_never() -> None:
    """Its value is looked at before each pass."""
    assert run("#1=1\no1 while [#1 LE 3]\nG1 X#1\n#1=[#1+1]\no1 endwhile") == [1, 2, 3]
    assert run("#1=9\no1 while [#1 LE 3]\nG1 X#1\no1 endwhile\nG1 X5") == [5]


def test_a_do_loop_goes_round_at_least_once() -> None:
    """Its value is looked at after each pass, on the line of its while."""
    assert run("#1=1\no1 do\nG1 X#1\n#1=[#1+1]\no1 while [#1 LE 3]") == [1, 2, 3]
    assert run("#1=9\no1 do\nG1 X#1\n#1=[#1+1]\no1 while [#1 LE 3]") == [9]


def test_a_repeat_loop_counts_by_itself() -> None:
    """It goes round as often as its value said at the start, which may be never."""
    assert run("#1=3\no1 repeat [#1]\n#1=[#1+1]\nG1 X#1\no1 endrepeat\nG1 X0") == [4, 5, 6, 0]
    assert run("o1 repeat [0]\nG1 X9\no1 endrepeat\nG1 X5") == [5]


@pytest.mark.parametrize(("value", "place"), [(1, 10), (2, 20), (3, 30), (4, 40)])
def test_one_branch_of_a_choice_is_run(value: int, place: int) -> None:
    """The first whose value is not zero, or the else."""
    text = (
        f"#1={value}\no1 if [#1 EQ 1]\nG1 X10\no1 elseif [#1 EQ 2]\nG1 X20\no1 elseif [#1 EQ 3]\nG1 X30\n"
        "o1 else\nG1 X40\no1 endif\nG1 X0"
    )
    assert run(text) == [place, 0]


@pytest.mark.parametrize(
    ("left", "word", "right", "holds"),
    [
        *(
            (1, "EQ", 1, True),
            (1, "NE", 1, False),
            (2, "GT", 1, True),
            (1, "GE", 1, True),
            (1, "LT", 1, False),
        ),
        *(
            (1, "LE", 1, True),
            (1, "GT", 1, False),
            (1, "LT", 2, True),
            (1, "GE", 2, False),
            (2, "LE", 1, False),
        ),
    ],
)
def test_comparisons(left: int, word: str, right: int, holds: bool) -> None:
    """Both sides are worked out first, and logic comes last."""
    lines = f"o1 if [{left}+1 {word} {right}+1]\nG1 X1\no1 else\nG1 X2\no1 endif"
    assert run(lines) == [1 if holds else 2]
    both = f"o1 if [1 LT 2 AND {left} {word} {right}]\nG1 X1\no1 else\nG1 X2\no1 endif"
    assert run(both) == [1 if holds else 2]


def test_break_and_continue() -> None:
    """Break leaves the loop of its label, continue goes on with its next pass; both may stand deeper."""
    loop = "#1=0\no1 while [#1 LT 5]\n#1=[#1+1]\no2 if [#1 EQ 3]\no1 {}\no2 endif\nG1 X#1\no1 endwhile\nG1 X9"
    assert run(loop.format("break")) == [1, 2, 9]
    assert run(loop.format("continue")) == [1, 2, 4, 5, 9]
    outer = "o1 repeat [2]\no2 repeat [3]\nG1 X1\no1 continue\nG1 X2\no2 endrepeat\no1 endrepeat"
    assert run(outer) == [1, 1]
    assert run(
        "#1=0\no1 do\n#1=[#1+1]\no2 if [#1 LT 3]\no1 continue\no2 endif\nG1 X#1\no1 while [#1 LT 4]"
    ) == [
        3,
        4,
    ]


def test_a_subprogram_has_its_own_first_thirty_parameters() -> None:
    """Values in brackets become #1, #2 ...; the rest of #1 to #30 starts as the caller's; all come back."""
    sub = "o1 sub\nG1 X#1\nX#2\nX#3\n#1=7\n#30=8\n#31=9\no1 endsub\n"
    assert run(sub + "#1=1\n#2=2\n#3=3\n#30=4\no1 call [#1+10] [20]\nX#1\nX#2\nX#30\nX#31") == [
        *(11, 20, 3),
        *(1, 2, 4, 9),
    ]


def test_return_ends_a_subprogram_from_inside_its_loops() -> None:
    """And the loop runs afresh at the next call."""
    loop = "o1 repeat [9]\nG1 X#1\n#1=[#1+1]\no2 if [#1 GE 3]\no<two> return\no2 endif\no1 endrepeat\n"
    assert run(f"o<two> sub\n{loop}" + "o<two> endsub\no<two> call [1]\no<two> call [2]\nX0") == [1, 2, 2, 0]


def test_a_subprogram_may_call_itself() -> None:
    """Five factorial by recursion."""
    sub = "o1 sub\no2 if [#1 GT 1]\n#40=[#40*#1]\no1 call [#1-1]\no2 endif\no1 endsub\n"
    assert run(sub + "#40=1\no1 call [5]\nG1 X#40") == [math.factorial(5)]


@pytest.mark.parametrize(
    "lines",
    [
        "O1 REPEAT[2]\nG1 X1\nO1 ENDREPEAT",
        "o 01 repeat [ 2 ]\nG1 X1\no1 end repeat",
        "N10 o1 repeat [2] (twice)\nG1 X1\nN20 o1 endrepeat ; so",
        "o<a twist> repeat [2]\nG1 X1\no<ATwist> endrepeat",
    ],
)
def test_they_are_written_in_many_ways(lines: str) -> None:
    """Capitals, blanks, line numbers and comments mean nothing, as elsewhere."""
    assert run(lines) == [1, 1]


def test_a_grid_of_holes() -> None:
    """Two loops and a subprogram drill a 3 by 4 grid: the same moves as the twelve lines written out."""
    head = "G21 G90 G17 G94\n"
    grid = read(
        "o<hole> sub\nG81 X[#1*10] Y[#2*10] Z-3 R2\no<hole> endsub\n" + head + "G0 X0 Y0 Z5\nF300\n#1=0\n"
        "o1 while [#1 LT 3]\n#2=0\no2 repeat [4]\no<hole> call\n#2=[#2+1]\no2 endrepeat\n#1=[#1+1]\n"
        "o1 endwhile\nG80\nM30\n"
    )
    holes = "".join(f"G81 X{x * 10} Y{y * 10} Z-3 R2\n" for x in range(3) for y in range(4))
    plain = read(head + "G0 X0 Y0 Z5\nF300\n" + holes + "G80\nM30\n")
    assert grid.findings == plain.findings == ()
    assert (grid.motion.end == plain.motion.end).all()
    assert (grid.motion.kind == plain.motion.kind).all()


@given(
    first=st.integers(-3, 3),
    bound=st.integers(-3, 6),
    step=st.integers(1, 3),
    inner=st.integers(0, 3),
    skip=st.integers(-3, 6),
)
@settings(max_examples=60, deadline=None)
def test_loops_do_what_plain_loops_do(first: int, bound: int, step: int, inner: int, skip: int) -> None:
    """A second way: the same loops in Python."""
    text = (
        f"#1={first}\no1 while [#1 LT {bound}]\n#2=#1\n#1=[#1+{step}]\no2 if [#2 EQ {skip}]\no1 continue\n"
        f"o2 endif\no3 repeat [{inner}]\nG1 X[#1*10+#2]\no3 endrepeat\no1 endwhile"
    )
    due, at = [], first
    while at < bound:
        was, at = at, at + step
        if was != skip:
            due += [at * 10 + was] * inner
    assert run(text) == due


def test_subprograms_below_the_end_are_followed_and_asked_about() -> None:
    """Many controllers know a subprogram only when it stands above its call; what stands in it is no rest."""
    program = read(HEAD + "o1 call\nM30\no1 sub\nG1 X3\no1 endsub\n")
    assert places(program) == [3]
    assert [(found.line, found.level) for found in program.findings] == [(4, Level.CAUTION)]
    late = read("o1 sub\nG1 X3\no1 endsub\n" + HEAD + "o1 call\nM30\nG0 X9\n")
    assert [(found.line, found.kind) for found in late.findings] == [(9, "program-end")]


# -- what is wrong with them -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "line", "rule"),
    [
        ("o7 call", 1, "those in other files are not read"),
        ("o<pocket> call [1]", 1, "those in other files are not read"),
        ("o1 endif", 1, "closes no if of its label"),
        ("o1 endwhile", 1, "closes no while of its label"),
        ("o1 else", 1, "belongs to no if of its label"),
        ("o1 break", 1, "stands in no do or repeat or while of its label"),
        ("o1 return", 1, "stands in no sub of its label"),
        ("o1 if\no1 endif", 1, "takes one value in square brackets"),
        ("o1 call 5", 1, "nothing else stands on the line of an O word"),
        ("o1 call [1] G1 X1", 1, "nothing else stands on the line of an O word"),
        ("o1 if [0]\no1 else\no1 endif [1]", 3, "takes no value"),
        ("o1 call\nM30\no1 sub\no1 endsub [5]", 4, "a subprogram that returns a value"),
        ("o[1] call", 1, "needs a number or a <name>"),
        ("o1 if [1]\nG1 X9", 1, "is never closed"),
        ("o1 if [#<a>]\nG1 X9", 1, "is never closed"),
        ("o1 call " + "[1]" * 31, 1, "more than 30 values"),
        ("o1 if [1\nG1 X9\no1 endif", 1, "bracket isn't closed"),
    ],
)
def test_an_o_word_that_cannot_be_followed(lines: str, line: int, rule: str) -> None:
    """Each fault is told at its line, with its rule; it may be told again that the reading ends there."""
    found = stops(read(HEAD + lines + "\nM30\n"))
    assert found[0][0] == line + 3
    assert rule in found[0][1]
    assert re.match(r'column \d+, "[^"]+": ', found[0][1])
    assert all(("with a name" in text) or ("hangs on an O word" in text) for _, text in found[1:])


@pytest.mark.parametrize(
    ("lines", "due"),
    [
        ("o1 while [1]\nG1 X1", [(1, "no endwhile follows")]),
        ("o1 do\nG1 X1\no2 while [1]", [(1, "no while follows"), (3, "no endwhile follows")]),
        ("o1 if [1]\no2 endif", [(1, "no endif follows"), (2, "open is O1 if of line 4")]),
        ("o1 if [1]\no1 else\no1 else\no1 endif", [(3, "after the else of line 5")]),
        ("o1 if [1]\no2 repeat [2]\no1 endif\no2 endrepeat", [(1, "no endif"), (3, "open is O2 repeat")]),
        ("o1 if [1]\no2 sub\no1 endif\no2 endsub", [(2, "a subprogram inside something else")]),
        ("o1 sub\no1 endsub\no1 sub\no1 endsub", [(3, "a second subprogram of this label")]),
    ],
)
def test_what_belongs_together_is_matched_before_anything_runs(
    lines: str, due: list[tuple[int, str]]
) -> None:
    """Missing ends and wrong labels are all told, each at its line."""
    found = {(line or 0) - 3: text for line, text in reversed(stops(read(HEAD + lines + "\nM30\n")))}
    for line, rule in due:
        assert rule in found[line], found


@pytest.mark.parametrize(
    "lines",
    [
        "o1 if [#7 GT 1]\nG1 X1\no1 else\nG1 X2\no1 endif",
        "o1 while [#7]\nG1 X1\no1 endwhile",
        "o1 repeat [#7]\nG1 X1\no1 endrepeat",
        "o1 call [#7]",
        "o1 if [0]\nG1 X9\no1 elseif [#7]\nG1 X1\no1 endif",
    ],
)
def test_what_hangs_on_an_unknown_value_is_left_out_whole(lines: str) -> None:
    """None of its branches is taken, and the reading goes on below it, where the next fault is found."""
    program = read(
        "o1 sub\nG1 X1\no1 endsub\n" * (" call" in lines) + HEAD + lines + "\nG1 X5\nG1 Y1 B1\nM30\n"
    )
    assert places(program) == [5]
    first, second = stops(program)
    assert "parameter 7 was not set" in first[1]
    assert '"B1"' in second[1]


def test_numbers_that_only_rounding_tells_apart_are_not_compared() -> None:
    """Ten times 0.1 is not quite 1: whether the loop goes round once more hangs on the controller."""
    line, text = only_stop("#1=0\no1 while [#1 LT 1]\n#1=[#1+0.1]\nG1 X#1\no1 endwhile")
    assert (line, "controllers may disagree" in text) == (2, True)
    assert run("#1=0\no1 while [#1 LT 0.95]\n#1=[#1+0.1]\nG1 X#1\no1 endwhile")[-1] == 1


def test_comparisons_stand_on_lines_of_o_words_only() -> None:
    """The standard's own expressions have none (NISTIR 6556, 3.3.2.3)."""
    assert "a sign that isn't known" in only_stop("#1=[1 GT 2]")[1]


def test_a_subprogram_that_ends_badly_still_goes_back() -> None:
    """What it would return isn't read; the program goes on below its call, with its own parameters."""
    for word in ("return [5]\no1 endsub", "endsub [5]"):
        program = read(HEAD + f"#1=3\no1 call [4]\nG1 X#1\nM30\no1 sub\nG1 X#1\no1 {word}\nG1 X9\n")
        assert places(program) == [4, 3]
        assert ["returns a value" in text for _, text in stops(program)] == [True]


def test_what_is_refused_again_and_again_takes_its_steps() -> None:
    """A line that must be read word by word is 50 steps, so a loop of them ends after few passes."""
    lines = "o1 while [1]\no2 if [#7]\no2 endif\no1 endwhile\nM30\n"
    text = next(text for _, text in stops(read(HEAD + lines)) if "gone round" in text)
    assert int(text.split("gone round ")[1].split()[0]) < 20_000 / 50


def test_a_bad_line_in_a_loop_is_told_once() -> None:
    """Its numbers may differ from pass to pass; a bad line behind it is told too."""
    program = read(HEAD + "#1=0\no1 repeat [9]\n#1=[#1+1]\nG1 X#1\nG2 Y#1\nX[1/[#1-#1]]\no1 endrepeat\nM30\n")
    assert [line for line, _ in stops(program)] == [8, 9]
    assert places(program) == list(range(1, 10))


# -- what never ends -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "line"),
    [
        ("o1 while [1]\no1 endwhile", 1),
        ("o1 do\nM8\nM9\no1 while [1]", 1),
        ("#1=1\no1 while [#1 GT 0]\no2 repeat [5]\nM8\no2 endrepeat\n#1=[#1+1]\no1 endwhile", 2),
        ("o1 repeat [7]\no2 do\nM8\no2 while [1]\no1 endrepeat", 2),
        ("o1 repeat [1000000000]\nM8\no1 endrepeat", 1),
        ("#1=0\no1 while [#1 LT 9]\nG1 X1 B9\n#2=[#1+1]\no1 endwhile", 2),
        ("o1 while [1]\no2 if [#7]\no2 endif\no1 endwhile", 1),
    ],
)
def test_a_loop_without_an_end_is_found_at_its_line(lines: str, line: int) -> None:
    """The loop that never ends is named, not the short one inside it."""
    found = [(at or 0, text) for at, text in stops(read(HEAD + lines + "\nM30\n"))]
    ends = [at - 3 for at, text in found if "No end of this loop is in sight" in text]
    assert ends == [line] or (lines.count("B9") and "steps" in found[-1][1])


def test_calls_are_bounded() -> None:
    """A subprogram that calls itself for ever is found at its call, and one that fans out by its steps."""
    program = read("o1 sub\no1 call\no1 endsub\n" + HEAD + "o1 call\nM30\n")
    assert [(line, "More than 32 calls" in text) for line, text in stops(program)] == [(2, True)]
    fan = "o1 sub\no2 if [#1 LT 30]\no1 call [#1+1]\no1 call [#1+1]\no2 endif\no1 endsub\n"
    ((_, text),) = stops(read(fan + HEAD + "o1 call [0]\nM30\n"))
    assert "more steps than are read" in text


def test_endless_programs_end_soon() -> None:
    """With the limits that hold for everybody, an endless loop that moves is found in some seconds."""
    began = time.perf_counter()
    text = "#1=1\no1 do\nG1 X[#1 MOD 7]\n#1=[#1+1]\no1 while [#1 GT 0]\nM30\n"
    ((line, found),) = stops(read(HEAD + text, ReadLimits()))
    assert (line, "No end of this loop" in found) == (5, True)
    assert time.perf_counter() - began < 60  # some seconds, on a machine with nothing else to do


def test_many_o_words_are_refused() -> None:
    """So many belong to no program of this trade, and so deep ones neither."""
    many = read(HEAD + "o1 if [1]\no1 endif\n" * 10_001, ReadLimits())
    assert "more than 20000 O words" in stops(many)[0][1]
    deep = read(HEAD + "".join(f"o{i} if [1]\n" for i in range(51)))
    assert any("more than 50 O words within each other" in text for _, text in stops(deep))
