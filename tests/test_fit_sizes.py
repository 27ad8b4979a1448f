"""Recesses, holes and whole parts sized to hardware: what a shop relies on, and what it is told."""

from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fit_bench import (
    INCH,
    INCH_CUTTERS,
    M6_HEAD,
    METRIC_CUTTERS,
    a_job,
    a_knob,
    a_stop,
    a_strap,
    an_inch_job,
    an_inch_knob,
    drill,
    flat_cutter,
    want,
)
from proveout.curve import is_circle, polygon
from proveout.figure import Figure, walk
from proveout.finding import Finding, InputError, InputErrors, Level
from proveout.fit.cutters import point_length
from proveout.fit.hex_recess import HexRecess, hex_recess
from proveout.fit.holes import bolt_hole, dowel_hole
from proveout.fit.recess_curve import sharp_polygon
from proveout.fit.shape import shape, shape_part
from proveout.fit.shaped import Shaped
from proveout.job.records import Hardware, Job, Wanted
from proveout.shelf.fit_classes import FIT_NAMES, fit_class
from proveout.shelf.tables import hex_heads

MEASURED = Hardware(size="M6", form="hex head", across_flats=9.92, height=4.05)


def recess(job: Job, hardware: Hardware = M6_HEAD, fit: str = "snug", named: int | None = None) -> HexRecess:
    """A recess by itself."""
    return hex_recess(job, hardware=hardware, fit=fit, name="head recess", named=named)


def value(shaped: Shaped, name: str) -> float:
    """A figure by its name, wherever it stands in the tree."""
    return next(figure.value for figure in walk(shaped.figures) if figure.name == name)


def of_kind(findings: tuple[Finding, ...], kind: str) -> list[Finding]:
    """Findings of one kind."""
    return [finding for finding in findings if finding.kind == kind]


# Fit classes


@pytest.mark.parametrize("kind", ["plywood", "solid wood", "fibreboard", "plastic"])
@pytest.mark.parametrize("form", ["flats", "round"])
def test_each_class_is_tighter_than_the_one_before(kind: str, form: str) -> None:
    """Sliding is looser than snug, snug than a light press, that than a firm one; all can be hit."""
    classes = [fit_class(name, kind, "flats" if form == "flats" else "round") for name in FIT_NAMES]
    for looser, tighter in pairwise(classes):
        assert tighter.low < looser.low and tighter.high < looser.high
        assert tighter.high - looser.low <= 0.031  # a trace of overlap
    assert all(one.high - one.low >= 0.08 - 1e-9 for one in classes)
    assert [one.is_press for one in classes] == [False, False, True, True]
    assert classes[1].target > 0 > classes[2].target


def test_plywood_takes_a_firm_press_of_four_to_eight_thousandths() -> None:
    """-0.10 to -0.20 mm, in inches -.004 to -.008: common practice, no source."""
    firm = fit_class("firm press", "plywood")
    assert (firm.low, firm.high) == (-0.20, -0.10)


def test_an_unknown_class_names_the_known_ones() -> None:
    """Whoever writes "tight" is told the four words."""
    with pytest.raises(InputError) as caught:
        fit_class("tight", "plywood")
    assert str(caught.value) == (
        '"tight" is not a fit class. Write one of: slides, snug, light press, firm press.'
    )


# Recesses


@given(
    st.sampled_from([head.size for head in hex_heads()]),
    st.sampled_from(["slides", "snug"]),
    st.floats(0.8, 3.2),
)
@example("#10", "slides", 1.232421875)  # corners that just touch what the cutter leaves round
@settings(max_examples=80, deadline=None)
def test_the_largest_sharp_heads_corners_are_free_in_a_recess_that_is_not_a_press_fit(
    size: str, fit: str, diameter: float
) -> None:
    """For every size on the shelf and every cutter that will do, no corner of the hexagon touches wood."""
    job = a_job(readings=(25.0,), cutters=(flat_cutter(1, diameter, 25.0),))
    try:
        made = recess(job, Hardware(size=size, form="hex head"), fit)
    except InputError:
        return
    corners = shapely.points(list(polygon([sharp_polygon(made.size.flats.value)]).exterior.coords))
    assert all(polygon([made.curve], 0.0002).covers(corners))
    assert made.curve.segments[0].radius == pytest.approx(diameter / 2)


