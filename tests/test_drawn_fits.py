"""Drawn holes that rules size to hardware, parts of a drawing of several, and job files around drawings."""

import math
import shutil
import subprocess
import sys
from pathlib import Path

import ezdxf.filemanagement
import pytest
import shapely

from proveout.curve import polygon
from proveout.drawing.job_around import job_around
from proveout.drawing.look import look
from proveout.finding import InputError, Level
from proveout.fit.shape import shape
from proveout.fit.shaped import Shaped
from proveout.job.read import read_job, read_shop
from proveout.parts.part import Feature
from proveout.plan import make

EXAMPLES = Path(__file__).parents[1] / "examples"

HEAD = """units = "mm"
name = "drawn"
shop = "shop.toml"
[stock]
material = "birch plywood"
size = [340, 240]
thickness = [11.8, 11.9]
at = [70, 60]
edge_margin = 6
[zero]
corner = "left front"
level = "bed"
"""
CLAMPS = "".join(
    f'[[clamps]]\nclamp = "low strap"\nhole = "{hole}"\ntowards = "{way}"\n'
    for hole, way in (("C5", "right"), ("C10", "right"), ("Q5", "left"), ("Q10", "left"))
)
PART = """[[parts]]
name = "plate"
count = 1
pattern = "drawn part"
drawing = "plate.dxf"
"""
CAPTIVE = '[[parts.rules]]\nlayer = "HEX"\nbolt = "M6"\nholds = "head"\n'


def hexagon(x: float, y: float, flats: float, turn_deg: float) -> list[tuple[float, float]]:
    """The corners, the first of them turned so far from +X."""
    reach = flats / math.sqrt(3)
    angles = [math.radians(turn_deg + 60 * number) for number in range(6)]
    return [(x + reach * math.cos(one), y + reach * math.sin(one)) for one in angles]


def drawn(tmp_path: Path, *, second: bool = False, shank: float | None = 6.0, extra: bool = False) -> Path:
    """A plate of 120 x 60 mm with two hexagons, a hole and a slot; a second part beside it where asked."""
    document = ezdxf.filemanagement.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (120, 0), (120, 60), (0, 60)], close=True)
    for x, turn in ((30.0, 12.0), (60.0, 0.0)):
        space.add_lwpolyline(hexagon(x, 30, 10.0, turn), close=True, dxfattribs={"layer": "HEX"})
    if shank:
        space.add_circle((30, 30), shank / 2)
    space.add_circle((100, 15), 3.0, dxfattribs={"layer": "ROUND"})
    slot = [(90, 42, 0), (110, 42, 1), (110, 48, 0), (90, 48, 1)]
    space.add_lwpolyline(slot, format="xyb", close=True, dxfattribs={"layer": "SLOT"})
    if second:
        space.add_lwpolyline([(150, 0), (200, 0), (200, 60), (150, 60)], close=True)
        space.add_circle((175, 30), 12)
        space.add_circle((175, 30), 6)
    if extra:
        space.add_lwpolyline([(118, 20), (140, 20), (140, 30), (118, 30)], close=True)
    shutil.copy(EXAMPLES / "clamp-kit" / "shop.toml", tmp_path)
    document.saveas(tmp_path / "plate.dxf")
    return tmp_path / "job.toml"


def shaped(job: Path, *rules: str, part: str = PART) -> Shaped:
    """What the job comes to with these rules."""
    job.write_text(HEAD + CLAMPS + part + "".join(rules))
    return shape(read_job(job))


def features(found: Shaped) -> dict[str, Feature]:
    """Those of the only part, by name."""
    return {one.name: one for one in found.parts[0][0].features}


def said(found: Shaped, level: Level = Level.NOTE) -> str:
    """All findings of a level."""
    return "\n".join(one.text for one in found.findings if one.level is level)


def test_a_hexagon_becomes_the_recess_of_its_head_where_it_is_drawn(tmp_path: Path) -> None:
    """Flats by ISO 4017 (10.00 mm at most) less a light press of 0.05 (common practice); turned as drawn."""
    found = features(shaped(drawn(tmp_path), CAPTIVE))
    first = polygon(found["M6 head recess 1"].curves)
    plain = shapely.Polygon(hexagon(-30, 0, 9.95, 12.0))  # the part's zero is its middle: 60, 30
    assert first.centroid.distance(plain.centroid) < 1e-3
    assert plain.difference(first).area < 0.02 * plain.area  # corners may be rounder by a little
    assert first.difference(plain.buffer(0.001)).area < 0.12 * plain.area  # and are relieved
    walls = first.intersection(plain.buffer(1e-3)).area
    turned = shapely.affinity.rotate(plain, 30)
    assert first.intersection(turned).area < walls  # the same hexagon turned otherwise fits worse
    assert not found["M6 head recess 1"].through
    assert found["M6 head recess 1"].takes == "M6 hex head bolt"


