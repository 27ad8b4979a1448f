"""Fit coupons: what stands on the strip, what the program really cuts, and what is refused."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon

import printed
from fit_bench import INCH, METRIC_CUTTERS, a_job, a_knob, a_stop, an_inch_job, drill, flat_cutter, want
from proveout.coupons import Asked, coupons_of
from proveout.curve import polygon
from proveout.figure import Figure, walk
from proveout.finding import InputError, Level
from proveout.fit.shape import shape, shape_part
from proveout.fit.shaped import ShapedPart
from proveout.job.read import read_job
from proveout.job.records import CouponWanted, Cutter, Hardware, Job, Wanted
from proveout.motion import Motion, chords
from proveout.pack.articles import articles
from proveout.pack.coupon_words import coupon_words
from proveout.pack.made import Made
from proveout.pack.plan_picture import plan_svg
from proveout.pack.sheet import ROOM, Paper, setup_sheet, sheet_data
from proveout.parts.coupon import sizes
from proveout.parts.digits import Style, digit_curves, number_curves
from proveout.parts.part import Feature
from proveout.plan import make, plan
from proveout.proof.prove import prove
from proveout.proof.verdict import Verdict
from proveout.setup import IntendedFeature
from test_road import clamped

EXAMPLES = Path(__file__).parents[1] / "examples"

M6 = Hardware(size="M6", form="hex head", across_flats=9.88, height=3.98)
QUARTER = Hardware(size="1/4", form="hex head", across_flats=0.435 * INCH, height=5 / 32 * INCH)
PIN = Hardware(size="6", form="dowel", diameter=6.02)

# Wood that stays around a pressed hexagon, in its flats: common practice against splitting, no source.
WALLS = {"birch plywood": 0.5, "sugar maple": 1.0, "mdf": 1.0, "acetal": 0.5}


def coupon(
    hardware: Hardware = M6,
    fit: str = "firm press",
    *,
    steps: int = 5,
    step: float = 0.05,
    around: float | None = None,
    name: str = "head",
) -> Wanted:
    """One coupon."""
    pattern = CouponWanted(
        hardware=hardware, fit=fit, clearance="normal", steps=steps, step=step, around=around
    )
    return Wanted(name=name, count=1, pattern=pattern, rotations_deg=(0.0,), cutter=None)


def shaped(wanted: Wanted, job: Job | None = None) -> ShapedPart:
    """A coupon on the metric bench, or that of a job."""
    return shape_part(job or a_job(wanted), wanted)


def figures(of: ShapedPart) -> dict[str, Figure]:
    """Its numbers by name."""
    return {one.name: one for one in walk(of.figures)}


def openings(of: ShapedPart) -> list[Feature]:
    """The recesses or holes that are tried, in order."""
    return [one for one in of.part.features if re.fullmatch(r"(recess|hole) \d+", one.name)]


# --- digits

STYLE = Style(stroke=3.1, pitch=5.1, apart=2.0)

# Which strokes of a figure of two squares each digit has: top, upper left and right, middle, lower left and
# right, bottom. As on any counter with seven strokes a digit; the 1 is a single stroke.
STROKES = {
    "0": "T UL UR LL LR B", "1": "UL LL", "2": "T UR M LL B", "3": "T UR M LR B", "4": "UL UR M LR",
    "5": "T UL M LR B",
    "6": "T UL M LL LR B", "7": "T UR LR", "8": "T UL UR M LL LR B", "9": "T UL UR M LR B",
}  # fmt: skip
PLACES = {
    "T": ((0, 2), (1, 2)), "UL": ((0, 1), (0, 2)), "UR": ((1, 1), (1, 2)), "M": ((0, 1), (1, 1)),
    "LL": ((0, 0), (0, 1)), "LR": ((1, 0), (1, 1)), "B": ((0, 0), (1, 0)),
}  # fmt: skip


@pytest.mark.parametrize("digit", STROKES)
def test_a_digit_is_its_strokes_and_a_cutter_of_their_width_makes_it(digit: str) -> None:
    """The engraved region is all points within half a stroke of the strokes: what a round cutter leaves."""
    lines = [
        LineString([(x * STYLE.pitch, y * STYLE.pitch) for x, y in PLACES[one]])
        for one in STROKES[digit].split()
    ]
    swept = shapely.union_all(lines).buffer(STYLE.stroke / 2, quad_segs=128)
    region = polygon(digit_curves(digit, STYLE))
    assert region.is_valid
    assert region.symmetric_difference(swept).area < 0.02
    assert len(region.interiors) == {"0": 1, "6": 1, "8": 2, "9": 1}.get(digit, 0)


def test_the_digits_of_a_number_stand_beside_each_other() -> None:
    """A 15 is a 1 left of a 5, as high as each other, with wood between, about the point asked for."""
    one, five = (polygon(curves) for curves in number_curves(15, STYLE, (100.0, 50.0)))
    assert one.distance(five) == pytest.approx(STYLE.apart, abs=1e-6)
    assert one.bounds[2] < five.bounds[0]
    left, front, right, back = shapely.union_all([one, five]).bounds
    assert ((left + right) / 2, (front + back) / 2) == pytest.approx((100.0, 50.0))
    assert (right - left, back - front) == pytest.approx((STYLE.width(15), STYLE.height))


# --- sizes


def test_the_sizes_lie_about_the_one_that_would_be_cut() -> None:
    """The third of five is what a knob for that head and fit is cut to, by the same cutter."""
    knob = shaped(want(a_knob(M6), "knob"))
    cut = figures(knob)["knob.head recess.flats"].value
    found = figures(shaped(coupon()))
    flats = [found[f"head.recess {number}.flats"].value for number in range(1, 6)]
    assert flats == pytest.approx([cut - 0.1, cut - 0.05, cut, cut + 0.05, cut + 0.1])
    assert found["head.recess 3.flats"].rule == "The size that would be cut."
    assert found["head.recess 1.flats"].rule == "2 steps of 0.05 mm below the size that would be cut."
    assert {one.cutter for one in openings(shaped(coupon()))} == {knob.part.features[0].cutter}


def test_dowel_sizes_lie_about_the_one_that_would_be_cut() -> None:
    """The second of three is what a stop block's hole for that dowel and fit is cut to."""
    pins = coupon(Hardware(size="6", form="dowel"), "snug", steps=3, name="pins")
    cut = figures(shaped(want(a_stop(), "stop")))["stop.dowel hole.diameter"].value
    found = figures(shaped(pins))
    holes = [found[f"pins.hole {number}.diameter"].value for number in (1, 2, 3)]
    assert holes == pytest.approx([cut - 0.05, cut, cut + 0.05])


