"""Programs from elsewhere: the example is ready, spoiled ones are caught, bad setups are located."""

import json
import re
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from ezdxf.filemanagement import readfile
from shapely.geometry import Point

from proveout.curve import circle, from_points
from proveout.drawing.dxf import Layer, dxf
from proveout.drawing.intend import intent
from proveout.finding import InputError, InputErrors
from proveout.job import fields, setup_fields
from proveout.job.locate import located
from proveout.job.read import read_job
from proveout.job.read_setup import read_setup
from proveout.job.source import parse_source
from proveout.job.table import Field, fields_of
from proveout.plan import plan, prove_texts
from proveout.program.load import load_text
from proveout.proof.verdict import Verdict

ROOT = Path(__file__).parent.parent
EXAMPLE = ROOT / "examples" / "bought-program"
PROGRAM = (EXAMPLE / "latch-plate.nc").read_text()
KIT = ROOT / "examples" / "clamp-kit"


def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """One command, as a process of its own."""
    command = [sys.executable, "-m", "proveout.cli", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture
def setup(tmp_path: Path) -> Path:
    """A copy of the example's setup that a test may spoil."""
    for file in EXAMPLE.iterdir():
        if file.is_file():
            shutil.copy(file, tmp_path)
    return tmp_path / "setup.toml"


def spoil(file: Path, old: str, new: str) -> None:
    """Replace a text that must be there."""
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new, 1))


def bare(text: str) -> str:
    """A setup without what is intended."""
    begin, end = text.index("[[intended]]"), text.index("[machine]")
    return text[:begin] + text[end:]


@cache
def verdict(program: str) -> Verdict:
    """What is said of a program on the example's setup."""
    return prove_texts(read_setup(EXAMPLE / "setup.toml"), [("latch-plate.nc", program)])


def found(said: Verdict) -> list[tuple[str, int | None]]:
    """Kinds and lines of all findings."""
    return [(one.kind, one.line) for one in said.findings]


def line_of(words: str, program: str = PROGRAM) -> int:
    """The first line that holds the words, from 1."""
    return next(number for number, line in enumerate(program.splitlines(), 1) if words in line)


# --- the example


def test_the_example_is_ready_without_a_finding() -> None:
    """The program does what the drawing says, on the bench that the setup states."""
    said = verdict(PROGRAM)
    assert found(said) == []
    assert said.ready


def test_the_example_s_setup_says_what_its_drawing_says() -> None:
    """The parts that the prover compares with have the drawing's sizes, in their places (closed forms)."""
    (part,) = intent(read_setup(EXAMPLE / "setup.toml")).parts
    assert part.outline.bounds == pytest.approx((30, 30, 150, 110))
    holes, pocket = (
        [one for one in part.features if one.through],
        [one for one in part.features if not one.through],
    )
    assert sorted(one.region.centroid.x for one in holes) == pytest.approx([45, 135])
    assert all(Point(one.region.centroid).buffer(3.99).within(one.region) for one in holes)
    assert [one.floor for one in pocket] == pytest.approx([7.0])
    assert pocket[0].region.bounds == pytest.approx((65, 55, 115, 85))


# --- spoiled programs


def test_a_pocket_a_millimetre_too_deep_is_found_at_its_first_deep_line() -> None:
    """The last level at 6 mm in place of 5: its ramp's end is the first cut below the floor."""
    program = PROGRAM.replace("Z-5\n", "Z-6\n", 1)
    first = line_of("Z-6", program)
    findings = [one for one in verdict(program).findings if one.kind == "cut-too-deep"]
    assert [one.line for one in findings] == [first]
    assert "1 mm too deep into the floor of latch plate's POCKET" in findings[0].text


def test_a_missing_hole_is_found() -> None:
    """Without the second hole's lines both its material and its wall are told of, by its name."""
    lines = PROGRAM.splitlines()
    begin = next(i for i, line in enumerate(lines) if line == "G0 X136 Y70")
    end = next(i for i, line in enumerate(lines) if line.startswith("(OUTLINE"))
    said = verdict("\n".join(lines[:begin] + lines[end:]) + "\n")
    told = {one.kind: one.text for one in said.findings}
    assert not said.ready
    assert "latch plate's HOLES 2" in told["material-left"]
    assert "latch plate's HOLES 2" in told["wall-undercut"]
    assert not any("HOLES 1" in one.text for one in said.findings)


