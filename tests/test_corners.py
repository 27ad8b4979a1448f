"""The ends of what the setup states: each is proved, and what only fails there says where."""

from dataclasses import replace

import pytest
from shapely import box

from proof_bench import CUTTER, builder, clamp, disc, part, recess, setup, trial
from proveout.finding import Finding, Level
from proveout.program.text import Program
from proveout.proof.corners import Off, at_corners, corners_of, moved
from proveout.proof.prove import prove
from proveout.proof.verdict import Verdict
from proveout.setup import Setup, Tab

CLAMPS = (
    clamp("A1", box(-10, 0, 6, 40), 12, 24, box(-8, 18, -4, 22)),
    clamp("C1", box(74, 0, 90, 40), 12, 24, box(84, 18, 88, 22)),
)
PART = part(
    box(15, 5, 65, 35), recess(box(26.5, 16.5, 43.5, 23.5).buffer(1.5), 8.0, tolerance=0.1), tolerance=0.1
)
BENCH = replace(setup((80.0, 40.0, 12.0), parts=(PART,), clamps=CLAMPS), tabs=())


def pocket(floor: float) -> str:
    """The recess of the bench's part, its floor at a height above the bed; nothing else is cut."""
    rows = [
        f"G1 X{x} Y{y}"
        for y in (16.5, 18.5, 20.5, 22.5, 23.5)
        for x in ((26.5, 43.5), (43.5, 26.5))[int(y) % 2]
    ]
    top = 12.0
    lines = ["G21 G90 G17 G94", "M3 S18000", "G4 P3", f"G0 Z{top + 20}", "G0 X26.5 Y16.5"]
    for z in (top - 2, floor):
        lines += [f"G1 Z{z} F150", *(f"{row} F1000" for row in rows), "G1 X26.5 Y16.5"]
    lines += ["G1 X26.5 Y23.5", "G1 X43.5 Y23.5", "G1 X43.5 Y16.5", "G1 X26.5 Y16.5"]
    return "\n".join([*lines, f"G0 Z{top + 20}", "M5", "M30", ""])


def slot_at(place: str, depth: str, to: str, *, up: int) -> str:
    """A short slot."""
    way = f"G0 Z{up}\nG0 {place}\nG1 {depth} F100\nG1 {to} F600\nG0 Z{up}\n"
    return f"G21 G90 G17 G94\nM3 S18000\nG4 P3\n{way}M5\nM30\n"


def proved(text: str, bench: Setup) -> Verdict:
    """The verdict on a text."""
    program = Program(file="pocket.nc", text=text, cutters=(1,), dialect="plain", units="mm")
    return prove([program], bench, cell=0.2)


def of_kind(verdict: Verdict, kind: str) -> list[Finding]:
    """The findings of a kind."""
    return [one for one in verdict.findings if one.kind == kind]


def floors(bench: Setup) -> Setup:
    """The bench without the outline, whose wall no program here cuts."""
    return replace(bench, parts=())


def test_nothing_stated_has_no_corners() -> None:
    """One reading, no errors: the middle is all there is, and the notes say what was taken as none."""
    assert corners_of(BENCH) == []
    verdict = proved(pocket(8.0), BENCH)
    assert verdict.corners == ()
    assert any("taken as none" in note for note in verdict.notes)


def test_all_ranges_stated_have_twelve_ends() -> None:
    """Thickness, cutter and height together 2 x 2 x 2; the zero aside, 4 more."""
    bench = replace(
        BENCH,
        stock=replace(BENCH.stock, thinnest=11.8),
        cutters=(replace(CUTTER, diameter_error=0.02, runout=0.03),),
        zero_error=(0.2, 0.05),
    )
    assert len(corners_of(bench)) == 12


