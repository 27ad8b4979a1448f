"""What `look` says of a drawing: its size, its curves by number, and what their sizes suit."""

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
    assert all("M6 clearance hole, normal" in one["may_be"] for one in circles)


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
    assert "120 mm x 70 mm if its unit is mm" in said
    assert "42.33 mm x 24.69 mm if its unit is pt" in said
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
    assert "its unit is in" in found.notes[0]


@pytest.mark.parametrize(
    "content", [b"", b"\x89PNG\r\n\x1a\n", b"0\nSECTION\n2\nENTITIES\n0\nEOF\n", b"\x00" * 500]
)
def test_what_is_no_drawing_is_refused(tmp_path: Path, content: bytes) -> None:
    """Empty, a picture, a drawing of nothing, binary junk: a reason, no crash."""
    file = tmp_path / "x.dxf"
    file.write_bytes(content)
    with pytest.raises(InputError):
        look(file, units="mm")
