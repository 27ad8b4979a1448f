"""A part as it is drawn: from the drawing's curves to programs that are proved."""

import shutil
from pathlib import Path

import pytest

from proveout.curve import polygon
from proveout.finding import InputError, Level
from proveout.fit.shape import shape
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.parts.part import Part
from proveout.plan import make

EXAMPLES = Path(__file__).parents[1] / "examples"


STATED = """known = "width = 120 mm"                            # of the outline, as the calipers say
outline = "OUTLINE\""""


def job(tmp_path: Path, old: str = "", new: str = "", *, drawing: tuple[str, str] = ("", "")) -> Job:
    """The example's job with something of it, or of its drawing, replaced."""
    for name in ("clamp-kit", "drawn-bracket"):
        shutil.copytree(EXAMPLES / name, tmp_path / name, ignore=shutil.ignore_patterns("*-pack"))
    folder = tmp_path / "drawn-bracket"
    for file, (was, now) in (("job.toml", (old, new)), ("bracket.dxf", drawing)):
        text = (folder / file).read_text()
        assert was in text
        (folder / file).write_text(text.replace(was, now, 1))
    return read_job(folder / "job.toml")


def bracket(given: Job) -> Part:
    """The one part."""
    return shape(given).parts[0][0]


def bracket_size(part: Part) -> tuple[float, float]:
    """Width and height of its outline."""
    left, front, right, back = polygon((part.outline,)).bounds
    return right - left, back - front


def test_the_example_is_ready(tmp_path: Path) -> None:
    """Two brackets, planned, written and proved: no stop, no caution."""
    made = make(job(tmp_path))
    assert made.ready
    assert len(made.placed) == 2
    assert {one.level.value for one in made.findings} == {"note"}


def test_the_part_has_the_drawings_own_sizes(tmp_path: Path) -> None:
    """Areas by hand: 120 x 70 less the cut-out, corners of 8 mm; holes and slot of 6.6; pocket 38 x 24."""
    part = bracket(job(tmp_path))
    corner = (4 - 3.141592653589793) / 4
    outline = 120 * 40 + 50 * 30 - 5 * corner * 64 + corner * 9
    assert polygon((part.outline,)).area == pytest.approx(outline, rel=2e-4)
    areas = sorted(polygon(one.curves).area for one in part.features)
    assert areas == pytest.approx(
        sorted([34.212, 34.212, 34.212 + 28 * 6.6, 38 * 24 - 4 * corner * 16]), rel=1e-3
    )
    assert [one.kind for one in part.features].count("hole") == 2
    pocket = next(one for one in part.features if not one.through)
    assert pocket.floor == pytest.approx(11.90 - 5)


def test_a_sharp_inside_corner_comes_out_round_and_is_told() -> None:
    """The bracket's one inside corner gets the radius of the cutter that goes round it."""
    whole = shape(read_job(EXAMPLES / "drawn-bracket" / "job.toml"))
    notes = [one.text for one in whole.findings if one.kind == "as-drawn"]
    assert any(
        "1 sharp inside corner of its outline comes out with a radius of 3 mm" in text for text in notes
    )


def test_a_rule_by_size_gives_round_holes_a_floor(tmp_path: Path) -> None:
    """Both circles of 6.6 mm get the floor; the slot is no circle and goes through."""
    rule = '[[parts.rules]]\nsize = "6.6 mm"\nfloor = "4 mm"\n\n[[parts.rules]]'
    part = bracket(job(tmp_path, "[[parts.rules]]", rule))
    assert sorted(round(one.floor, 3) for one in part.features if not one.through) == [4.0, 4.0, 6.9]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('outline = "OUTLINE"', 'outline = "EDGE"', 'no closed curve on layer "EDGE"'),
        (STATED, 'units = "mm"\noutline = "HOLES"', "closed curves lie in no other"),
        ('depth = "5 mm"', 'depth = "12 mm"', "Give its rule another depth"),
        ("width = 120 mm", "girth = 80 mm", "is no dimension that can be looked for"),
        ("width = 120 mm", "width = 120 miles", "120 miles"),
        (
            'known = "width = 120 mm"',
            "",
            "how large it is isn't certain",
        ),
        ('drawing = "bracket.dxf"', 'drawing = "nothing.dxf"', "can't be read"),
    ],
)
def test_what_cannot_be_cut_is_refused_at_its_part(tmp_path: Path, old: str, new: str, said: str) -> None:
    """The message names the part and the drawing, and says what to do."""
    with pytest.raises(InputError, match=said) as refused:
        shape(job(tmp_path, old, new))
    assert "bracket" in str(refused.value)
    assert "parts[1]" in str(refused.value)


@pytest.mark.parametrize("known", ["height = 70 mm", "hole = 6.6 mm", "width = 4.72 in", "WIDTH=12 cm"])
def test_any_dimension_settles_the_unit_and_is_told(tmp_path: Path, known: str) -> None:
    """Height, hole, inches: all say that the drawing is in millimetres."""
    whole = shape(job(tmp_path, "width = 120 mm", known))
    assert any("it is drawn in mm" in one.text for one in whole.findings)
    assert bracket_size(whole.parts[0][0]) == pytest.approx((120.0, 70.0), abs=1e-6)


HEADER = ("AC1009\n0\n", "AC1009\n9\n$INSUNITS\n70\n1\n0\n")


def test_a_header_that_contradicts_the_known_dimension_is_told_with_both_sizes(tmp_path: Path) -> None:
    """A header of inches on a bracket of 120 mm: the dimension holds; what the header makes is said."""
    whole = shape(job(tmp_path, drawing=HEADER))
    said = next(one for one in whole.findings if "contradicts" in one.text)
    assert said.level is Level.CAUTION
    assert "its header says inches" in said.text and "3048" in said.text and "120" in said.text


def test_a_size_that_no_unit_makes_is_never_taken_in_silence(tmp_path: Path) -> None:
    """A drawing of 120 that is known to be 80 mm wide is scaled, with a caution that says so."""
    whole = shape(job(tmp_path, "width = 120 mm", "width = 80 mm"))
    said = next(one for one in whole.findings if "no usual unit" in one.text)
    assert said.level is Level.CAUTION


def test_a_drawing_in_inches_comes_in_at_its_true_size(tmp_path: Path) -> None:
    """The same drawing, known to be 120 in wide, is no bracket for this sheet; 0.12 of it would be."""
    part = bracket(job(tmp_path, "width = 120 mm", "width = 1200 mm"))
    assert polygon((part.outline,)).bounds[2] == pytest.approx(600)
