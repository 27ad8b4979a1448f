"""From entries of the shop book to what a job takes: which readings count, for what, and in which words."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from proveout.book.entry import Entry
from proveout.book.minutes import learned_minutes
from proveout.book.offsets import CutterNow, Taught, learned, taught
from proveout.book.store import open_book

CUTTER = CutterNow(label="1: 3 mm two-flute", diameter=3.0)
PLYWOOD = "birch plywood"


def told_by(entries: Sequence[Entry], cutter: CutterNow, wood: str, feature: str) -> Taught:
    """What a book with those entries says, through a real file."""
    with TemporaryDirectory() as folder, open_book(Path(folder) / "book.sqlite", create=True) as book:
        book.add(entries)
        own = book.standing(cutter=cutter.label, material=wood, feature=feature)
        return taught([kept.entry for kept in own], book.means(), cutter, wood, feature)


def size(found: float, *, number: int = 1, sitting: str = "c1", job: str = "kit coupon") -> Entry:
    """A recess of 10.00 mm as the program cuts it, as a caliper found it."""
    return Entry(
        kind="size",
        taken_on=date(2026, 3, 2),
        who="Ines",
        job=job,
        sitting=sitting,
        subject=f"coupon.recess {number}",
        cutter=CUTTER.label,
        diameter=3.0,
        material=PLYWOOD,
        feature="recess",
        asked=10.0,
        found=found,
        instrument="caliper",
        resolution=0.01,
    )


def five(offset: float, seed: int = 1, **more: str) -> list[Entry]:
    """A coupon of five recesses."""
    dice = np.random.default_rng(seed)
    return [
        size(round(10 + offset + dice.normal(0, 0.012), 2), number=number, **more) for number in range(1, 6)
    ]


def test_a_coupon_teaches_an_offset_and_says_so() -> None:
    """Five recesses 0.07 mm small: the reason is the book, with the offset and how sure it is."""
    found = learned(told_by(five(-0.07), CUTTER, PLYWOOD, "recess"), "mm")
    assert found is not None
    assert found.source == "shop book: 1 coupon, offset -0.068 +/- 0.008 mm"
    assert "5 readings" in found.words and not found.drift
    mean = sum(law.share * law.mean for law in found.laws)
    assert mean == pytest.approx(-0.07, abs=0.012)
    assert sum(law.share for law in found.laws) == pytest.approx(1.0)


def test_an_empty_book_teaches_nothing() -> None:
    """Then the job reckons for itself."""
    assert learned(told_by([], CUTTER, PLYWOOD, "recess"), "mm") is None


def test_first_articles_count_beside_coupons_and_inches_read_in_inches() -> None:
    """Two sorts of sittings, each told by its name."""
    entries = [
        *five(-0.07),
        *five(-0.07, 2, sitting="k1", job="kit"),
        *five(-0.07, 3, sitting="k2", job="kit"),
    ]
    one = told_by(entries, CUTTER, PLYWOOD, "recess")
    inches = learned(one, "in")
    assert inches is not None
    assert inches.source.startswith("shop book: 1 coupon and 2 first articles, offset -0.0028 +/- 0.0002 in")
    assert " mm" not in inches.words + inches.source


def test_what_was_read_with_another_measured_diameter_is_moved() -> None:
    """Cut as if 3.00, now measured 2.95: the program moves the walls out by itself, so the offset shrinks."""
    now = replace(CUTTER, diameter=2.95)
    then, moved = (told_by(five(-0.07), one, PLYWOOD, "recess").posterior.offset for one in (CUTTER, now))
    assert moved - then == pytest.approx(0.05, abs=0.012)
    outside = [replace(one, feature="outline", subject="knob.outline") for one in five(0.07)]
    then, moved = (told_by(outside, one, PLYWOOD, "outline").posterior.offset for one in (CUTTER, now))
    assert moved - then == pytest.approx(-0.05, abs=0.012)


def test_a_hands_word_counts_where_nothing_was_measured() -> None:
    """A head of 9.90 went with a firm press into what was cut to 9.90: the recess is about 0.15 small."""
    words = [
        replace(one, kind="fit", asked=9.90, found=None, hardware=9.90, fitted="firm press", resolution=None)
        for one in five(0.0)
    ]
    told = told_by(words, CUTTER, PLYWOOD, "recess").posterior
    assert told.offset == pytest.approx(-0.13, abs=0.03)
    assert told.error > told_by(five(-0.13), CUTTER, PLYWOOD, "recess").posterior.error
    both = told_by([*five(-0.05), *words], CUTTER, PLYWOOD, "recess").posterior
    assert both.readings == 5  # of a recess that was measured too, the measure counts
    split = [replace(one, fitted="split") for one in words]
    assert told_by(split, CUTTER, PLYWOOD, "recess").posterior.readings == 0


def test_like_cuts_teach_what_was_never_read() -> None:
    """The same cutter's recesses tell of its dowel holes, less surely."""
    hole = told_by(five(-0.10), CUTTER, PLYWOOD, "hole")
    assert -0.10 < hole.posterior.offset < -0.05
    told = learned(hole, "mm")
    assert told is not None and told.source.startswith("shop book: 5 readings of like cuts")
    own = told_by(five(-0.10), CUTTER, PLYWOOD, "recess")
    assert hole.posterior.error > own.posterior.error
    stranger = CutterNow(label="2: 6 mm two-flute", diameter=6.0)
    assert learned(told_by(five(-0.10), stranger, "mdf", "hole"), "mm") is None


