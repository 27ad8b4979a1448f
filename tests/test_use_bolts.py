"""Bolts for parts in use: the lengths to buy reach at every thickness and at the worst of all tolerances."""

import itertools
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit_bench import INCH, a_job, a_knob, a_strap, want
from proveout.figure import Figure, walk
from proveout.finding import InputErrors
from proveout.hold.use_bolts import UseBolt, UseBolts, smooth_shank, use_bolts
from proveout.job.read import read_job
from proveout.job.records import Hardware, Inserts, Job, Use
from proveout.job.starter import starter_files
from proveout.reckon import reckon
from proveout.shelf.tables import hex_nut, thread, washer

# js15 of ISO 286-2, half of IT15, from memory: by nominal length.
JS15 = ((10, 0.29), (18, 0.35), (30, 0.42), (50, 0.50), (80, 0.60), (120, 0.70))


def off(length: float) -> float:
    """By how much a bolt of a length may be longer or shorter."""
    return next(error for bound, error in JS15 if length <= bound)


def strap_job(use: Use, *, bolt: str = "M6", thick: tuple[float, ...] = (18.0,), insert: float = 13.0) -> Job:
    """A strap with a stated use, of a sheet with these readings, on a plate with inserts of its thread."""
    plain = a_job(want(replace(a_strap(), bolt=bolt, use=use), "strap"), readings=thick)
    inserts = Inserts(thread=bolt, diameter=9.0, depth_below_face=1.5, length=insert)
    return replace(plain, shop=replace(plain.shop, plate=replace(plain.shop.plate, inserts=inserts)))


def bolts_of(job: Job, figures: tuple[Figure, ...] = ()) -> UseBolts:
    """The bolts of the job's only part."""
    (found,) = use_bolts(job, figures)
    return found


def test_the_handbook_s_example_of_a_strap_and_a_nut() -> None:
    """Strap 18, work 20, washer 1.6, an M8 nut of 6.8 and two threads of 1.25 mm: 48.9, so 50 mm is bought.

    The shop's own handbook works it out; the sizes are ISO 4032's and ISO 7089's. Its smooth shank of
    28 mm (50 less a thread of 22) ends before the nut, which begins at 39.6.
    """
    found = bolts_of(strap_job(Use(least=20.0, greatest=20.0, into="nut"), bolt="M8"))
    (bolt,) = found.bolts
    assert bolt.length == 50.0
    assert not bolt.all_thread
    assert bolt.stands_out == pytest.approx(50 - 18 - 1.4 - 20 - 6.44)
    inputs = {one.name: one.value for one in walk(found.figures)}
    parts = ("thickness", "washer", "clamped", "nut", "beyond")
    assert sum(inputs[f"strap.bolt.{name}"] for name in parts) == pytest.approx(48.9)


def test_a_longer_range_of_work_needs_a_screw_that_is_threaded_all_along() -> None:
    """A nut that shall come as near as 18 + 1.4 + 2 mm to the head runs onto the shank of a bolt of 50 mm,
    which is smooth for 28."""
    (bolt,) = bolts_of(strap_job(Use(least=2.0, greatest=20.0, into="nut"), bolt="M8")).bolts
    assert (bolt.length, bolt.all_thread) == (50.0, True)


def test_an_insert_takes_a_bolt_by_its_diameter_and_doesn_t_let_it_bottom() -> None:
    """Strap 12, washer 1.8, work 10, 1.5 to the insert, 6 of thread: 31.3 at least, and 35 - 0.5 it is. Its
    13 mm of thread, 0.5 kept free, would be reached by 12 + 1.4 + 1.5 + work + 12.5 = 35.5: from 8.1 on."""
    (bolt,) = bolts_of(strap_job(Use(least=8.2, greatest=13.1, into="insert"), thick=(12.0,))).bolts
    assert (bolt.length, bolt.two_washers_below) == (35.0, None)
    (shorter,) = bolts_of(strap_job(Use(least=8.0, greatest=8.0, into="insert"), thick=(12.0,))).bolts
    assert shorter.length == 30.0