def test_a_rapid_through_stock_is_found_at_its_line() -> None:
    """A feed turned to a rapid, on the line that it stands in."""
    line = line_of("G1 X104")
    lines = PROGRAM.splitlines()
    lines[line - 1] = lines[line - 1].replace("G1", "G0")
    assert ("rapid-hits-material", line) in found(verdict("\n".join(lines) + "\n"))


def test_a_tab_that_is_cut_away_is_found() -> None:
    """A bridge that the setup states and the program cuts through: too deep, at that line."""
    at = PROGRAM.index("(LEVEL -12.3)")
    spoiled = PROGRAM[:at] + PROGRAM[at:].replace("G1 Z-9 F400", "G1 Z-12.3 F400", 1)
    line = PROGRAM[:at].count("\n") + 1 + PROGRAM[at:].splitlines().index("G1 Z-9 F400")
    cuts = [one for one in verdict(spoiled).findings if one.kind == "cut-too-deep"]
    assert cuts
    assert "bridge of latch plate" in cuts[0].text
    assert line <= (cuts[0].line or 0) <= line + 1


# --- without an intent


@pytest.mark.parametrize(
    ("old", "new", "kind", "said_at"),
    [
        ("G1 X104 Y70\n", "G0 X104 Y70\n", "rapid-hits-material", "G0 X104 Y70"),
        ("G0 X60 Y27\nG0 Z1", "G0 X60 Y27\nG0 X4 Y50 Z5\nG0 X60 Y27\nG0 Z1", "clamp-struck", "G0 X4 Y50 Z5"),
        ("G0 X0 Y140\n", "G0 X0 Y400\n", "beyond-travel", "G0 X0 Y400"),
        ("M3\n", "M5\n", "spindle-off", ""),
    ],
)
def test_without_an_intent_the_other_checks_still_find(
    setup: Path, old: str, new: str, kind: str, said_at: str
) -> None:
    """Rapids, strikes, travel and a standing spindle need no parts; each is named at its line."""
    setup.write_text(bare(setup.read_text()))
    assert old in PROGRAM
    program = PROGRAM.replace(old, new, 1)
    said = prove_texts(read_setup(setup), [("a.nc", program)])
    lines = [line for one, line in found(said) if one == kind]
    assert lines
    if said_at:
        assert line_of(said_at, program) in lines
    assert any("No parts were stated" in note for note in said.notes)


def test_without_an_intent_a_loose_piece_is_found(setup: Path) -> None:
    """Where the tabs are cut away the plate comes loose, and nothing is said of a part."""
    setup.write_text(bare(setup.read_text()))
    good = prove_texts(read_setup(setup), [("a.nc", PROGRAM)])
    assert "piece-loose" not in [one.kind for one in good.findings if one.level.value == "stop"]
    loose = prove_texts(read_setup(setup), [("a.nc", PROGRAM.replace("G1 Z-9 F400\n", ""))])
    assert "piece-loose" in [one.kind for one in loose.findings if one.level.value == "stop"]
    assert not any("latch plate" in one.text for one in loose.findings)


# --- shop files and layers


def test_the_bench_may_come_from_a_shop_file_and_a_table_of_its_own_goes_first(setup: Path) -> None:
    """The same tables out of a shop file give the same bench; a cutter stated here stands for the shop's."""
    whole = read_setup(setup)
    text = setup.read_text()
    at, cutters = text.index("[machine]"), text.index("[[cutters]]")
    shop = 'units = "mm"\nname = "garage"\n' + text[at:].replace("[[clamp_kinds]]", "[[clamps]]")
    (setup.parent / "shop.toml").write_text(shop)
    top = text[:at].replace('name = "latch plate"\n', 'name = "latch plate"\nshop = "shop.toml"\n', 1)
    setup.write_text(top)
    named = read_setup(setup)
    assert (named.shop.machine, named.shop.plate) == (whole.shop.machine, whole.shop.plate)
    assert (named.shop.cutters, named.shop.clamps) == (whole.shop.cutters, whole.shop.clamps)
    own = text[cutters : text.index("[[clamp_kinds]]")].replace('"6.00 mm"', '"5.90 mm"')
    setup.write_text(top + own)
    assert [one.diameter for one in read_setup(setup).shop.cutters] == [5.9]
    assert read_setup(setup).shop.machine == whole.shop.machine


