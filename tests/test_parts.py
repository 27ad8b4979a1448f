"""The patterns' outlines: closed, exact, smooth, and no tighter than their cutter."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.curve import Curve, Segment, flatten, polygon
from proveout.parts.knob import deepest_scallop, lobed_outline, rim_radius
from proveout.parts.obround import obround
from proveout.parts.stop import block_outline, hole_places
from proveout.parts.strap import strap_outline, strap_slot

knobs = st.tuples(st.floats(15, 120), st.integers(3, 16), st.floats(0.02, 0.99)).map(
    lambda drawn: (drawn[0], drawn[1], deepest_scallop(drawn[0], drawn[1]) * drawn[2])
)


def exact_area(curve: Curve) -> float:
    """Area within a ring of lines and arcs by Green's theorem; positive where it runs anticlockwise."""
    return sum(
        (one.start[0] * one.end[1] - one.end[0] * one.start[1]) / 2
        + one.radius**2 * (one.sweep - math.sin(one.sweep)) / 2
        for one in curve.segments
    )


def heading(segment: Segment, at_end: bool) -> float:
    """Direction of travel at one end of a segment, rad."""
    point = segment.end if at_end else segment.start
    if segment.centre is None:
        return math.atan2(segment.end[1] - segment.start[1], segment.end[0] - segment.start[0])
    out = math.atan2(point[1] - segment.centre[1], point[0] - segment.centre[0])
    return out + (math.pi / 2 if segment.ccw else -math.pi / 2)


def bend(one: Segment, following: Segment) -> float:
    """How sharply the ring turns where two segments meet, rad."""
    turn = heading(following, at_end=False) - heading(one, at_end=True)
    return abs(math.remainder(turn, math.tau))


@given(knobs)
def test_a_knobs_rim_has_no_corners(knob: tuple[float, int, float]) -> None:
    """Every lobe runs into its scallops without an edge that a hand could feel."""
    segments = lobed_outline(*knob).segments
    assert len(segments) == 2 * knob[1]
    for one, following in zip(segments, segments[1:] + segments[:1], strict=True):
        assert bend(one, following) < 1e-6


@given(knobs)
def test_a_knob_measures_what_was_asked(knob: tuple[float, int, float]) -> None:
    """The lobes lie on the stated diameter, and the scallops are as deep as stated."""
    diameter, _, depth = knob
    outline = lobed_outline(*knob)
    reach = np.hypot(*flatten(outline, 0.0005).T)
    middles = [math.hypot(*one.at(0.5)) for one in outline.segments]
    assert max(middles) == pytest.approx(diameter / 2, abs=1e-9)
    assert min(middles) == pytest.approx(diameter / 2 - depth, abs=1e-9)
    assert reach.max() <= diameter / 2 + 1e-9
    assert reach.min() >= diameter / 2 - depth - 1e-9


@given(knobs)
@settings(max_examples=40, deadline=None)
def test_a_cutter_of_the_rims_radius_follows_the_whole_rim(knob: tuple[float, int, float]) -> None:
    """A cutter a shade slimmer than the scallops, going round outside, leaves the rim as drawn."""
    rim = rim_radius(*knob)
    region = polygon([lobed_outline(*knob)], 0.0002)
    slim = region.buffer(rim * 0.99, quad_segs=128).buffer(-rim * 0.99, quad_segs=128)
    assert slim.symmetric_difference(region).area < 0.001 * region.length


@pytest.mark.parametrize("knob", [(44, 6, 3), (38.1, 6, 2.54), (50, 5, 6), (60, 9, 3)])
def test_a_fatter_cutter_leaves_wood_in_the_scallops(knob: tuple[float, int, float]) -> None:
    """A cutter a tenth fatter than the scallops can't reach their bottoms."""
    fat = rim_radius(*knob) * 1.1
    region = polygon([lobed_outline(*knob)], 0.0002)
    followed = region.buffer(fat, quad_segs=256).buffer(-fat, quad_segs=256)
    assert followed.difference(region.buffer(0.005)).area > 0