def test_a_wearing_cutter_is_told_of() -> None:
    """Six coupons, each 0.02 mm smaller than the last."""
    entries = [
        replace(one, taken_on=date(2026, 3, 1 + day))
        for day in range(6)
        for one in five(-0.02 - 0.02 * day, seed=day, sitting=f"c{day}")
    ]
    found = learned(told_by(entries, CUTTER, PLYWOOD, "recess"), "mm")
    assert found is not None
    assert "drifted by -0." in found.drift and "edge" in found.drift
    assert found.source.startswith("shop book: 6 coupons, offset -0.1")


def test_minutes_are_corrected_by_what_jobs_took() -> None:
    """Three jobs a fifth longer than foretold; entries without both times don't count."""
    entry = Entry(kind="minutes", taken_on=date(2026, 3, 2), who="Ines", job="kit", asked=600.0, found=720.0)
    found = learned_minutes([entry, entry, entry, replace(entry, asked=None)])
    assert found is not None and found.jobs == 3
    assert found.low < 1.15 < found.times < 1.2 < found.high
    assert math.log(found.times) == pytest.approx(math.log(1.2) * 0.93, rel=0.03)
    assert learned_minutes([]) is None


def test_an_outline_teaches_no_recess() -> None:
    """It stands on the other side of the cutter: what makes a recess small makes an outline large."""
    outlines = [
        replace(one, feature="outline", subject="knob 1", found=44.09, asked=44.0) for one in five(0.0)
    ]
    assert learned(told_by(outlines, CUTTER, PLYWOOD, "recess"), "mm") is None
    assert told_by(outlines, CUTTER, PLYWOOD, "outline").posterior.offset > 0.05


def test_a_cutter_of_the_same_name_and_another_diameter_is_another_cutter() -> None:
    """Reground from 3.0 to 2.9: nobody knows what the new edge does, and nothing is carried over."""
    reground = replace(CUTTER, diameter=2.9)
    assert learned(told_by(five(0.0), reground, PLYWOOD, "recess"), "mm") is None


def test_several_people_at_one_recess_count_as_one() -> None:
    """Six read the same five recesses: no surer than of five recesses, but for the calipers' part of it."""
    alone = five(-0.07)
    many = [replace(one, who=name) for name in ("Ada", "Bo", "Cem", "Dee", "Eli", "Fay") for one in alone]
    one, six = (told_by(rows, CUTTER, PLYWOOD, "recess").posterior for rows in (alone, many))
    assert six.readings == one.readings == 5
    assert 0.7 * one.error < six.error <= one.error


def test_a_cutter_that_sits_anew_each_time_is_not_taken_for_one_that_wears() -> None:
    """Runout of 0.08 mm: sittings differ by 0.025 mm, and no drift is told."""
    wobbly = replace(CUTTER, runout=0.08)
    dice = np.random.default_rng(5)
    entries = [
        one
        for sitting in range(6)
        for one in five(-0.05 + dice.normal(0, 0.024), sitting, sitting=f"c{sitting}")
    ]
    told = told_by(entries, wobbly, PLYWOOD, "recess").posterior
    assert not told.is_drifting
    first = told_by(entries[:5], wobbly, PLYWOOD, "recess").posterior
    assert first.error > 2 * told_by(entries[:5], CUTTER, PLYWOOD, "recess").posterior.error


def test_a_shop_that_is_far_out_is_believed() -> None:
    """Ten readings of +0.3 mm, and a gantry whose parts differ by 0.2 mm, are taken as they are read."""
    assert (
        told_by([*five(0.3, 1), *five(0.3, 2, sitting="c2")], CUTTER, PLYWOOD, "recess").posterior.offset
        > 0.28
    )
    dice = np.random.default_rng(6)
    rough = [
        replace(
            one, found=round(10 + dice.normal(0, 0.2), 2), subject=f"r{number}", sitting=f"c{number // 5}"
        )
        for number, one in enumerate([*five(0.0)] * 6)
    ]
    assert told_by(rough, CUTTER, PLYWOOD, "recess").posterior.scatter == pytest.approx(0.2, rel=0.35)