def test_a_layer_that_nobody_names_is_told_of(setup: Path) -> None:
    """What is not judged is said: here the pocket, once its floor isn't stated any more."""
    spoil(setup, '[[intended.floor]]\nlayer = "POCKET"\ndepth = "5 mm"\n', "")
    said = prove_texts(read_setup(setup), [("a.nc", PROGRAM)])
    assert any("POCKET is not judged" in note for note in said.notes)
    assert "cut-too-deep" in [one.kind for one in said.findings]


def test_turned_and_moved_the_part_lies_where_it_is_said(setup: Path) -> None:
    """Turned a quarter and placed by its corner, 120 by 80 mm lies as 80 by 120 from that corner."""
    spoil(setup, "size = [180, 140]", "size = [180, 160]")
    spoil(setup, "at = [30, 30] ", 'anchor = "corner"\nangle = "90 deg"\nat = [40, 20] ')
    wanted = intent(read_setup(setup))
    assert wanted.parts[0].outline.bounds == pytest.approx((40, 20, 120, 140))
    # the drawing's left edge, x = 0, is the front edge now
    assert wanted.tabs[0].at == pytest.approx((80, 20))


def test_everything_on_one_layer_is_an_outline_and_what_is_in_it(setup: Path) -> None:
    """Without an outline's name the outermost loop is it, also where the holes share its layer."""
    curves = (circle((50, 50), 80), circle((30, 50), 8), circle((70, 50), 8))
    (setup.parent / "latch-plate.dxf").write_text(dxf([Layer(name="0", curves=curves)]), newline="")
    text = setup.read_text()
    tabs = text[text.index("[[intended.tabs]]") : text.index("# The bench. ")]
    setup.write_text(text.replace(tabs, "").replace('outline = "OUTLINE"\n', ""))
    spoil(setup, '[[intended.floor]]\nlayer = "POCKET"\ndepth = "5 mm"\n', "")
    spoil(setup, '["HOLES"]', '"0"')
    (part,) = intent(read_setup(setup)).parts
    assert part.outline.bounds == pytest.approx((40, 40, 120, 120), abs=0.001)
    assert sorted(one.region.centroid.x for one in part.features) == pytest.approx([60, 100])


def redrawn(setup: Path, *layers: Layer) -> None:
    """Another drawing in the example's place, and no tabs stated."""
    (setup.parent / "latch-plate.dxf").write_text(dxf(layers), newline="")
    text = setup.read_text()
    tabs = text[text.index("[[intended.tabs]]") : text.index("# The bench. ")]
    setup.write_text(text.replace(tabs, ""))


OUTLINE = Layer(name="OUTLINE", curves=(from_points([(0, 0), (120, 0), (120, 80), (0, 80)]),))
HOLES = Layer(name="HOLES", curves=(circle((15, 40), 8),))


def test_a_pocket_that_runs_out_over_the_edge_ends_at_the_outline(setup: Path) -> None:
    """A rebate is drawn wider than the part: only what lies in the part must be cut away."""
    rebate = from_points([(100, -5), (130, -5), (130, 85), (100, 85)])
    redrawn(setup, OUTLINE, HOLES, Layer(name="POCKET", curves=(rebate,)))
    (part,) = intent(read_setup(setup)).parts
    (floor,) = [one for one in part.features if not one.through]
    assert floor.region.bounds == pytest.approx((130, 30, 150, 110))


def test_a_pocket_outside_its_part_is_refused(setup: Path) -> None:
    """What lies wholly beside the outline can't be meant."""
    redrawn(setup, OUTLINE, HOLES, Layer(name="POCKET", curves=(circle((150, 40), 8),)))
    with pytest.raises(InputError, match=r"latch-plate\.dxf: the loop of CIRCLE \w+ at .* lies outside"):
        prove_texts(read_setup(setup), [("a.nc", PROGRAM)])


