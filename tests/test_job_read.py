"""Job and shop files: what is stated is what is read, and every slip is told with its place and a way out."""

import random
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from proveout.finding import InputError, InputErrors
from proveout.job import defaults
from proveout.job.read import MOST_TOLD, read_job, read_shop
from proveout.job.records import Hardware, KnobWanted, StopWanted, StrapWanted
from proveout.job.starter import starter_files

ROOT = Path(__file__).parent.parent

SHOP = """\
units = "mm"
name = "test bench"

[machine]
name = "small gantry"
travel = [500, 400, 90]
tip_reach = 80
max_feed = ["4 m/min", 4000, 1500]
acceleration = [400, 400, 300]
stiffness = "250 N/mm"
dialect = "plain"
program_units = "mm"

[machine.spindle]
min_speed = "8000 rpm"
max_speed = 24000
power = "400 W"
nut_diameter = 20
nut_length = 16
body_diameter = 65

[plate]
size = [460, 340]
at = [20, 25]
first_hole = [17.5, 20]
pitch = 25
columns = 18
rows = 13

[plate.inserts]
thread = "M6"
diameter = 9
depth_below_face = 1.5

[[cutters]]
number = 1
name = "3 mm two-flute"
kind = "flat"
diameter = 3
flutes = 2
flute_length = 15
stick_out = 26
centre_cutting = true

[[cutters]]
number = 4
name = "5 mm drill"
kind = "drill"
diameter = 5
flutes = 2
flute_length = 40
stick_out = 45

[[clamps]]
name = "low strap"
count = 2
length = 70
width = 24
thickness = 12
nose_to_bolt = 38
bolt = "M6"
knob_diameter = 36
knob_height = 14
"""

PART_WITH_UNITS = """\
[[parts]]
name = "stop"
count = 1
pattern = "stop block"
length = "60 mm"
width = "32 mm"
corner_radius = "5 mm"
dowel = "6"
holes = 2
spacing = "24 mm"
"""

# The sheet lies from 65 to 395 mm along X and from 55 to 285 mm along Y; hole B4 is at 42.5, 95.
JOB = """\
units = "mm"
name = "test kit"
shop = "shop.toml"

[stock]
material = "birch plywood"
size = [330, 230]
thickness = ["11.8", "11.9 mm"]
at = [65, 55]

[zero]
level = "bed"

[[clamps]]
clamp = "low strap"
hole = "B4"
towards = "right"

[[clamps]]
clamp = "low strap"
hole = "q10"
towards = "left"

[[parts]]
name = "knob"
count = 8
pattern = "lobed knob"
diameter = 44
lobes = 6
scallop_depth = 3.5
bolt = "M6"
across_flats = 9.92
head_height = 4.05

[[parts]]
name = "strap"
count = 4
pattern = "slotted strap"
length = 90
width = 28
bolt = "M6"
slot_length = 40
slot_from_nose = 24

[[parts]]
name = "stop"
count = 2
pattern = "stop block"
length = 60
width = 32
corner_radius = 5
dowel = "5"
holes = 2
spacing = 30
cutter = 1
"""


class Faults(NamedTuple):
    """What a reading said, and the two texts it was about."""

    sentences: list[str]
    texts: dict[str, str]


def faults(folder: Path, job: str = JOB, shop: str = SHOP) -> Faults:
    """Everything that is said about two files, their folder left out."""
    (folder / "job.toml").write_text(job, encoding="utf-8")
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    try:
        read_job(folder / "job.toml")
    except InputErrors as several:
        said = [str(error).replace(f"{folder}/", "") for error in several.errors]
        return Faults(said, {"job.toml": job, "shop.toml": shop})
    return Faults([], {})


def spoilt(folder: Path, *changes: tuple[str, str]) -> Faults:
    """What is said when texts are replaced, each where it first stands in the job file or else the shop's."""
    job, shop = JOB, SHOP
    for old, new in changes:
        assert old in job or old in shop, old
        if old in job:
            job = job.replace(old, new, 1)
        else:
            shop = shop.replace(old, new, 1)
    return faults(folder, job, shop)


def test_the_bench_of_these_tests_reads(tmp_path: Path) -> None:
    """Nothing is said about the two files that the tests below spoil."""
    assert faults(tmp_path).sentences == []


class Slip(NamedTuple):
    """A case of job_slips.txt."""

    changes: tuple[tuple[str, str], ...]
    said: list[str]


def slip(case: str) -> Slip:
    """A case from its lines: old text behind "-", new behind "+", then what is said."""
    changes: list[tuple[list[str], list[str]]] = []
    said: list[str] = []
    for line in case.splitlines():
        if line.startswith("-"):
            if not changes or changes[-1][1]:
                changes.append(([], []))
            changes[-1][0].append(line[2:])
        elif line.startswith("+"):
            changes[-1][1].append(line[2:])
        else:
            said.append(line)
    return Slip(tuple(("\n".join(old), "\n".join(new)) for old, new in changes), said)


