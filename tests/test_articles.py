"""What can be measured: one row for each size that differs, numbered alike wherever it is told."""

import csv
import io
import json
import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

import made_example
from book_pack import FLATS, cut_in, fitted_made
from card_bench import EXAMPLES
from proveout.book.article import Article
from proveout.book.form import form_text
from proveout.figure import Figure
from proveout.job.read import read_job
from proveout.job.records import Zero
from proveout.pack.articles import articles
from proveout.pack.made import Made
from proveout.pack.result_json import result_record
from proveout.pack.sheet import sheet_data
from proveout.parts.part import Feature
from proveout.plan import make

Short = tuple[str, str, str, str, float]


def short(made: Made) -> list[Short]:
    """Of each article what it is, its feature, direction, cutter and size."""
    return [
        (one.words, one.feature, one.direction, one.cutter[0], round(one.asked, 3)) for one in articles(made)
    ]


def test_each_size_of_each_kind_of_part_has_a_row_with_its_own_cutter() -> None:
    """The knob and the strap as they were asked for: 44 mm over the lobes, 90 by 28 mm, holes of 6.6 mm.

    Lying as it was drawn, the strap is long along X and its slot 6.6 mm wide along Y; cutter 2 cuts it out.
    """
    assert short(fitted_made()) == [
        ("knob: over the lobes", "outline", "", "1", 44.0),
        ("knob: head recess, across flats", "recess", "", "1", FLATS),
        ("knob: head recess, wood left under it", "depth", "", "1", 7.37),
        ("knob: bolt hole, diameter", "hole", "", "1", 6.6),
        ("strap: length", "outline", "x", "2", 90.0),
        ("strap: width", "outline", "y", "2", 28.0),
        ("strap: slot, width", "slot", "y", "1", 6.6),
    ]


def test_a_recess_says_which_hardware_it_takes_and_what_was_measured_of_it() -> None:
    """The job states 9.92 mm across the flats of its M6 heads; nothing is tried in an outline or a depth."""
    takes = {one.words: (one.takes, one.hardware) for one in articles(fitted_made()) if one.takes}
    assert takes == {"knob: head recess, across flats": ("M6 hex head bolt", 9.92)}


@pytest.mark.parametrize(("turn", "length", "width"), [(90.0, "y", "x"), (180.0, "x", "y"), (30.0, "", "")])
def test_a_direction_is_the_machines_wherever_the_part_is_turned(
    turn: float, length: str, width: str
) -> None:
    """A strap turned a quarter is long along Y; one that lies askew has no direction."""
    made = fitted_made()
    *knobs, strap = made.placed
    turned = replace(made, placed=(*knobs, replace(strap, turn_deg=turn)))
    directions = {one.words: one.direction for one in articles(turned) if one.part == "strap"}
    assert directions == {"strap: length": length, "strap: width": width, "strap: slot, width": width}


def test_copies_that_lie_differently_have_no_direction() -> None:
    """Nobody says which copy is measured."""
    made = fitted_made()
    strap, stands = made.placed[-1], made.setup.parts[-1]
    both = replace(
        made,
        placed=(*made.placed, replace(strap, name="strap 2", turn_deg=90.0)),
        setup=replace(made.setup, parts=(*made.setup.parts, replace(stands, name="strap 2"))),
    )
    assert {one.direction for one in articles(both) if one.part == "strap"} == {""}


def coupon(*flats: float) -> Made:
    """The example with a strap that has so many recesses instead of its slot."""
    made = fitted_made()
    recess = made.placed[0].part.features[0]
    recesses: tuple[Feature, ...] = tuple(
        replace(recess, name=f"recess {number}") for number in range(1, len(flats) + 1)
    )
    figures = tuple(
        Figure(
            name=f"strap.recess {number}.flats", value=size, unit="mm", rule="as stated", source="this test"
        )
        for number, size in enumerate(flats, start=1)
    )
    strap = replace(made.placed[-1], part=replace(made.placed[-1].part, features=recesses))
    return replace(made, placed=(*made.placed[:-1], strap), figures=(*made.figures, *figures))


def test_recesses_of_a_coupon_have_a_row_each() -> None:
    """Nine recesses of nine sizes are measured one by one; their one depth is told once."""
    sizes = [9.6 + step * 0.04 for step in range(9)]
    rows = [
        (one.of, one.what, one.asked) for one in articles(coupon(*sizes)) if one.part == "strap" and one.of
    ]
    assert rows == [
        *((f"recess {number}", "across flats", sizes[number - 1]) for number in range(1, 10)),
        ("recess", "wood left under it", 7.37),
    ]