def test_the_bolts_hole_is_its_clearance_hole_drawn_or_not(tmp_path: Path) -> None:
    """ISO 273 medium for M6: 6.6 mm. One hole is drawn as 6 mm, the other isn't drawn at all."""
    found = shaped(drawn(tmp_path), CAPTIVE)
    holes = [one for name, one in features(found).items() if name.startswith("M6 hole")]
    assert [polygon(one.curves).area for one in holes] == pytest.approx([math.pi * 3.3**2] * 2, rel=1e-3)
    assert all(one.through and not one.takes for one in holes)  # the bolt comes with its head
    assert "M6 hole 1 is drawn 6 mm across" in said(found)
    assert "no hole is drawn in the loop of" in said(found)


def test_a_bolts_hole_with_a_rule_of_its_own_is_left_to_it(tmp_path: Path) -> None:
    """Cut as drawn it is too narrow for the bolt, and that is told."""
    literal = '[[parts.rules]]\nsize = "6 mm"\n'
    found = shaped(drawn(tmp_path), literal, CAPTIVE)
    sizes = sorted(polygon(one.curves).area for one in found.parts[0][0].features if one.kind == "hole")
    assert sizes[0] == pytest.approx(math.pi * 9, rel=1e-3)
    assert "an M6 bolt wants at least 6.4 mm" in said(found, Level.CAUTION)


def test_circles_and_slots_become_as_wide_as_the_bolts_hole(tmp_path: Path) -> None:
    """The slot of 6 mm by 26 keeps the middles of its ends, 20 mm apart."""
    rules = [
        f'[[parts.rules]]\nlayer = "{layer}"\nbolt = "M6"\nclearance = "close"\n'
        for layer in ("ROUND", "SLOT")
    ]
    found = features(shaped(drawn(tmp_path), CAPTIVE, *rules))
    slot = polygon(found["M6 slot 1"].curves)
    assert slot.area == pytest.approx(20 * 6.4 + math.pi * 3.2**2, rel=1e-3)
    assert slot.bounds == pytest.approx((40 - 10 - 3.2, 15 - 3.2, 40 + 10 + 3.2, 15 + 3.2), abs=1e-6)
    assert polygon(found["M6 hole 1"].curves).area == pytest.approx(math.pi * 3.2**2, rel=1e-3)


def test_a_circle_by_its_number_becomes_a_dowels_hole(tmp_path: Path) -> None:
    """The number is that of `look`; 6.02 mm by caliper and the middle of a snug fit."""
    job = drawn(tmp_path)
    number = next(one.number for one in look(tmp_path / "plate.dxf").seen if one.loop.layer == "ROUND")
    rule = f'[[parts.rules]]\ncurve = {number}\ndowel = "6"\ndowel_diameter = "6.02 mm"\n'
    found = shaped(job, rule, CAPTIVE)
    hole = features(found)["6 mm dowel hole 1"]
    wanted = next(one.value for one in found.figures if one.name == "plate.6 mm dowel hole.diameter")
    assert polygon(hole.curves).area == pytest.approx(math.pi * wanted**2 / 4, rel=1e-3)
    assert hole.takes == "6 mm dowel"
    by_name = next(one.loop.entity for one in look(tmp_path / "plate.dxf").seen if one.loop.layer == "ROUND")
    again = shaped(job, rule.replace(f"curve = {number}", f'curve = "{by_name}"'), CAPTIVE)
    assert "6 mm dowel hole 1" in features(again)


def test_such_a_part_is_made_and_proved(tmp_path: Path) -> None:
    """Recesses, holes and slot, planned and proved; the sheet counts what to fetch."""
    job = drawn(tmp_path)
    job.write_text(
        HEAD + CLAMPS + PART + CAPTIVE.replace("M6", "M6").rstrip() + '\nacross_flats = "9.9 mm"\n'
    )
    made = make(read_job(job))
    assert made.ready
    assert not [one.text for one in made.findings if one.level is Level.STOP]


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        ('layer = "HEX"\nbolt = "M8"\nholds = "head"', "drawn for something else"),
        ('layer = "SLOT"\nbolt = "M6"\nholds = "head"', "a captive M6 head takes a hexagon"),
        ('layer = "HEX"\nbolt = "M6"', "takes a circle"),
        ('layer = "SLOT"\ndowel = "6"', "takes a circle"),
        ('layer = "HEX"\nbolt = "M6"\nholds = "head"\ndepth = "5 mm"', "depth follows from its height"),
        ('layer = "HEX"\nholds = "head"', "says nothing without the bolt"),
        ('layer = "HEX"\nbolt = "M6"\nacross_flats = "9.9 mm"', "captive head or nut"),
        ('layer = "HEX"\nbolt = "M6"\nholds = "head"\nacross_flats = "99 mm"', "far from the standard's"),
        ('layer = "ROUND"\nbolt = "M6"\ndowel = "6"', "Leave one of them out"),
        ('layer = "ROUND"\nfit = "snug"', "what is pressed in"),
        ('bolt = "M6"', "which curves it is for"),
        ('curve = 0\nbolt = "M6"', "curve"),
    ],
)
def test_a_rule_that_cannot_be_meant_is_refused(tmp_path: Path, rule: str, message: str) -> None:
    """At its place in the job file, in words."""
    with pytest.raises(InputError, match=message) as refused:
        shaped(drawn(tmp_path), "[[parts.rules]]\n" + rule + "\n", CAPTIVE)
    assert "parts[1]" in str(refused.value)