def test_a_pressed_heads_corners_are_free_and_its_flats_are_not() -> None:
    """The wood squeezes the flats only: every corner of the sharp head has room, every flat bites."""
    made = recess(a_job(), MEASURED, "firm press")
    opening, head = polygon([made.curve]), polygon([sharp_polygon(9.92)])
    corners = shapely.points(list(head.exterior.coords))
    assert all(opening.covers(corners))
    bites = shapely.get_parts(head.difference(opening))
    assert len(bites) == 6
    assert all(2 * shapely.minimum_bounding_radius(bite) > made.flat_left for bite in bites)


def test_a_sliding_head_with_a_slim_cutter_needs_no_relief() -> None:
    """At r = 0.5 a hexagon seats with 0.134 mm of clearance, and a sliding fit has 0.225."""
    slim = recess(a_job(cutters=(flat_cutter(1, 1.0, 15.0),)), MEASURED, "slides")
    stout = recess(a_job(cutters=(flat_cutter(1, 3.0, 15.0),)), MEASURED, "slides")
    assert slim.travel == 0.0
    assert stout.travel > 0.0


def test_a_measured_head_gets_its_own_recess() -> None:
    """Head 9.92 across flats, 4.05 high, snug: 9.97 will be measured, and nothing is left to estimate."""
    made = recess(a_job(), MEASURED, "snug")
    read = next(figure for figure in made.figures if figure.name.endswith(".to measure"))
    assert read.value == pytest.approx(9.92 + 0.05, abs=0.004)
    assert read.low == pytest.approx(9.92, abs=1e-3) and read.high == pytest.approx(10.02, abs=1e-3)
    assert made.depth == pytest.approx(4.05, abs=0.1)
    assert made.depth > 4.05
    assert not of_kind(made.findings, "estimate")


def test_heads_that_were_not_measured_are_a_caution() -> None:
    """ISO 4014 lets M6 heads vary from 9.78 to 10.00, which is more than a firm press allows."""
    (doubt,) = of_kind(recess(a_job(), M6_HEAD, "firm press").findings, "estimate")
    assert doubt.level is Level.CAUTION
    assert doubt.text == (
        "head recess: the head of M6 hardware may measure 9.78 mm to 10 mm by the standard, a wider range "
        "than a firm press fit allows: some will be loose and some tight, by up to 0.22 mm from one to the "
        "next."
    )
    assert "calipers" in doubt.remedy


def test_few_heads_within_the_standard_are_pressed_harder_than_their_class() -> None:
    """Nobody measured them: they are sized so that more come loose, to be glued, than tight, to split."""
    shares = recess(a_job(), M6_HEAD, "firm press").fitted.shares
    assert shares.too_tight < 0.1 < shares.right < shares.too_loose


def test_m10_bolts_of_the_older_series_are_warned_of() -> None:
    """Old M10 heads are 17 mm across flats, ISO's are 16: one won't go into the other's recess."""
    job = a_job(readings=(18.0,))
    (doubt,) = of_kind(recess(job, Hardware(size="M10", form="hex head")).findings, "head-does-not-seat")
    assert "17 mm" in doubt.text and "for 16 mm" in doubt.text
    measured = Hardware(size="M10", form="hex head", across_flats=15.9)
    assert not of_kind(recess(job, measured).findings, "head-does-not-seat")


def test_a_nut_takes_its_own_height() -> None:
    """An M6 nut is up to 5.2 mm high (ISO 4032), its head only 4.15 (ISO 4014)."""
    nut = recess(a_job(), Hardware(size="M6", form="hex nut"))
    head = recess(a_job(), M6_HEAD)
    assert nut.depth - head.depth == pytest.approx(5.20 - 4.15)
    assert nut.flats == head.flats


def test_the_floor_survives_at_the_thinnest_place() -> None:
    """Depth comes off the thinnest reading: 11.7 less 4.15 and 0.2 leaves 7.35 mm, wherever zero is set."""
    bed, top = recess(a_job(level="bed")), recess(a_job(level="top"))
    assert bed.floor_left == top.floor_left == pytest.approx(11.7 - 4.15 - 0.2)
    assert bed.floor == pytest.approx(7.35)
    assert top.floor == pytest.approx(11.9 - 4.35)