def test_alike_features_are_told_once_under_their_kind() -> None:
    """Three recesses of one size: one row, and no number that would mean one of them."""
    rows = [one.words for one in articles(coupon(9.7, 9.7, 9.7)) if one.part == "strap" and one.of]
    assert rows == ["strap: recess, across flats", "strap: recess, wood left under it"]


def test_with_the_zero_on_top_depths_are_read_from_the_top() -> None:
    """A recess with 7.37 mm under it is 4.48 mm deep where the top is at 11.85 mm."""
    made = fitted_made()
    top = replace(
        made,
        job=replace(made.job, zero=Zero(corner="left front", level="top")),
        setup=replace(made.setup, zero=(0.0, 0.0, 11.85)),
    )
    depth = next(one for one in articles(top) if one.feature == "depth")
    assert (depth.what, round(depth.asked, 3)) == ("depth", 4.48)


def test_sheet_form_and_result_have_the_same_numbers(tmp_path: Path) -> None:
    """Whoever measures with the sheet in hand can type into the form or at the prompt."""
    made = fitted_made()
    known = [(str(one.number), one.words) for one in articles(made)]
    assert [number for number, _ in known] == [str(number) for number in range(1, len(known) + 1)]
    on_sheet = sheet_data(made)["article"]
    assert isinstance(on_sheet, list)
    assert [(row[0], row[1]) for row in on_sheet] == known
    form = list(csv.reader(io.StringIO(form_text(cut_in(tmp_path)))))
    assert [(row[0], row[2]) for row in form[1:-1]] == known


def test_the_result_gives_back_every_article(tmp_path: Path) -> None:
    """What was really cut is read from the pack, to a millionth of a millimetre."""
    assert cut_in(tmp_path).articles == articles(fitted_made())


def test_the_result_says_nothing_of_the_folder_it_was_made_in() -> None:
    """Packs are the same on every machine: no path of job, shop or book stands in them."""
    made = made_example.made()
    shop = replace(made.job.shop, book=Path("/somewhere/shop-book.sqlite"))
    moved = replace(made, job=replace(made.job, file=Path("/somewhere/job.toml"), shop=shop))
    assert json.dumps(result_record(moved)) == json.dumps(result_record(made))


def test_an_article_names_the_copy_that_was_measured() -> None:
    """A reading of the third knob is told apart from one of the first; an outline goes by its size."""
    rows: dict[str, Article] = {one.words: one for one in articles(fitted_made())}
    assert rows["knob: head recess, across flats"].subject(3) == "knob 3.head recess"
    assert rows["strap: length"].subject(1) == "strap 1.length"


def test_a_head_in_a_drawn_part_can_be_measured_and_learned_from(tmp_path: Path) -> None:
    """Alike recesses of a drawing are sized once, under the name of their kind; their flats are a row."""
    drawing = ezdxf.filemanagement.new("R2010")
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (90, 0), (90, 60), (0, 60)], close=True)
    across = 13.0 / 3**0.5  # ISO 4014: 13 mm across the flats of an M8 head
    turns = [math.radians(60 * number) for number in range(6)]
    space.add_lwpolyline([(45 + across * math.cos(a), 30 + across * math.sin(a)) for a in turns], close=True)
    drawing.saveas(tmp_path / "plate.dxf")
    text = (EXAMPLES / "drawn-bracket" / "job.toml").read_text()
    text = text[: text.index("[[parts]]")].replace("../clamp-kit/shop.toml", "shop.toml")
    rule = '[[parts.rules]]\nsize = "13 mm"\nbolt = "M8"\nholds = "head"\n'
    part = (
        '[[parts]]\nname = "plate"\ncount = 1\npattern = "drawn part"\ndrawing = "plate.dxf"\nunits = "mm"\n'
    )
    (tmp_path / "job.toml").write_text(text + part + rule)
    (tmp_path / "shop.toml").write_text((EXAMPLES / "clamp-kit" / "shop.toml").read_text())
    [row] = [one for one in articles(make(read_job(tmp_path / "job.toml"))) if one.what == "across flats"]
    assert (row.feature, row.takes) == ("recess", "M8 hex head bolt")
    assert 12.8 < row.asked < 13.0
