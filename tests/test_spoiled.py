"""The clamp-kit example, spoiled in one way at a time: each fault is found, and named at the right line."""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from shapely.affinity import translate

from proveout.finding import Finding, Level
from proveout.job.read import read_job
from proveout.plan import Planned, plan
from proveout.program.text import Program
from proveout.proof.prove import prove
from proveout.setup import Setup

EXAMPLE = Path(__file__).parent.parent / "examples" / "clamp-kit" / "job.toml"
CELL = 0.2  # mm: half the default's, to keep the suite short; walls and strikes don't depend on it


@cache
def good() -> Planned:
    """The example as it should be, cut with two cutters as if changing them took no time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("proveout.quickest.TOOL_CHANGE", 0.0)
        return plan(read_job(EXAMPLE))


def findings(programs: tuple[Program, ...], setup: Setup) -> list[Finding]:
    """What the prover says, notes left out."""
    verdict = prove(programs, setup, cell=CELL)
    return [finding for finding in verdict.findings if finding.level is not Level.NOTE]


def with_setup(change: Callable[[Setup], Setup]) -> list[Finding]:
    """Findings where the bench is not as it was stated."""
    return findings(good().programs, change(good().setup))


def first_line(program: Program, wanted: Callable[[str], bool], after: int = 0) -> int:
    """Number of the first line from `after` on that is as wanted."""
    lines = program.text.splitlines()
    return next(number for number in range(after + 1, len(lines) + 1) if wanted(lines[number - 1]))


def with_line(index: int, line: int, change: Callable[[str], str]) -> list[Finding]:
    """Findings where one line of one program was edited by hand; an empty line takes the old one's place."""
    programs = list(good().programs)
    lines = programs[index].text.splitlines()
    before = lines[line - 1]
    lines[line - 1] = change(before)
    assert lines[line - 1] != before
    programs[index] = replace(programs[index], text="\n".join(lines) + "\n")
    return findings(tuple(programs), good().setup)


def the(found: list[Finding], kind: str, level: Level = Level.STOP) -> Finding:
    """The first finding of a kind; it must be there."""
    mine = [one for one in found if one.kind == kind and one.level is level]
    assert mine, (
        f"no {level.value} of kind {kind} among {[(one.level.value, one.kind, one.line) for one in found]}"
    )
    return mine[0]


def section_of(finding: Finding) -> str:
    """The comment above a finding's line: what the program was cutting."""
    program = next(one for one in good().programs if one.file == finding.program)
    above = program.text.splitlines()[: finding.line]
    return next(line for line in reversed(above) if line.startswith("("))


def program_with(words: str) -> int:
    """Index of the first program whose text has these words."""
    return next(i for i, one in enumerate(good().programs) if words in one.text)


def test_the_example_itself_has_nothing_to_stop_it() -> None:
    """Unspoiled, the programs give no stop and no caution."""
    assert findings(good().programs, good().setup) == []


def test_a_clamp_moved_onto_a_part_is_struck_where_that_part_is_cut() -> None:
    """A clamp shifted over a knob is struck, and the line belongs to that knob or a way across it."""
    knob = next(part for part in good().setup.parts if part.name.startswith("knob"))

    def moved(setup: Setup) -> Setup:
        clamp = setup.clamps[0]
        at, to = clamp.pressing.centroid, knob.outline.centroid
        bar = replace(clamp.bar, footprint=translate(clamp.bar.footprint, to.x - at.x, to.y - at.y))
        return replace(setup, clamps=(replace(clamp, bar=bar), *setup.clamps[1:]))

    finding = the(with_setup(moved), "clamp-struck")
    assert finding.line is not None
    assert finding.at is not None
    assert abs(finding.at[0] - knob.outline.centroid.x) < 60
    assert finding.remedy


