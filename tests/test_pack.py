"""The pack: what its files hold, and the folder that is written whole or not at all."""

import io
import json
import math
import os
import random
import resource
import subprocess
import sys
import time
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files as package_files
from pathlib import Path
from types import FrameType
from typing import Any, Literal

import pytest
import shapely
from ezdxf.filemanagement import read as read_drawing
from jsonschema import Draft202012Validator

import made_example
from proveout.figure import walk
from proveout.finding import InputError
from proveout.job.read import read_job
from proveout.pack import pack as pack_module
from proveout.pack.drawings import counted_from, part_layers
from proveout.pack.folder import default_folder
from proveout.pack.made import Made
from proveout.pack.markup import escaped
from proveout.pack.pack import pack_files, refuse_existing, write_pack
from proveout.pack.plan_picture import numbered
from proveout.pack.report import report_html
from proveout.pack.result_json import result_record
from proveout.plan import make, plan
from proveout.quantity import show, show_time

EXAMPLES = Path(__file__).parent.parent / "examples"
HOSTILE = "<script>alert('\"1\" & 2')</script><img src=x onerror=alert(1)>"

# Two whole packs that differ in every file.
OLD = {"result.json": b'{"proveout": "old"}', "parts/knob.dxf": b"old knob" * 999, "plan.svg": b"old plan"}
NEW = {"result.json": b'{"proveout": "new"}', "parts/strap.dxf": b"new strap" * 999, "plan.svg": b"new plan"}


@pytest.fixture(scope="module")
def example() -> dict[str, bytes]:
    """The files of the example made by hand."""
    return pack_files(made_example.made())


@pytest.fixture(scope="module")
def real() -> Made:
    """The inch example, planned and proved by the road itself."""
    return make(read_job(EXAMPLES / "inch-knobs" / "job.toml"))


# What the files hold


def test_the_pack_has_a_file_for_everyone_who_needs_one(example: dict[str, bytes]) -> None:
    """Programs, what to do at the machine, reasons, two pictures, and a drawing of each kind of part."""
    assert set(example) == {
        "result.json",
        "0-outline-check.nc",
        "1-3mm-two-flute.nc",
        "2-6mm-two-flute.nc",
        "setup-sheet.pdf",
        "setup-sheet-letter.pdf",
        "report.html",
        "plan.svg",
        "result.png",
        "parts/knob.dxf",
        "parts/knob.svg",
        "parts/strap.dxf",
        "parts/strap.svg",
    }


def test_the_programs_are_packed_letter_for_letter(example: dict[str, bytes]) -> None:
    """What was proved is what is cut: no byte of a program changes on its way into the pack."""
    for program in made_example.made().programs:
        assert example[program.file].decode("ascii") == program.text


def test_the_same_job_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    """Another folder, time zone and order of hashing: every file of the pack is byte for byte the same."""
    code = (
        "import hashlib, made_example\n"
        "from proveout.pack.pack import pack_files\n"
        "for name, content in pack_files(made_example.made()).items():\n"
        "    print(name, hashlib.sha256(content).hexdigest())"
    )
    told = []
    for seed, zone in (("1", "Pacific/Auckland"), ("2", "America/Lima")):
        folder = tmp_path / seed
        folder.mkdir()
        surroundings = os.environ | {
            "PYTHONHASHSEED": seed,
            "TZ": zone,
            "PYTHONPATH": str(Path(__file__).parent),
        }
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=folder,
            env=surroundings,
            capture_output=True,
            text=True,
            check=True,
        )
        told.append(done.stdout)
        assert len(told[-1].splitlines()) == 13
    assert told[0] == told[1]