def test_uneven_stock_zeroed_on_its_top_is_noted() -> None:
    """Readings 0.5 mm apart leave a head sunk 0.2 mm up to 0.3 mm proud; not with zero on the bed."""
    readings = (11.5, 12.0)
    (note,) = of_kind(recess(a_job(readings=readings, level="top")).findings, "stock-uneven")
    assert "0.3 mm proud" in note.text
    assert not of_kind(recess(a_job(readings=readings, level="bed")).findings, "stock-uneven")


def test_stock_thinner_than_the_head_is_refused() -> None:
    """4 mm of plywood can't hide an M6 head: the message gives the numbers and the way out."""
    with pytest.raises(InputError) as caught:
        recess(a_job(readings=(4.0,)))
    assert str(caught.value) == (
        "head recess: the stock is 4 mm at its thinnest and the M6 head is 4.15 mm high. A recess of 4.35 mm "
        "leaves no floor; at least 1 mm must stay. Use stock of at least 5.35 mm or a lower head."
    )


def test_a_floor_under_a_millimetre_is_refused_and_one_above_is_not() -> None:
    """5.3 mm leaves 0.95 mm of floor, 5.4 leaves 1.05."""
    with pytest.raises(InputError, match=r"leaves a floor of 0\.95 mm"):
        recess(a_job(readings=(5.3,)))
    assert recess(a_job(readings=(5.4,))).floor_left == pytest.approx(1.05)


def test_the_recess_cutter_is_the_largest_that_leaves_flats() -> None:
    """A 6 mm cutter would leave no flat in an M6 recess, so 3 mm it is; M12 takes the 6 mm one."""
    assert recess(a_job()).cutter.diameter == 3.0
    big = recess(a_job(readings=(18.0,)), Hardware(size="M12", form="hex head"))
    assert big.cutter.diameter == 6.0


def test_a_named_cutter_too_wide_for_the_recess_is_refused() -> None:
    """Naming the 6 mm cutter for an M6 recess gets a refusal that says what would do."""
    with pytest.raises(InputError) as caught:
        recess(a_job(), named=2)
    assert str(caught.value) == (
        "The cutter named for this part can't make head recess of 10.05 mm across flats: cutter 2 (flat, "
        "6 mm, flutes 22 mm). It takes a flat cutter of about 4 mm or less, so that the corners leave flats "
        "to hold the head, with flutes of at least 4.35 mm. Name another, or leave the cutter out so that "
        "one is chosen."
    )
    assert recess(a_job(cutters=(flat_cutter(1, 3.9, 15.0),))).flat_left > 0.3 * 9.9 / 3**0.5
    with pytest.raises(InputError):
        recess(a_job(cutters=(flat_cutter(1, 4.1, 15.0),)))


def test_flutes_shorter_than_the_recess_are_refused() -> None:
    """4 mm of flute can't clear a recess 4.35 mm deep."""
    with pytest.raises(InputError, match=r"flutes of at least 4\.35 mm"):
        recess(a_job(cutters=(flat_cutter(1, 3.0, 4.0),)))


def test_a_cutter_that_is_not_there_is_refused() -> None:
    """Cutter 9 is not on the bench."""
    with pytest.raises(InputError) as caught:
        recess(a_job(), named=9)
    assert str(caught.value) == "There is no cutter 9 in the shop file. On hand: 1, 2, 3."


def test_an_unknown_bolt_is_refused_with_the_nearest() -> None:
    """M7 is no size on the shelf; M6 and M8 are."""
    with pytest.raises(InputError, match=r"M7.*M6|M7.*M8"):
        recess(a_job(), Hardware(size="M7", form="hex head"))


# Holes


def test_clearance_holes_follow_the_standards() -> None:
    """M6 normal is 6.6 mm by ISO 273; 1/4 in close is .266 in by ASME B18.2.8 (many shops drill .260)."""
    metric = bolt_hole(a_job(), bolt="M6", clearance="normal", name="hole", named=None)
    assert metric.diameter == pytest.approx(6.6)
    inch = bolt_hole(an_inch_job(), bolt="1/4", clearance="close", name="hole", named=None)
    assert inch.diameter / INCH == pytest.approx(0.266, abs=0.0005)
    assert "B18.2.8" in next(walk(inch.figures[0].inputs)).source


def test_a_hole_is_bored_by_the_largest_cutter_with_room_for_its_helix() -> None:
    """6 mm has no room in a 6.6 mm hole, 3 mm has; in a 13.5 mm hole 6 mm has."""
    assert bolt_hole(a_job(), bolt="M6", clearance="normal", name="hole", named=None).cutter.diameter == 3.0
    assert bolt_hole(a_job(), bolt="M12", clearance="normal", name="hole", named=None).cutter.diameter == 6.0