def test_a_safe_height_below_a_clamp_is_found_at_the_way_across() -> None:
    """With the travel height typed 25 mm too low, the first way across a clamp or its knob is a stop."""
    program = good().programs[0]
    safe = next(
        match[1] for line in program.text.splitlines() if (match := re.match(r"(?:N\d+ )?G0 Z(\S+)$", line))
    )
    low = float(safe) - 25.0
    text = re.sub(rf"Z{re.escape(safe)}\b", f"Z{low:g}", program.text)
    found = findings((replace(program, text=text), *good().programs[1:]), good().setup)
    struck = [one for one in found if one.kind in {"clamp-struck", "bolt-struck"}]
    assert struck
    line = text.splitlines()[(struck[0].line or 0) - 1]
    assert struck[0].program == program.file
    assert re.search("[XY]", line)
    assert "at least" in struck[0].remedy


def test_thicker_stock_than_stated_is_hit_at_rapid() -> None:
    """Stock 3 mm thicker than the readings: the first rapid down goes into it."""
    found = with_setup(
        lambda setup: replace(setup, stock=replace(setup.stock, thickest=setup.stock.thickest + 3.0))
    )
    finding = the(found, "rapid-hits-material")
    program = next(one for one in good().programs if one.file == finding.program)
    assert re.search(r"G0 Z", program.text.splitlines()[(finding.line or 0) - 1])


def test_flutes_that_are_too_short_are_named() -> None:
    """A cutter with 4 mm of flute can't cut a 12 mm outline, and the finding asks for the length it takes."""
    used = good().programs[-1].cutters[-1]

    def short(setup: Setup) -> Setup:
        cutters = tuple(
            replace(one, flute_length=4.0) if one.number == used else one for one in setup.cutters
        )
        return replace(setup, cutters=cutters)

    finding = the(with_setup(short), "beyond-flutes")
    assert finding.program == good().programs[-1].file
    assert finding.remedy


def test_metal_under_a_through_cut_is_struck() -> None:
    """Inserts flush with the plate's face are met by outlines that go through."""
    found = with_setup(
        lambda setup: replace(setup, inserts=tuple(replace(one, top=0.0) for one in setup.inserts))
    )
    finding = the(found, "insert-struck")
    assert "OUTLINE" in section_of(finding) or "HOLE" in section_of(finding) or "SLOT" in section_of(finding)


def test_tabs_cut_away_free_a_part_that_is_then_touched() -> None:
    """With every rise over a tab taken out of one outline, the part comes loose beside the cutter."""
    index = program_with("KNOB 1: OUTLINE")
    program = good().programs[index]
    begin = first_line(program, lambda line: "KNOB 1: OUTLINE" in line)
    deepest = min(
        float(match[1]) for match in re.finditer(r"Z(-?[\d.]+)", program.text.split("KNOB 1: OUTLINE")[1])
    )
    lines = program.text.splitlines()
    end = next((i for i in range(begin, len(lines)) if lines[i].startswith("(")), len(lines))
    tab = good().setup.tabs[0].height - good().setup.zero[2]

    def flat(match: re.Match[str]) -> str:
        return f"Z{deepest:g}" if deepest < float(match[1]) <= tab + 1e-6 else match[0]

    lines[begin:end] = [re.sub(r"Z(-?[\d.]+)", flat, line) for line in lines[begin:end]]
    spoiled = [*good().programs]
    spoiled[index] = replace(program, text="\n".join(lines) + "\n")
    found = findings(tuple(spoiled), good().setup)
    loose = [one for one in found if one.kind in {"piece-touched", "piece-loose"}]
    assert loose
    assert begin < (loose[0].line or 0) <= end
    assert "knob 1" in loose[0].text


def cutting_line(program: Program, pattern: str, after: str = "KNOB 1: OUTLINE") -> int:
    """The third line after a comment that is a cut like the pattern."""
    begin = first_line(program, lambda line: after in line)
    line = begin
    for _ in range(3):
        line = first_line(program, lambda text: re.search(pattern, text) is not None, line)
    return line


def test_a_lost_decimal_point_is_found_at_its_line() -> None:
    """X45.123 typed as X45123 leaves the machine's travel on that very line."""
    index = program_with("KNOB 1: OUTLINE")
    line = cutting_line(good().programs[index], r"X\d+\.\d")
    found = with_line(index, line, lambda text: re.sub(r"X(\d+)\.(\d)", r"X\1\2", text))
    assert line in [one.line for one in found if one.level is Level.STOP]


