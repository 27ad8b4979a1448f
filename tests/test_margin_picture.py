"""The margin map: no band is larger than what is stood there, and it reads without colour."""

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

import made_example
from proveout.cli import main
from proveout.hold.margins import Push, margin_map, region_of
from proveout.hold.slip import Contacts, slip_force, tip_share
from proveout.holding import holding
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.pack.margin_picture import TONES, held_picture, made_picture
from proveout.pack.report import report_html

EXAMPLES = Path(__file__).parents[1] / "examples"
SIZE = (300.0, 200.0)
SVG = "{http://www.w3.org/2000/svg}"


@cache
def job() -> Job:
    return read_job(EXAMPLES / "clamp-kit" / "job.toml")


def corners(friction: float) -> Contacts:
    """Four contacts 20 mm from the corners of the blank, pressed with four times their friction."""
    at = np.array([(20.0, 20.0), (280.0, 20.0), (280.0, 180.0), (20.0, 180.0)])
    return Contacts(at=at, friction=np.full(4, friction), pressed=16 * friction)


def words(picture: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(picture).iter(f"{SVG}text")]


contact = st.tuples(st.floats(0, 300), st.floats(0, 200), st.floats(5, 200))


@settings(max_examples=25, deadline=None)
@given(st.lists(contact, min_size=2, max_size=8), st.floats(0.1, 0.95), st.floats(0, 1))
def test_a_band_never_promises_more_than_there_is(
    points: list[tuple[float, float, float]], share: float, pull: float
) -> None:
    """Anywhere in a band the push is stood so often, reckoned there anew without any map."""
    table = np.array(points)
    held = Contacts(at=table[:, :2], friction=table[:, 2], pressed=4 * float(table[:, 2].sum()))
    over = margin_map(held, SIZE, Push(force=10.0, pull=10.0 * pull))
    level = float(over.force.min() + share * (over.force.max() - over.force.min()))
    region = region_of(over, level)
    if region.area < 1 or level <= 0:
        return
    inside = np.array([(p.x, p.y) for p in (*map(Point, region.exterior.coords), region.centroid)])
    slides = (slip_force(held, inside) - 10 * pull / 4) / 10
    tips = tip_share(held, inside, SIZE) / max(10 * pull, 1e-9)
    assert (np.minimum(slides, tips) >= level * 0.99 - 1e-6).all()


def test_a_band_is_hardly_smaller_than_the_truth() -> None:
    """Along the middle of a blank under four clamps the band ends where the reckoning does, to 2 mm."""
    held = corners(10.0)
    region = region_of(margin_map(held, SIZE, Push(force=10.0)), 3.0)
    line = np.column_stack((np.linspace(0, 300, 3001), np.full(3001, 100.0)))
    stands = line[slip_force(held, line) >= 30.0, 0]
    left, _, right, _ = region.intersection(box(0, 99.9, 300, 100.1)).bounds
    assert left == pytest.approx(stands.min(), abs=2.0) and right == pytest.approx(stands.max(), abs=2.0)


def test_the_weakest_place_is_a_corner_of_the_blank() -> None:
    """What is stood falls off towards every side: nothing inside is weaker than all corners."""
    over = margin_map(corners(10.0), SIZE, Push(force=10.0, pull=5.0))
    ends = over.force[[0, 0, -1, -1], [0, -1, 0, -1]]
    assert over.force.min() == pytest.approx(ends.min(), rel=1e-3)