def test_a_centre_cutting_cutter_of_the_holes_size_drills_it() -> None:
    """A 6.58 mm end mill plunges the 6.6 mm hole, and the part then has the hole that it leaves."""
    job = a_job(cutters=(*METRIC_CUTTERS, flat_cutter(4, 6.58, 20.0)))
    hole = bolt_hole(job, bolt="M6", clearance="normal", name="hole", named=None)
    assert hole.drilled and hole.cutter.number == 4
    assert hole.diameter == hole.figures[0].value == 6.58
    blunt = replace(job.shop.cutters[-1], centre_cutting=False)
    job = replace(job, shop=replace(job.shop, cutters=(*METRIC_CUTTERS, blunt)))
    assert not bolt_hole(job, bolt="M6", clearance="normal", name="hole", named=None).drilled


def test_a_pointed_drill_makes_no_through_hole_that_would_run_into_the_bed() -> None:
    """A 118 deg point on 6.6 mm is 2 mm long; the plate may be cut 0.3 mm deep. A flatter drill will do."""
    pointed = drill(4, 6.6, 40.0)
    assert point_length(pointed) == pytest.approx(1.983, abs=0.001)  # 3.3 / tan 59 deg
    for tip, drilled in ((pointed, False), (drill(4, 6.6, 40.0, point_deg=176.0), True)):
        job = a_job(cutters=(*METRIC_CUTTERS, tip))
        assert bolt_hole(job, bolt="M6", clearance="normal", name="hole", named=None).drilled is drilled


def test_a_hole_no_cutter_can_make_is_refused_with_what_would_do() -> None:
    """With the 6 mm cutter alone a 6.6 mm hole can't be bored."""
    job = a_job(cutters=(flat_cutter(2, 6.0, 22.0),))
    with pytest.raises(InputError) as caught:
        bolt_hole(job, bolt="M6", clearance="normal", name="knob.bolt hole", named=None)
    assert str(caught.value) == (
        "No cutter on hand can make knob.bolt hole of 6.6 mm. It takes a flat cutter of at most 5.94 mm with "
        "flutes of at least 12.2 mm. On hand: cutter 2 (flat, 6 mm, flutes 22 mm)."
    )


def test_flutes_shorter_than_the_sheet_make_no_through_hole() -> None:
    """10 mm of flute can't go through 11.9 mm of plywood."""
    job = a_job(cutters=(flat_cutter(1, 3.0, 10.0),))
    with pytest.raises(InputError, match=r"flutes of at least 12\.2 mm"):
        bolt_hole(job, bolt="M6", clearance="normal", name="hole", named=None)


@pytest.mark.parametrize("fit", FIT_NAMES)
def test_a_dowel_hole_leaves_the_clearance_of_its_class(fit: str) -> None:
    """A dowel measured at 6.10 mm gets a hole that comes out looser or tighter by what its class says."""
    dowel = Hardware(size="6", form="dowel", diameter=6.10)
    job = a_job(cutters=METRIC_CUTTERS[:1])
    hole = dowel_hole(job, hardware=dowel, fit=fit, name="hole", named=None)
    chosen = fit_class(fit, "plywood", "round")
    clearance = next(one for one in walk(hole.figures) if one.name == "hole.clearance")
    assert chosen.low <= clearance.value <= chosen.high
    assert {one.kind for one in hole.findings} <= {"fit-doubtful"}


def test_a_dowel_that_was_not_measured_is_noted() -> None:
    """A wooden dowel sold as 6 mm may be 0.2 mm off; a steel pin is not."""
    hole = dowel_hole(a_job(), hardware=Hardware(size="6", form="dowel"), fit="snug", name="hole", named=None)
    (note,) = of_kind(hole.findings, "estimate")
    assert note.level is Level.NOTE and "Wooden dowels" in note.text


# Whole parts


def test_a_knob_has_its_recess_above_its_hole_and_both_in_its_middle() -> None:
    """The recess ends at its floor, the hole goes through, neither reaches the rim."""
    part = shape_part(a_job(), want(a_knob(), "knob")).part
    head, hole = part.features
    outline = polygon([part.outline])
    assert (head.name, head.through, hole.name, hole.through) == ("head recess", False, "bolt hole", True)
    assert head.intent == "captive M6 hex head, firm press"
    assert outline.contains(polygon(head.curves)) and polygon(head.curves).contains(polygon(hole.curves))
    found = is_circle(hole.curves[0])
    assert found is not None and found[0] == (0.0, 0.0)
    assert found[1] == pytest.approx(6.6)
    assert 0 < head.floor < 11.7 and hole.floor == 0.0