@pytest.mark.parametrize(
    ("bench", "kind", "words"),
    [
        (replace(BENCH, zero_error=(0.0, 0.3)), "cut-too-deep", "With the zero 0.3 mm too low: "),
        (replace(BENCH, zero_error=(0.0, 0.3)), "material-left", "With the zero 0.3 mm too high: "),
        (
            replace(BENCH, cutters=(replace(CUTTER, diameter_error=0.05, runout=0.3),)),
            "wall-overcut",
            "With the widest cutters: ",
        ),
    ],
)
def test_what_fails_at_an_end_alone_says_which(bench: Setup, kind: str, words: str) -> None:
    """The middle says nothing of the kind; the end that has it is named in the text and in the list."""
    text = pocket(8.0)
    assert of_kind(proved(text, BENCH), kind) == []
    verdict = proved(text, bench)
    found = of_kind(verdict, kind)
    assert len(found) == 1
    assert found[0].text.startswith(words)
    assert found[0].level is Level.STOP
    assert not verdict.ready
    assert words.removesuffix(": ") in [one.name for one in verdict.corners if not one.ready]


def test_the_thin_end_of_a_sheet_zeroed_on_top_is_cut_into_the_bed() -> None:
    """A cut 0.2 mm below a sheet that differs by 0.4 mm goes 0.6 mm into the bed at its thin end."""
    slot = slot_at("X40 Y20", "Z-12.2", "X45", up=20)
    bench = replace(floors(BENCH), zero=(0.0, 0.0, 12.0))
    assert of_kind(proved(slot, bench), "bed-cut") == []
    thin = replace(bench, stock=replace(bench.stock, thinnest=11.6))
    found = of_kind(proved(slot, thin), "bed-cut")
    assert len(found) == 1
    assert found[0].text.startswith("With the sheet 11.6 mm thick: ")
    assert "0.6 mm" in found[0].text
    on_bed = replace(thin, zero=(0.0, 0.0, 0.0))
    from_bed = slot.replace("Z-12.2", "Z-0.2").replace("Z20", "Z32")
    assert of_kind(proved(from_bed, on_bed), "bed-cut") == []


def test_an_end_is_what_a_bench_of_that_sort_would_be() -> None:
    """The corner's findings are those of a setup that states the corner's values outright."""
    text = pocket(8.0)
    wide = replace(CUTTER, diameter=CUTTER.diameter + 0.35)
    outright = {one.kind for one in proved(text, replace(BENCH, cutters=(wide,))).findings}
    ranged = replace(BENCH, cutters=(replace(CUTTER, diameter_error=0.05, runout=0.3),))
    verdict = proved(text, ranged)
    told = {one.kind for one in verdict.findings if one.text.startswith("With the widest cutters")}
    assert told == outright - {one.kind for one in proved(text, BENCH).findings}


def test_a_zero_aside_strikes_a_clamp_that_is_near() -> None:
    """5 mm beside a clamp's bar a cut passes; with the zero off by 6 mm towards it, it doesn't."""
    slot = slot_at("X13 Y20", "Z10", "Y24", up=40)
    bench = replace(floors(BENCH), cutters=(replace(CUTTER, stick_out=60.0, flute_length=15.0),))
    assert of_kind(proved(slot, bench), "clamp-struck") == []
    found = of_kind(proved(slot, replace(bench, zero_error=(6.0, 0.0))), "clamp-struck")
    assert len(found) == 1
    assert "With the zero 6 mm to the left: " in found[0].text


def test_a_caution_of_the_middle_does_not_hide_the_stop_of_an_end() -> None:
    """The same thing told more gravely at an end is told there, once, and no end with it is ready."""
    bench = replace(BENCH, zero_error=(0.0, 0.3))
    caution = Finding(level=Level.CAUTION, kind="bed-cut", text="Deep.", remedy="Less.", program="case.nc")
    stop = replace(caution, level=Level.STOP)
    found, ends = at_corners(trial(bench, builder().motion()), [caution], lambda run: [stop])
    assert [one.level for one in found] == [Level.STOP]
    assert [one.ready for one in ends] == [False, False]
    found, ends = at_corners(trial(bench, builder().motion()), [stop], lambda run: [caution])
    assert found == []