def test_parts_whose_names_make_the_same_file_name_all_get_their_drawing() -> None:
    """A knob A and a knob-a, or two names in letters that no file name holds, lose none of their drawings."""
    made = made_example.made()
    names = ("knob A", "knob-a", "Ключ")
    placed = tuple(
        replace(one, part=replace(one.part, name=name)) for one, name in zip(made.placed, names, strict=True)
    )
    packed = pack_files(replace(made, placed=placed))
    drawings = {name: content for name, content in packed.items() if name.startswith("parts/")}
    assert set(drawings) == {
        f"parts/{one}.{end}" for one in ("knob-a", "knob-a-2", "part") for end in ("dxf", "svg")
    }
    assert b"knob A, from" in drawings["parts/knob-a.dxf"]
    assert b"knob-a, from" in drawings["parts/knob-a-2.dxf"]


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("Clamp kit, 2nd", "clamp-kit-2nd-pack"),
        ("Schraubknöpfe", "schraubknopfe-pack"),
        ("../../etc", "etc-pack"),
        ("Ручка", "job-pack"),
    ],
)
def test_a_pack_lies_beside_its_job_under_a_name_that_any_disk_takes(name: str, folder: str) -> None:
    """Whatever the job is called, its pack is one plain folder beside the job file."""
    job = replace(made_example.made().job, file=Path("bench") / "job.toml", name=name)
    assert default_folder(job) == Path("bench") / folder


def test_drawings_have_the_part_s_own_size_and_the_depth_in_the_layer_s_name(
    example: dict[str, bytes],
) -> None:
    """A strap comes back 28 mm wide; the recess says the 4.35 mm that it was sized for, no sheet's chance."""
    strap = read_drawing(io.StringIO(example["parts/strap.dxf"].decode("ascii").replace("\r\n", "\n")))
    sides = [one.dxf.start.y for one in strap.modelspace().query('LINE[layer=="OUTLINE"]')]
    assert max(sides) - min(sides) == pytest.approx(28.0, abs=1e-6)
    radii = {one.dxf.radius for one in strap.modelspace().query('ARC[layer=="OUTLINE"]')}
    assert {round(radius, 6) for radius in radii} == {14.0}
    knob = read_drawing(io.StringIO(example["parts/knob.dxf"].decode("ascii").replace("\r\n", "\n")))
    assert {one.dxf.layer for one in knob.modelspace()} == {"OUTLINE", "RECESS-4.35-DEEP", "THROUGH"}


@pytest.mark.parametrize("level", ["bed", "top"])
def test_a_drawing_says_the_depth_that_the_recess_was_sized_for(level: Literal["bed", "top"]) -> None:
    """In an uneven sheet a floor has many depths: the drawing says the one that the head needs, wherever
    zero is."""
    read = read_job(EXAMPLES / "clamp-kit" / "job.toml")
    job = replace(read, zero=replace(read.zero, level=level))
    assert job.stock.thinnest < job.stock.thickest
    planned = plan(job)
    depth = next(one.value for one in planned.figures if one.name == "knob.head recess.depth")
    knob = next(one.part for one in planned.placed if one.part.name == "knob")
    names = {layer.name for layer in part_layers(knob, counted_from(job))}
    assert names == {"OUTLINE", f"RECESS-{depth:.2f}-DEEP", "THROUGH"}


# result.json


def schema() -> dict[str, Any]:
    """The published schema."""
    found: dict[str, Any] = json.loads(
        package_files("proveout.pack").joinpath("result.schema.json").read_text(encoding="utf-8")
    )
    return found


@pytest.mark.parametrize("stopped", [False, True], ids=["ready", "stopped"])
def test_the_result_keeps_to_its_published_schema(stopped: bool) -> None:
    """Another program can rely on result.schema.json, itself a valid JSON Schema (2020-12)."""
    Draft202012Validator.check_schema(schema())
    told = json.loads(pack_files(made_example.made(stopped=stopped))["result.json"])
    assert [fault.message for fault in Draft202012Validator(schema()).iter_errors(told)] == []
    assert told["verdict"] == ("not ready" if stopped else "ready")


def test_a_real_result_keeps_to_the_schema_too(real: Made) -> None:
    """What the road makes of the inch example holds nothing that the schema doesn't know."""
    told = json.loads(pack_files(real)["result.json"])
    assert [fault.message for fault in Draft202012Validator(schema()).iter_errors(told)] == []
    assert told["programs"][0]["cutter"] is None, "the outline check runs with the spindle off"
    assert all(program["units"] == "in" for program in told["programs"])


