"""The plan from above: what a person at the machine reads off it."""

import math
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest

import made_example
from proveout.curve import polygon
from proveout.job.records import Flaw
from proveout.pack.made import Made
from proveout.pack.plan_picture import plan_svg
from proveout.parts.part import lies

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    '</svg><script>alert("1")</script>',
    "a & b < c > d \" e ' f",
    "]]><!-- --><![CDATA[",
    "\x00\x07\ud800 knob",
    "x" * 200,
    "",
)


def drawn(made: Made) -> ElementTree.Element:
    return ElementTree.fromstring(plan_svg(made))


def lettered(picture: ElementTree.Element) -> dict[str, tuple[float, float]]:
    """Each text and the middle of its line on the page; of equal texts the last."""
    return {
        text.text or "": (
            float(text.attrib["x"]),
            float(text.attrib["y"]) - 0.35 * float(text.attrib["font-size"]),
        )
        for text in picture.iter(f"{SVG}text")
    }


def sheet_corner(picture: ElementTree.Element, made: Made) -> tuple[float, float]:
    """The left front corner of the sheet on the page: of the rectangle that has the sheet's size."""
    wide, deep = made.setup.stock.size
    (sheet,) = (
        one
        for one in picture.iter(f"{SVG}rect")
        if float(one.attrib["width"]) == wide and float(one.attrib["height"]) == deep
    )
    return float(sheet.attrib["x"]), float(sheet.attrib["y"]) + deep


def test_flaws_are_hatched_where_they_lie_and_named() -> None:
    """A knot of 30 by 12 mm stands hatched over what is drawn below it, its word in its middle."""
    made = made_example.made()
    knot = Flaw(at=(100.0, 50.0), size=(30.0, 12.0), diameter=None, what="knot <1>")
    picture = drawn(replace(made, job=replace(made.job, flaws=(knot,))))
    left, front = sheet_corner(picture, made)
    (path,) = (one for one in picture.iter(f"{SVG}path") if one.attrib.get("fill") == "url(#plan-flaw)")
    numbers = [float(number) for number in re.findall(r"[\d.]+", path.attrib["d"])]
    assert (min(numbers[::2]), max(numbers[::2])) == pytest.approx((left + 100, left + 130), abs=0.01)
    assert (min(numbers[1::2]), max(numbers[1::2])) == pytest.approx((front - 62, front - 50), abs=0.01)
    assert lettered(picture)["knot <1>"] == pytest.approx((left + 115, front - 56), abs=0.01)


def test_the_sheet_is_named_with_its_size_in_both_systems() -> None:
    """A sheet of 220 by 140 mm is marked so, and as 8.661 by 5.512 in (25.4 mm to the inch)."""
    names = lettered(drawn(made_example.made()))
    assert "220 mm = 8.661 in" in names
    assert "140 mm = 5.512 in" in names


def test_every_part_and_every_clamp_is_named() -> None:
    """Whoever lays the job out finds each part's name, each clamp's hole (in bold, since the plate's own
    holes are named too) and the bolt's size."""
    picture = drawn(made_example.made())
    assert {"knob 1", "knob 2", "strap 1", "M6", "FRONT: you stand here"} <= lettered(picture).keys()
    bold = {text.text for text in picture.iter(f"{SVG}text") if text.get("font-weight") == "bold"}
    assert {"B6", "L6"} <= bold


def test_a_hole_is_named_where_it_lies_on_the_plate() -> None:
    """Column letters run along X and row numbers away from the front: A4 lies 40 mm left of the sheet's
    corner and 15 mm behind it, M8 300 - 40 = 260 mm to the right and 115 mm behind."""
    made = made_example.made()
    picture = drawn(made)
    left, front = sheet_corner(picture, made)
    names = lettered(picture)
    for hole, (x, y) in {"A4": (-40, 15), "M8": (260, 115)}.items():
        assert names[hole] == pytest.approx((left + x, front - y), abs=0.01)


@pytest.mark.parametrize(
    "zero", [(0.0, 0.0, 0.0), (220.0, 0.0, 0.0), (0.0, 140.0, 11.85), (220.0, 140.0, 0.0), (110.0, 70.0, 0.0)]
)
def test_the_axes_start_at_the_work_zero(zero: tuple[float, float, float]) -> None:
    """X is lettered to the right of the work zero and Y behind it, whichever corner it is."""
    made = made_example.made()
    made = replace(made, setup=replace(made.setup, zero=zero))
    picture = drawn(made)
    left, front = sheet_corner(picture, made)
    names = lettered(picture)
    assert names["Y"][0] == pytest.approx(left + zero[0], abs=0.01)
    assert names["X"][1] == pytest.approx(front - zero[1], abs=0.01)
    assert names["X"][0] > left + zero[0]
    assert names["Y"][1] < front - zero[1]


def test_the_scale_bars_are_true() -> None:
    """The bar in millimetres is as long as its last number says in the sheet's own scale, and the bar in
    inches 25.4 times its last number."""
    made = made_example.made()
    marks = [
        (float(text.attrib["x"]), text.text or "")
        for text in drawn(made).iter(f"{SVG}text")
        if re.fullmatch(r"[\d.]+", text.text or "") and not text.get("font-weight")
    ]
    first, second = marks[:5], marks[5:10]
    for bar, unit in ((first, 1.0), (second, 25.4)):
        for x, name in bar:
            assert x - bar[0][0] == pytest.approx(float(name) * unit, abs=0.01)
        assert float(bar[-1][1]) > 0