def test_the_sizes_lie_about_a_stated_one() -> None:
    """Four sizes about 9.8 mm: one below it, two above; the hexagon's own clearance doesn't matter then."""
    found = figures(shaped(coupon(steps=4, step=0.1, around=9.8)))
    flats = [found[f"head.recess {number}.flats"].value for number in range(1, 5)]
    assert flats == pytest.approx([9.7, 9.8, 9.9, 10.0])
    assert "head.recess 5.flats" not in found
    assert found["head.recess 2.flats"].rule == "The size that was asked for."


def test_a_recess_is_as_wide_as_its_figure_says() -> None:
    """Between opposite flats of each region in the part lies the figure's value."""
    of = shaped(coupon(steps=3, around=9.73))
    for number, feature in enumerate(openings(of), 1):
        region = polygon(feature.curves)
        across = region.intersection(_strip(region.centroid.coords[0], 30.0))
        assert across.area / 0.2 == pytest.approx(9.68 + 0.05 * (number - 1), abs=2e-3)


def _strip(middle: tuple[float, ...], angle_deg: float) -> Polygon:
    """A strip 0.2 mm wide through a point, along a direction."""
    strip = shapely.box(-50, -0.1, 50, 0.1)
    turned = shapely.affinity.rotate(strip, angle_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, *middle)