def places(told: object, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of every field in a record, once for each kind of place."""
    if isinstance(told, dict):
        for key, below in told.items():
            yield (*path, key)
            yield from places(below, (*path, key))
    elif isinstance(told, list) and told:
        fullest = max(range(len(told)), key=lambda index: len(json.dumps(told[index])))
        yield from places(told[fullest], (*path, fullest))


def test_the_schema_knows_every_field_and_needs_every_field() -> None:
    """Leave out any field, or add one of your own anywhere, and the schema says so."""
    valid = Draft202012Validator(schema())
    whole = json.dumps(result_record(made_example.made(stopped=True)))

    def missing(holder: dict[str, Any], key: str) -> None:
        del holder[key]

    def unknown(holder: dict[str, Any], key: str) -> None:
        holder[f"{key}, of my own"] = 1

    paths = list(places(json.loads(whole)))
    assert len(paths) > 80
    for path in paths:
        for spoil in (missing, unknown):
            told = json.loads(whole)
            holder: Any = told
            for step in path[:-1]:
                holder = holder[step]
            spoil(holder, path[-1])
            assert not valid.is_valid(told), path


def test_polygons_in_the_result_enclose_what_the_part_measures() -> None:
    """The strap's rings, read by a geometry library, have the area of an obround of 90 x 28 mm."""
    told = result_record(made_example.made())
    parts: Any = told["parts"]
    strap = next(part for part in parts if part["name"] == "strap 1")
    outline = shapely.Polygon(*strap["outline"][:1], strap["outline"][1:])
    assert outline.area == pytest.approx(62 * 28 + math.pi * 14**2, rel=2e-3)
    assert outline.exterior.is_ccw
    slot = shapely.Polygon(strap["features"][0]["region"][0])
    assert slot.area == pytest.approx(33.4 * 6.6 + math.pi * 3.3**2, rel=0.01)
    assert outline.contains(slot)
    assert (outline.centroid.x, outline.centroid.y) == pytest.approx((92.0, 36.0), abs=1e-3)


def test_a_clamp_s_top_in_the_result_is_what_a_cutter_would_meet_first() -> None:
    """The knob on the bolt stands higher than the bar, so the knob's top is the clamp's."""
    clamps: Any = result_record(made_example.made())["clamps"]
    assert [clamp["hole"] for clamp in clamps] == ["B6", "L6"]
    assert {clamp["top"] for clamp in clamps} == {41.85}
    assert clamps[0]["bolt"] == {"size": "M6", "at": [-15.0, 65.0]}


def test_no_number_in_the_result_is_finer_than_a_nanometre(example: dict[str, bytes]) -> None:
    """Last digits that differ between machines are rounded away; what is no number is never written."""

    def check(text: str) -> float:
        assert len(text.partition(".")[2]) <= 6, text
        assert text != "-0.0"
        return float(text)

    def refuse(text: str) -> float:
        raise AssertionError(text)

    json.loads(example["result.json"], parse_float=check, parse_constant=refuse)


# report.html


class Page(HTMLParser):
    """A page as a browser would take it apart: its elements, what they fetch, its text; tags must balance."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: dict[str, str] = {}
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in {"meta", "img", "br"}:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        for tag in set(self.open):
            self.words[tag] = self.words.get(tag, "") + data


def test_the_report_needs_nothing_outside_itself(example: dict[str, bytes]) -> None:
    """It opens in a shed without a network: no script, no link, every picture inside it."""
    page = Page(example["report.html"].decode())
    for tag, attributes in page.elements:
        assert tag not in {"script", "link", "iframe", "object", "base", "form"}
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in {"src", "href", "srcset", "xlink:href"}:
                assert (value or "").startswith(("data:image/png;base64,", "#"))
            if value and "url(" in value:
                assert value.startswith("url(#")
    assert "url(" not in page.words["style"]
    assert "@import" not in page.words["style"]
    assert [tag for tag, _ in page.elements].count("svg") == 2
    assert [tag for tag, _ in page.elements].count("img") == 1


def test_names_that_look_like_markup_stay_names() -> None:
    """A job called <script> is shown as <script> on the page and in the plan, and never becomes one."""
    made = made_example.renamed(made_example.made(), HOSTILE)
    packed = pack_files(made)
    page = Page(packed["report.html"].decode())
    assert HOSTILE in page.words["h1"]
    assert HOSTILE in page.words["td"]
    assert not {"script"} & {tag for tag, _ in page.elements}
    assert not [name for _, attributes in page.elements for name in attributes if name.startswith("on")]
    drawn = ET.fromstring(packed["plan.svg"].decode())
    assert HOSTILE in "".join(drawn.itertext())
    assert not [one for one in drawn.iter() if one.tag.endswith("script")]


def test_every_text_of_the_report_is_escaped_wherever_it_comes_from() -> None:
    """Cutter, machine, shop, program, figure, proof: none of their words can become an element."""
    made = made_example.made(stopped=True)
    shop = replace(made.job.shop, name=HOSTILE, machine=replace(made.job.shop.machine, name=HOSTILE))
    one, *others = made.programs
    made = replace(
        made,
        job=replace(made.job, shop=shop, stock=replace(made.job.stock, material=HOSTILE)),
        setup=replace(made.setup, cutters=tuple(replace(one, name=HOSTILE) for one in made.setup.cutters)),
        programs=(replace(one, file=HOSTILE), *others),
        findings=tuple(replace(one, program=HOSTILE) for one in made.findings),
        figures=tuple(
            replace(one, name=HOSTILE, rule=HOSTILE, source=HOSTILE, inputs=()) for one in made.figures
        ),
        verdict=replace(made.verdict, notes=(HOSTILE,)),
    )
    page = Page(report_html(made, "<svg></svg>", b""))
    assert {"script"}.isdisjoint(tag for tag, _ in page.elements)
    assert [tag for tag, _ in page.elements].count("img") == 1
    listed = 1 + 2  # the stock in the shopping list, and in the cutting list at each part
    head = 1  # of the figures' one group
    told = 3 + 2 + 1 + 3 + head + 3 * len(made.figures) + 1 + 1 + listed
    assert page.words["body"].count(HOSTILE) == told


@pytest.mark.parametrize("text", ["\x00", "a\x1bb", "\ud800", "\uffff"])
def test_characters_that_no_page_may_hold_are_replaced(text: str) -> None:
    """A control character or half a letter in a name can't break the file: it still parses as XML."""
    assert "\ufffd" in "".join(ET.fromstring(f"<p a='{escaped(text)}'>{escaped(text)}</p>").itertext())


def test_the_report_says_plainly_whether_to_cut() -> None:
    """READY, or NOT READY and do not cut, in words at the head of the page."""
    ready = Page(report_html(made_example.made(), "", b"")).words["header"]
    stopped = Page(report_html(made_example.made(stopped=True), "", b"")).words["header"]
    assert "READY" in ready
    assert "NOT READY" not in ready
    assert "NOT READY" in stopped
    assert "do not cut" in stopped


def test_every_finding_is_in_the_report_stops_first_with_what_to_do() -> None:
    """What matters most is read first, and each finding has its place and its remedy."""
    made = made_example.made(stopped=True)
    text = Page(pack_files(made)["report.html"].decode()).words["tbody"]
    spots = [text.index(finding.text) for _, finding in numbered(made.findings)]
    assert spots == sorted(spots)
    assert numbered(made.findings)[0][1] is made_example.STOP
    assert all(finding.remedy in text for finding in made.findings)
    assert "line 14" in text
    assert "12 mm from the left, 70 mm from the front, 20 mm above the bed" in text


def test_every_number_in_the_report_opens_into_its_reason(real: Made) -> None:
    """Value in the owner's units, rule and source stand on the page for each figure and each one under it."""
    words = Page(report_html(real, "", b"")).words["details"]
    figures = list(walk(real.figures))
    assert len(figures) > 30
    for one in figures:
        assert f"{one.name}: {show(one.value, one.unit, 'in')}" in words, one.name
        assert one.rule in words
        assert one.source in words


def test_the_report_tells_the_minutes_of_each_program(real: Made) -> None:
    """A person can plan the morning: the time of the whole and of each file."""
    page = Page(report_html(real, "", b""))
    assert show_time(real.verdict.minutes.total * 60) in page.words["header"]
    for one in real.verdict.programs:
        assert one.file in page.words["td"]
        assert show_time(one.minutes.total * 60) in page.words["td"]


def test_the_report_carries_the_usual_cautions() -> None:
    """Eyes, ears, dust, fire, loose pieces, emergency stop and the rest; the maker's manual first."""
    words = Page(report_html(made_example.made(), "", b"")).words["div"].lower()
    for word in ("eyes", "ears", "dust", "fire", "loose pieces", "never leave", "emergency stop", "isolate"):
        assert word in words
    assert "manuals" in words
    assert "trained supervisor" in words


def test_the_pack_is_quick(real: Made) -> None:
    """Packing costs a person no wait: half a second at the most, pictures and sheet included."""
    pack_files(real)  # typst and its letters are loaded once
    before = time.process_time()
    pack_files(real)
    assert time.process_time() - before < 1.0, "half a second, doubled for a slow machine"


# The folder


def tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder by its relative path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_a_pack_is_written_as_it_is_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    """The folder holds the files, and its neighbours are what they were."""
    write_pack(OLD, tmp_path / "new shelf" / "kit-pack", replace=False)
    assert tree(tmp_path) == {f"new shelf/kit-pack/{name}": content for name, content in OLD.items()}


def test_a_folder_that_is_there_is_refused_with_a_way_out(tmp_path: Path) -> None:
    """Nothing is overwritten unasked, not even an empty folder."""
    folder = tmp_path / "kit-pack"
    write_pack(OLD, folder, replace=False)
    said = (
        f"{folder}: This is there already. Give another folder with --out, "
        "or add --replace to replace it whole."
    )
    with pytest.raises(InputError) as early:
        refuse_existing(folder, replace=False)
    with pytest.raises(InputError) as late:
        write_pack(NEW, folder, replace=False)
    assert str(early.value) == str(late.value) == said
    assert tree(folder) == OLD
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError):
        write_pack(NEW, tmp_path / "empty", replace=False)


