"""The data of the page's plan: what it says of the bed is where the bed has it."""

import json
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest
from shapely import Polygon
from svgelements import Path as SvgPath

import made_example
from proveout.card.plan_data import APART, plan_data
from proveout.curve import polygon
from proveout.finding import Finding, Level
from proveout.job.records import ClampAt, Job, OtherMeans, StopAt, TapeAt
from proveout.parts.part import PlacedPart, lies
from proveout.reckon import hold

Data = dict[str, Any]


def data_of(job: Job | None = None, **more: Any) -> Data:
    made = made_example.made()
    job = job or made.job
    placed = more.pop("placed", made.placed)
    return cast(Data, plan_data(job, placed, hold(job), tabs=made.setup.tabs, **more))


def ringed(path: str) -> Polygon:
    """The first ring of path data, as an independent reader of SVG has it, its arcs in short chords."""
    whole = next(iter(SvgPath(path).as_subpaths()))
    points = [
        (at.x, at.y)
        for piece in SvgPath(whole)
        for at in (piece.point(k / 32) for k in range(33))
        if at is not None
    ]
    return Polygon(points)


def test_it_is_plain_json() -> None:
    """What a page is sent has nothing in it that JSON lacks, and is the same when it is read again."""
    data = data_of()
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_a_parts_path_is_its_outline_with_y_away() -> None:
    """Read by a general library, a path bounds the part where it lies, to a hundredth of its chords' error:
    Y is away from the front, and arcs bulge the way they are cut."""
    made = made_example.made()
    for one, placed in zip(data_of()["parts"], made.placed, strict=True):
        wanted = polygon((lies(placed).outline,))
        found = ringed(one["path"])
        assert found.symmetric_difference(wanted).area < 0.002 * wanted.area
        assert one["box"] == pytest.approx(wanted.bounds, abs=1e-4)


def test_a_round_hole_stays_round() -> None:
    """The bolt hole's path is drawn with arcs of its own radius, half of 6.6 mm."""
    hole = next(one for one in data_of()["parts"][0]["features"] if one["through"])
    assert hole["path"].count("A3.3 3.3 ") == 4
    assert "L" not in hole["path"]
    assert ringed(hole["path"]).area == pytest.approx(math.pi * 3.3**2, rel=0.002)


def test_holes_are_named_where_they_lie() -> None:
    """A1 lies (20, 20) from the plate's corner and the sheet (60, 80): at (-40, -60) from the sheet's own."""
    plate = data_of()["plate"]
    holes = {one["name"]: one for one in plate["holes"]}
    assert len(holes) == 17 * 12
    assert holes["A1"]["at"] == [-40, -60]
    assert holes["M8"]["at"] == [260, 115]
    assert plate["box"] == [-60, -80, 400, 260]


def test_a_hole_under_the_sheet_or_with_a_bolt_in_it_is_not_free() -> None:
    """A bolt can stand in A1; not in B6, where one stands, nor in D6, which the sheet covers."""
    free = {one["name"]: one["free"] for one in data_of()["plate"]["holes"]}
    assert (free["A1"], free["B6"], free["D6"]) == (True, False, False)


def test_a_clamp_may_stand_where_its_nose_reaches_and_nothing_is_in_its_way() -> None:
    """Along the left edge column B reaches over the sheet and column A, 25 mm further out, does not. Next to
    the clamp at B6 of 22 mm width a row of 25 mm is free; at the other clamp's own hole L6 nothing is."""
    job = made_example.made().job
    job = replace(job, clamps=(*job.clamps, ClampAt(clamp="low strap", hole="B8", towards="right")))
    may = data_of(job)["clamps"][2]["may"]
    assert may["B8"] == ["right"]
    assert {"B5", "B7", "B4"} <= may.keys()
    assert not {"A5", "B6", "L6", "D5"} & may.keys()


def test_where_a_clamp_stands_is_always_among_its_holes() -> None:
    """A clamp that reaches further in than proveout would choose can still be put back where it was."""
    job = made_example.made().job
    odd = ClampAt(clamp="low strap", hole="C6", towards="right")
    assert data_of(replace(job, clamps=(odd,)))["clamps"][0]["may"]["C6"] == ["right"]


