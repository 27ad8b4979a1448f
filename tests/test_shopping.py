"""The shopping and cutting lists: whole pieces, enough of each, alike things in one row."""

import json
import math
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import made_example
from fit_bench import a_stop
from proveout.job.records import (
    Finish,
    Hardware,
    KnobWanted,
    OtherMeans,
    ScrewAt,
    StopWanted,
    StrapWanted,
    TapeAt,
    Use,
    Wanted,
)
from proveout.pack.made import Made
from proveout.pack.needs import Need, summed
from proveout.pack.result_json import result_json
from proveout.pack.shopping import (
    KERF,
    blanks,
    cutting_rows,
    items,
    per_rod,
    shopping_rows,
)
from proveout.quantity import System

IN_INSERT = Use(least=20.0, greatest=21.0, into="insert")
WITH_NUT = Use(least=20.0, greatest=20.0, into="nut")


def wanting(made: Made, *wanted: Wanted) -> Made:
    """The example with other parts wanted; what lies on its sheet stays."""
    return replace(made, job=replace(made.job, wanted=wanted))


def knob(count: int = 2, name: str = "knob", *, form: str = "hex head", use: Use | None = None) -> Wanted:
    """Knobs as in the example, around a head or a nut."""
    like = made_example.made().job.wanted[0]
    assert isinstance(like.pattern, KnobWanted)
    hardware = Hardware(size="M6", form=form)  # type: ignore[arg-type]  # a hex of either form
    return replace(like, name=name, count=count, pattern=replace(like.pattern, hardware=hardware, use=use))


def strap(count: int = 1, use: Use | None = None) -> Wanted:
    """Straps as in the example."""
    like = made_example.made().job.wanted[1]
    assert isinstance(like.pattern, StrapWanted)
    return replace(like, count=count, pattern=replace(like.pattern, use=use))


def stop(count: int, holes: int, dowel: str = "6") -> Wanted:
    """Stop blocks with some holes each."""
    pattern = replace(a_stop(), holes=holes, hardware=Hardware(size=dowel, form="dowel"))
    assert isinstance(pattern, StopWanted)
    return Wanted(name="block", count=count, pattern=pattern, rotations_deg=(0.0,), cutter=None)


def bought(made: Made) -> dict[str, int]:
    """Count of each thing by its words and length."""
    return {" x ".join(row[1:2]): int(row[0]) for row in shopping_rows(made)}


def test_hardware_is_summed_over_parts_with_one_to_spare_of_what_is_fitted() -> None:
    """Two kinds of knob around the same head, 2 and 3 of them, take 6 bolts with the spare one; where their
    use is stated the bolts have a length, and each a washer, of which none is fitted."""
    without = wanting(made_example.made(), knob(2), knob(3, "knob B"))
    assert bought(without)["M6 hex head bolt"] == 6
    stated = wanting(made_example.made(), knob(2, use=IN_INSERT), knob(3, "knob B"))
    lists = bought(stated)
    assert lists["M6 hex head bolt x 40 mm"] == 3
    assert lists["M6 hex head bolt"] == 4
    assert lists["M6 washer"] == 2
    assert "M6 hex nut" not in lists


def test_nuts_are_bought_where_a_bolt_ends_in_one() -> None:
    """A strap with a nut takes bolt, washer and nut; a knob that holds its nut takes that and the bolt."""
    lists = bought(wanting(made_example.made(), strap(4, WITH_NUT)))
    assert (lists["M6 washer"], lists["M6 hex nut"]) == (4, 4)
    assert sum(count for what, count in lists.items() if what.startswith("M6 hex head bolt x")) == 4
    made = made_example.made()
    floor = next(one for one in made.figures if one.name == "knob.head recess.floor left")
    made = replace(made, figures=(*made.figures, replace(floor, name="knob.nut recess.floor left")))
    own = bought(wanting(made, knob(2, form="hex nut", use=WITH_NUT)))
    assert own["M6 hex nut"] == 3  # one to spare, since it is fitted
    assert sum(count for what, count in own.items() if what.startswith("M6 hex head bolt x")) == 2


def test_a_strap_without_a_stated_use_says_what_is_missing() -> None:
    """Its bolt has no length, and a knob that brings one makes it needless."""
    row = next(row for row in shopping_rows(made_example.made()) if row[1] == "M6 bolt")
    assert row == ["1", "M6 bolt", "for strap; length by use: state grips; none where a knob brings its own"]


@pytest.mark.parametrize(("units", "length", "rod"), [("mm", "24 mm", "1000 mm"), ("in", "1 in", "36 in")])
def test_dowels_are_cut_from_whole_rods(units: System, length: str, rod: str) -> None:
    """Blocks of 11.85 mm and dowels of 6.004: 23.9 mm, so 24 mm (or 1 in). 20 blocks of 3 take 61 with the
    spare; a rod of a metre gives 39, a cut of 1.5 mm between them, one of 36 in 34 of an inch: two rods."""
    lists = bought(wanting(made_example.made(units=units), stop(20, 3)))
    assert lists[f"6 mm dowel x {length}"] == 61
    assert lists[f"6 mm dowel rod x {rod}"] == 2


