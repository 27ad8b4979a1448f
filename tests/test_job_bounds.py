"""Bounds of what is read, and what lies within them: long lists, every size of the shelf, both systems."""

from pathlib import Path

import pytest

from proveout.job.read import MOST_TOLD, read_job
from proveout.job.records import KnobWanted, StopWanted, StrapWanted
from proveout.shelf import tables as shelf
from test_job_read import JOB, SHOP, faults, spoilt


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            '["11.8", "11.9 mm"]',
            "[\n" + "11.8,\n" * 1001 + "]",
            "job.toml:8:1: stock.thickness: the list has 1001 values; at most 1000 are read.",
        ),
        (
            "[zero]",
            "[[clamps]]\n" * 5000 + "[zero]",
            "job.toml:11:1: clamps: there are 5002 clamps; at most 100 are read.",
        ),
        (
            "[[parts]]",
            "[[parts]]\n" * 1000,
            "job.toml:24:1: parts: there are 1002 parts; at most 200 are read.",
        ),
        (
            "lobes = 6",
            "lobes = 6\n" + "".join(f"x{number} = 1\n" for number in range(1000)),
            "job.toml:40:1: parts[1].x10: and 990 more fields here that are not known.",
        ),
        (
            '"test kit"',
            f'"{"n" * 101}"',
            "job.toml:2:1: name: the text has 101 characters; at most 100 are read.",
        ),
        (
            '"shop.toml"',
            f'"{"s" * 1001}"',
            "job.toml:3:1: shop: the path has 1001 characters; at most 1000 are read.",
        ),
    ],
    ids=["readings", "clamps", "parts", "fields", "name", "path"],
)
def test_what_is_too_much_is_told_and_bounded(old: str, new: str, sentence: str, tmp_path: Path) -> None:
    """However much a file repeats, a screenful of faults is told, the excess among them."""
    said = spoilt(tmp_path, (old, new)).sentences
    assert sentence in said
    assert len(said) <= MOST_TOLD + 1


def test_each_bad_reading_of_a_list_over_lines_is_told_where_it_stands(tmp_path: Path) -> None:
    """Among readings on lines of their own, with comments between, the bad ones are pointed at."""
    readings = '[\n  "11.8",  # near [A1]\n  "11,9",\n  nan, 0,\n]'
    said = spoilt(tmp_path, ('["11.8", "11.9 mm"]', readings)).sentences
    assert [sentence.split(": ")[:2] for sentence in said] == [
        ["job.toml:10:3", "stock.thickness[2]"],
        ["job.toml:11:3", "stock.thickness[3]"],
        ["job.toml:11:8", "stock.thickness[4]"],
    ]


@pytest.mark.parametrize("head", shelf.hex_heads(), ids=lambda head: head.size)
def test_every_bolt_of_the_shelf_can_be_asked_for(head: shelf.HexHead, tmp_path: Path) -> None:
    """A knob of 90 mm takes any bolt's head or nut that the shelf has, and a strap takes its shank."""
    job = JOB.replace("diameter = 44", "diameter = 90").replace('bolt = "M6"', f'bolt = "{head.size}"')
    job = job.replace("across_flats = 9.92\nhead_height = 4.05\n", "")
    for text in (job, job.replace("lobes", 'holds = "nut"\nlobes')):
        assert faults(tmp_path, text).sentences == []
        knob, strap, _ = (wanted.pattern for wanted in read_job(tmp_path / "job.toml").wanted)
        assert isinstance(knob, KnobWanted)
        assert isinstance(strap, StrapWanted)
        assert knob.hardware.size == strap.bolt == head.size


@pytest.mark.parametrize("pin", shelf.dowel_pins(), ids=lambda pin: pin.size)
def test_every_dowel_of_the_shelf_can_be_asked_for(pin: shelf.DowelPin, tmp_path: Path) -> None:
    """A block of 60 by 32 mm takes two of any dowel that the shelf has."""
    assert faults(tmp_path, JOB.replace('dowel = "5"', f'dowel = "{pin.size}"')).sentences == []
    block = read_job(tmp_path / "job.toml").wanted[2].pattern
    assert isinstance(block, StopWanted)
    assert block.hardware.size == pin.size


def test_a_bare_number_means_what_its_own_file_declares(tmp_path: Path) -> None:
    """A job in inches stands on a shop in millimetres: 1.5 in the one is 38.1 mm, 44 in the other 44 mm."""
    job = JOB.replace('units = "mm"', 'units = "in"')
    for old, new in [
        ("[330, 230]", '["330 mm", "230 mm"]'),
        ('["11.8", "11.9 mm"]', "0.4685"),
        ("[65, 55]", '["65 mm", "55 mm"]'),
        ("diameter = 44", "diameter = 1.5"),
        ("scallop_depth = 3.5", 'scallop_depth = "1/8"'),
        ("across_flats = 9.92\nhead_height = 4.05\n", ""),
    ]:
        assert old in job
        job = job.replace(old, new)
    job = job[: job.index('[[parts]]\nname = "strap"')]
    assert faults(tmp_path, job, SHOP).sentences == []
    read = read_job(tmp_path / "job.toml")
    knob = read.wanted[0].pattern
    assert isinstance(knob, KnobWanted)
    assert (knob.diameter, knob.scallop_depth) == (38.1, 3.175)
    assert read.stock.readings == pytest.approx([11.9], abs=1e-4)
    assert read.shop.plate.pitch == 25.0


def test_speeds_come_in_the_programs_own_units(tmp_path: Path) -> None:
    """A feed of 1500 mm/min is 25 mm/s inside; 1400 lbf/in is 245.2 N/mm (0.1751268 each)."""
    said = faults(tmp_path, shop=SHOP.replace('"250 N/mm"', '"1400 lbf/in"')).sentences
    machine = read_job(tmp_path / "job.toml").shop.machine
    assert said == []
    assert machine.max_feed == pytest.approx((4000 / 60, 4000 / 60, 25.0))
    assert machine.stiffness == pytest.approx(1400 * 0.1751268)  # NIST SP 811, from memory
