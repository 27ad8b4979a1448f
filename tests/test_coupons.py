"""`proveout coupon`: which coupons a job wants, the file that is written for them, and what is refused."""

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from fit_bench import a_job, a_knob, a_stop, a_strap, want
from proveout.cli import main
from proveout.coupons import Asked, coupons_of
from proveout.finding import InputError, InputErrors
from proveout.fit.shape import shape
from proveout.job.read import read_job
from proveout.job.records import CouponWanted, DrawnRule, DrawnWanted, Hardware, Job, Takes, Wanted

EXAMPLES = Path(__file__).parents[1] / "examples"


@pytest.fixture
def kit(tmp_path: Path) -> Path:
    """A copy of the clamp kit's job beside its shop."""
    folder = tmp_path / "kit"
    shutil.copytree(EXAMPLES / "clamp-kit", folder, ignore=shutil.ignore_patterns("*-pack", "*-coupon.toml"))
    return folder / "job.toml"


def names(job: Job, asked: Asked | None = None) -> list[tuple[str, tuple[str, ...]]]:
    """The coupons of a job, each with the parts that it is for."""
    return [(one.wanted.name, one.parts) for one in coupons_of(job, asked or Asked())]


def patterns(file: Path) -> list[CouponWanted]:
    """The coupons of a job file, read back."""
    found = [one.pattern for one in read_job(file).wanted]
    assert all(isinstance(one, CouponWanted) for one in found)
    return [one for one in found if isinstance(one, CouponWanted)]


# --- which coupons


def test_one_coupon_for_each_hardware_and_fit() -> None:
    """Two knobs of one fit share a coupon; another fit has its own; a strap's slot only clears its bolt."""
    job = a_job(
        want(a_knob(), "knob"),
        want(a_knob(), "second knob"),
        want(a_knob(fit="snug"), "loose knob"),
        want(a_strap(), "strap"),
        want(a_stop(), "stop"),
    )
    assert names(job) == [
        ("M6 head firm press coupon", ("knob", "second knob")),
        ("M6 head snug coupon", ("loose knob",)),
        ("6 mm dowel coupon", ("stop",)),
    ]


def test_two_boxes_of_bolts_are_two_coupons() -> None:
    """Heads that measure differently want recesses of their own."""
    other = a_knob(Hardware(size="M6", form="hex head", across_flats=9.8))
    job = a_job(want(a_knob(), "knob"), want(other, "other"))
    assert names(job) == [
        ("M6 head firm press coupon 1", ("knob",)),
        ("M6 head firm press coupon 2", ("other",)),
    ]


def test_a_part_that_names_a_cutter_has_a_coupon_cut_by_it() -> None:
    """A fit is one of cutter and stock: the coupon names the part's cutter too."""
    (trial,) = coupons_of(a_job(want(a_knob(), "knob", cutter=1)), Asked())
    assert trial.wanted.cutter == 1


def test_what_drawn_holes_take_is_tried_too() -> None:
    """Of a drawn part's rules those for a head, a nut or a dowel; a bolt's clearance hole needs no fit."""
    nut = Takes(bolt="M6", hardware=Hardware(size="M6", form="hex nut"), fit="light press", clearance="close")
    pin = Takes(bolt=None, hardware=Hardware(size="1/4", form="dowel"), fit="snug", clearance="normal")
    bolt = Takes(bolt="M6", hardware=None, fit="snug", clearance="normal")
    rules = tuple(
        DrawnRule(layer=str(number), size=None, curve=None, depth=None, floor=None, takes=takes)
        for number, takes in enumerate((nut, bolt, pin, None))
    )
    drawn = DrawnWanted(
        drawing="a.dxf", known=None, units=None, layers=None, part=None, outline=None, rules=rules
    )
    wanted = Wanted(name="plate", count=1, pattern=drawn, rotations_deg=(0.0,), cutter=None)
    assert names(a_job(wanted)) == [("M6 nut coupon", ("plate",)), ("1-4 in dowel coupon", ("plate",))]
    assert [one.coupon.clearance for one in coupons_of(a_job(wanted), Asked())] == ["close", "normal"]