@pytest.mark.parametrize(
    ("layer", "said"),
    [
        ("POCKET", r"latch-plate\.dxf: CIRCLE \w+ on layer POCKET doesn't lie flat"),
        ("OUTLINE", r"latch-plate\.dxf: CIRCLE \w+ on layer OUTLINE doesn't lie flat"),
        ("NOTES", ""),
    ],
)
def test_an_entity_that_is_not_read_is_named_where_its_layer_is_used(
    setup: Path, layer: str, said: str
) -> None:
    """Type, handle and layer, at the field that uses the layer; on a layer that nobody names it may stay."""
    drawing = readfile(setup.parent / "latch-plate.dxf")
    tilted = {"layer": layer, "extrusion": (0.6, 0, 0.8)}
    drawing.modelspace().add_circle((60, 40), 5, dxfattribs=tilted)
    drawing.saveas(setup.parent / "latch-plate.dxf")
    if not said:
        assert prove_texts(read_setup(setup), [("a.nc", PROGRAM)]).ready
        return
    with pytest.raises(InputError, match=said) as error:
        prove_texts(read_setup(setup), [("a.nc", PROGRAM)])
    assert "intended[1]." in str(error.value)


# --- what can't be used


@pytest.mark.parametrize(
    ("old", "new", "field", "said"),
    [
        ('"latch-plate.dxf"', '"absent.dxf"', "intended[1].drawing", "absent.dxf: it can't be read"),
        ('"latch-plate.dxf"', '"setup.toml"', "intended[1].drawing", "it is a setup file"),
        ('["HOLES"]', '["HOLS"]', "intended[1].through", 'no layer "HOLS". It has: OUTLINE, POCKET, HOLES.'),
        ('"OUTLINE"', '"HOLES"', "intended[1].outline", "2 loops on layer HOLES"),
        ('outline = "OUTLINE"', 'outline = "EDGE"', "intended[1].outline", 'no layer "EDGE"'),
        ('layer = "POCKET"', 'layer = "HOLES"', "intended[1].floor[1].layer", "Name each layer once"),
        ('depth = "5 mm"', 'depth = "5 mm"\nfloor = "7 mm"', "intended[1].floor[1].depth", "one of the two"),
        ('depth = "5 mm"', "", "intended[1].floor[1].layer", "one of the two"),
        ('depth = "5 mm"', 'depth = "12 mm"', "intended[1].floor[1].depth", "under through"),
        ("at = [30, 30]", "at = [100, 30]", "intended[1].at", "40 mm past the right edge"),
        ("at = [30, 30]", "at = [30, -1]", "intended[1].at", "1 mm past the front edge"),
        ("at = [0, 40]", "at = [30, 40]", "intended[1].tabs[1].at", "30 mm from the outline"),
        ("height = 3", "height = 13", "intended[1].tabs[1].height", "more than the sheet's thickness"),
        ("[[cutters]]", "[[cutter]]", "cutter", "Did you mean cutters?"),
    ],
)
def test_what_is_wrong_in_a_setup_is_told_at_its_field_and_line(
    setup: Path, old: str, new: str, field: str, said: str
) -> None:
    """Exit by an error that names file, line, column and field; never by a verdict."""
    spoil(setup, old, new)
    with pytest.raises(InputError) as error:
        prove_texts(read_setup(setup), [("a.nc", PROGRAM)])
    several = error.value.errors if isinstance(error.value, InputErrors) else (error.value,)
    placed = [one for one in located(several) if one.place and one.place.field == field]
    assert placed, [str(one) for one in several]
    assert said in placed[0].text
    assert placed[0].place is not None
    assert placed[0].place.file == setup
    line = (placed[0].place.line or 0) - 1
    name = re.split(r"[.\[]", re.sub(r"\[\d+\]$", "", field))[-1]
    assert name in setup.read_text().splitlines()[line]


def test_a_drawing_without_a_unit_is_refused_until_it_is_stated(setup: Path) -> None:
    """The file's own units say nothing of the drawing's."""
    drawing = setup.parent / "latch-plate.dxf"
    text = drawing.read_bytes()
    assert b"$INSUNITS\r\n70\r\n4\r\n" in text
    drawing.write_bytes(text.replace(b"$INSUNITS\r\n70\r\n4\r\n", b"$INSUNITS\r\n70\r\n0\r\n"))
    with pytest.raises(
        InputError, match=r"how large it is isn't certain: its header says nothing of its unit"
    ):
        prove_texts(read_setup(setup), [("a.nc", PROGRAM)])
    spoil(setup, 'drawing = "latch-plate.dxf"', 'drawing = "latch-plate.dxf"\nunits = "mm"')
    assert prove_texts(read_setup(setup), [("a.nc", PROGRAM)]).ready