def test_a_part_is_drawn_with_its_own_arcs() -> None:
    """The area inside a drawn outline is that of the part: a lobed knob of arcs both ways round, a
    round-ended strap, and a knob turned by a quarter. By chords and circular segments, r²(a - sin a)/2."""
    made = made_example.made()
    paths = [one.attrib["d"] for one in drawn(made).iter(f"{SVG}path")]
    areas = [abs(_area(path)) for path in paths if set(re.findall("[A-Z]", path)) <= set("MLAZ")]
    for placed in made.placed:
        wanted = polygon((lies(placed).outline,), 1e-4).area
        assert any(area == pytest.approx(wanted, rel=1e-4) for area in areas), placed.name


def _area(path: str) -> float:
    """The area in a path of one ring, from its letters M, L and A alone."""
    area, here, start = 0.0, (0.0, 0.0), (0.0, 0.0)
    for letter, numbers in re.findall(r"([MLA])([^MLAZ]*)", path):
        values = [float(number) for number in numbers.replace(",", " ").split()]
        there = (values[-2], values[-1])
        if letter == "M":
            start = there
        else:
            area += (here[0] * there[1] - there[0] * here[1]) / 2
        if letter == "A":
            radius, large, sweep = values[0], values[3], values[4]
            half = math.asin(min(1.0, math.dist(here, there) / 2 / radius))
            angle = math.tau - 2 * half if large else 2 * half
            area += (1 if sweep else -1) * radius**2 / 2 * (angle - math.sin(angle))
        here = there
    return area + (here[0] * start[1] - start[0] * here[1]) / 2


def test_a_tab_is_drawn_at_its_length_on_the_outline() -> None:
    """Nine tabs of 6 mm are nine bars, each 6 mm long along the outline, the ones astride the outline's
    first point in two pieces."""
    made = made_example.made()
    total = 0.0
    for line in drawn(made).iter(f"{SVG}polyline"):
        points = [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
        total += sum(math.dist(a, b) for a, b in pairwise(points))
    assert total == pytest.approx(9 * 6.0, abs=0.05)


def test_the_picture_needs_no_colour() -> None:
    """It comes out of a grey-scale printer as it is on the screen: every ink in it is a grey."""
    text = plan_svg(made_example.made(stopped=True))
    inks = set(re.findall(r'(?:fill|stroke)="([^"]*)"', text)) - {"none"}
    for ink in inks:
        assert re.fullmatch(r"#([0-9a-f])\1\1|#([0-9a-f]{2})\2\2|url\(#[a-z-]+\)", ink), ink


def test_a_finding_stands_where_it_was_seen() -> None:
    """The strike at B6, 12 mm into the sheet and 70 mm behind its front, has its mark there; a note about
    no place has none."""
    made = made_example.made(stopped=True)
    picture = drawn(made)
    left, front = sheet_corner(picture, made)
    triangles = [
        one.attrib["points"].split()[0].split(",")
        for one in picture.iter(f"{SVG}polygon")
        if one.get("stroke") == "#fff"
    ]
    tips = [(float(x) - left, front - float(y)) for x, y in triangles]
    assert any(tip == pytest.approx((12, 70), abs=0.01) for tip in tips)
    inside = [tip for tip in tips if 0 <= tip[0] <= 220 and 0 <= tip[1] <= 140]
    assert len(inside) == 1


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_breaks_the_picture(name: str) -> None:
    """Whatever a part is called, the picture stays well-formed and holds nothing but lines and letters."""
    picture = drawn(made_example.renamed(made_example.made(), name))
    known = ("svg", "title", "defs", "pattern", "rect", "circle", "path", "polyline", "polygon", "text")
    assert {one.tag for one in picture.iter()} <= {SVG + tag for tag in known}
    if name.isprintable():
        assert name in lettered(picture)


@pytest.mark.parametrize(
    "size", [(220.0, 140.0), (1200.0, 60.0), (40.0, 600.0), (25.0, 25.0), (2440.0, 1220.0)]
)
def test_no_letters_run_off_the_picture(size: tuple[float, float]) -> None:
    """Sheets from a coaster to a whole panel: every line of letters lies on the picture from end to end.
    A letter of a fixed-width face is about 0.6 of its size wide (common practice)."""
    made = made_example.made()
    setup = replace(made.setup, stock=replace(made.setup.stock, size=size), clamps=(), tabs=(), parts=())
    picture = drawn(replace(made, setup=setup, placed=()))
    _, _, wide, deep = map(float, picture.attrib["viewBox"].split())
    for text in picture.iter(f"{SVG}text"):
        x, y, height = (float(text.attrib[key]) for key in ("x", "y", "font-size"))
        reach = 0.6 * height * len(text.text or "")
        if "transform" in text.attrib:
            assert height / 2 <= x <= wide - height / 2, text.text
            assert reach / 2 <= y <= deep - reach / 2 or size[1] < 60, text.text
            continue
        low = x if text.attrib["text-anchor"] == "start" else x - reach / 2
        assert low >= 0, text.text
        assert low + reach <= wide, text.text
        assert 0.7 * height <= y <= deep, text.text
