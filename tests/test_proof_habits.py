"""What a program does while it cuts nothing: spindle, waits, ends, ways across, and its place in the job.

Each test changes the good program of cases/good.txt in one place, of which the prover has nothing to say.
"""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from proof_bench import CUTTER, clamp, read_case, setup
from proveout.finding import Finding
from proveout.proof.prove import prove

CASE = read_case(Path(__file__).parent / "cases" / "good.txt")
TEXT = CASE.program.text
RECESS_END = "G3 X33.5 Y20 I-3.5 J0\n"  # 5 mm deep, at the recess's wall
HOLE = "(hole)\n"  # the cutter is at 30 mm
OUTLINE = "(outline)\n"
CHECK = "G21 G90\nG0 Z33\nG0 X10 Y10\nG1 X50 F900\nM30\n"


def said(text: str) -> list[Finding]:
    """What is found in a program."""
    return list(prove([replace(CASE.program, text=text)], CASE.bench, cell=0.2).findings)


def after(place: str, *lines: str) -> str:
    """The good program with lines put in after a place."""
    assert TEXT.count(place) == 1
    return TEXT.replace(place, place + "".join(f"{line}\n" for line in lines))


def told(findings: list[Finding]) -> list[tuple[str, str]]:
    """Level and kind."""
    return [(one.level.value, one.kind) for one in findings]


# --- standing in the wood


@pytest.mark.parametrize(
    ("lines", "kind", "words"),
    [
        (("M5",), "spindle-switched-in-cut", "stopped while the cutter stands 5 mm deep"),
        (("M5", "M3"), "spindle-switched-in-cut", "So it does 1 more time."),
        (("S0",), "spindle-switched-in-cut", "stopped while"),
        (("G4 P2.5",), "rests-in-cut", "stands 5 mm deep in the wood and waits there for 2.5 s"),
        (("M0",), "rests-in-cut", "until somebody comes (M0)"),
    ],
)
def test_a_cutter_that_stands_in_the_wood(lines: tuple[str, ...], kind: str, words: str) -> None:
    """At the wall of a recess, 5 mm under the top: the spindle is switched, or the program waits."""
    text = after(RECESS_END, *lines)
    (found,) = [one for one in said(text) if one.kind == kind]
    assert found.level.value == "caution"
    assert words in found.text
    assert TEXT.splitlines().index(RECESS_END.strip()) + 2 == found.line
    assert "13 mm above the bed" in found.remedy


def test_a_spindle_turned_round_in_the_wood() -> None:
    """M4 after M3 in the cut is a caution of its own, besides the one against M4."""
    found = told(said(after(RECESS_END, "M4", "M3")))
    assert sorted(found) == [("caution", "program-word"), ("caution", "spindle-switched-in-cut")]


def test_the_same_above_the_wood_is_nothing() -> None:
    """High over the sheet, or in the middle of a pocket 1 mm above its floor, nothing rubs."""
    assert said(after(HOLE, "M5", "M3", "G4 P3", "M0", "G4 P9")) == []
    assert said(after("G0 X31.5 Y20\nG0 Z8\n", "G4 P5", "M0")) == []


def test_a_short_wait_in_the_wood_is_nothing() -> None:
    """Half a second, as at the bottom of a drilled hole, is let pass."""
    assert said(after(RECESS_END, "G4 P0.5")) == []
    assert told(said(after(RECESS_END, "G4 P0.6"))) == [("caution", "rests-in-cut")]


def test_a_cutter_that_only_rests_on_a_floor_rubs_too() -> None:
    """In a pocket three cutters wide, with no wall beside it, the cutter's end is on the floor."""
    bench = setup(clamps=[clamp("A1", box(-9, -9, 3, 49), 12, 20)])
    passes = "".join(
        f"G1 X{x} F900\nG1 Y{30 if index % 2 else 14}\n" for index, x in enumerate(range(20, 40, 2))
    )
    program = f"G21 G90 G17\nG0 Z30\nS18000 M3\nG4 P3\nG0 X20 Y30\nG1 Z11 F300\n{passes}G1 X30 Y22\n"
    for height, count in (("11", 1), ("11.1", 0)):
        text = f"{program}G1 Z{height}\nG4 P2\nG0 Z30\nM5\nM30\n"
        found = prove([replace(CASE.program, text=text)], bench, cell=0.2).findings
        rests = [one for one in found if one.kind == "rests-in-cut"]
        assert [one.kind for one in rests] == ["rests-in-cut"] * count
        assert all("rests on uncut wood and waits there for 2 s" in one.text for one in rests)