def test_a_replaced_pack_keeps_nothing_of_the_old_one(tmp_path: Path) -> None:
    """No drawing of a part that is no longer made stays behind to be cut by mistake."""
    write_pack(OLD, tmp_path / "kit-pack", replace=False)
    write_pack(NEW, tmp_path / "kit-pack", replace=True)
    assert tree(tmp_path) == {f"kit-pack/{name}": content for name, content in NEW.items()}


def test_replacing_what_is_not_there_just_writes_it(tmp_path: Path) -> None:
    """--replace on the first run is no mistake."""
    write_pack(NEW, tmp_path / "kit-pack", replace=True)
    assert tree(tmp_path / "kit-pack") == NEW


@pytest.mark.parametrize("told", [None, b'{"name": "somebody else\'s result"}'], ids=["none", "another's"])
def test_a_folder_that_is_no_pack_is_never_replaced(tmp_path: Path, told: bytes | None) -> None:
    """Nobody loses their home folder to --replace, even if some other program left a result.json in it."""
    home = tmp_path / "home"
    home.mkdir()
    (home / "letters.txt").write_text("mine")
    if told is not None:
        (home / "result.json").write_bytes(told)
    with pytest.raises(InputError, match="This is no pack"):
        write_pack(NEW, home, replace=True)
    assert (home / "letters.txt").read_text() == "mine"


