"""Whole programs on a small bench: every file in cases/ is a bench, a program and what must be found."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from proof_bench import CUTTER, read_case
from proveout.finding import KINDS, Level
from proveout.program.text import Program
from proveout.proof.grouped import flat
from proveout.proof.prove import fitting_cell, prove

CASES = sorted((Path(__file__).parent / "cases").glob("*.txt"))
GOOD = next(file for file in CASES if file.stem == "good")


@pytest.mark.parametrize("file", CASES, ids=lambda file: file.stem)
def test_case(file: Path) -> None:
    """What the case's first line claims: the findings asked for are made, and no others."""
    case = read_case(file)
    verdict = prove([case.program], case.bench, cell=0.1)
    unmet = list(case.expected)
    for finding in flat(verdict.findings):
        met = next((one for one in unmet if one.meets(finding)), None)
        assert met, f"not asked for: {finding}"
        unmet.remove(met)
    assert not unmet, f"{case.claim}: not found: {unmet}"
    assert verdict.ready == all(one.level != "stop" for one in case.expected)


def test_every_finding_of_the_cases_says_what_to_do() -> None:
    """A finding names its program or place, ends its sentence, and has a remedy."""
    for file in CASES:
        case = read_case(file)
        for finding in prove([case.program], case.bench, cell=0.2).findings:
            assert finding.kind in KINDS
            assert finding.text.endswith(".")
            assert finding.remedy.endswith(".")
            assert finding.line is None or finding.text.startswith(f"Line {finding.line}: ")


def test_a_case_of_every_kind_that_a_program_can_bring_about() -> None:
    """The case files cover the prover's kinds of finding, but for those with tests of their own."""
    kinds = {one.kind for file in CASES for one in read_case(file).expected}
    assert kinds >= {
        "clamp-struck",
        "insert-struck",
        "rapid-hits-material",
        "cut-too-deep",
        "wall-overcut",
        "wall-undercut",
        "material-left",
        "beyond-flutes",
        "plunge-not-centre-cutting",
        "spindle-off",
        "speed-out-of-range",
        "feed-too-fast",
        "beyond-travel",
        "bed-cut",
        "piece-loose",
        "piece-touched",
        "blank-not-held",
        "cut-outside-stock",
    }


def test_the_same_programs_twice_are_the_same_verdict() -> None:
    """Two proofs of one program agree in every finding, every minute and every byte of the field."""
    case = read_case(GOOD)
    one, other = (prove([case.program], case.bench, cell=0.1) for _ in range(2))
    assert (one.findings, one.minutes, one.removed, one.notes) == (
        other.findings,
        other.minutes,
        other.removed,
        other.notes,
    )
    assert one.result.heights.tobytes() == other.result.heights.tobytes()


def test_a_program_split_in_two_leaves_the_same_sheet() -> None:
    """Recess and hole in one program, the outline in the next: the sheet and the findings are the same."""
    case = read_case(GOOD)
    head, _, tail = case.program.text.partition("(outline)\n")
    first = replace(case.program, file="1.nc", text=head + "M5\nM2\n")
    begin = "G21 G90 G17 G94\nG0 Z30\nM3 S18000\nG4 P3\n"
    second = replace(case.program, file="2.nc", text=begin + tail)
    whole = prove([case.program], case.bench, cell=0.1)
    split = prove([first, second], case.bench, cell=0.1)
    assert split.findings == whole.findings == ()
    assert np.array_equal(split.result.heights, whole.result.heights)
    assert [program.file for program in split.programs] == ["1.nc", "2.nc"]


def test_only_the_first_of_two_programs_leaves_the_outline_uncut() -> None:
    """When the outline's program is not run, the verdict is not ready and says that its wall is not cut."""
    case = read_case(GOOD)
    head, _, _ = case.program.text.partition("(outline)\n")
    verdict = prove([replace(case.program, text=head + "M5\nM2\n")], case.bench, cell=0.1)
    assert not verdict.ready
    assert [finding.kind for finding in verdict.findings] == ["wall-undercut"]


def test_a_check_of_the_outline_with_the_spindle_off_is_judged_with_the_next_cutter() -> None:
    """A program without a cutter of its own runs with the cutter of the next: it may pass, but not strike."""
    case = read_case(GOOD)
    for height, count in ((29, 0), (15, 2)):
        text = f"G21 G90\nG0 Z{height}\nG0 X-15 Y20\nG1 X70 F3000\nG0 Z30\nM2\n"
        check = Program(file="0.nc", text=text, cutters=(), dialect="plain", units="mm")
        verdict = prove([check, case.program], case.bench, cell=0.2)
        struck = [
            finding for finding in flat(verdict.findings) if finding.kind in ("clamp-struck", "bolt-struck")
        ]
        assert len({finding.text.split(":")[1].split("at ")[1] for finding in struck}) == count


def test_findings_come_in_the_order_in_which_the_lines_are_run() -> None:
    """By program, then by line; what belongs to no line comes last."""
    case = read_case(next(file for file in CASES if file.stem == "wrong-zero"))
    lines = [finding.line for finding in prove([case.program], case.bench, cell=0.2).findings]
    known = [line for line in lines if line is not None]
    assert lines == sorted(known) + [None] * (len(lines) - len(known))


def test_the_notes_say_what_the_proof_rests_on() -> None:
    """The cell, the thickness that was taken, how bending counts, and that no runout was stated."""
    case = read_case(GOOD)
    notes = " ".join(prove([case.program], case.bench, cell=0.1).notes)
    for said in (
        "cells of 0.1 mm",
        "12 mm thick everywhere",
        "how far they give way is told",
        "Rapids are taken as straight",
        "taken as none: errors of the cutters' diameters, runout",
    ):
        assert said in notes


@pytest.mark.parametrize(
    ("size", "diameter", "cell"),
    [
        ((330, 230), 3.0, 0.1),
        ((330, 230), 1.0, 0.05),
        ((330, 230), 0.3, 0.05),  # 0.02 would be finer than memory allows
        ((60, 40), 0.3, 0.02),
        ((600, 300), 3.0, 0.1),
        ((1220, 610), 3.0, 0.15),
        ((2440, 1220), 6.35, 0.25),
        ((2440, 1220), 1.0, 0.25),
    ],
)
def test_small_cutters_get_finer_cells_and_large_sheets_coarser_ones(
    size: tuple[float, float], diameter: float, cell: float
) -> None:
    """20 cells lie across the smallest cutter, or as many as 2 GB of memory hold, 32 bytes a cell."""
    assert fitting_cell(size, [replace(CUTTER, diameter=diameter)]) == pytest.approx(cell)
    area = (size[0] + 20) * (size[1] + 20)
    assert area / cell**2 * 32 + 4e8 <= 2e9
    asked = max(0.02, diameter / 20)
    assert cell <= asked + 1e-9 or area / max(asked, cell - 0.05 + 1e-9) ** 2 * 32 > 1.6e9


def test_a_program_that_does_nothing_is_no_error() -> None:
    """An empty program on a bench with a part leaves the part uncut, and that is all that is said of it."""
    case = read_case(GOOD)
    verdict = prove([replace(case.program, text="")], case.bench, cell=0.2)
    kinds = {finding.kind for finding in verdict.findings if finding.level is Level.STOP}
    assert {"wall-undercut", "material-left"} <= kinds
    assert verdict.removed == 0


def test_progress_is_told() -> None:
    """Whoever waits hears what is being done."""
    case = read_case(GOOD)
    heard: list[str] = []
    prove([case.program], case.bench, cell=0.5, progress=heard.append)
    assert heard == ["reading the programs", "removing material", "judging"]