CASES = (ROOT / "tests" / "job_slips.txt").read_text(encoding="utf-8").split("\n\n")
SLIPS = [slip(case) for case in CASES if not case.startswith("#")]


@pytest.mark.parametrize("case", SLIPS, ids=lambda case: case.said[0].split(": ")[1])
def test_a_slip_is_told_whole_with_its_place_and_a_way_out(case: Slip, tmp_path: Path) -> None:
    """File, line, column, field, what was read and what to write: the whole sentence, and nothing besides."""
    found = spoilt(tmp_path, *case.changes)
    assert found.sentences == case.said
    for sentence in found.sentences:
        file, line, column, field = (word.strip() for word in sentence.split(":")[:4])
        there = found.texts[file].splitlines()[int(line) - 1][int(column) - 1 :]
        last = field.split(".")[-1]
        assert there.startswith((last, "[")) or last.endswith("]") or "is missing" in sentence, sentence


def test_there_are_cases_enough() -> None:
    """At least twenty-five different slips are told apart."""
    assert len({case.said[0].split(": ", 2)[2] for case in SLIPS}) >= 25


def test_every_fault_of_both_files_is_told_at_once_in_order(tmp_path: Path) -> None:
    """A person mends everything in one go: the job file's faults by line, then the shop file's."""
    found = spoilt(
        tmp_path,
        ("rows = 13", "rows = 0"),
        ("holes = 2", 'holes = "two"'),
        ('level = "bed"', 'level = "floor"'),
        ("tip_reach = 80", 'tip_reach = "80 s"'),
        ("at = [65, 55]", 'at = ["65 m", true]'),
    )
    assert [sentence.split(": ")[0:2] for sentence in found.sentences] == [
        ["job.toml:9:7", "stock.at[1]"],
        ["job.toml:9:15", "stock.at[2]"],
        ["job.toml:12:1", "zero.level"],
        ["job.toml:53:1", "parts[3].holes"],
        ["shop.toml:7:1", "machine.tip_reach"],
        ["shop.toml:28:1", "plate.rows"],
    ]


def test_the_job_files_faults_come_first_whatever_it_is_called(tmp_path: Path) -> None:
    """Files are told of in the order in which a person opens them, not by the alphabet."""
    (tmp_path / "z.toml").write_text(JOB.replace("lobes = 6", "lobes = 1"))
    (tmp_path / "shop.toml").write_text(SHOP.replace("rows = 13", "rows = 0"))
    with pytest.raises(InputErrors) as caught:
        read_job(tmp_path / "z.toml")
    assert [error.place.file.name for error in caught.value.errors if error.place] == ["z.toml", "shop.toml"]


def test_a_syntax_slip_in_the_shop_file_is_told_at_its_own_line(tmp_path: Path) -> None:
    """The shop file's line is named, not only the job's line that names the shop file."""
    found = spoilt(tmp_path, ("[plate]", "[plate"))
    assert [sentence.split(": ")[0] for sentence in found.sentences] == ["shop.toml:22:7"]


BARE = (
    'job.toml:6:9: stock.size[1]: 330 has no unit, and this file declares none. Write "18.5 mm" or '
    '"3/4 in", or put units = "mm" (or "in") at the top of the file.'
)


def test_a_few_bare_numbers_without_declared_units_are_refused_one_by_one(tmp_path: Path) -> None:
    """Without units at the top, each number that needs one is named; those with a unit and counts are not."""
    job = JOB.replace('units = "mm"\n', "", 1)
    job = job[: job.index("[[parts]]")] + PART_WITH_UNITS
    said = faults(tmp_path, job).sentences
    assert said[0] == BARE
    fields = [sentence.split(": ")[1] for sentence in said]
    assert fields == ["stock.size[1]", "stock.size[2]", "stock.thickness[1]", "stock.at[1]", "stock.at[2]"]


def test_one_forgotten_line_of_units_is_told_once_with_the_count_of_numbers(tmp_path: Path) -> None:
    """More bare numbers than a few come of one line, and don't bury it; other faults are still told."""
    said = faults(tmp_path, JOB.replace('units = "mm"\n', "", 1)).sentences
    assert said == [f"{BARE} So it is with 16 more numbers of this file."]
    both = JOB.replace('units = "mm"\n', "", 1).replace('level = "bed"', 'level = "bad"')
    assert len(faults(tmp_path, both).sentences) == 2


def test_a_missing_word_is_told_with_all_the_words_there_are(tmp_path: Path) -> None:
    """One word alone would read as advice: a zero on the wrong face cuts into the plate."""
    (said,) = faults(tmp_path, JOB.replace('level = "bed"\n', "")).sentences
    assert said.endswith('level is missing. Write level = "top" or "bed".')