def test_a_real_pack_is_known_as_a_pack(tmp_path: Path, example: dict[str, bytes]) -> None:
    """What we wrote, we may replace."""
    write_pack(example, tmp_path / "kit-pack", replace=False)
    write_pack(NEW, tmp_path / "kit-pack", replace=True)
    assert tree(tmp_path / "kit-pack") == NEW


def test_a_link_to_a_pack_is_not_replaced(tmp_path: Path) -> None:
    """Through a link one can't see what one would lose."""
    write_pack(OLD, tmp_path / "kit-pack", replace=False)
    (tmp_path / "link").symlink_to(tmp_path / "kit-pack")
    with pytest.raises(InputError):
        write_pack(NEW, tmp_path / "link", replace=True)
    assert tree(tmp_path / "kit-pack") == OLD


def test_a_place_where_nothing_can_be_written_is_told(tmp_path: Path) -> None:
    """A file where a folder should be: the message names the place, and the file is untouched."""
    (tmp_path / "shelf").write_text("a file")
    with pytest.raises(
        InputError, match=r"kit-pack: The pack can't be written here: .* Nothing was written\."
    ):
        write_pack(NEW, tmp_path / "shelf" / "kit-pack", replace=False)
    assert tree(tmp_path) == {"shelf": b"a file"}


