"""After the cut: the sheet's last page takes a learner from the last cut to the parts in use."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import made_example
from fit_bench import a_stop
from proveout.figure import Figure
from proveout.fit.sized import hundred
from proveout.job.records import (
    DrawnRule,
    DrawnWanted,
    Finish,
    FinishKind,
    Hardware,
    KnobWanted,
    OtherMeans,
    ScrewAt,
    Takes,
    TapeAt,
    Use,
    VacuumAt,
    Wanted,
)
from proveout.pack.after import after_blocks
from proveout.pack.made import Made
from proveout.pack.press import press_rows
from proveout.parts.part import Feature
from test_sheet import pages, pdf_of

STOP = Wanted(name="block", count=2, pattern=a_stop(), rotations_deg=(0.0,), cutter=None)


def steps(made: Made) -> str:
    """All steps in order, as one text."""
    blocks = after_blocks(made)
    stages = [*blocks["before"], *blocks["after"]]  # type: ignore[misc]  # lists of stages, as the sheet sets them
    return " ".join(" ".join((one["head"], *one["steps"])) for one in stages)


def wanting(made: Made, *more: Wanted) -> Made:
    """The example with more parts wanted."""
    return replace(made, job=replace(made.job, wanted=(*made.job.wanted, *more)))


def finished(made: Made, kind: FinishKind, coats: int = 2) -> Made:
    """The example with a finish."""
    return replace(made, job=replace(made.job, finish=Finish(kind=kind, coats=coats)))


def a_figure(name: str, value: float, unit: str = "", ends: tuple[float, float] | None = None) -> Figure:
    """A figure as another stage would hand it on."""
    low, high = ends or (None, None)
    return Figure(name=name, value=value, unit=unit, rule="a rule", source="a source", low=low, high=high)


def held_by(made: Made, **means: object) -> Made:
    """The example held by other means and no clamps."""
    others = OtherMeans(**means)  # type: ignore[arg-type]  # as the test states them
    return replace(made, job=replace(made.job, clamps=(), means=others))


def test_the_last_page_is_in_the_order_of_the_work(tmp_path: Path) -> None:
    """Off and isolated, vacuumed while held, unclamped, tabs, measured, eased, pressed, finished, used; then
    the form, then what to buy. It begins a page of its own."""
    made = finished(wanting(made_example.made(), STOP), "wipe-on varnish")
    page = next(one for one in pages(made, tmp_path) if "After the cut" in one)
    order = (
        "After the cut",
        "Spindle off, machine isolated",
        "Vacuum",
        "Mark every part",
        "Undo both clamps",
        "9 tabs",
        "Measure one of each on the form below before any easing",
        "Leave a recess",
        "Press in the hardware",
        "Fits",
        "After the hardware is in",
        "Put them to use",
        "Keep the offcut",
        "First article",
    )
    places = [page.index(words) for words in order]
    assert places == sorted(places)
    assert page.startswith("After the cut")


def test_the_first_page_is_what_it_was(tmp_path: Path) -> None:
    """Nothing of it is pushed off: it ends with the last run, the first caution and its own foot."""
    first, *rest = pages(wanting(made_example.made(), STOP), tmp_path)
    assert "Run 2-6mm-two-flute.nc" in first
    assert re.search(r"not against the real bench\. .*page 1 of", first)
    assert "After the cut" not in first
    assert len([one for one in rest if one]) <= 3


def test_tabs_are_counted_by_part_with_their_size() -> None:
    """Three on each knob and strap, nine in all, 6 mm wide and 2.4 mm high; in inches in an inch job."""
    said = steps(made_example.made())
    assert "9 tabs, black in the picture: 3 on each knob and 3 on each strap; 6 mm wide, 2.4 mm high" in said
    assert "0.236 in wide, 0.094 in high" in steps(made_example.made(units="in"))
    made = made_example.made()
    fewer = replace(made, setup=replace(made.setup, tabs=made.setup.tabs[1:]))
    assert "8 tabs, black in the picture: 2 or 3 on each knob" in steps(fewer)
    none = replace(made, setup=replace(made.setup, tabs=()))
    assert "The parts are free" in steps(none)
    assert "Saw or chisel" not in steps(none)


def test_each_means_of_holding_is_taken_off_in_its_way() -> None:
    """A pump first and at rest, screws counted before any saw, clamps, then tape with a wedge."""
    screw = ScrewAt(at=(5.0, 5.0), diameter=4.0, length=30.0, head_diameter=8.0, head_height=0.0)
    tape = TapeAt(at=(10.0, 10.0), size=(50.0, 100.0))
    vacuum = VacuumAt(at=(10.0, 10.0), size=(50.0, 100.0), pressure=None)
    said = steps(held_by(made_example.made(), tape=(tape,), screws=(screw,) * 3, vacuum=vacuum))
    order = ("Spindle off", "Vacuum pump off", "Take out all 3 screws", "wedge under an edge", "9 tabs")
    assert [said.index(words) for words in order] == sorted(said.index(words) for words in order)
    assert "Undo" not in said
    clamped = steps(made_example.made())
    for words in ("pump", "screw", "wedge"):
        assert words not in clamped


def test_a_captive_recess_keeps_its_edge_and_a_plain_one_may_be_eased() -> None:
    """Only where a head or nut is held does the page speak of flats, and of a chip under a head."""
    assert "easing it shortens the flats" in steps(made_example.made())
    made = made_example.made()
    straps = replace(made, job=replace(made.job, wanted=made.job.wanted[1:]))
    for words in ("flats", "chip under a head", "Press in"):
        assert words not in steps(straps)


@pytest.mark.parametrize(
    ("fit", "how"),
    [("slides", "By finger"), ("snug", "By thumb"), ("light press", "Vice"), ("firm press", "Vice")],
)
def test_each_fit_has_its_way_in(fit: str, how: str) -> None:
    """By finger, by thumb, by vice and flat block; a bolt draws a nut in from behind, a nut a head."""
    made = made_example.made()
    knob = made.job.wanted[0]
    assert isinstance(knob.pattern, KnobWanted)
    for form, by in (("hex head", "a nut on the bolt behind"), ("hex nut", "put a bolt with a large washer")):
        hardware = Hardware(size="M6", form=form)  # type: ignore[arg-type]  # a hex of either form
        pattern = replace(knob.pattern, fit=fit, hardware=hardware)
        (row,) = press_rows(replace(made, job=replace(made.job, wanted=(replace(knob, pattern=pattern),))))
        assert row["how"].startswith(how)
        assert (by in row["how"]) == ("press" in fit)


def test_a_thin_floor_is_backed_right_under_it() -> None:
    """7.37 mm under an M6 head is a floor like any; 2 mm, less than the bolt is thick, is not."""
    made = made_example.made()
    assert (
        press_rows(made)[0]["support"] == "Flat and solid all round its hole; 7.37 mm of wood lie under it."
    )
    thin = tuple(
        replace(one, value=2.0) if one.name == "knob.head recess.floor left" else one for one in made.figures
    )
    said = press_rows(replace(made, figures=thin))[0]["support"]
    assert said == "Flat and hard right under the floor, only 2 mm of wood; a hole for the bolt alone."


def test_the_easiest_fits_come_first() -> None:
    """Snug dowels before a firmly pressed head, whichever the job names first."""
    rows = press_rows(wanting(made_example.made(), STOP))
    assert [row["what"] for row in rows] == ["block: 4 x 6 mm dowel", "knob: 2 x M6 hex head bolt"]


def test_force_and_shares_are_told_where_they_are_known(tmp_path: Path) -> None:
    """Of 100 parts 3, 95 and 2; about 320 N with its range; a floor that stands less is backed well. Nothing
    is said of any where nothing is known."""
    made = made_example.made()
    name = "knob.head recess"
    known = (
        a_figure(f"{name}.press force", 320.0, "N", (200.0, 520.0)),
        a_figure(f"{name}.floor strength", 500.0, "N"),
        a_figure(f"{name}.share too loose", 0.031),
        a_figure(f"{name}.share right", 0.949),
        a_figure(f"{name}.share too tight", 0.02),
    )
    text = " ".join(pages(replace(made, figures=(*made.figures, *known)), tmp_path))
    assert "About 320 N (200 to 520 N)." in text
    assert "The floor alone stands 500 N" in text
    assert "Of 100 parts 3 too loose, 95 right, 2 too tight." in text
    without = " ".join(pages(made, tmp_path))
    for words in ("Of 100", "About", "Expect"):
        assert words not in without


@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3).filter(lambda shares: sum(shares) > 0.01))
def test_whole_parts_of_a_hundred_add_up(shares: list[float]) -> None:
    """None is off by a whole part, and together they are a hundred."""
    counts = hundred(shares)
    assert sum(counts) == 100
    for count, share in zip(counts, shares, strict=True):
        assert abs(count - 100 * share / sum(shares)) < 1 + 1e-9


def test_a_drawn_part_s_rules_are_counted_by_its_features() -> None:
    """Two hexagons and four dowel holes in a part of which three are made: six nuts, twelve dowels."""
    nut, pin = Hardware(size="1/4", form="hex nut"), Hardware(size="6", form="dowel")
    rules = tuple(
        DrawnRule(layer=layer, size=None, curve=None, depth=None, floor=None, takes=takes)
        for layer, takes in (
            ("A", Takes(bolt="1/4", hardware=nut, fit="snug", clearance="normal")),
            ("B", Takes(bolt=None, hardware=pin, fit="light press", clearance="normal")),
            ("C", None),
        )
    )
    pattern = DrawnWanted(
        drawing="a.dxf", known=None, units=None, layers=None, part=None, outline=None, rules=rules
    )
    made = made_example.made()
    plain = made.placed[0].part.features[0]
    features = (
        *(_like(plain, f"1/4 in nut recess {n}", "captive 1/4 hex nut, snug") for n in (1, 2)),
        *(_like(plain, f"6 mm dowel hole {n}", "6 dowel, light press") for n in range(1, 5)),
    )
    placed = replace(made.placed[0], part=replace(made.placed[0].part, name="plate", features=features))
    wanted = Wanted(name="plate", count=3, pattern=pattern, rotations_deg=(0.0,), cutter=None)
    made = replace(made, placed=(placed,), job=replace(made.job, wanted=(wanted,)))
    assert [row["what"] for row in press_rows(made)] == [
        "plate: 6 x 1/4 in hex nut",
        "plate: 12 x 6 mm dowel",
    ]


def _like(feature: Feature, name: str, intent: str) -> Feature:
    return replace(feature, name=name, intent=intent)


@pytest.mark.parametrize("kind", ["oil", "wipe-on varnish", "water-based"])
def test_a_finish_brings_its_own_cautions(kind: FinishKind) -> None:
    """Oily rags catch fire, and only where there is oil; water raises the grain; the noses stay bare."""
    said = steps(finished(made_example.made(), kind, 3))
    assert f"3 thin coats of {kind}" in said
    assert ("oily rags" in said) == (kind != "water-based")
    assert ("raises the grain" in said) == (kind == "water-based")
    assert "the underside of strap" in said
    assert "After the hardware is in" in said
    for words in ("oily rags", "raises the grain", "thin coat"):
        assert words not in steps(made_example.made())


def test_the_film_is_told_in_the_job_s_units() -> None:
    """Two coats of varnish: 2 x 2 x 0.005 to 2 x 2 x 0.015 x 2 mm, which is .0008 to .0047 in."""
    assert "becomes 0.02 mm to 0.12 mm narrower" in steps(finished(made_example.made(), "wipe-on varnish"))
    inch = steps(finished(made_example.made(units="in"), "wipe-on varnish"))
    assert "becomes 0.0008 in to 0.0047 in narrower" in inch


def test_bolts_for_a_use_are_told_and_what_is_missing_is_asked_for(tmp_path: Path) -> None:
    """M6 x 40 in an insert for 20 to 21 mm; the strap, whose use nobody stated, says what to write."""
    made = made_example.made()
    knob = made.job.wanted[0]
    assert isinstance(knob.pattern, KnobWanted)
    used = replace(knob, pattern=replace(knob.pattern, use=Use(least=20.0, greatest=21.0, into="insert")))
    made = replace(made, job=replace(made.job, wanted=(used, made.job.wanted[1])))
    text = " ".join(pages(made, tmp_path))
    assert "knob: M6 x 40 mm and a washer for 20 to 21 mm of work, in the plate" in text
    assert "strap: its bolt" in text
    assert re.search(r"9 ?mm|3 M6 hex head bolt x 40 mm", text)
    inch = steps(replace(made, job=replace(made.job, units="in")))
    assert "M6 x 40 mm and a washer for 0.787 to 0.827 in of work" in inch


def test_a_use_that_no_bolt_reaches_is_said() -> None:
    """200 mm is beyond every length that is sold."""
    made = made_example.made()
    knob = made.job.wanted[0]
    assert isinstance(knob.pattern, KnobWanted)
    used = replace(knob, pattern=replace(knob.pattern, use=Use(least=200.0, greatest=200.0, into="nut")))
    said = steps(replace(made, job=replace(made.job, wanted=(used,))))
    assert "no M6 bolts of standard lengths span 200 mm" in said


def test_the_page_is_the_same_twice() -> None:
    """With every block on it, equal jobs give equal bytes."""
    made = finished(wanting(made_example.made(), STOP), "oil")
    assert pdf_of(made) == pdf_of(finished(wanting(made_example.made(), STOP), "oil"))