def test_bands_are_told_by_hatching_numbers_and_words_and_grey_alone() -> None:
    """One clamp: most of the blank moves, and a reader of letters alone, or of a grey print, learns it."""
    one = replace(job(), clamps=job().clamps[:1])
    picture = held_picture(holding(one))
    assert picture is not None
    said = words(picture)
    assert "less than once: the blank moves. Do not cut here" in said
    assert "1 to 3 times: too little. Do not cut hard here" in said
    assert "once" in said and "3 times" in said  # on the lines
    assert "url(#margin-cross)" in picture and "url(#margin-lines)" in picture
    for red, green, blue in re.findall(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b", picture):
        assert red == green == blue
    levels = [int(tone[1:3], 16) for tone in TONES]
    assert all(after - before >= 10 for before, after in pairwise(levels))
    assert levels[2] - levels[1] >= 50  # a wide step where enough begins


def test_the_weakest_place_is_told_and_rounded_down() -> None:
    """Four straps: 244 N at the corner, an up-cut of 18 N pulls 10 N up: (244 - 0.25 x 10)/18 = 13.3."""
    found = holding(job())
    assert found.stated and found.push
    picture = held_picture(found)
    assert picture is not None
    assert "weakest place, 0 mm from the left, 0 mm from the front: 12 times" in words(picture)
    assert not [text for text in words(picture) if "too little" in text or "moves" in text]


def test_without_a_cutter_the_bands_are_newtons() -> None:
    """No flat cutter on hand: forces in round numbers, and nothing is called enough."""
    none = replace(job(), shop=replace(job().shop, cutters=()))
    picture = held_picture(holding(none))
    assert picture is not None
    said = words(picture)
    assert any(re.fullmatch(r"\d+ to \d+ N", text) for text in said)
    assert not [text for text in said if "enough" in text or "times" in text]


def test_the_same_job_gives_the_same_bytes_and_few() -> None:
    """A picture is light enough for a letter, and well formed."""
    pictures = {held_picture(holding(job())) for _ in range(2)}
    made = made_picture(made_example.made())
    assert len(pictures) == 1
    for picture in (*pictures, made):
        assert picture is not None and len(picture.encode()) < 60_000
        ET.fromstring(picture)


def test_the_report_shows_it_with_the_parts_where_they_lie() -> None:
    """A learner sees which outlines run where little is stood; without clamps there is nothing to see."""
    made = made_example.made()
    page = report_html(made, "<svg/>", b"")
    assert "<h2>How the sheet is held</h2>" in page
    picture = made_picture(made)
    assert picture is not None and picture.count('class="part"') == len(made.setup.parts)
    bare = replace(made, setup=replace(made.setup, clamps=()))
    assert made_picture(bare) is None
    assert "How the sheet is held" not in report_html(bare, "<svg/>", b"")


def test_a_name_cannot_break_the_picture() -> None:
    """Whatever a job is called."""
    picture = held_picture(holding(replace(job(), name='a<b>&"')))
    assert picture is not None
    ET.fromstring(picture)


def test_it_is_written_on_the_command_line_and_over_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that is there stays, unless it is such a picture and --replace is said."""
    file, given = tmp_path / "margins.svg", str(EXAMPLES / "clamp-kit" / "job.toml")
    assert main(["hold", given, "--svg", str(file)]) == 0
    first = file.read_bytes()
    assert main(["hold", given, "--svg", str(file)]) == 2
    assert "This is there already. Give another name to --svg, or add --replace" in capsys.readouterr().err
    assert main(["hold", given, "--svg", str(file), "--replace", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["stated"]["enough"]
    assert file.read_bytes() == first
    file.write_text("<svg>mine</svg>")
    assert main(["hold", given, "--svg", str(file), "--replace"]) == 2
    assert "This is no picture of margins of ours, so it is not replaced." in capsys.readouterr().err
    assert file.read_text() == "<svg>mine</svg>"


def test_nothing_is_drawn_where_nothing_holds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A small piece between the holes of a wide grid."""
    text = (EXAMPLES / "clamp-kit" / "shop.toml").read_text()
    (tmp_path / "shop.toml").write_text(
        text.replace("pitch = 25", "pitch = 150")
        .replace("columns = 19 ", "columns = 3 ")
        .replace("rows = 14 ", "rows = 3 ")
    )
    bare = (EXAMPLES / "clamp-kit" / "job.toml").read_text()
    bare = bare[: bare.index("[[clamps]]")].replace("[340, 240]", "[40, 30]")
    (tmp_path / "job.toml").write_text(bare)
    assert main(["hold", str(tmp_path / "job.toml"), "--svg", str(tmp_path / "no.svg")]) == 1
    assert "no.svg was not written: nothing holds the blank." in capsys.readouterr().err
    assert not (tmp_path / "no.svg").exists()