@contextmanager
def small_disk(folder: Path, size: str) -> Iterator[None]:
    """A real file system of that size on the folder; the test is skipped where none can be mounted."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    try:
        mounted = subprocess.run(command, check=False, capture_output=True).returncode == 0
    except OSError:
        mounted = False
    if not mounted:
        pytest.skip("a small file system needs root and mount")
    try:
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@pytest.mark.parametrize("there", [False, True], ids=["first pack", "replacing one"])
def test_a_full_disk_is_told_and_the_old_pack_stays(tmp_path: Path, there: bool) -> None:
    """No space: the message says so, nothing half-written is left, a pack that was there is still whole."""
    disk = tmp_path / "disk"
    with small_disk(disk, "128k"):
        if there:
            write_pack(OLD, disk / "kit-pack", replace=False)
        before = tree(disk)
        with pytest.raises(InputError, match="There is no space left on this disk"):
            write_pack({**NEW, "setup-sheet.pdf": bytes(200_000)}, disk / "kit-pack", replace=True)
        assert tree(disk) == before
        assert {path.name for path in disk.iterdir()} == ({"kit-pack"} if there else set())


def test_a_write_that_fails_half_way_leaves_no_folder_behind(tmp_path: Path) -> None:
    """A file larger than the system allows: told, and not even the folders above the pack remain."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, before[1]))
    try:
        with pytest.raises(InputError, match=r"can't be written here.*Nothing was written"):
            write_pack(
                {**NEW, "report.html": bytes(90_000)}, tmp_path / "a" / "b" / "kit-pack", replace=False
            )
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert list(tmp_path.iterdir()) == []


class InterruptedAt:
    """Raises KeyboardInterrupt at the n-th step that the pack's own code takes."""

    def __init__(self, step: int) -> None:
        self.left = step

    def __call__(self, frame: FrameType, event: str, argument: object) -> "InterruptedAt | None":
        if frame.f_code.co_filename != pack_module.__file__:
            return None
        if event == "line":
            self.left -= 1
            if self.left == 0:
                raise KeyboardInterrupt
        return self


# A file that was just opened when the interrupt came is closed by the collector, which says so.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_an_interrupt_at_any_step_leaves_the_old_pack_or_the_new_one(tmp_path: Path) -> None:
    """Ctrl-C before each single step of replacing a pack: a whole pack stands there every time."""
    folder, seen, tracer = tmp_path / "kit-pack", [], sys.gettrace()
    for step in range(1, 1000):
        if folder.exists():
            write_pack(OLD, folder, replace=True)
        else:
            write_pack(OLD, folder, replace=False)
        sys.settrace(InterruptedAt(step))
        try:
            write_pack(NEW, folder, replace=True)
            break
        except KeyboardInterrupt:
            pass
        finally:
            sys.settrace(tracer)
        assert tree(folder) in (OLD, NEW), f"step {step}"
        seen.append(tree(folder) == NEW)
        strays = [path for path in tmp_path.iterdir() if path != folder]
        assert all(path.name.startswith(".proveout-") for path in strays)
        assert not strays or seen[-1], (
            "only an interrupt of the clearing away itself leaves something to clear"
        )
        for stray in strays:
            subprocess.run(["rm", "-r", str(stray)], check=True)
    assert len(seen) > 30
    assert seen == sorted(seen), "old until the one step at which it is new"
    assert seen[0] is False
    assert seen[-1] is True