# --- the end


def test_a_program_that_ends_in_the_wood() -> None:
    """Without the last way up, the cutter stands 12.2 mm under the top when the program ends."""
    found = said(TEXT.replace("G0 Z30\nM5\nM2\n", "M2\n"))
    assert told(found) == [("caution", "ends-low")]
    assert found[0].line == len(TEXT.splitlines()) - 2
    assert "12.2 mm below the stock's top" in found[0].text
    assert "13.2 mm" in found[0].remedy


@pytest.mark.parametrize(("end", "level"), [("M2", "note"), ("M30", "note"), ("%", "caution")])
def test_a_program_that_ends_with_the_spindle_turning(end: str, level: str) -> None:
    """M2 and M30 stop the spindle by RS274/NGC (NISTIR 6556, 3.6.1); a closing % stops nothing."""
    text = ("%\n" if end == "%" else "") + TEXT.replace("M5\nM2\n", f"{end}\n")
    assert told(said(text)) == [(level, "ends-turning")]


# --- ways across


@pytest.mark.parametrize(("height", "room"), [(12.0, "0 mm"), (12.4, "0.4 mm"), (12.9, "0.9 mm"), (13.0, "")])
def test_a_rapid_across_close_over_the_stock(height: float, room: str) -> None:
    """Less than 1 mm over the thickest reading is a caution with the number, 1 mm is not."""
    found = said(after(OUTLINE, f"G0 Z{height}"))
    assert told(found) == [("caution", "rapid-close")] * bool(room)
    assert all(f"within {room} of uncut wood" in one.text and "13 mm" in one.remedy for one in found)


def test_a_rapid_across_a_pocket_is_judged_by_its_floor() -> None:
    """Within the cleared recess a rapid at 12.2 mm has 5 mm below it."""
    assert said(after("G0 X31.5 Y20\n", "G0 Z12.2", "G0 X30.5")) != []
    text = TEXT.replace("G0 X31.5 Y20\nG0 Z8\n", "G0 X32.5 Y20\nG0 Z12.2\nG0 X31.5\nG0 Z8\n")
    assert text != TEXT
    assert said(text) == []


def test_a_rapid_straight_down_may_end_nearer() -> None:
    """Half a millimetre over the wood is where many feeds begin; 0.1 mm is no room."""
    assert said(TEXT.replace("Y29.959\nG0 Z13\n", "Y29.959\nG0 Z12.5\n")) == []
    assert told(said(TEXT.replace("Y29.959\nG0 Z13\n", "Y29.959\nG0 Z12.1\n"))) == [
        ("caution", "rapid-close")
    ]


@pytest.mark.parametrize(("height", "room"), [(28.5, "0.5 mm"), (29.9, "1.9 mm"), (30.0, "")])
def test_a_rapid_close_over_a_knob(height: float, room: str) -> None:
    """The knob's top is at 28 mm: less than 2 mm over it is a caution with the number."""
    found = said(after(HOLE, f"G0 Z{height}", "G0 X70 Y20", "G0 X30", "G0 Z30"))
    assert told(found) == [("caution", "rapid-close")] * bool(room)
    assert all(f"passes {room} over the bolt of clamp at C2" in one.text for one in found)


@pytest.mark.parametrize(("x", "room"), [(49.5, "1 mm"), (49.2, "1.3 mm"), (49.0, "")])
def test_a_rapid_close_beside_a_clamp(x: float, room: str) -> None:
    """The bar begins at X 52, the cutter is 1.5 mm in radius: what is left counts under 1.4 mm."""
    found = said(after(OUTLINE, f"G0 X{x} Y20", "G0 Z13", "G0 Z30"))
    assert told(found) == [("caution", "rapid-close")] * bool(room)
    assert all(f"passes {room} beside clamp at C2" in one.text for one in found)