def test_every_part_runs_anticlockwise_and_keeps_its_rotations() -> None:
    """Outlines anticlockwise, features inside, rotations as the person asked."""
    job = a_job(want(a_knob(), "knob"), want(a_strap(), "strap"), want(a_stop(), "stop"))
    shaped = shape(job)
    assert [(part.name, count) for part, count in shaped.parts] == [("knob", 2), ("strap", 2), ("stop", 2)]
    for part, _ in shaped.parts:
        ring = shapely.LinearRing([one.start for one in part.outline.segments])
        assert ring.is_ccw
        assert part.rotations_deg == (0.0, 90.0)
        for feature in part.features:
            assert polygon([part.outline]).contains(polygon(feature.curves))


def test_a_figure_never_has_two_values() -> None:
    """Whatever `why` is asked, one name means one number."""
    job = a_job(want(a_knob(), "knob"), want(a_strap(), "strap"), want(a_stop(), "stop"))
    values: dict[str, float] = {}

    def meet(figure: Figure) -> None:
        assert values.setdefault(figure.name, figure.value) == figure.value
        for one in figure.inputs:
            meet(one)

    for figure in shape(job).figures:
        meet(figure)
    assert len(values) > 30


def test_a_named_cutter_does_the_whole_part() -> None:
    """Whoever names the 3 mm cutter for a knob gets no other for recess, hole or outline."""
    part = shape_part(a_job(), want(a_knob(), "knob", cutter=1)).part
    assert {part.cutter, *(feature.cutter for feature in part.features)} == {1}


def test_an_outline_takes_the_largest_cutter_that_enters_the_scallops() -> None:
    """Scallops of radius 8.9 mm let in 6 mm and 16 mm cutters, not a 20 mm one; bars and blocks do."""
    wide = (flat_cutter(1, 3.0, 15.0), flat_cutter(2, 16.0, 22.0), flat_cutter(3, 20.0, 22.0))
    assert shape_part(a_job(), want(a_knob(), "knob")).part.cutter == 2
    assert shape_part(a_job(cutters=wide), want(a_knob(), "knob")).part.cutter == 2
    assert shape_part(a_job(cutters=wide), want(a_strap(), "strap")).part.cutter == 3
    assert shape_part(a_job(cutters=wide), want(a_stop(), "stop")).part.cutter == 3  # corners of 4 mm


def test_quarter_inch_plywood_leaves_about_eighty_thousandths_under_a_quarter_inch_head() -> None:
    """0.235 in of plywood, a head of 5/32 in: about 0.08 in of floor (common practice, no source)."""
    shaped = shape(an_inch_job(want(an_inch_knob(), "knob")))
    assert value(shaped, "knob.head recess.floor left") / INCH == pytest.approx(0.08, abs=0.005)
    (thin,) = of_kind(shaped.findings, "floor-thin")
    assert thin.level is Level.CAUTION
    assert "the wood may give before" in of_kind(shaped.findings, "wood-gives-first")[0].text
    assert {feature.cutter for part, _ in shaped.parts for feature in part.features} == {1}
    assert INCH_CUTTERS[0].diameter == pytest.approx(3.175)


def test_a_hand_that_is_stronger_than_the_wood_is_a_caution() -> None:
    """80 N on a 44 mm knob are 1.76 N m, more than plywood flats hold an M6 head against for certain."""
    shaped = shape(a_job(want(a_knob(), "knob")))
    caution = next(one for one in of_kind(shaped.findings, "wood-gives-first") if one.level is Level.CAUTION)
    assert "a comfortable hand turns 1.76 N m" in caution.text
    assert "epoxy" in caution.remedy
    assert value(shaped, "knob.head recess.torque held") < 1760


def test_bolt_tension_ranges_from_a_stiff_thread_to_the_strongest_hand_on_an_easy_one() -> None:
    """44 mm knob, M6: 80 N, K 0.20 pull 1467 N; 80 N, K 0.35 838 N; 175 N, K 0.17 3775 N. Worked by hand."""
    shaped = shape(a_job(want(a_knob(), "knob")))
    tension = next(one for one in shaped.figures if one.name == "knob.head recess.bolt tension")
    assert (tension.low, tension.value, tension.high) == pytest.approx((838, 1467, 3775), rel=1e-3)