@given(st.integers(1, 400), st.floats(5.0, 300.0), st.floats(300.0, 2500.0))
def test_the_rods_are_enough_and_none_is_too_many(pieces: int, length: float, rod: float) -> None:
    """Cut one after the other, a kerf between two, all pieces come out of the rods; one less won't do."""
    each, used = 0, 0.0
    while used + length <= rod + 1e-9:
        used += length + KERF
        each += 1
    rods = math.ceil(pieces / per_rod(length, rod))
    assert rods * each >= pieces
    assert (rods - 1) * each < pieces


NEEDS = st.lists(
    st.builds(
        Need,
        what=st.sampled_from(("bolt", "nut", "washer")),
        length=st.sampled_from((None, 20.0, 25.0)),
        count=st.integers(1, 50),
        part=st.sampled_from(("a", "b")),
        fitted=st.booleans(),
    ),
    max_size=12,
)


@given(NEEDS)
def test_nothing_is_lost_or_bought_twice_in_a_sum(needs: list[Need]) -> None:
    """Each thing has one row, as many pieces as its needs, and one more where any of them is fitted."""
    found = summed(needs)
    keys = [(item.what, item.length) for item in found]
    assert len(keys) == len(set(keys)) == len({(need.what, need.length) for need in needs})
    asked: Counter[tuple[str, float | None]] = Counter()
    for need in needs:
        asked[need.what, need.length] += need.count
    for item in found:
        group = [one for one in needs if (one.what, one.length) == (item.what, item.length)]
        assert item.count == asked[item.what, item.length] + any(one.fitted for one in group)
        assert set(item.parts) == {one.part for one in group}


def test_what_the_job_itself_uses_up_is_listed() -> None:
    """Two strips of tape of 50 by 100 mm are 100 cm2; two screws alike are one row; a finish has its area."""
    made = made_example.made()
    screw = ScrewAt(at=(5.0, 5.0), diameter=4.0, length=30.0, head_diameter=8.0, head_height=0.0)
    tape = TapeAt(at=(10.0, 10.0), size=(50.0, 100.0))
    means = OtherMeans(tape=(tape, tape), screws=(screw, replace(screw, at=(9.0, 9.0))))
    job = replace(made.job, means=means, finish=Finish(kind="oil", coats=1))
    rows = {row[1]: row for row in shopping_rows(replace(made, job=job))}
    assert rows["double-sided tape, piece"] == ["2", "double-sided tape, piece", "100 cm2 in all"]
    assert rows["wood screw, 4 mm x 30 mm"][0] == "2"
    assert rows["tin of oil"][2].startswith("1 coat on ")
    faces = 2 * blanks(made).parts_area
    edges = (2 * 62 + math.pi * 28) * 11.79 + 2 * (math.pi * 44) * 11.79  # the knobs' scallops add to theirs
    assert float(rows["tin of oil"][2].split()[-2]) * 100 == pytest.approx(faces + edges, rel=0.05)


def test_the_sheet_is_counted_with_what_becomes_parts() -> None:
    """One sheet of 220 by 140 mm; the strap is 90 by 28 with round ends, and each knob at most a disc."""
    found = blanks(made_example.made())
    strap_area = 90 * 28 - (4 - math.pi) * 14**2
    assert found.count == 1
    assert strap_area < found.parts_area < strap_area + 2 * math.pi * 22**2
    assert found.share == pytest.approx(found.parts_area / (220 * 140))
    two = replace(made_example.made(), placed=tuple(
        replace(one, sheet=number) for number, one in enumerate(made_example.made().placed, 1)
    ))  # fmt: skip
    assert items(two)[0].count == 3


def test_the_cutting_list_says_size_and_how_a_part_lies() -> None:
    """A knob is so wide across; a strap has two sides, and its long one lies along X as it was laid."""
    rows = {row[0]: row[1:] for row in cutting_rows(made_example.made())}
    assert rows["knob"] == ["2", "44 mm across", "11.72 to 11.85 mm", "birch plywood", ""]
    assert rows["strap"] == ["1", "90 mm x 28 mm", "11.72 to 11.85 mm", "birch plywood", "along X"]
    turned = replace(made_example.made(), placed=tuple(
        replace(one, turn_deg=90.0) for one in made_example.made().placed
    ))  # fmt: skip
    assert cutting_rows(turned)[1][-1] == "along Y"


def test_the_lists_are_in_the_result_for_other_programs() -> None:
    """Counts are whole numbers, lengths in mm, and equal jobs give equal bytes."""
    made = wanting(made_example.made(units="in"), knob(2, use=IN_INSERT), stop(2, 2))
    lists = json.loads(result_json(made))["shopping"]
    by_name = {one["what"]: one for one in lists["buy"]}
    assert (by_name["M6 hex head bolt"]["count"], by_name["M6 hex head bolt"]["length"]) == (3, 40.0)
    assert by_name["6 mm dowel"]["length"] == pytest.approx(25.4)
    assert lists["cut"][0]["size"] == pytest.approx([44.0, 42.7], abs=0.1)
    assert result_json(made) == result_json(made)