@pytest.mark.parametrize("lobes", [3, 6, 11])
def test_the_deepest_scallop_is_a_half_circle(lobes: int) -> None:
    """Beyond half a circle a scallop would be narrower at its mouth than within."""
    deepest = lobed_outline(50, lobes, deepest_scallop(50, lobes) * (1 - 1e-9))
    assert abs(deepest.segments[1].sweep) == pytest.approx(math.pi, abs=1e-3)


def test_a_knob_with_barely_a_scallop_is_nearly_a_disc() -> None:
    """As the scallops vanish the rim's radius becomes half the diameter, whatever the number of lobes."""
    for lobes in (3, 6, 12):
        assert rim_radius(40, lobes, 1e-6) == pytest.approx(20, rel=1e-4)
        assert exact_area(lobed_outline(40, lobes, 1e-6)) == pytest.approx(math.pi * 400, rel=1e-4)


@pytest.mark.parametrize(("lobes", "depth"), [(2, 3.0), (6, 0.0), (6, 11.2), (6, -1.0)])
def test_lobes_that_make_no_knob_are_refused(lobes: int, depth: float) -> None:
    """Two lobes make a bar; scallops need some depth, but not so much that they neck the lobes."""
    with pytest.raises(ValueError, match=r"lobes|scallop"):
        lobed_outline(44, lobes, depth)


@given(st.floats(1, 200), st.floats(0.1, 1.0))
def test_an_obround_has_the_area_of_its_bar_and_its_two_half_discs(length: float, share: float) -> None:
    """w (L - w) + pi w^2 / 4, exactly, and it runs anticlockwise."""
    width = length * share
    assert exact_area(obround(length, width)) == pytest.approx(
        width * (length - width) + math.pi * width**2 / 4, rel=1e-9
    )


def test_an_obround_wider_than_long_is_refused() -> None:
    """A slot can't be shorter than it is wide."""
    with pytest.raises(ValueError, match="round-ended"):
        obround(5, 6)


def test_a_straps_slot_lies_as_far_from_the_nose_as_stated() -> None:
    """A 90 mm bar, slot of 40 from 25 to 65 mm behind the nose, 6.6 wide, on the bar's middle line."""
    slot = polygon([strap_slot(90, slot_length=40, slot_width=6.6, from_nose=25)]).bounds
    bar = polygon([strap_outline(90, 28)]).bounds
    assert slot[0] - bar[0] == pytest.approx(25, abs=1e-6)
    assert bar[2] - slot[2] == pytest.approx(90 - 65, abs=1e-6)
    assert slot[3] - slot[1] == pytest.approx(6.6, abs=2e-3)
    assert slot[1] + slot[3] == pytest.approx(0, abs=1e-9)


@given(st.floats(10, 100), st.floats(10, 100), st.floats(0, 1))
def test_a_block_loses_only_its_corners(length: float, width: float, share: float) -> None:
    """L W - (4 - pi) r^2, exactly, from square corners to full round ends."""
    radius = min(length, width) / 2 * share
    assert exact_area(block_outline(length, width, radius)) == pytest.approx(
        length * width - (4 - math.pi) * radius**2, rel=1e-9
    )


def test_a_block_rounder_than_itself_is_refused() -> None:
    """Corners of 6 mm don't go on a block 10 mm wide."""
    with pytest.raises(ValueError, match="corners of radius 6"):
        block_outline(30, 10, 6)


def test_dowel_holes_are_spaced_about_the_middle() -> None:
    """Three holes 25 apart lie at -25, 0 and 25; one lies in the middle."""
    assert hole_places(3, 25) == ((-25, 0), (0, 0), (25, 0))
    assert hole_places(1, 25) == ((0, 0),)


def test_an_arc_of_a_huge_circle_is_flattened_as_any_other() -> None:
    """Of a nearly straight side 100 mm long, 1e14 mm in radius: its chord is 1e-11 mm off, so it will do."""
    arc = Segment((0.0, 0.0), (100.0, 0.0), (50.0, 1e14), ccw=True)
    back = Segment((100.0, 0.0), (0.0, 0.0), (50.0, 0.0), ccw=True)
    points = flatten(Curve((arc, back)), 0.001)
    assert points[:2] == pytest.approx(np.array([[0.0, 0.0], [100.0, 0.0]]))