def test_a_new_pack_that_cannot_take_its_place_puts_the_old_one_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk refuses the last renaming: the old pack stands where it stood."""
    folder = tmp_path / "kit-pack"
    write_pack(OLD, folder, replace=False)
    refuse_renaming(monkeypatch, {"new"})
    with pytest.raises(InputError, match="Nothing was written"):
        write_pack(NEW, folder, replace=True)
    assert tree(tmp_path) == {f"kit-pack/{name}": content for name, content in OLD.items()}


def test_an_old_pack_that_cannot_be_put_back_is_kept_and_its_place_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk refuses both: the old pack is never thrown away, and the message says where it is."""
    folder = tmp_path / "kit-pack"
    write_pack(OLD, folder, replace=False)
    refuse_renaming(monkeypatch, {"new", "old"})
    with pytest.raises(InputError, match="The old one is kept in ") as caught:
        write_pack(NEW, folder, replace=True)
    kept = Path(caught.value.text.rpartition("kept in ")[2].rstrip("."))
    assert tree(kept) == OLD


def refuse_renaming(monkeypatch: pytest.MonkeyPatch, names: set[str]) -> None:
    """Let the system refuse to rename folders of these names, as a disk with a fault does."""
    rename = Path.rename

    def refusing(path: Path, target: Path) -> Path:
        if path.name in names:
            raise OSError(5, "Input/output error")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", refusing)


WRITING = f"""
import sys
from contextlib import suppress
from pathlib import Path
from proveout.finding import InputError
from proveout.pack.pack import write_pack
PACKS = ({OLD!r}, {NEW!r})
print("ready", flush=True)
for turn in range(int(sys.argv[2]), int(sys.argv[3])):
    with suppress(InputError):
        write_pack(PACKS[turn % 2], Path(sys.argv[1]), replace=True)
"""


def writing(folder: Path, first: int, last: int) -> subprocess.Popen[bytes]:
    """A process that writes the two packs in turn to the folder; it has begun when this returns."""
    command = [sys.executable, "-c", WRITING, str(folder), str(first), str(last)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    return process


def test_a_power_cut_leaves_no_half_pack(tmp_path: Path) -> None:
    """Killed outright at odd moments: the pack is whole, or kept whole in a folder not named like a pack."""
    folder, moments = tmp_path / "kit-pack", random.Random(7)
    write_pack(OLD, folder, replace=False)
    for _ in range(6):
        with writing(folder, 0, 100_000) as process:
            time.sleep(moments.uniform(0.0, 0.03))
            process.kill()
        strays = [path for path in tmp_path.iterdir() if path != folder]
        assert all(path.name.startswith(".proveout-") for path in strays)
        if folder.exists():
            assert tree(folder) in (OLD, NEW)
        else:
            assert any(tree(stray / "old") in (OLD, NEW) for stray in strays)


def test_two_writers_of_one_pack_leave_one_whole_pack(tmp_path: Path) -> None:
    """Two windows make the same job at once: one of the packs stands there, whole, and nothing beside it."""
    folder = tmp_path / "kit-pack"
    with writing(folder, 0, 20) as one, writing(folder, 1, 21) as other:
        one.communicate(timeout=60)
        other.communicate(timeout=60)
    assert (one.returncode, other.returncode) == (0, 0)
    assert tree(folder) in (OLD, NEW)
    assert [path.name for path in tmp_path.iterdir()] == ["kit-pack"]