def test_a_slipped_decimal_point_in_a_reading_is_refused(tmp_path: Path) -> None:
    """119 mm beside 11.8 mm is no sheet; readings that differ by less than half may be one."""
    (said,) = spoilt(tmp_path, ('["11.8", "11.9 mm"]', '["11.8", "119 mm"]')).sentences
    assert said.startswith("job.toml:8:22: stock.thickness[2]: one reading is 119 mm and another 11.8 mm")


def test_a_sheet_that_does_not_go_under_the_cutter_is_refused(tmp_path: Path) -> None:
    """With Z at its top the tip is tip_reach above the plate, 80 mm here: nothing passes over more."""
    (said,) = spoilt(tmp_path, ('["11.8", "11.9 mm"]', '"80 mm"')).sentences
    assert "a sheet 80 mm thick doesn't go under the cutter, whose tip is 80 mm above" in said


def test_the_first_fifty_faults_are_told_and_the_rest_counted(tmp_path: Path) -> None:
    """A file that is wrong all over doesn't bury its first line."""
    readings = ", ".join(["0"] * 200)
    said = spoilt(tmp_path, ('["11.8", "11.9 mm"]', f"[{readings}]")).sentences
    assert len(said) == MOST_TOLD + 1
    assert said[0] == "job.toml:8:14: stock.thickness[1]: 0 must be more than zero."
    assert said[-1] == "job.toml: and 150 more faults after these."


def test_thickness_is_measured_or_nominal_and_says_which(tmp_path: Path) -> None:
    """One reading is a measurement; a nominal thickness is not; both or neither is refused."""
    (tmp_path / "shop.toml").write_text(SHOP)
    job = tmp_path / "job.toml"
    job.write_text(JOB.replace('["11.8", "11.9 mm"]', '"11.85"'))
    assert (read_job(job).stock.readings, read_job(job).stock.measured) == ((11.85,), True)
    job.write_text(JOB.replace('thickness = ["11.8", "11.9 mm"]', "nominal_thickness = 12"))
    assert (read_job(job).stock.readings, read_job(job).stock.measured) == ((12.0,), False)
    neither = JOB.replace('thickness = ["11.8", "11.9 mm"]\n', "")
    both = JOB.replace('thickness = ["11.8", "11.9 mm"]', "thickness = 12\nnominal_thickness = 12")
    for text, line in ((neither, 6), (both, 8)):
        (sentence,) = faults(tmp_path, text).sentences
        assert sentence.startswith(f"job.toml:{line}:1: stock.")
        assert sentence.endswith(
            ': write thickness = ["11.8 mm", "11.9 mm"] from calipers, or nominal_thickness where nothing '
            "was measured; one of the two."
        )


def test_what_is_left_out_is_taken_from_the_defaults(tmp_path: Path) -> None:
    """Half an inch over the highest thing, 6 mm along the edge: common practice, no source."""
    faults(tmp_path)
    job = read_job(tmp_path / "job.toml")
    assert (job.safe_above, job.stock.edge_margin, job.through_allowance) == (12.7, 6.0, 0.3)
    assert job.zero.corner == "left front"
    assert [part.rotations_deg for part in job.wanted] == [(0.0,), (0.0, 90.0), (0.0, 90.0)]
    assert job.shop.cutters[1].point_deg == defaults.DRILL_POINT == 118.0
    assert job.shop.cutters[0].shank_diameter == job.shop.cutters[0].diameter


def test_a_cutter_of_which_nothing_is_said_is_not_taken_to_plunge(tmp_path: Path) -> None:
    """Unstated, a flat cutter doesn't cut at its centre: the unfavourable end. A drill always does."""
    faults(tmp_path, shop=SHOP.replace("centre_cutting = true\n", ""))
    assert [cutter.centre_cutting for cutter in read_shop(tmp_path / "shop.toml").cutters] == [False, True]


def test_words_are_taken_however_they_are_capitalised(tmp_path: Path) -> None:
    """ "Lobed Knob" is a lobed knob: nothing that a person asked for is dropped without a word."""
    assert faults(tmp_path, JOB.replace('"lobed knob"', '"Lobed Knob "')).sentences == []
    assert [part.name for part in read_job(tmp_path / "job.toml").wanted] == ["knob", "strap", "stop"]


def test_sizes_are_known_by_their_common_spellings(tmp_path: Path) -> None:
    """m6 is M6."""
    assert faults(tmp_path, JOB.replace('bolt = "M6"', 'bolt = "m6"')).sentences == []
    knob = read_job(tmp_path / "job.toml").wanted[0].pattern
    assert isinstance(knob, KnobWanted)
    assert knob.hardware == Hardware(size="M6", form="hex head", across_flats=9.92, height=4.05)