def test_a_range_that_no_single_bolt_spans_takes_two() -> None:
    """From 6 to 14 mm in an insert 13 mm long: one length bottoms before the other reaches."""
    found = bolts_of(strap_job(Use(least=6.0, greatest=14.0, into="insert"), thick=(12.0,)))
    assert len(found.bolts) >= 2
    assert [one.least for one in found.bolts[1:]] == [one.greatest for one in found.bolts[:-1]]
    assert [figure.name for figure in found.figures][:2] == ["strap.bolt length 1", "strap.bolt length 2"]


def test_what_no_standard_length_reaches_is_left_open() -> None:
    """200 mm of work is beyond all that is sold by the piece: no length is named, and no figure."""
    found = bolts_of(strap_job(Use(least=200.0, greatest=200.0, into="nut"), bolt="M8"))
    assert (found.bolts, found.figures) == ((), ())


def test_a_knob_counts_the_wood_that_is_left_under_the_head() -> None:
    """The head lies in the knob: what the bolt passes is the floor, and where zero is on the sheet's top the
    floor is as uneven as the sheet."""
    head = Hardware(size="M6", form="hex head", across_flats=9.9, height=4.0)
    use = Use(least=20.0, greatest=20.0, into="insert")
    for level, more in (("bed", 0.0), ("top", 0.2)):
        job = a_job(want(replace(a_knob(head), use=use), "knob"), level=level)  # type: ignore[arg-type]
        by_name = {figure.name: figure for figure in walk(reckon(job).figures)}
        floor = by_name["knob.bolt.floor"]
        left = by_name["knob.head recess.floor left"].value
        assert floor.value == pytest.approx(left)
        assert (floor.high or left) == pytest.approx(left + more)
        reach = left + 1.6 + 20 + 1.5 + 6
        assert reach < by_name["knob.bolt length"].value < reach + 7


def test_inch_bolts_come_in_eighths() -> None:
    """Lengths of inch bolts are whole eighths of an inch."""
    found = bolts_of(strap_job(Use(least=INCH / 2, greatest=INCH, into="nut"), bolt="1/4", thick=(INCH / 2,)))
    for bolt in found.bolts:
        eighths = bolt.length / INCH * 8
        assert eighths == pytest.approx(round(eighths))


SIZES = st.sampled_from(("M5", "M6", "M8", "1/4", "5/16"))
THICK = st.tuples(st.floats(5.0, 20.0), st.floats(0.0, 0.5)).map(lambda one: (one[0], one[0] + one[1]))
RANGE = st.tuples(st.floats(0.5, 45.0), st.floats(0.0, 35.0)).map(lambda one: (one[0], one[0] + one[1]))


@given(SIZES, THICK, RANGE, st.sampled_from(("insert", "nut")), st.floats(10.0, 20.0))
def test_every_length_holds_all_that_it_says_at_the_worst_of_all_tolerances(
    bolt: str, thick: tuple[float, float], grips: tuple[float, float], into: str, insert: float
) -> None:
    """At the ends of its range, with bolt, washers, strap and nut at either end of what they may be, thread
    is engaged, a nut is full, nothing bottoms and no nut lies on the shank; the ranges leave no gap."""
    use = Use(least=grips[0], greatest=grips[1], into=into)  # type: ignore[arg-type]  # one of the two words
    job = strap_job(use, bolt=bolt, thick=thick, insert=insert)
    bolts = bolts_of(job).bolts
    for one in bolts:
        assert one.least <= one.greatest
        for beyond in beyonds(one, bolt, thick):
            if into == "insert":
                assert thread(bolt).diameter - 1e-6 <= beyond - 1.5 <= insert - 0.5 + 1e-6
            else:
                assert hex_nut(bolt).height.max + thread(bolt).pitch - 1e-6 <= beyond
                assert beyond <= one.length - smooth_shank(bolt, one.length) + 1e-6
    if bolts:
        assert bolts[0].least == grips[0]
        assert bolts[-1].greatest == pytest.approx(grips[1])
        for lower, upper in itertools.pairwise(bolts):
            assert lower.greatest == upper.least