def test_a_bull_nose_with_a_wide_corner_keeps_a_flat_at_its_narrowest() -> None:
    """A corner of 1.49 on a radius of 1.5 that may be 0.05 less: the end is proved, and stays a bull nose."""
    bull = replace(CUTTER, kind="bull nose", corner_radius=1.49, diameter_error=0.1)
    names = [one.name for one in proved(pocket(8.0), replace(BENCH, cutters=(bull,))).corners]
    assert names == ["With the widest cutters", "With the narrowest cutters"]


def test_a_zero_that_may_be_off_the_sheet_is_still_judged() -> None:
    """Parts that end up beside the model are no crash, and the verdict is what it must be."""
    verdict = proved(pocket(8.0), replace(BENCH, zero_error=(300.0, 0.0)))
    assert len(verdict.corners) == 4
    assert not verdict.ready


def test_what_only_an_end_finds_is_no_cause_to_change_the_program() -> None:
    """Eight floors 0.3 mm too high at one end alone: no number of the program is said to be wrong for it."""
    places = [(22.0 + 12 * column, 14.0 + 12 * row) for row in (0, 1) for column in range(4)]
    recesses = [recess(disc(x, y, 1.5), 8.0, f"dimple {x:g} {y:g}", 0.1) for x, y in places]
    bench = replace(BENCH, parts=(part(box(15, 5, 65, 35), *recesses, tolerance=0.1),))
    holes = [f"G0 X{x} Y{y}\nG0 Z13\nG1 Z8 F150\nG0 Z32" for x, y in places]
    corners = ("X66.5 Y3.5", "X66.5 Y36.5", "X13.5 Y36.5", "X13.5 Y3.5")
    rings = [f"G1 Z{z} F150\nF1000" + "".join(f"\nG1 {xy}" for xy in corners) for z in (6, -0.2)]
    outline = ["G0 X13.5 Y3.5", "G0 Z13", *rings, "G0 Z32"]
    text = "\n".join(["G21 G90 G17 G94", "M3 S18000", "G4 P3", "G0 Z32", *holes, *outline, "M5", "M30", ""])
    assert of_kind(proved(text, bench), "wall-undercut") == []
    look = "\n".join(["G21 G90 G17 G94", "G0 Z32", *(f"G1 {xy} F1200" for xy in corners), "M30", ""])
    both = [
        Program(file=file, text=said, cutters=cutters, dialect="plain", units="mm")
        for file, said, cutters in (("look.nc", look, ()), ("cut.nc", text, (1,)))
    ]
    verdict = prove(both, replace(bench, zero_error=(0.0, 0.3)), cell=0.2)
    assert of_kind(verdict, "wall-undercut")
    assert any(one.text.startswith("With the zero 0.3 mm too high: ") for one in verdict.findings)
    assert of_kind(verdict, "one-cause") == []


@pytest.mark.parametrize(
    ("zero", "off", "height"),
    [
        (12.0, Off(thin=0.2), 2.8),  # the program hangs from the top
        (0.0, Off(thin=0.2), 3.0),  # the program stands on the bed
        (0.0, Off(high=0.2), 3.2),
        (12.0, Off(thin=0.2, high=-0.3), 2.5),
        (12.0, Off(thin=2.0), 2.25),  # more than a quarter is not let pass
    ],
)
def test_bridges_go_up_and_down_with_the_zero(zero: float, off: Off, height: float) -> None:
    """A bridge of 3 mm a little higher or lower is what that end makes of it, no fault of the program."""
    tab = Tab(part="knob", at=(40.0, 5.0), length=6.0, height=3.0)
    stock = replace(BENCH.stock, thinnest=11.0)
    bench = replace(BENCH, stock=stock, zero=(0.0, 0.0, zero), tabs=(tab,))
    assert moved(trial(bench, builder().motion()), off).setup.tabs[0].height == pytest.approx(height)