def test_no_axis_comes_nearer_to_a_clamp_than_what_turns_allows() -> None:
    """The 65 mm body of the spindle hangs 42 mm above the 3 mm cutter's tip, which goes 0.3 mm under the
    sheet: that isn't the 2 mm that are wanted over a knob whose top is at 11.9 + 12 + 18. So its 32.5 mm and
    1.5 mm more stay clear of the knob's 15 mm. Were knob and bar lower, by 9 mm and by 1, only the cutters
    would count beside the bar, 26 mm under the nut, and the 20 mm nut beside the knob."""
    clamp = data_of()["clamps"][0]
    assert ringed(clamp["bar"]).bounds == (-30, -11, 30, 11)
    assert max(ringed(clamp["keepOut"]).bounds) == pytest.approx(15 + 32.5 + 1.5, abs=0.05)
    job = made_example.made().job
    low = replace(
        job, shop=replace(job.shop, clamps=(replace(job.shop.clamps[0], thickness=11.0, knob_height=9.0),))
    )
    keep_out = ringed(data_of(low)["clamps"][0]["keepOut"])
    assert keep_out.bounds[3] == pytest.approx(15 + 10 + 1.5, abs=0.05)
    assert keep_out.bounds[2] == pytest.approx(30 + 3 + 1.5, abs=0.05)


def test_a_part_that_a_person_placed_says_which_entry_holds_it() -> None:
    """Of three parts the second was placed by the only entry of [[places]]."""
    job = with_more(places=(SimpleNamespace(part="knob 2", at=(90.0, 76.0), turn=90.0),))
    data = data_of(job)
    assert [(one["name"], one["placed"], one["place"]) for one in data["parts"]] == [
        ("knob 1", False, None),
        ("knob 2", True, 0),
        ("strap 1", False, None),
    ]
    assert data["places"] == 1
    assert [one["part"] for one in data["parts"]] == [0, 0, 1]


def test_flaws_are_told_as_they_are_stated() -> None:
    """A round one has its diameter both ways."""
    flat = SimpleNamespace(at=(10.0, 20.0), size=(30.0, 5.0), diameter=None, what="split")
    knot = SimpleNamespace(at=(50.0, 60.0), size=None, diameter=8.0, what="knot")
    assert data_of(with_more(flaws=(flat, knot)))["flaws"] == [
        {"index": 0, "at": [10, 20], "size": [30, 5], "round": False, "what": "split"},
        {"index": 1, "at": [50, 60], "size": [8, 8], "round": True, "what": "knot"},
    ]


class _More:
    """A job with records that its class may not have yet."""

    def __init__(self, job: Job, more: dict[str, object]) -> None:
        self._job, self._more = job, more

    def __getattr__(self, name: str) -> object:
        return self._more[name] if name in self._more else getattr(self._job, name)


def with_more(**more: object) -> Job:
    return cast(Job, _More(made_example.made().job, more))


def test_findings_are_numbered_as_on_the_printed_plan() -> None:
    """Stops come first; a finding that was seen in two places has two marks with one number; of two that are
    nearer to each other than a balloon, one."""

    def at(level: Level, *places: tuple[float, float, float]) -> Finding:
        each = tuple(Finding(level=level, kind="rapid-close", text="near", at=place) for place in places)
        return Finding(level=level, kind="rapid-close", text="near", each=each)

    found = (
        at(Level.CAUTION, (1, 1, 0), (2, 2, 0), (50, 60, 0)),
        Finding(level=Level.STOP, kind="clamp-struck", text="struck", at=(5, 6, 7)),
        Finding(level=Level.CAUTION, kind="estimate", text="nowhere"),
    )
    marks = data_of(findings=found)["findings"]
    assert math.dist((1, 1), (2, 2)) < APART
    assert [(one["number"], one["level"], one["at"]) for one in marks] == [
        (1, "stop", [5, 6]),
        (2, "caution", [1, 1]),
        (2, "caution", [50, 60]),
    ]


def test_what_else_holds_the_sheet_is_shown_where_it_is() -> None:
    """A stop at the front edge lies in front of it, tape under the sheet where it is stuck."""
    means = OtherMeans(
        stops=(StopAt(at=(100.0, 0.0), side="front", width=20.0, depth=15.0, height=None, stands=None),),
        tape=(TapeAt(at=(30.0, 40.0), size=(25.0, 60.0)),),
    )
    others = {one["kind"]: one for one in data_of(replace(made_example.made().job, means=means))["others"]}
    assert ringed(others["stop"]["path"]).bounds == (90, -15, 110, 0)
    assert ringed(others["tape"]["path"]).bounds == (30, 40, 55, 100)


def test_a_bed_without_parts_is_shown_too() -> None:
    """Before anything is laid out, clamps have their keep-outs from all cutters on hand."""
    data = data_of(placed=cast(tuple[PlacedPart, ...], ()))
    assert data["parts"] == []
    assert data["clamps"][0]["keepOut"]
    assert data["zero"] == {"at": [0, 0], "corner": "left front", "level": "bed"}