def test_a_rapid_in_place_of_a_cut_is_found_at_its_line() -> None:
    """G0 for G1 in the middle of a cut is a rapid through material, on that line."""
    index = program_with("STRAP 1: OUTLINE")
    program = good().programs[index]
    line = cutting_line(program, r"^(N\d+ )?G1 .*[XY]", "STRAP 1: OUTLINE")
    finding = the(
        with_line(index, line, lambda text: re.sub(r"G1 (.*?)( F\d+)?$", r"G0 \1", text)),
        "rapid-hits-material",
    )
    assert finding.line == line


def test_swapped_arc_offsets_are_refused_at_their_line() -> None:
    """I and J swapped: the two radii disagree, and the arc is not guessed at."""
    index = program_with("KNOB 1: OUTLINE")
    line = cutting_line(good().programs[index], r"G[23] .*I-?\d+\.\d.* J-?\d")

    def swapped(text: str) -> str:
        return re.sub(r"I(\S+) J(\S+)", r"I\2 J\1", text)

    finding = the(with_line(index, line, swapped), "program-word")
    assert finding.line == line


def test_a_floor_cut_too_deep_is_found_at_its_line() -> None:
    """A depth typed one millimetre too deep on the way round a recess's wall is found on that line."""
    index = program_with("KNOB 1: HEAD RECESS, FINISHING")
    line = cutting_line(good().programs[index], r"G1 X\S+ Y\S+$", "KNOB 1: HEAD RECESS, FINISHING")
    knob = next(part for part in good().setup.parts if part.name == "knob 1")
    floor = next(one.floor for one in knob.features if not one.through)
    finding = the(
        with_line(index, line, lambda text: f"{text} Z{floor - good().setup.zero[2] - 1.0:g}"), "cut-too-deep"
    )
    assert finding.line == line
    assert "knob 1" in finding.text


def test_a_spindle_that_was_never_started_is_found_at_the_first_cut() -> None:
    """Without M3 the first cutting move is a stop."""
    program = good().programs[1]
    line = first_line(program, lambda text: "M3" in text.split())
    finding = the(with_line(1, line, lambda text: ""), "spindle-off")
    assert finding.program == program.file
    assert (finding.line or 0) > line


def test_a_spindle_with_no_time_to_run_up_is_found_at_the_first_cut() -> None:
    """Without the dwell after M3 the first cut begins too early."""
    line = first_line(good().programs[1], lambda text: " P4" in text)
    (finding,) = [one for one in with_line(1, line, lambda text: "") if one.kind == "spindle-not-up"]
    assert finding.program == good().programs[1].file
    assert (finding.line or 0) > line
    assert finding.remedy == "Wait after the start: G4 P4.0."


def test_a_way_across_at_a_height_that_nobody_knows_is_found() -> None:
    """Without the first rise, the first way across may go through anything: found on that line."""
    line = first_line(good().programs[1], lambda text: re.match(r"(N\d+ )?G0 Z", text) is not None)
    (finding,) = [one for one in with_line(1, line, lambda text: "") if one.kind == "height-unsaid"]
    across = first_line(good().programs[1], lambda text: "G0 X" in text, line)
    assert finding.line == across


def test_a_first_move_askew_from_an_unknown_height_is_found() -> None:
    """A first move that goes up and across at once may go through anything on its way: found on that line."""
    line = first_line(good().programs[1], lambda text: re.match(r"(N\d+ )?G0 Z", text) is not None)
    found = with_line(1, line, lambda text: text.replace("G0 Z", "G0 X30 Y30 Z"))
    assert [one.line for one in found if one.kind == "height-unsaid"] == [line]


def test_a_feed_ten_times_too_high_is_found_at_its_line() -> None:
    """A nought too many in a feed is more than the machine can do."""
    line = first_line(good().programs[-1], lambda text: re.search(r" F\d{3,}", text) is not None)
    found = with_line(len(good().programs) - 1, line, lambda text: re.sub(r" F(\d+)", r" F\g<1>0", text))
    lines = [one.line for one in found if one.kind == "feed-too-fast"]
    assert lines
    assert min(number or 0 for number in lines) >= line