def test_two_parts_on_one_place_are_refused(setup: Path) -> None:
    """A second part of the same drawing a little further on lies over the first."""
    text = setup.read_text()
    second = text[text.index("[[intended]]") : text.index("[[intended.tabs]]")]
    other = second.replace('name = "latch plate"', 'name = "other"').replace("[30, 30]", "[35, 30]")
    setup.write_text(text + "\n" + other)
    with pytest.raises(InputError, match="other lies over latch plate"):
        prove_texts(read_setup(setup), [("a.nc", PROGRAM)])


# --- files in the wrong place


def test_files_in_the_wrong_place_are_told_by_name() -> None:
    """What the file is, what was wanted, and where this one belongs."""
    for path, kind in (
        (KIT / "shop.toml", "a shop file"),
        (KIT / "job.toml", "a job file"),
        (EXAMPLE / "setup.toml", "a setup file"),
        (EXAMPLE / "latch-plate.dxf", "a DXF drawing"),
    ):
        with pytest.raises(InputError, match=f"This is {kind}, where a program is wanted"):
            load_text(path)
    for path, kind in (
        (KIT / "shop.toml", "a shop file"),
        (EXAMPLE / "latch-plate.dxf", "a DXF drawing"),
        (EXAMPLE / "latch-plate.nc", "an RS-274 program"),
    ):
        with pytest.raises(InputError, match=f"this is {kind}, where a setup file is wanted"):
            read_setup(path)
        with pytest.raises(InputError, match=f"this is {kind}, where a job file is wanted"):
            read_job(path)
    with pytest.raises(InputError, match="this is a setup file, where a job file is wanted"):
        read_job(EXAMPLE / "setup.toml")


@pytest.mark.parametrize(
    ("content", "kind"),
    [(b"%PDF-1.7\n\xe2\xe3", "a PDF"), (b"\x89PNG\r\n\x1a\n", "a picture"), (b"<html><p>", "a web page")],
)
def test_other_files_are_told_by_their_first_bytes(tmp_path: Path, content: bytes, kind: str) -> None:
    """A PDF and the like, whatever its name."""
    (tmp_path / "part.nc").write_bytes(content)
    with pytest.raises(InputError, match=f"This is {kind}, where a program is wanted"):
        load_text(tmp_path / "part.nc")
    with pytest.raises(InputError, match=f"this is {kind}, where a setup file is wanted"):
        read_setup(tmp_path / "part.nc")


@pytest.mark.parametrize("text", ["", "%\n", "(a comment)\n", "G0 X1\n", "#1=5\n", "n10 g1 x2\n", "[stock\n"])
def test_nothing_that_may_be_a_program_is_turned_away(tmp_path: Path, text: str) -> None:
    """Doubtful text goes on to the reader, which says line by line what it can't read."""
    (tmp_path / "a.nc").write_text(text)
    assert load_text(tmp_path / "a.nc") == text


def test_a_job_file_named_as_the_shop_is_told(setup: Path) -> None:
    """shop = "job.toml": what it is and what was wanted, at the field."""
    shutil.copy(KIT / "job.toml", setup.parent)
    spoil(setup, 'name = "latch plate"\n', 'name = "latch plate"\nshop = "job.toml"\n')
    with pytest.raises(InputErrors) as error:
        read_setup(setup)
    assert "job.toml is a job file, where a shop file is wanted" in str(error.value)


def test_parts_of_both_kinds_in_one_file_are_refused(setup: Path) -> None:
    """[[parts]] beside [[intended]]: told at once, with its place, and not as a field that is unknown."""
    spoil(setup, "[[intended]]", '[[parts]]\nname = "knob"\n\n[[intended]]')
    with pytest.raises(InputError, match="can't stand in one file"):
        read_setup(setup)