def test_one_part_can_be_asked_for() -> None:
    """By its name, whatever its letters' case."""
    job = a_job(want(a_knob(), "knob"), want(a_stop(), "stop"), want(a_strap(), "strap"))
    assert names(job, Asked(part="Stop")) == [("6 mm dowel coupon", ("stop",))]
    with pytest.raises(InputError, match=r"there is no part lid in the job\. It has: knob, stop, strap\."):
        names(job, Asked(part="lid"))
    with pytest.raises(InputError, match="strap has nothing to fit: a coupon is for"):
        names(job, Asked(part="strap"))


def test_sizes_beyond_sense_are_refused_by_the_command_too() -> None:
    """The same bounds as in a job file."""
    with pytest.raises(
        InputError, match=r"M6 head coupon: step: 15 sizes 0\.5 mm apart reach 3\.5 mm to either side"
    ):
        names(a_job(want(a_knob(), "knob")), Asked(steps=15, step=0.5))


# --- the file


def test_the_file_is_the_job_s_bench_with_coupons(kit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Same shop, sheet, place, zero and clamps; a coupon for the knob's head and for the block's dowel."""
    assert main(["coupon", str(kit)]) == 0
    said = capsys.readouterr().out
    file = kit.parent / "clamp-kit-coupon.toml"
    assert f"wrote {file}" in said and f"Next: proveout make {file}" in said
    assert re.search(r"  M6 head coupon, firm press: 5 sizes from 9\.\d+ mm to 9\.\d+ mm, for knob\n", said)
    job, coupons = read_job(kit), read_job(file)
    for same in ("shop", "stock", "zero", "clamps", "means", "through_allowance", "safe_above", "units"):
        assert getattr(coupons, same) == getattr(job, same), same
    head, pin = patterns(file)
    assert (head.hardware, head.fit) == (job.wanted[0].pattern.hardware, "firm press")  # type: ignore[union-attr]
    assert (head.steps, head.step, pin.steps) == (5, 0.05, 5)
    assert pin.hardware == Hardware(size="6", form="dowel")
    text = file.read_text()
    assert text.startswith("# Fit coupons") and "an offcut of it" in text
    assert "# around = " in text and "# dowel_diameter = " in text


def test_places_of_the_parts_are_not_taken_over_and_flaws_are(kit: Path) -> None:
    """The coupons are laid out anew on the same sheet, whose flaws they keep off."""
    place, flaw = '[[places]]\npart = "knob 1"\nat = [60, 40]\n', "[[flaws]]\nat = [150, 60]\ndiameter = 9\n"
    kit.write_text(f"{kit.read_text()}\n{place}\n{flaw}")
    assert main(["coupon", str(kit)]) == 0
    coupons = read_job(kit.parent / "clamp-kit-coupon.toml")
    assert not coupons.places
    assert [one.diameter for one in coupons.flaws] == [9.0]


def test_an_inch_job_s_coupons_are_in_inches(tmp_path: Path) -> None:
    """Steps of two thousandths; the head's size as it was stated; the shop found from another folder."""
    out = tmp_path / "inch.toml"
    assert main(["coupon", str(EXAMPLES / "inch-knobs" / "job.toml"), "--out", str(out)]) == 0
    (head,) = patterns(out)
    assert head.step == pytest.approx(0.0508)
    assert head.hardware.across_flats == pytest.approx(0.435 * 25.4)
    assert 'step = "0.002 in"' in out.read_text() and 'across_flats = "0.435 in"' in out.read_text()
    assert read_job(out).shop.file.resolve() == (EXAMPLES / "inch-knobs" / "shop.toml").resolve()


def test_steps_and_step_can_be_asked_for(kit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """More sizes, further apart; another program can read what was written."""
    asked = ["--steps", "8", "--step", "0.08 mm", "--part", "knob", "--json"]
    assert main(["coupon", str(kit), *asked]) == 0
    told = json.loads(capsys.readouterr().out)
    (head,) = patterns(Path(told["written"]))
    assert head.steps == 8
    assert head.step == pytest.approx(0.08)
    (coupon,) = told["coupons"]
    assert (coupon["name"], coupon["parts"], coupon["fit"]) == ("M6 head coupon", ["knob"], "firm press")
    knob = next(one for one in shape(read_job(kit)).figures if one.name == "knob.head recess.flats")
    assert coupon["sizes"] == pytest.approx([knob.value + 0.08 * off for off in range(-3, 5)])


def test_nothing_is_overwritten_unasked(kit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Not without --replace, and never a file that is none of ours; nothing is left behind."""
    file = kit.parent / "clamp-kit-coupon.toml"
    assert main(["coupon", str(kit)]) == 0
    before = file.read_bytes()
    assert main(["coupon", str(kit), "--steps", "3"]) == 2
    assert "This is there already. Give another name with --out, or add --replace" in capsys.readouterr().err
    assert file.read_bytes() == before
    assert main(["coupon", str(kit), "--steps", "3", "--replace"]) == 0
    assert [one.steps for one in patterns(file)] == [3, 3]
    job = kit.read_bytes()
    assert main(["coupon", str(kit), "--out", str(kit), "--replace"]) == 2
    assert "so it is not replaced" in capsys.readouterr().err
    assert kit.read_bytes() == job
    assert main(["coupon", str(kit), "--out", str(kit.parent / "no" / "a.toml")]) == 2
    assert "the job file can't be written: No such file or directory" in capsys.readouterr().err
    assert sorted(one.name for one in kit.parent.iterdir()) == [
        "clamp-kit-coupon.toml",
        "job.toml",
        "shop.toml",
    ]


def test_a_job_with_nothing_to_fit_is_told_so(capsys: pytest.CaptureFixture[str]) -> None:
    """The drawn bracket is cut as it is drawn."""
    assert main(["coupon", str(EXAMPLES / "drawn-bracket" / "job.toml")]) == 2
    said = capsys.readouterr().err
    assert "this job has nothing to fit: a coupon is for a bolt's head, a nut or a dowel" in said


@pytest.mark.parametrize(
    ("option", "said", "complaint"),
    [
        ("--steps", "1", '--steps: "1" is out of range. Write a number from 2 to 15.'),
        ("--steps", "many", '--steps: "many" is not a whole number. Write a number from 2 to 15.'),
        ("--step", "0", '--step: "0" must be more than zero.'),
        ("--step", "wide", '--step: "wide" is not a length.'),
    ],
)
def test_words_that_ask_for_nonsense_are_refused(
    option: str, said: str, complaint: str, kit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each with the option, what was read and what would be taken; no file is written."""
    assert main(["coupon", str(kit), option, said]) == 2
    assert complaint in capsys.readouterr().err
    assert not list(kit.parent.glob("*-coupon.toml"))


def test_coupons_that_do_not_go_on_the_sheet_are_not_written(
    kit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """How many sizes would fit is told, that number fits, and no file is left of the one that did not."""
    text = kit.read_text()
    kit.write_text(text.replace("size = [340, 240]", "size = [340, 240]\nedge_margin = 88").replace(
        "edge_margin = 6\n", "", 1))  # fmt: skip
    assert main(["coupon", str(kit), "--steps", "15"]) == 2
    said = capsys.readouterr().err
    most = next(count for count in range(14, 1, -1) if f"With {count} sizes on each coupon" in said)
    assert "That is --steps here" in said
    assert not list(kit.parent.glob("*coupon*"))
    assert main(["coupon", str(kit), "--steps", str(most)]) == 0


# --- coupons in a job file

HEAD = """[[parts]]
name = "row"
count = 1
pattern = "coupon"
"""


def refused(kit: Path, fields: str) -> list[str]:
    """What the reader says of a coupon with these fields, each with its line's words."""
    before, _, _ = kit.read_text().partition("[[parts]]")
    kit.write_text(f"{before}{HEAD}{fields}\n")
    with pytest.raises(InputErrors) as errors:
        read_job(kit)
    assert all(one.place and one.place.line for one in errors.value.errors)
    return [f"{one.place.field if one.place else ''}: {one.text}" for one in errors.value.errors]


@pytest.mark.parametrize(
    ("fields", "complaint"),
    [
        (
            "",
            (
                "parts[1].bolt: a coupon is for a bolt's head, a nut or a dowel. "
                'Write bolt = "M6", or dowel = "6".'
            ),
        ),
        (
            'bolt = "M6"\ndowel = "6"',
            (
                "parts[1].dowel: a coupon is for a bolt or for a dowel. Leave one of them out, or write two "
                "coupons."
            ),
        ),
        (
            'dowel = "6"\nacross_flats = 10',
            "parts[1].across_flats: is of a bolt, and this coupon is for a dowel. Leave it out.",
        ),
        (
            'bolt = "M6"\ndowel_diameter = 6',
            "parts[1].dowel_diameter: is of a dowel, and this coupon is for a bolt. Leave it out.",
        ),
        ('bolt = "M6"\nsteps = 1', "parts[1].steps: 1 is out of range. Write a number from 2 to 15."),
        ('bolt = "M6"\nsteps = 16', "parts[1].steps: 16 is out of range. Write a number from 2 to 15."),
        ('bolt = "M6"\nstep = 0', "parts[1].step: 0 must be more than zero."),
        ('bolt = "M6"\nstep = -0.05', "parts[1].step: -0.05 must be more than zero."),
        (
            'bolt = "M6"\nstep = 0.005',
            (
                "parts[1].step: 0.005 mm is finer than calipers read and a router cuts. Write at least "
                "0.01 mm; 0.05 mm is common."
            ),
        ),
        (
            'bolt = "M6"\nstep = 5',
            (
                "parts[1].step: 5 sizes 5 mm apart reach 10 mm to either side of the middle one, and a fit "
                "is a matter of tenths of a millimetre. Write a smaller step; 0.05 mm is common."
            ),
        ),
        (
            'bolt = "M6"\naround = 12',
            (
                "parts[1].around: 12 mm is far from the 10 mm of the M6 hex head, and a fit is a matter of "
                "tenths of a millimetre. Check the size and the unit, or leave it out."
            ),
        ),
        (
            'dowel = "6"\ndowel_diameter = 60',
            (
                "parts[1].dowel_diameter: 60 mm is far from the standard's 6 mm to 6.01 mm. Measure again, "
                "and check the size and the unit."
            ),
        ),
    ],
)
def test_a_coupon_that_makes_no_sense_is_refused_where_it_says_so(
    fields: str, complaint: str, kit: Path
) -> None:
    """One fault, at its field, with what would be taken."""
    assert refused(kit, fields) == [complaint]


def test_a_coupon_s_defaults_are_those_of_the_other_patterns(kit: Path) -> None:
    """A light press for hexagons, snug for dowels, five sizes 0.05 mm apart."""
    before, _, _ = kit.read_text().partition("[[parts]]")
    kit.write_text(f'{before}{HEAD}bolt = "M6"\n{HEAD.replace("row", "pins")}dowel = "6"\n')
    head, pin = patterns(kit)
    assert (head.fit, head.steps, head.step, head.clearance) == ("light press", 5, 0.05, "normal")
    assert head.hardware == Hardware(size="M6", form="hex head")
    assert replace(pin, hardware=head.hardware, fit=head.fit) == head
    assert (pin.fit, pin.hardware.form) == ("snug", "dowel")


def test_all_readings_of_a_box_go_with_the_coupon(kit: Path) -> None:
    """Several readings, and the pins' limits, stand in the written file as they stood in the job's."""
    text = kit.read_text()
    text = re.sub(r"across_flats = .*", "across_flats = [9.88, 9.85, 9.91]", text)
    kit.write_text(
        text.replace('dowel = "6"', 'dowel = "6"\ndowel_limits = "h8"\ndowel_diameter = [6.0, 5.99]')
    )
    assert main(["coupon", str(kit)]) == 0
    head, pin = patterns(kit.parent / "clamp-kit-coupon.toml")
    assert (head.hardware.across_flats, sorted(head.hardware.others)) == (9.91, [9.85, 9.88])
    assert (pin.hardware.diameter, pin.hardware.others, pin.hardware.limits) == (6.0, (5.99,), "h8")