def test_each_recess_is_cut_by_the_cutter_that_the_part_would_be_cut_with() -> None:
    """Another cutter leaves other corners and other flats, and its fit says nothing of the part's."""
    of = shaped(coupon(steps=9))
    assert {one.cutter for one in openings(of)} == {1}


# --- the strip


@pytest.mark.parametrize("material", WALLS)
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("hardware", [M6, QUARTER, PIN, Hardware(size="M10", form="hex nut")])
def test_nothing_on_the_strip_meets_and_walls_are_thick_enough(
    material: str, units: str, hardware: Hardware
) -> None:
    """Fifteen sizes and all their digits: apart, within the rim, with a press fit's wall around each."""
    wanted = coupon(hardware, steps=15)
    bench = a_job(wanted, material=material) if units == "mm" else an_inch_job(wanted)
    bench = replace(bench, stock=replace(bench.stock, material=material, readings=(12.0,)))
    of = shaped(wanted, bench)
    outline, features = polygon((of.part.outline,)), of.part.features
    digits = [polygon(one.curves) for one in features if one.intent.startswith("engraved")]
    tried = [polygon(one.curves) for one in openings(of)]
    assert (len(tried), len(digits)) == (15, 9 + 2 * 6)
    least = WALLS[material] * (hardware.across_flats or hardware.diameter or 15.73)
    for number, one in enumerate(tried):
        assert one.distance(outline.exterior) >= least - 1e-6
        assert all(one.distance(other) >= least - 1e-6 for other in tried[number + 1 :])
    for number, one in enumerate(digits):
        assert outline.contains(one)
        assert one.distance(outline.exterior) > 2.5
        assert min(one.distance(other) for other in tried) > 2.0
        assert all(one.distance(other) > 1.5 for other in digits[number + 1 :])
    assert not any(one.kind == "wall-thin" for one in of.findings)


def test_numbers_stand_in_front_of_their_recess_and_rise_to_the_right() -> None:
    """Each number lies nearer to its own recess than to any other, and sizes and numbers rise along X."""
    of = shaped(coupon(steps=6))
    middles = [polygon(one.curves).centroid for one in openings(of)]
    assert [one.x for one in middles] == sorted(one.x for one in middles)
    for number, one in enumerate(middles, 1):
        digit = next(each for each in of.part.features if each.name == f"number {number}")
        left, _, right, back = polygon(digit.curves).bounds
        assert (left + right) / 2 == pytest.approx(one.x)
        assert back < one.y


def test_digits_are_shallow_more_so_in_thin_stock() -> None:
    """0.7 mm deep in 11.7 mm, and 0.36 mm where the sheet is 3 mm thick; from the thinnest reading on."""
    thick = next(one for one in shaped(coupon()).part.features if one.name == "number 1")
    assert thick.floor == pytest.approx(11.7 - 0.7)
    pins = coupon(PIN, "snug")
    thin = shaped(pins, a_job(pins, readings=(3.0,))).part.features
    assert next(one for one in thin if one.name == "number 1").floor == pytest.approx(3.0 - 0.36)


def test_what_was_pressed_in_can_be_pushed_out_again() -> None:
    """Behind each recess a hole that clears M6 (ISO 273 medium, 6.6 mm), about the same middle."""
    features = {one.name: one for one in shaped(coupon(steps=3)).part.features}
    for number in range(1, 4):
        recess = polygon(features[f"recess {number}"].curves)
        hole = features[f"knock-out hole {number}"]
        assert hole.through
        assert polygon(hole.curves).area == pytest.approx(math.pi * 3.3**2, rel=1e-3)
        assert polygon(hole.curves).centroid.distance(recess.centroid) < 1e-3


