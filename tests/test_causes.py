"""One wrong number is read once: it is named first, with what sets it right, and the rest is a few lines."""

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.finding import Finding, Level
from proveout.job.read_setup import read_setup
from proveout.plan import prove_texts
from proveout.proof.grouped import ALIKE, SLACK, flat, grouped
from proveout.setup import Setup
from test_spoiled import findings, good, program_with

MOST = 12  # findings that one wrong number may give


def stated(remedy: str, pattern: str) -> float:
    """The number that a remedy names where the pattern has a #."""
    match = re.search(pattern.replace("#", r"(-?\d+(?:\.\d+)?)"), remedy)
    assert match, f"{pattern!r} is not in {remedy!r}"
    return float(match[1])


def zero_off(off: Iterable[float]) -> Setup:
    """The example with its work zero set beside its place."""
    x, y, z = (a + b for a, b in zip(good().setup.zero, off, strict=True))
    return replace(good().setup, zero=(x, y, z))


ZEROS: dict[str, tuple[tuple[float, float, float], str, Callable[[str], tuple[float, float, float]]]] = {
    "right": ((5.0, 0.0, 0.0), "5 mm to the right", lambda said: (-stated(said, "# mm to the left"), 0, 0)),
    "front": ((0.0, -0.6, 0.0), "0.6 mm to the front", lambda said: (0, stated(said, "# mm to the back"), 0)),
    "askew": (
        (-21.3, 8.4, 0.0),
        "21.3 mm to the left and 8.4 mm to the back",
        lambda said: (stated(said, "# mm to the right"), -stated(said, "# mm to the front"), 0),
    ),
    "high": ((0.0, 0.0, 1.0), "1 mm too high", lambda said: (0, 0, -stated(said, "# mm lower"))),
    "low": ((0.0, 0.0, -0.7), "0.7 mm too deep", lambda said: (0, 0, stated(said, "# mm higher"))),
    "wrong face": (
        (0.0, 0.0, 11.9),
        "the zero was meant to be on the bed",
        lambda said: (0, 0, -stated(said, "# mm lower")),
    ),
}


@pytest.mark.parametrize("name", ZEROS)
def test_a_wrong_zero_is_named_first_and_its_remedy_cures_all(name: str) -> None:
    """A zero that is off is told with its distance and way; set back by that much, nothing is left."""
    off, said, back = ZEROS[name]
    found = findings(good().programs, zero_off(off))
    assert len(found) <= MOST
    assert found[0].kind == "one-cause"
    assert said in found[0].text
    more = back(found[0].remedy)
    left = zero_off(a + b for a, b in zip(off, more, strict=True))
    assert findings(good().programs, left) == []


def test_wrong_units_are_named_first() -> None:
    """G20 for G21 in one program: units are what is wrong, and G21 sets it right."""
    programs = list(good().programs)
    programs[1] = replace(programs[1], text=re.sub(r"\bG21\b", "G20", programs[1].text))
    found = findings(tuple(programs), good().setup)
    assert len(found) <= MOST
    assert found[0].kind == "one-cause"
    assert found[0].program == programs[1].file
    assert "read as inches" in found[0].text
    assert "G21" in found[0].remedy


def test_another_cutter_is_named_first() -> None:
    """All cutters a quarter wider than stated: those that fit are named to a twentieth of a mm."""
    wide = tuple(
        replace(one, diameter=one.diameter * 1.25, shank_diameter=one.diameter * 1.25)
        for one in good().setup.cutters
    )
    found = findings(good().programs, replace(good().setup, cutters=wide))
    assert len(found) <= MOST
    assert found[0].kind == "one-cause"
    assert "Take a cutter of 3 mm and 6 mm" in found[0].remedy


@pytest.mark.parametrize("off", [-1.0, 0.8])
def test_one_wrong_depth_is_named_first_with_the_right_one(off: float) -> None:
    """The floor of all recesses a millimetre off: the Z that stands there and the Z that should are named."""
    index = program_with("HEAD RECESS")
    programs, zero = list(good().programs), good().setup.zero[2]
    floors = {one.floor for part in good().setup.parts for one in part.features if not one.through}
    (floor,) = {round(one - zero, 3) for one in floors}
    right, wrong = f"Z{floor:g}", f"Z{floor + off:g}"
    text = re.sub(rf"{re.escape(right)}(?![\d.])", wrong, programs[index].text)
    assert text != programs[index].text
    programs[index] = replace(programs[index], text=text)
    found = findings(tuple(programs), good().setup)
    assert len(found) <= MOST
    assert found[0].kind == "one-cause"
    assert found[0].line
    assert wrong in text.splitlines()[found[0].line - 1]
    assert stated(found[0].remedy, "Write Z for # mm") == pytest.approx(floor, abs=0.01)