def beyonds(one: UseBolt, bolt: str, thick: tuple[float, float]) -> Iterator[float]:
    """How far the bolt reaches beyond what is clamped, at every corner of the tolerances."""
    row = washer(bolt).thickness
    for clamped, strap, error in itertools.product(
        (one.least, one.greatest, max(one.least, (one.two_washers_below or one.greatest) - 1e-6)), thick,
        (-off(one.length), off(one.length)),
    ):  # fmt: skip
        below = one.two_washers_below
        count = 2 if below is not None and clamped < below - 1e-9 else 1
        for washers in (count * row.min, count * row.max):
            yield one.length + error - strap - washers - clamped


def test_a_second_washer_is_told_only_where_two_do_what_one_can_t() -> None:
    """An insert with 11 mm of thread takes an M8 bolt by 8 to 10.5 mm, less than tolerances and a washer
    more need: a thickness that one washer is too few for isn't held with two either, and no bolt is named."""
    for tenths in range(40, 180):
        grip = tenths / 10
        use = Use(least=grip, greatest=grip, into="insert")
        for one in bolts_of(strap_job(use, bolt="M8", thick=(12.0,), insert=11.0)).bolts:
            for beyond in beyonds(one, "M8", (12.0, 12.0)):
                assert 8.0 - 1e-6 <= beyond - 1.5 <= 10.5 + 1e-6, grip


@given(SIZES, THICK, st.floats(0.5, 45.0))
def test_no_shorter_standard_length_would_do(bolt: str, thick: tuple[float, float], grip: float) -> None:
    """For one thickness the shortest length is bought: the next shorter one is too short at the worst."""
    use = Use(least=grip, greatest=grip, into="nut")
    bolts = bolts_of(strap_job(use, bolt=bolt, thick=thick)).bolts
    if not bolts:
        return
    (one,) = bolts
    step = INCH / 8 if "/" in bolt else 5.0
    mean = sum(thick) / 2 + (washer(bolt).thickness.min + washer(bolt).thickness.max) / 2
    wanted = mean + grip + hex_nut(bolt).height.max + 2 * thread(bolt).pitch
    slack = off(one.length) + 1.0  # tolerances of bolt, washer and strap can ask for that much more
    assert one.length >= wanted - 1e-6
    assert one.length < wanted + (2 * step if one.length <= 70 else 4 * step) + slack


# In the job file


def written(folder: Path, old: str, new: str) -> Path:
    """The starter job with a change."""
    for name, text in starter_files().items():
        (folder / name).write_text(text.replace(old, new) if name == "job.toml" else text)
    return folder / "job.toml"


def test_a_knob_s_use_is_read(tmp_path: Path) -> None:
    """The thinner end may be written second; one length is both ends."""
    for said, ends in (("[30, 12]", (12.0, 30.0)), ('"20 mm"', (20.0, 20.0))):
        job = read_job(written(tmp_path, "grips = [12, 30] ", f"grips = {said} "))
        pattern = job.wanted[0].pattern
        assert pattern.use == Use(least=ends[0], greatest=ends[1], into="insert")  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "grips = [12, 30] ",
            "# ",
            r"into says where a bolt ends; how long it must be depends on what it clamps",
        ),
        (
            'holds = "head" ',
            'holds = "nut" ',
            r"holds a nut of its own, in which its bolt ends\. Leave into out",
        ),
        ('bolt = "M6" ', 'bolt = "M8" ', r"M8 bolt doesn't go into the plate's inserts, which are M6\."),
        ('# finish = "oil"  ', "", r"coats of what\? Write finish = "),
    ],
)
def test_what_can_t_be_is_refused(old: str, new: str, said: str, tmp_path: Path) -> None:
    """An end without grips, an insert for a knob with its own nut, another thread, coats of nothing."""
    path = written(tmp_path, old, new)
    if "finish" in old:
        path.write_text(path.read_text().replace("# coats = 2 ", "coats = 2 "))
    with pytest.raises(InputErrors) as wrong:
        read_job(path)
    assert any(re.search(said, str(error)) for error in wrong.value.errors)