def test_what_is_struck_is_not_called_close_as_well() -> None:
    """A rapid into a clamp is a strike, once."""
    kinds = {one.kind for one in said(after(OUTLINE, "G0 X51 Y20", "G0 Z13", "G0 Z30"))}
    assert kinds == {"clamp-struck"}


# --- waste


def test_a_cut_where_nothing_was_to_be_cut() -> None:
    """A groove of 45 mm by 2 mm in the waste, and its round ends: about 0.28 cm3, by its closed form."""
    found = said(after(OUTLINE, "G0 X5 Y35", "G0 Z13", "G1 Z10 F300", "G1 X50 F900", "G0 Z30"))
    (groove,) = found
    assert (groove.level.value, groove.kind) == ("caution", "waste-cut")
    volume = (45 * 3 + math.pi * 1.5**2) * 2  # mm3; heights are kept by cells, hence the tolerance
    shown = float(groove.text.partition(" cm3")[0].rpartition("about ")[2])
    assert shown == pytest.approx(volume / 1000, rel=0.06)
    assert "5 mm to the right and 35 mm to the back" in groove.text


def test_a_cut_beside_a_part_is_no_stray_cut() -> None:
    """A second way round, with its near edge less than a diameter from the part, serves the part."""
    ring = [f"G0 X{30 + 13.9} Y20", "G0 Z13", "G1 Z11 F300", "G2 X43.9 I-13.9 J0 F600", "G0 Z30"]
    assert said(after(OUTLINE, *ring)) == []
    ring = [f"G0 X{30 + 16.0} Y20", "G0 Z13", "G1 Z11 F300", "G2 X46 I-16 J0 F600", "G0 Z30"]
    assert told(said(after(OUTLINE, *ring))) == [("caution", "waste-cut")]


def test_a_frame_cut_in_two() -> None:
    """A slot from front to back leaves each clamp a piece of its own, which can turn about it."""
    found = said(after(OUTLINE, "G0 X15 Y-5", "G0 Z13", "G1 Z-0.2 F300", "G1 Y45 F900", "G0 Z30"))
    (parted,) = [one for one in found if one.kind == "frame-parted"]
    assert parted.level.value == "caution"
    assert "2 pieces" in parted.text
    assert "clamp at C2; clamp at A2" in parted.text or "clamp at A2; clamp at C2" in parted.text
    assert "hold a piece alone" in parted.text
    assert parted.line == TEXT.splitlines().index("(outline)") + 5


def test_a_frame_cut_nearly_in_two_is_whole() -> None:
    """The same slot that stops 5 mm short of the back edge parts nothing."""
    found = said(after(OUTLINE, "G0 X15 Y-5", "G0 Z13", "G1 Z-0.2 F300", "G1 Y33.5 F900", "G0 Z30"))
    assert "frame-parted" not in {one.kind for one in found}


def test_a_part_under_a_clamp_of_its_own_is_no_frame() -> None:
    """A part clamped by its rim and cut free of the frame is held, and comes loose nowhere."""
    nose = clamp("B2", box(36, 19, 38, 21), 12, 12.5)
    bench = replace(CASE.bench, tabs=(), clamps=(*CASE.bench.clamps, nose))
    whole = TEXT.replace("G1 Z3\n", "")
    for clamps in (bench.clamps, bench.clamps[::-1]):
        found = prove([replace(CASE.program, text=whole)], replace(bench, clamps=clamps), cell=0.2).findings
        assert not {"frame-parted", "piece-loose"} & {one.kind for one in found if "slug" not in one.text}


# --- programs as parts of a job


def two(first: str, second: str) -> list[tuple[str, str, int | None]]:
    """Two programs of one job; program, kind and line of what is said, but for the wood left uncut."""
    one = replace(CASE.program, file="1.nc", text=first)
    other = replace(CASE.program, file="2.nc", text=second)
    found = prove([one, other], CASE.bench, cell=0.2).findings
    return [(f.program, f.kind, f.line) for f in found if f.level.value == "caution"]