@pytest.mark.parametrize(
    ("text", "level", "said"),
    [
        ("G21", "bed", "the zero was meant to be on the stock's top"),
        ("G20", "top", "written in millimetres, and read as inches"),
    ],
)
def test_a_program_of_one_small_part_has_its_cause_told_too(
    text: str, level: Literal["bed", "top"], said: str
) -> None:
    """A plate with a pocket and two holes has few walls, and its slips are told as one all the same."""
    folder = Path(__file__).parent.parent / "examples" / "bought-program"
    job = read_setup(folder / "setup.toml")
    job = replace(job, zero=replace(job.zero, level=level))
    program = (folder / "latch-plate.nc").read_text().replace("G21", text)
    first = prove_texts(job, [("latch-plate.nc", program)]).findings[0]
    assert first.kind == "one-cause"
    assert said in first.text


def test_two_things_wrong_are_not_told_as_one() -> None:
    """A zero that is off and a cutter that is too wide have no single cause, and all of it is told."""
    wide = tuple(
        replace(one, diameter=one.diameter * 1.25, shank_diameter=one.diameter * 1.25)
        for one in good().setup.cutters
    )
    found = findings(good().programs, replace(zero_off((5.0, 0.0, 0.0)), cutters=wide))
    assert "one-cause" not in {one.kind for one in found}
    assert {"wall-overcut", "cut-too-deep"} <= {one.kind for one in found}


def test_programs_that_cut_nothing_have_no_single_cause() -> None:
    """Without a cutter that is known, or without a cut, everything is missing and nothing is guessed."""
    rapids = [re.sub(r"\bG[123]\b", "G0", one.text) for one in good().programs]
    for texts in (rapids, ["G21\nM30\n"] * len(rapids)):
        given = zip(good().programs, texts, strict=True)
        programs = tuple(replace(one, text=text, cutters=()) for one, text in given)
        found = findings(programs, good().setup)
        assert found
        assert "one-cause" not in {one.kind for one in found}


def test_a_group_keeps_every_finding_it_stands_for() -> None:
    """What is folded is still there one by one, each part with its own place and line."""
    found = findings(good().programs, zero_off((5.0, 0.0, 0.0)))
    walls = [one for one in flat(found) if one.kind == "wall-overcut"]
    assert {one.name for one in walls} >= {f"the outline of {part.name}" for part in good().setup.parts}
    assert all(one.line and one.at for one in walls)


AMOUNTS = st.lists(st.integers(0, 3000).map(lambda n: n / 100), min_size=1, max_size=30)


def deep(amount: float, line: int) -> Finding:
    """A floor cut too deep by an amount."""
    return Finding(
        level=Level.STOP,
        kind="cut-too-deep",
        text=f"Line {line}: the cut goes {amount:g} mm too deep into knob {line}.",
        remedy=f"Keep the cutter's tip {amount:g} mm higher there.",
        program="a.nc",
        line=line,
        at=(float(line), 0.0, 0.0),
        name=f"knob {line}",
        amount=amount,
    )


@settings(max_examples=60, deadline=None)
@given(amounts=AMOUNTS)
def test_grouping_loses_nothing_and_asks_for_the_worst(amounts: list[float]) -> None:
    """Each finding is in one group, which has the first's line and the worst's place and remedy."""
    each = [deep(amount, line) for line, amount in enumerate(amounts, 1)]
    told = grouped(each, "mm")
    assert sorted(flat(told), key=lambda one: one.line or 0) == each
    assert len(told) <= 3
    for group in told:
        members = group.each or (group,)
        worst = max(members, key=lambda one: one.amount or 0.0)
        assert group.line == min(one.line or 0 for one in members)
        assert (group.remedy, group.at) == (worst.remedy, worst.at)
        assert f"Also in {len(members) - 1} more places" in group.text or len(members) < 3
        if len(told) > 1:
            least = min(one.amount or 0.0 for one in members)
            assert (worst.amount or 0.0) <= least * ALIKE + SLACK


def test_findings_that_ask_for_different_things_are_told_apart() -> None:
    """Two clamps that go to different holes, and two programs, are two findings each."""
    one = deep(1.0, 1)
    clamps = [
        replace(one, amount=None, remedy="Move the clamp from B2 to B1."),
        replace(one, amount=None, remedy="Move the clamp from C2 to C1."),
    ]
    assert len(grouped(clamps, "mm")) == 2
    assert len(grouped([one, replace(one, program="b.nc")], "mm")) == 2


def test_a_group_reads_as_a_sentence() -> None:
    """Names up to three, the count of the others, and the worst where it is another."""
    told = grouped([deep(1.0, line) for line in range(1, 3)], "mm")
    assert told[0].text == "Line 1: the cut goes 1 mm too deep into knob 1. Also in one more place: knob 2."
    amounts = (1.0, 2.0, 3.0, 4.0, 5.0)
    told = grouped([deep(amount, line) for line, amount in enumerate(amounts, 1)], "mm")
    assert told[0].text.endswith(
        "Also in 4 more places: knob 2, knob 3, knob 4 and 1 more; the worst, 5 mm, is knob 5 in line 5."
    )