def test_the_inch_example_means_what_an_inch_rule_says() -> None:
    """Fractions come out exact: 1-1/2 in is 38.1 mm, 5/32 in is 3.96875 mm, 1/8 in is 3.175 mm."""
    job = read_job(ROOT / "examples" / "inch-knobs" / "job.toml")
    assert job.units == "in"
    (wanted,) = job.wanted
    assert isinstance(wanted.pattern, KnobWanted)
    assert wanted.pattern.diameter == 38.1
    assert wanted.pattern.hardware.height == 3.96875
    assert all(5.9 < reading < 6.0 for reading in job.stock.readings)  # sold as 1/4 in: about 0.235 in
    assert job.shop.cutters[0].diameter == 3.175
    assert job.shop.machine.units == "in"


def test_the_metric_example_holds_what_its_class_makes() -> None:
    """Eight knobs, four straps, two stop blocks from one measured sheet, under four clamps at named holes."""
    job = read_job(ROOT / "examples" / "clamp-kit" / "job.toml")
    kinds = [type(part.pattern) for part in job.wanted]
    assert kinds == [KnobWanted, StrapWanted, StopWanted]
    assert [part.count for part in job.wanted] == [8, 4, 2]
    assert job.stock.measured
    assert len(job.stock.readings) == 4
    assert len({clamp.hole for clamp in job.clamps}) == 4


def test_the_starter_reads_and_explains_each_line(tmp_path: Path) -> None:
    """What proveout new writes reads without a fault, and most of its fields carry a comment."""
    for name, text in starter_files().items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        fields = [line for line in text.splitlines() if "=" in line and not line.startswith("#")]
        assert sum("#" in line for line in fields) >= len(fields) / 2
    assert read_job(tmp_path / "job.toml").name == "first knobs"


NUMBERS = ["nan", "inf", "-1", "0", "1e400", "1e-300", "9" * 300, "0x" + "F" * 300, "true"]
LISTS = ["[]", "{}", "[[]]", "[1, [2]]", "{a = {b = 1}}", "[" + "1," * 2000 + "]", '["mm"]', "[{x = 1}]"]
TEXTS = [
    '""',
    '"\\u0000"',
    '"mm"',
    f'"{"x" * 5000}"',
    '"../../../etc/passwd"',
    '"/dev/zero"',
    "'\t'",
    '"\\u202e"',
]
DATES = ["1979-05-27", "07:32:00"]
HOSTILE = (*NUMBERS, *LISTS, *TEXTS, *DATES)


def changed_value(text: str, chance: random.Random) -> str:
    """The text with one field's value replaced by something hostile."""
    lines = text.splitlines()
    number = chance.choice([index for index, line in enumerate(lines) if " = " in line])
    lines[number] = f"{lines[number].split(' = ')[0]} = {chance.choice(HOSTILE)}"
    return "\n".join(lines)


def changed_line(text: str, chance: random.Random) -> str:
    """The text with one line left out, doubled or moved."""
    lines = text.splitlines()
    line = lines.pop(chance.randrange(len(lines)))
    for _ in range(chance.randrange(3)):
        lines.insert(chance.randrange(len(lines)), line)
    return "\n".join(lines)


def changed_characters(text: str, chance: random.Random) -> str:
    """The text with a few characters replaced."""
    letters = list(text)
    for _ in range(chance.randrange(1, 4)):
        letters[chance.randrange(len(letters))] = chance.choice("[]{}\"'#=.,\\\n 0-é\0")
    return "".join(letters)


@pytest.mark.parametrize("change", [changed_value, changed_line, changed_characters])
def test_no_file_makes_the_reader_crash(change: Callable[[str, random.Random], str], tmp_path: Path) -> None:
    """Whatever stands in the files, they are read or refused with places; no message upsets a terminal."""
    chance = random.Random(20)
    (tmp_path / "job.toml").write_text(JOB)
    (tmp_path / "shop.toml").write_text(SHOP)
    for number in range(250):
        name, text = ("job.toml", JOB) if number % 2 else ("shop.toml", SHOP)
        (tmp_path / name).write_text(change(text, chance), encoding="utf-8")
        try:
            read_job(tmp_path / "job.toml")
        except InputErrors as several:
            for error in several.errors:
                assert error.place is not None
                assert error.text.isprintable()
        (tmp_path / name).write_text(text)


def test_a_job_that_is_not_there_is_told_of() -> None:
    """A missing file is an error about that file, of the kind that every reading raises."""
    with pytest.raises(InputErrors) as caught:
        read_job(Path("nowhere/job.toml"))
    (error,) = caught.value.errors
    assert isinstance(error, InputError)
    assert str(error) == (
        "nowhere/job.toml: there is no such file. Check the path; proveout new writes a job and a shop file "
        "to start from."
    )