def test_the_holes_of_a_dowel_are_bored_whatever_drills_there_are() -> None:
    """A drill makes one size alone, so a row of sizes is bored; that the part's are drilled is said."""
    flat_point = drill(3, 6.0, 40.0, point_deg=180.0)
    pins = coupon(replace(PIN, diameter=5.98), "snug", name="pins")
    bench = a_job(pins, cutters=(flat_cutter(1, 3.0, 15.0), flat_cutter(2, 5.0, 22.0), flat_point))
    of = shaped(pins, bench)
    assert [round(figures(of)[f"pins.hole {n}.diameter"].value, 3) for n in (1, 3, 5)] == [
        5.9,
        6.0,
        6.1,
    ]
    assert {one.cutter for one in openings(of)} == {2}
    (said,) = of.findings  # not that the fit is doubtful: that is what the coupon is for
    assert said.text == (
        "pins.hole: a part's own holes for this dowel are drilled by cutter 3, which leaves 6 mm or a little "
        "more; those here are bored."
    )


def test_a_head_that_its_own_hole_lets_through_is_refused() -> None:
    """A clearance hole of 6.6 mm is wider than a head of 6.5 mm: the same slip as on a knob."""
    small = coupon(replace(M6, across_flats=6.5))
    bench = a_job(small, cutters=(flat_cutter(1, 2.0, 15.0),))
    with pytest.raises(InputError, match=r"head\.knock-out hole: a head of 6\.5 mm across flats would pull"):
        shaped(small, bench)


# --- what the program cuts


@cache
def made(of: str) -> Made:
    """The coupons of an example, made once: of the clamp kit, "mm", or of the inch knobs, "in"."""
    job = read_job(EXAMPLES / ("clamp-kit" if of == "mm" else "inch-knobs") / "job.toml")
    return make(replace(job, wanted=tuple(one.wanted for one in coupons_of(job, Asked()))))


def cut_sizes(verdict: Verdict, features: Iterator[IntendedFeature], radius: float) -> Iterator[float]:
    """Across flats or across, as the text that was proved really cuts each opening."""
    motion = [one.motion for one in verdict.programs if len(one.motion)]
    for feature in features:
        ways = np.concatenate([_ways(one, feature) for one in motion])
        x, y = feature.region.centroid.coords[0]
        ways = ways - (x, y)
        if feature.name.startswith("hole"):
            yield 2 * (float(np.hypot(*ways.T).max()) + radius)
            continue
        angles = np.radians(30 + 60 * np.arange(6))
        halves = []
        for out in np.column_stack((np.cos(angles), np.sin(angles))):
            middle = np.abs(ways @ np.array((-out[1], out[0]))) < 0.5  # of the flat; its ends are relieved
            halves.append(float((ways[middle] @ out).max()) + radius)
        yield 2 * sum(halves) / 6
        assert max(halves) - min(halves) < 0.004


def _ways(motion: Motion, feature: IntendedFeature) -> np.ndarray:
    """Points of the cutter's axis within an opening while its tip is on the floor, 0.02 mm apart."""
    pieces = chords(motion, 1e-4)
    low = pieces.end[:, 2] <= (feature.floor + 0.005 if not feature.through else 0.0)
    low &= pieces.start[:, 2] == pieces.end[:, 2]
    inside = shapely.contains_xy(feature.region, pieces.end[:, 0], pieces.end[:, 1])
    runs = [
        np.linspace(start, end, 2 + int(math.dist(start, end) / 0.02))
        for start, end in zip(pieces.start[low & inside, :2], pieces.end[low & inside, :2], strict=True)
    ]
    return np.concatenate(runs) if runs else np.zeros((0, 2))


def tried(of: Made, part: str) -> Iterator[IntendedFeature]:
    """The openings of a coupon as they lie on the sheet."""
    (lying,) = (one for one in of.setup.parts if one.name == part)
    return (one for one in lying.features if re.fullmatch(r"(recess|hole) \d+", one.name))


def test_the_text_cuts_each_size_that_is_stated() -> None:
    """Measured in the moves that the strict reader found in the programs' text, to 4 um."""
    for units, radius, step in (("mm", 2.99 / 2, 0.05), ("in", INCH / 16, 0.002 * INCH)):
        of = made(units)
        assert of.ready
        for wanted in of.job.wanted:
            stated = stated_sizes(of, wanted.name)
            assert len(stated) == 5
            assert np.diff(stated) == pytest.approx([step] * 4)
            found = list(cut_sizes(of.verdict, tried(of, wanted.name), radius))
            assert found == pytest.approx(stated, abs=0.004)