def zeros(first: str, second: str) -> list[Finding]:
    """What is said of the zeros of two programs that move high up, each with words of its own at the top."""
    texts = [f"G21 G90 G17\n{words}\nG0 Z30\nG0 X1 Y1\nM30\n" for words in (first, second)]
    programs = [replace(CASE.program, file=f"{n}.nc", text=text) for n, text in enumerate(texts, 1)]
    found = prove(programs, CASE.bench, cell=0.5).findings
    return [one for one in found if one.kind == "zeros-differ"]


def test_programs_from_one_zero_are_silent() -> None:
    """G54 said or not, G55 in both, the same G10 in both."""
    for first, second in (("", ""), ("", "G54"), ("G55", "G55"), ("G10 L2 P1 X5", "G10 L2 P1 X5")):
        assert zeros(first, second) == []


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("G54", "G55", "How far apart they lie, no program says"),
        ("G10 L2 P1 X0 Y0 Z0", "G10 L2 P1 X3 Y4 Z0", "They lie 5 mm apart (X 3 mm, Y 4 mm)"),
        ("G10 L2 P1 Z-40", "G10 L2 P2 Z-45\nG55", "They lie 5 mm apart (Z -5 mm)"),
        ("", "G10 L2 P1 Z-5", "How far apart they lie, no program says"),
        ("", "G0 Z30\nG0 X0 Y0\nG92 X3 Y4", "leaves the zero 5 mm from where it found it (X -3 mm, Y -4 mm)"),
        ("", "G0 Z30\nG0 X0 Y0\nG10 L20 P1 X2", "leaves the zero 2 mm from where it found it (X -2 mm)"),
    ],
)
def test_programs_from_other_zeros(first: str, second: str, words: str) -> None:
    """The distance is said where the programs say enough to know it (3-4-5)."""
    (found,) = zeros(first, second)
    assert (found.level.value, found.program) == ("caution", "2.nc")
    assert words in found.text


def test_a_shift_that_is_taken_back_is_no_other_zero() -> None:
    """G92 and then G92.1 leave the zero where it was."""
    assert zeros("", "G0 Z30\nG0 X0 Y0\nG92 X3\nG0 X3\nG92.1") == []


def test_a_program_that_never_moves() -> None:
    """It may be the wrong file."""
    assert two(TEXT, "G21 G90\nM30\n") == [("2.nc", "never-moves", None)]
    assert two(TEXT, "G21 G90\nO100 sub\nG0 X1\n") == []  # not read to its end, which is a stop


def test_a_check_of_the_outline_with_the_spindle_on() -> None:
    """A program of a job that names no cutter is run with hands near it; it must not start the spindle."""
    for text, count in ((CHECK, 0), (CHECK.replace("G0 X", "S9000 M3\nG4 P3\nG0 X"), 1)):
        check = replace(CASE.program, file="0.nc", text=text.replace("M30", "M5\nM30"), cutters=())
        found = prove([check, CASE.program], CASE.bench, cell=0.2).findings
        assert told(list(found)) == [("caution", "check-with-spindle")] * count


def test_a_program_that_takes_another_cutter_than_the_job_has_for_it() -> None:
    """T2 is on hand, so the program could be proved; but the job cuts this program with cutter 1."""
    full = replace(CASE.bench.machine, dialect="full")
    bench = replace(CASE.bench, cutters=(CUTTER, replace(CUTTER, number=2, name="other")), machine=full)
    check = replace(CASE.program, file="0.nc", text=CHECK, cutters=())
    other = replace(CASE.program, text=TEXT.replace("M3 S", "T2 M6\nG43 H2\nM3 S"))
    found = prove([check, other], bench, cell=0.2).findings
    (one,) = [one for one in found if one.kind == "cutter-unexpected"]
    assert "cuts with cutter 2 (other); the job has cutter 1 (3 mm two-flute) for it" in one.text
    meant = replace(other, cutters=(2,))
    assert "cutter-unexpected" not in {one.kind for one in prove([check, meant], bench, cell=0.2).findings}
    assert "cutter-unexpected" not in {one.kind for one in prove([other], bench, cell=0.2).findings}