def test_a_floor_thick_enough_for_any_hand_is_no_finding() -> None:
    """Under an M6 head 20 mm of plywood hold more than the strongest hand can pull."""
    thick = a_job(want(a_knob(), "knob"), readings=(24.0,), cutters=(flat_cutter(1, 3.0, 26.0),))
    assert not of_kind(shape(thick).findings, "floor-thin")


def test_a_pressed_head_near_the_edge_may_split_solid_wood() -> None:
    """A thin rim is a caution for a pressed head, and none for a snug one."""
    slim = replace(a_knob(), diameter=24.0, scallop_depth=2.0)
    pressed = shape_part(a_job(material="sugar maple"), want(slim, "knob"))
    snug = shape_part(a_job(material="sugar maple"), want(replace(slim, fit="snug"), "knob"))
    (thin,) = of_kind(pressed.findings, "wall-thin")
    assert "split" in thin.text
    assert not of_kind(snug.findings, "wall-thin")


def test_hardware_that_reaches_the_edge_is_refused() -> None:
    """An M12 head doesn't go into a knob of 20 mm."""
    knob = replace(a_knob(Hardware(size="M12", form="hex head")), diameter=20.0, scallop_depth=1.0)
    with pytest.raises(InputError, match=r"knob\.head recess: it reaches the part's edge"):
        shape_part(a_job(readings=(18.0,)), want(knob, "knob"))


def test_a_head_smaller_than_its_bolts_hole_is_refused() -> None:
    """6 mm across flats can't be an M6 head: it would pull through the 6.6 mm hole."""
    slip = Hardware(size="M6", form="hex head", across_flats=6.0)
    with pytest.raises(InputError, match=r"6 mm across flats would pull through a hole of 6\.6 mm"):
        shape_part(a_job(cutters=(flat_cutter(1, 1.5, 15.0),)), want(a_knob(slip), "knob"))


def test_dowel_holes_off_the_block_are_refused() -> None:
    """Two holes 100 mm apart don't go into a block of 60 mm."""
    with pytest.raises(InputError, match=r"stop\.dowel hole: it reaches the part's edge"):
        shape_part(a_job(), want(replace(a_stop(), spacing=100.0), "stop"))


def test_a_slot_that_leaves_the_strap_is_refused() -> None:
    """A slot of 40 mm that begins 60 mm from the nose of a 90 mm strap runs out of it."""
    with pytest.raises(InputError, match=r"Make the slot shorter or the bar larger"):
        shape_part(a_job(), want(replace(a_strap(), slot_from_nose=60.0), "strap"))


def test_dowel_holes_that_meet_are_refused() -> None:
    """Two 6 mm holes can't be 5 mm apart."""
    with pytest.raises(InputError, match="run into each other"):
        shape_part(a_job(), want(replace(a_stop(), spacing=5.0), "stop"))


def test_all_parts_that_cannot_be_made_are_named_together() -> None:
    """Two faulty parts give two messages, each with its place in the job file; the good one none."""
    stop = replace(a_stop(), spacing=5.0)
    knob: Wanted = want(a_knob(Hardware(size="M7", form="hex head")), "knob")
    with pytest.raises(InputErrors) as caught:
        shape(a_job(knob, want(a_strap(), "strap"), want(stop, "stop")))
    first, second = caught.value.errors
    assert str(first).startswith("job.toml: parts[1]: ") and str(second).startswith("job.toml: parts[3]: ")


def test_a_thickness_that_was_not_measured_is_a_caution() -> None:
    """A sheet sold as 12 mm is seldom 12 mm."""
    (doubt,) = of_kind(shape(a_job(want(a_strap()), measured=False)).findings, "stock-nominal")
    assert doubt.level is Level.CAUTION and "not measured" in doubt.text


def test_a_job_in_inches_reads_in_inches() -> None:
    """No millimetre stands in a finding or a rule of a job whose owner reads inches."""
    shaped = shape(an_inch_job(want(an_inch_knob(), "knob")))
    words = [finding.text + finding.remedy for finding in shaped.findings]
    words += [figure.rule for figure in walk(shaped.figures)]
    assert not [text for text in words if " mm" in text]