def stated_sizes(of: Made, name: str) -> list[float]:
    """The sizes of a coupon's row, as the figures say."""
    row = re.compile(re.escape(name) + r"\.(recess|hole) \d+\.(flats|diameter)")
    return [one.value for one in of.figures if row.fullmatch(one.name)]


@pytest.mark.parametrize("material", ["sugar maple", "acetal"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_coupons_in_other_stock_prove(material: str, units: str) -> None:
    """The text for maple and for acetal, from either bench, has neither stop nor caution of the prover's."""
    wanted = coupon(steps=2) if units == "mm" else coupon(QUARTER, "snug", steps=2)
    job = clamped(a_job(wanted) if units == "mm" else an_inch_job(wanted))
    planned = plan(replace(job, stock=replace(job.stock, material=material)))
    verdict = prove(planned.programs, planned.setup, cell=0.3)
    assert verdict.ready, verdict.findings
    assert not [one.text for one in verdict.findings if one.kind.startswith(("wall", "material", "cut"))]


@pytest.mark.parametrize("cutters", [(flat_cutter(1, 1.0, 6.0), flat_cutter(2, 3.0, 15.0)), METRIC_CUTTERS])
def test_every_digit_is_cut_and_proved(cutters: tuple[Cutter, ...]) -> None:
    """Fifteen holes: single and double numbers with islands, by a cutter of 1 mm and by one of 3 mm."""
    planned = plan(clamped(a_job(coupon(PIN, "snug", steps=15), cutters=cutters)))
    verdict = prove(planned.programs, planned.setup, cell=0.25)
    assert not [one.text for one in verdict.findings if one.level is not Level.NOTE]
    text = "".join(one.text for one in planned.programs)
    for digit in (
        *(f"NUMBER {one}" for one in range(1, 10)),
        *(f"DIGIT 2 OF NUMBER {one}" for one in (10, 15)),
    ):
        assert f"(HEAD: {digit})" in text


def test_a_recess_that_is_cut_aside_is_found() -> None:
    """One recess shifted by 0.2 mm in the text: the prover names it, and no other part of the strip."""
    of = made("mm")
    (program,) = (one for one in of.programs if "(M6 HEAD COUPON: RECESS 3)" in one.text)
    before, title, after = program.text.partition("(M6 HEAD COUPON: RECESS 3)")
    mine, next_title, rest = after.partition("(M6 HEAD COUPON: KNOCK-OUT HOLE 3)")
    assert next_title
    aside = re.sub(r"X(-?[\d.]+)", lambda found: f"X{float(found[1]) + 0.2:.4f}", mine)
    spoiled = replace(program, text=before + title + aside + next_title + rest)
    programs = [spoiled if one is program else one for one in of.programs]
    verdict = prove(programs, of.setup, cell=0.2)
    assert not verdict.ready
    said = " ".join(one.text for one in verdict.findings if one.kind.startswith("wall-"))
    assert "M6 head coupon's recess 3" in said
    assert not re.search(r"recess [1245]\b", said)


# --- too large for the sheet


def test_a_strip_too_long_for_the_sheet_is_told_how_many_sizes_fit() -> None:
    """The number in the message fits, and one more does not."""
    job = clamped(a_job(coupon(Hardware(size="M10", form="hex nut"), steps=15), readings=(18.0,)))
    with pytest.raises(InputError, match="did not fit on the sheet") as refused:
        plan(job)
    said = re.search(r"With (\d+) sizes on each coupon they would fit: steps = \1\.", refused.value.text)
    assert said
    most = int(said[1])
    assert plan(_with_steps(job, most)).placed
    with pytest.raises(InputError, match=f"With {most} sizes"):
        plan(_with_steps(job, most + 1))


def _with_steps(job: Job, steps: int) -> Job:
    (wanted,) = job.wanted
    assert isinstance(wanted.pattern, CouponWanted)
    return replace(job, wanted=(replace(wanted, pattern=replace(wanted.pattern, steps=steps)),))


def test_a_sheet_too_small_for_two_sizes_is_told_so() -> None:
    """No number of sizes is named that would not fit either."""
    job = clamped(a_job(coupon()))
    job = replace(job, stock=replace(job.stock, size=(330.0, 40.0)), clamps=())
    with pytest.raises(InputError, match="Fewer sizes don't help: not even 2 on each coupon"):
        plan(job)


# --- what the sheet says


def test_the_sheet_says_what_to_measure_and_press_in_which_order() -> None:
    """Sizes by number, the loosest first, support, no hammer, the words of judgement, and the record."""
    head, pin = words_of("mm", "M6 head coupon"), words_of("mm", "6 mm dowel coupon")
    order = ("Measure", "loosest first, recess 5", "with a vice", "slides, snug", "splits", "proveout record")
    for words in (head, pin.replace("hole 5", "recess 5")):
        assert [words.index(one) for one in order] == sorted(words.index(one) for one in order)
        assert "Don't hammer" in words and "Eye protection" in words
    first = stated_sizes(made("mm"), "M6 head coupon")[0]
    assert f"meant are 1: {first:.2f}, 2: {first + 0.05:.2f}, 3: " in head
    inch = [one / INCH for one in stated_sizes(made("in"), "1-4 in head coupon")]
    numbered = ", ".join(f"{number}: {one:.3f}" for number, one in enumerate(inch, 1))
    assert f"meant are {numbered} in" in words_of("in", "1-4 in head coupon")
    data = sheet_data(made("mm"))
    assert "M6 head coupon: number 1 is the tightest" in str(data["after"])
    assert "1 x M6 hex head bolt out of the same box" in str(data["fetch"])


@pytest.mark.parametrize("of", ["mm", "in"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_coupons_are_run_from_one_page(of: str, paper: Paper, tmp_path: Path) -> None:
    """Either example's coupons, on either paper: the first page goes on to the first caution."""
    pdf = setup_sheet(made(of), plan_svg(made(of), ROOM).encode(), paper)
    assert "not against the real bench." in printed.text(pdf, tmp_path)[0]


def test_the_form_has_a_row_for_each_size_with_what_goes_in() -> None:
    """Each recess with its own size and the bolt that is pressed into it; digits are no place for a bolt."""
    rows = [one for one in articles(made("mm")) if one.part == "M6 head coupon"]
    fits = [one for one in rows if one.what == "across flats"]
    assert [one.of for one in fits] == [f"recess {number}" for number in range(1, 6)]
    assert [one.asked for one in fits] == pytest.approx(stated_sizes(made("mm"), "M6 head coupon"))
    assert {(one.takes, one.hardware) for one in fits} == {("M6 hex head bolt", 9.88)}
    assert not any(one.takes for one in rows if "number" in one.of or "knock-out" in one.of)


def words_of(of: str, name: str) -> str:
    """What the setup sheet says of one coupon."""
    wanted = next(one for one in made(of).job.wanted if one.name == name)
    assert isinstance(wanted.pattern, CouponWanted)
    return coupon_words(made(of), wanted, wanted.pattern)


def test_sizes_are_exact() -> None:
    """No dust of binary fractions: what is stated is what a person would write."""
    assert sizes(9.73, 5, 0.05) == (9.63, 9.68, 9.73, 9.78, 9.83)
    assert sizes(9.73, 2, 0.05) == (9.73, 9.78)


def test_a_job_of_parts_and_a_coupon_is_shaped_together() -> None:
    """A coupon may stand beside parts, or another coupon, in one job."""
    job = a_job(coupon(), coupon(PIN, "snug", name="pin"))
    assert [part.name for part, _ in shape(job).parts] == ["head", "pin"]
