"""What `look` says of a drawing: its size, its curves by number, and what their sizes suit."""

import gc
import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from proveout.cli import main
from proveout.drawing.look import look
from proveout.finding import InputError

DRAWING = Path(__file__).parents[1] / "examples" / "drawn-bracket" / "bracket.dxf"


def test_every_curve_is_said_with_its_shape_and_place(capsys: pytest.CaptureFixture[str]) -> None:
    """The example's drawing, whole: what a person reads."""
    assert main(["look", str(DRAWING), "--known", "width = 120 mm"]) == 0
    assert capsys.readouterr().out == (Path(__file__).parent / "look_bracket.txt").read_text()


def test_the_areas_are_those_of_the_shapes(capsys: pytest.CaptureFixture[str]) -> None:
    """pi d2 / 4 for a hole; 6.6 mm is the medium hole for M6 (ISO 273)."""
    assert main(["look", str(DRAWING), "--units", "mm", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    circles = [one for one in record["curves"] if one["shape"].startswith("circle")]
    assert [one["area"] for one in circles] == pytest.approx([34.2119] * 2, abs=0.02)
    assert all("M6" in one["may_be"][0] and "ISO 273" in one["may_be"][0] for one in circles)


def test_the_picture_numbers_the_curves(tmp_path: Path) -> None:
    """Each curve once, with the number that the text gives it; a picture that is there is not overwritten."""
    picture = tmp_path / "look.svg"
    assert main(["look", str(DRAWING), "--units", "mm", "--svg", str(picture)]) == 0
    root = ElementTree.fromstring(picture.read_text())
    assert [one.text for one in root.iter("{http://www.w3.org/2000/svg}text")] == ["1", "2", "3", "4", "5"]
    assert main(["look", str(DRAWING), "--units", "mm", "--svg", str(picture)]) == 2


def test_a_drawing_without_a_unit_is_refused_with_its_size_in_each(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Nothing is guessed: the sizes are shown, and what to state."""
    assert main(["look", str(DRAWING)]) == 2
    said = capsys.readouterr().err
    assert "in mm                        120 x 70 mm" in said
    assert "42.33 x 24.69 mm" in said
    assert 'known = "width = 120 mm"' in said


def test_a_known_hole_settles_inches(tmp_path: Path) -> None:
    """The same drawing in inches: holes of 0.26 units, known to be 6.6 mm; sizes come out in mm."""
    lines = DRAWING.read_text().splitlines()
    inch = list(lines)
    for index in range(0, len(lines) - 1, 2):
        if lines[index].strip() in {"10", "20", "11", "21", "40"}:
            inch[index + 1] = repr(float(lines[index + 1]) / 25.4)
    file = tmp_path / "inch.dxf"
    file.write_text("\n".join(inch) + "\n")
    found = look(file, known="hole = 6.6 mm")
    assert found.size == pytest.approx((120.0, 70.0), abs=1e-6)
    assert "it is drawn in in" in found.notes[0]


@pytest.mark.parametrize(
    "content", [b"", b"\x89PNG\r\n\x1a\n", b"0\nSECTION\n2\nENTITIES\n0\nEOF\n", b"\x00" * 500]
)
def test_what_is_no_drawing_is_refused(tmp_path: Path, content: bytes) -> None:
    """Empty, a picture, a drawing of nothing, binary junk: a reason, no crash."""
    file = tmp_path / "x.dxf"
    file.write_bytes(content)
    with pytest.raises(InputError):
        look(file, units="mm")


SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">
<g id="plate"><rect width="80" height="50" rx="6"/><circle cx="20" cy="25" r="3.3"/>
<g transform="translate(50 25) rotate(90)"><rect x="-8" y="-3" width="16" height="6" rx="3"/></g></g></svg>"""


def test_an_svg_drawing_is_read_at_its_pages_size(tmp_path: Path) -> None:
    """80 x 50 mm with corners of 6, a hole of 6.6 and a turned slot: sizes and areas by hand."""
    file = tmp_path / "plate.svg"
    file.write_text(SVG)
    found = look(file)
    assert found.size == pytest.approx((80.0, 50.0))
    plate, *holes = found.seen
    assert plate.kind == "outline"
    assert plate.loop.region.area == pytest.approx(80 * 50 - (4 - 3.14159265) * 36, abs=0.1)
    assert sorted(one.shape.kind for one in holes) == ["circle", "obround"]


def test_an_svg_page_in_pixels_is_not_guessed_at(tmp_path: Path) -> None:
    """96, 90 and 72 to the inch are all in use: the sizes are shown, and a known width settles it."""
    file = tmp_path / "plate.svg"
    file.write_text(SVG.replace('80mm" height="50mm"', '80" height="50"').replace(' viewBox="0 0 80 50"', ""))
    with pytest.raises(InputError, match="in px at 96 an inch"):
        look(file)
    assert look(file, known="width = 80 mm").size == pytest.approx((80.0, 50.0))


def test_a_curve_that_cannot_be_read_is_not_left_out_of_a_part(tmp_path: Path) -> None:
    """A tilted circle is refused by name; words and dimensions are left out and counted."""
    tilted = "0\nCIRCLE\n8\nHOLES\n10\n30\n20\n20\n40\n5\n210\n0.6\n220\n0\n230\n0.8\n0\nENDSEC"
    file = tmp_path / "x.dxf"
    head, _, tail = DRAWING.read_text().rpartition("0\nENDSEC")
    file.write_text(head + tilted + tail)
    with pytest.raises(InputError, match="on layer HOLES doesn't lie flat"):
        look(file, units="mm")
    text = "0\nTEXT\n8\nHOLES\n10\n30\n20\n20\n40\n5\n1\nhello\n0\nENDSEC"
    file.write_text(head + text + tail)
    assert "1 TEXT" in " ".join(look(file, units="mm").notes)


def lines_dxf(file: Path, *lines: tuple[float, float, float, float]) -> Path:
    """A drawing of lines alone."""
    said = ["0", "SECTION", "2", "ENTITIES"]
    for x, y, to_x, to_y in lines:
        said += ["0", "LINE", "8", "0", "10", repr(x), "20", repr(y), "11", repr(to_x), "21", repr(to_y)]
    file.write_text("\n".join([*said, "0", "ENDSEC", "0", "EOF", ""]))
    return file


def test_a_small_gap_is_closed_and_said_with_its_place(tmp_path: Path) -> None:
    """Corners that miss each other by 0.03 mm, and a line drawn twice: one rectangle, two acts."""
    box = ((0, 0, 40, 0), (40.03, 0, 40, 20), (40, 20, 0, 20), (0, 20, 0, 0), (0, 20, 0, 0))
    found = look(lines_dxf(tmp_path / "x.dxf", *box), units="mm")
    assert len(found.seen) == 1
    said = " ".join(found.notes)
    assert "the gap of 0.03 mm" in said and "(40.015, 0) mm was closed" in said
    assert "dropped" in said


def test_an_open_outline_is_refused_with_both_its_ends(tmp_path: Path) -> None:
    """A gap of 3 mm is nobody's to close but the draughtsman's."""
    box = ((0, 0, 40, 0), (40, 0, 40, 20), (40, 20, 0, 20), (0, 20, 0, 3))
    with pytest.raises(InputError, match="is open") as refused:
        look(lines_dxf(tmp_path / "x.dxf", *box), units="mm")
    assert "(0, 0) mm" in str(refused.value) and "(0, 3) mm" in str(refused.value)


def test_a_ring_that_crosses_itself_is_refused(tmp_path: Path) -> None:
    """A bow tie has no inside that anyone could mean."""
    bow = ((0, 0, 40, 20), (40, 20, 40, 0), (40, 0, 0, 20), (0, 20, 0, 0))
    with pytest.raises(InputError, match="crosses itself"):
        look(lines_dxf(tmp_path / "x.dxf", *bow), units="mm")


def test_a_shops_cutters_are_held_against_the_drawing(capsys: pytest.CaptureFixture[str]) -> None:
    """With the clamp kit's shop: which cutter goes round each inside corner."""
    shop = DRAWING.parents[1] / "clamp-kit" / "shop.toml"
    assert main(["look", str(DRAWING), "--units", "mm", "--shop", str(shop)]) == 0
    said = capsys.readouterr().out
    assert "every other inside corner is cut by cutter 2 (6 mm); the tightest, of hole 4, has" in said
    assert "outline: sharp inside corners. Cutter 1" in said
    assert "the narrowest web is 8 mm" in said


def test_the_collector_is_as_it_was_after_a_drawing(tmp_path: Path) -> None:
    """Read or refused, running or not: it isn't left otherwise than it was found."""
    bad = tmp_path / "bad.dxf"
    bad.write_text("no drawing")
    for running in (True, False):
        (gc.enable if running else gc.disable)()
        try:
            look(DRAWING, units="mm")
            assert gc.isenabled() is running
            with pytest.raises(InputError):
                look(bad)
            assert gc.isenabled() is running
        finally:
            gc.enable()