def test_a_rule_that_fits_no_curve_is_told(tmp_path: Path) -> None:
    """A slip of a layer's name would leave a hole cut otherwise."""
    found = shaped(drawn(tmp_path), '[[parts.rules]]\nlayer = "HEXES"\ndepth = "4 mm"\n', CAPTIVE)
    assert "its rule 1 fits none of the drawing's curves" in said(found, Level.CAUTION)


# --- several parts


def test_a_drawing_of_several_parts_asks_which_is_meant(tmp_path: Path) -> None:
    """The parts are named with their sizes."""
    with pytest.raises(InputError, match=r"part 1 \(rectangle 120 by 60 mm\), part 2 .* part = 1"):
        shaped(drawn(tmp_path, second=True), CAPTIVE)


def test_each_part_of_a_drawing_takes_what_lies_in_it(tmp_path: Path) -> None:
    """What lies in a hole that goes through is a part of its own."""
    job = drawn(tmp_path, second=True)
    counts = []
    for number in (1, 2, 3):
        found = shaped(job, CAPTIVE if number == 1 else "", part=f"{PART}part = {number}\n")
        counts.append(len(found.parts[0][0].features))
    assert counts == [6, 1, 0]
    with pytest.raises(InputError, match="holds 3 parts, so there is no part 4"):
        shaped(job, part=f"{PART}part = 4\n")


def test_a_circle_in_a_hexagon_is_a_hole_of_the_same_part(tmp_path: Path) -> None:
    """It stands for a bolt under its head; cut as it is drawn it would be cut in nothing, and is refused."""
    drawn(tmp_path, second=True)
    found = look(tmp_path / "plate.dxf")
    assert len(found.drawn) == 3
    assert [one.shape.said for one in found.seen if one.stepped] == ["circle 6 mm"]
    assert next(one.may_be[0] for one in found.seen if one.stepped).startswith("circle 6 mm: M6's own")
    with pytest.raises(InputError, match='bolt = "M6", holds = "head"'):
        shaped(drawn(tmp_path))


# --- a job file around a drawing


def test_the_job_around_a_drawing_can_be_read_and_shaped(tmp_path: Path) -> None:
    """Every part of it, with the sheet large enough; what might be meant is offered."""
    job = drawn(tmp_path, second=True)
    shop = read_shop(tmp_path / "shop.toml")
    job.write_text(job_around(look(tmp_path / "plate.dxf"), shop, job=job))
    found = read_job(job)
    assert [one.name for one in found.wanted] == ["part 1", "part 2", "part 3"]
    made = make(found)
    assert {one.kind for one in made.findings if one.level is Level.STOP} == {"blank-not-held"}, [
        one.text for one in made.findings
    ]
    offered = job.read_text().replace("# [[parts.rules]]", "[[parts.rules]]")
    for field in ("size", "bolt", "clearance", "dowel"):
        offered = offered.replace(f"# {field} =", f"{field} =")
    job.write_text(offered)
    assert "6 mm dowel hole 1" in features(shape(read_job(job)))


@pytest.mark.parametrize("stem", ["-a (1).b.", "x" * 59 + "-more", "Teil~1: Platte", "...", "Deckel \u00e4"])
def test_any_drawings_name_makes_a_jobs_name(tmp_path: Path, stem: str) -> None:
    """Brackets, dots and dashes that a job's name may not hold, or not at its ends, are left out."""
    job = drawn(tmp_path)
    file = (tmp_path / "plate.dxf").rename(tmp_path / f"{stem}.dxf")
    job.write_text(job_around(look(file), read_shop(tmp_path / "shop.toml"), job=job), encoding="utf-8")
    assert read_job(job).name


def test_look_writes_the_job_from_the_command_line(tmp_path: Path) -> None:
    """It wants a shop, and overwrites nothing."""
    drawn(tmp_path)

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "proveout.cli", "look", "plate.dxf", *words]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)

    bare = run("--job", "job.toml")
    assert bare.returncode == 2 and "--shop" in bare.stderr
    whole = run("--job", "job.toml", "--shop", "shop.toml", "--units", "mm")
    assert whole.returncode == 0, whole.stderr
    assert 'units = "mm"' in (tmp_path / "job.toml").read_text().split("[[parts]]")[1]
    assert shape(read_job(tmp_path / "job.toml")).parts
    again = run("--job", "job.toml", "--shop", "shop.toml", "--units", "mm")
    assert again.returncode == 2 and "exists" in again.stderr