def test_a_deleted_retract_is_found_at_the_way_across() -> None:
    """Without the lift out of a bolt hole, the rapid to the next knob goes through wood, on the next line."""
    index = program_with("KNOB 2: BOLT HOLE")
    program = good().programs[index]
    begin = first_line(program, lambda text: "KNOB 2: BOLT HOLE" in text)
    down = first_line(program, lambda text: re.search(r"G1|G2|G3", text) is not None, begin)
    line = first_line(program, lambda text: re.match(r"(N\d+ )?G0 Z", text) is not None, down)
    found = with_line(index, line, lambda text: "")
    finding = the(found, "rapid-hits-material")
    assert line < (finding.line or 0) <= line + 3


def test_the_wrong_cutter_in_the_collet_overcuts_a_wall() -> None:
    """A cutter twice as wide as the program thinks cuts into the part at its first wall."""
    number = good().programs[1].cutters[0]

    def wrong(setup: Setup) -> Setup:
        cutters = tuple(
            replace(one, diameter=one.diameter * 2, shank_diameter=max(one.shank_diameter, one.diameter * 2))
            if one.number == number
            else one
            for one in setup.cutters
        )
        return replace(setup, cutters=cutters)

    finding = the(with_setup(wrong), "wall-overcut")
    assert finding.program == good().programs[1].file


def test_inches_in_place_of_millimetres_leave_the_travel() -> None:
    """G20 for G21 makes every length 25.4 times too long: beyond travel at the first move."""
    line = first_line(good().programs[1], lambda text: text.endswith("G21"))
    finding = the(with_line(1, line, lambda text: text.replace("G21", "G20")), "beyond-travel")
    assert finding.program == good().programs[1].file


def test_a_cutter_that_cannot_plunge_is_not_plunged() -> None:
    """A steep way down into wood with a cutter that doesn't cut at its centre is a stop or a caution."""
    number = good().programs[1].cutters[0]

    def blunt(setup: Setup) -> Setup:
        cutters = tuple(
            replace(one, centre_cutting=False) if one.number == number else one for one in setup.cutters
        )
        return replace(setup, cutters=cutters)

    index = program_with("HEAD RECESS")
    program = good().programs[index]
    begin = first_line(program, lambda text: "HEAD RECESS" in text)
    line = first_line(program, lambda text: re.search(r"G[123] .*Z", text) is not None, begin)
    lines = program.text.splitlines()
    floor = next(one.floor for part in good().setup.parts for one in part.features if not one.through)
    lines.insert(line - 1, f"G1 Z{floor - good().setup.zero[2]:g} F240")
    spoiled = [*good().programs]
    spoiled[index] = replace(program, text="\n".join(lines) + "\n")
    found = findings(tuple(spoiled), blunt(good().setup))
    steep = [one for one in found if one.kind == "plunge-not-centre-cutting"]
    assert steep
    assert line in [one.line for one in steep]


def test_nothing_that_holds_the_blank_is_a_stop() -> None:
    """With all clamps left off, the job is not ready."""
    assert the(with_setup(lambda setup: replace(setup, clamps=())), "blank-not-held").remedy


def test_a_bed_with_less_allowance_is_cut() -> None:
    """A plate that may be scratched 0.05 mm deep is cut by the outlines' last pass."""
    finding = the(with_setup(lambda setup: replace(setup, bed_allowance=0.05)), "bed-cut")
    assert finding.line is not None


def test_a_machine_with_less_travel_is_left() -> None:
    """Where the gantry ends 100 mm earlier, the first move past that end is a stop."""

    def small(setup: Setup) -> Setup:
        _, y, z = setup.reach.high
        return replace(setup, reach=replace(setup.reach, high=(setup.stock.size[0] - 100.0, y, z)))

    finding = the(with_setup(small), "beyond-travel")
    assert finding.at is not None
    assert finding.at[0] > good().setup.stock.size[0] - 100.0


def test_a_program_that_lost_its_end_is_told_of() -> None:
    """Without M30 the text may have been cut short, and that is said."""
    line = first_line(good().programs[1], lambda text: text.endswith("M30"))
    found = with_line(1, line, lambda text: "")
    assert "program-end" in [one.kind for one in found]