def test_a_job_file_with_a_table_too_many_is_still_a_job_file(tmp_path: Path) -> None:
    """A stray [[cutters]] in a job file is told of as such, at its line."""
    shutil.copytree(KIT, tmp_path / "kit", ignore=shutil.ignore_patterns("*-pack"))
    job = tmp_path / "kit" / "job.toml"
    job.write_text(job.read_text() + "\n[[cutters]]\nnumber = 1\n")
    with pytest.raises(InputErrors, match='there is no field "cutters" here'):
        read_job(job)


def test_a_renamed_program_of_the_job_is_recognised(tmp_path: Path) -> None:
    """Given under another name and without a cutter, the remedy names what it is and its cutter."""
    job = read_job(KIT / "job.toml")
    own = next(one for one in plan(job).programs if one.cutters)
    said = prove_texts(job, [("first.nc", own.text.replace("S18000", "S17000"))])
    remedies = [one.remedy for one in said.findings if one.kind == "cutter-unknown"]
    assert remedies
    for word in (own.file, f"--cutter {own.cutters[0]}"):
        assert word in remedies[0]
    other = prove_texts(job, [("other.nc", PROGRAM)])
    assert not any("reads like" in note for note in other.notes)


# --- the command line


def test_the_command_s_status_and_json(setup: Path) -> None:
    """0 ready, 1 not ready, 2 not usable, each with JSON on standard output and nothing else there."""
    program = setup.parent / "latch-plate.nc"
    ready = run("prove", program, "--setup", setup, "--json")
    assert (ready.returncode, json.loads(ready.stdout)["verdict"]) == (0, "ready")
    program.write_text(PROGRAM.replace("Z-5\n", "Z-6\n", 1))
    deep = run("prove", program, "--setup", setup, "--json")
    assert (deep.returncode, json.loads(deep.stdout)["verdict"]) == (1, "not ready")
    spoil(setup, '["HOLES"]', '["HOLS"]')
    bad = run("prove", program, "--setup", setup, "--json")
    (error,) = json.loads(bad.stdout)["errors"]
    assert (bad.returncode, error["field"]) == (2, "intended[1].through")
    assert error["line"] == next(
        number for number, line in enumerate(setup.read_text().splitlines(), 1) if "HOLS" in line
    )


# --- the reference


PAGE = (ROOT / "docs" / "setup-file.md").read_text()
SECTIONS: dict[str, type] = {
    "# The setup file": setup_fields.SetupFields,
    "## [[intended]]": setup_fields.IntendedFields,
    "### [[intended.floor]]": setup_fields.FloorFields,
    "### [[intended.tabs]]": setup_fields.TabFields,
}


def test_every_table_has_its_section() -> None:
    """No table of the reader is left out of the page."""
    tables = {table for name, table in vars(setup_fields).items() if name.endswith("Fields")}
    assert tables - {fields.JobFields} == set(SECTIONS.values())


@pytest.mark.parametrize("heading", SECTIONS)
def test_the_page_says_of_every_field_what_the_reader_takes(heading: str) -> None:
    """Kind, whether it must be there, the default, and every word that is taken; and no other field."""
    _, _, after = f"\n{PAGE}".partition(f"\n{heading}\n")
    section = re.split(r"\n#+ ", after)[0]
    rows = [line.strip("|").split(" | ") for line in section.splitlines() if line.startswith("| `")]
    said = {row[0].strip(" `"): [cell.strip(" |") for cell in row[1:]] for row in rows}
    known: dict[str, Field[object]] = {field.name: field for field in fields_of(SECTIONS[heading])}
    assert said.keys() == known.keys()
    for name, field in known.items():
        kind, meaning, left_out = said[name]
        assert kind == field.kind
        assert (left_out == "must be there") == field.required
        if field.default is not None:
            stated = re.split(r" \(|:", left_out)[0]
            assert field.read(f"{stated} deg" if kind == "angle" else stated, "mm") == field.default
        if kind in ("word", "mm or in"):
            assert meaning.count('`"') > 1
            for word in re.findall(r'`"([^"]+)"`', meaning):
                field.read(word, None)


@pytest.mark.parametrize("table", SECTIONS.values())
def test_what_a_message_proposes_is_read(table: type) -> None:
    """Each field's example can be written into a file."""
    for field in fields_of(table):
        field.read(parse_source(f"value = {field.example}", Path("a.toml")).values["value"], None)
