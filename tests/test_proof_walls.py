"""The wall check: to a hundredth of a millimetre, whatever the cell of the height field."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from plain.walls import most_past
from proof_bench import CUTTER, builder, disc, hole, part, recess, setup, trial
from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.motion import Motion, chords
from proveout.proof.trial import Trial
from proveout.proof.walls import SPACING, path_pieces, reached, wall_findings, wall_points
from proveout.setup import IntendedPart, Tab

KNOB = part(disc(30, 20, 10))


def round_outline(radius: float, z: float = -0.2) -> Motion:
    """Once round the knob with a 3 mm cutter whose edge runs at this radius, and up again."""
    moves = builder()
    path = radius + 1.5
    moves.rapid((30 + path, 20, 40))
    moves.line = 7
    moves.line_to((30 + path, 20, z))
    moves.line = 8
    moves.arc_to((30 + path, 20, z), (30, 20), -math.tau)
    moves.line = 9
    moves.rapid((30 + path, 20, 40))
    return moves.motion()


def kinds(findings: list[Finding]) -> list[str]:
    """What was found."""
    return [finding.kind for finding in findings]


def judged(run: Trial) -> list[str]:
    """Kinds of what the wall check finds."""
    return kinds(wall_findings(run))


def test_a_true_outline_is_silent() -> None:
    """A cutter that runs exactly beside a knob leaves nothing to say about its wall."""
    assert wall_findings(trial(setup(parts=[KNOB]), round_outline(10.0))) == []


@pytest.mark.parametrize(
    ("radius", "found"),
    [
        (9.98, ["wall-overcut"]),
        (9.988, ["wall-overcut"]),
        (9.996, []),
        (10.004, []),
        (10.02, ["wall-undercut"]),
    ],
)
def test_two_hundredths_off_a_wall_are_found_and_four_thousandths_are_not(
    radius: float, found: list[str]
) -> None:
    """With a hundredth allowed, a wall 0.02 mm out of place is found and one 0.004 mm out is not."""
    assert judged(trial(setup(parts=[KNOB]), round_outline(radius))) == found


def test_the_overcut_is_told_with_line_amount_and_place() -> None:
    """The finding names the first line that cuts past the wall, by how much, of what, and where."""
    (finding,) = wall_findings(trial(setup(parts=[KNOB]), round_outline(9.9)))
    assert finding.line == 7
    assert finding.program == "case.nc"
    assert finding.text.startswith(
        "Line 7: the cutter cuts 0.1 mm past the wall of the outline of knob; 0.01 mm is allowed. Worst"
    )
    assert finding.at is not None
    assert math.dist(finding.at[:2], (30, 20)) == pytest.approx(10, abs=0.002)


def test_an_outline_that_stops_short_of_the_bed_leaves_its_foot() -> None:
    """A cut that ends 0.2 mm above the bed has not cut the wall's foot."""
    (finding,) = wall_findings(trial(setup(parts=[KNOB]), round_outline(10.0, z=0.2)))
    assert finding.kind == "wall-undercut"
    assert "The wall of the outline of knob is cut 0.2 mm short of its foot over 62.83 mm" in finding.text


def test_half_an_outline_leaves_half_a_wall() -> None:
    """A half turn around a 20 mm knob leaves half of its 62.83 mm uncut."""
    moves = builder()
    moves.rapid((41.5, 20, 40))
    moves.line_to((41.5, 20, -0.2))
    moves.arc_to((18.5, 20, -0.2), (30, 20), -math.pi)
    (finding,) = wall_findings(trial(setup(parts=[KNOB]), moves.motion()))
    left = float(finding.text.partition("over ")[2].partition(" mm")[0])
    assert left == pytest.approx(62.83 / 2, abs=0.6)


def test_a_bridge_need_only_be_cut_down_to_its_height() -> None:
    """Where a bridge is left, the wall counts as cut when the cutter passed at the bridge's height."""
    moves = builder()
    moves.rapid((41.5, 20, 40))
    moves.line_to((41.5, 20, -0.2))
    gap = math.radians(20)
    turned = 30 + 11.5 * math.cos(math.pi - gap), 20 + 11.5 * math.sin(math.pi - gap)
    beyond = 30 + 11.5 * math.cos(math.pi + gap), 20 + 11.5 * math.sin(math.pi + gap)
    moves.arc_to((*turned, -0.2), (30, 20), math.pi - gap)
    moves.line_to((*turned, 3.0))
    moves.arc_to((*beyond, 3.0), (30, 20), 2 * gap)
    moves.line_to((*beyond, -0.2))
    moves.arc_to((41.5, 20, -0.2), (30, 20), math.pi - gap)
    bridge = Tab(part="knob", at=(20, 20), length=2 * gap * 11.5 - 3, height=3.0)
    assert judged(trial(setup(parts=[KNOB], tabs=[bridge]), moves.motion())) == []
    assert judged(trial(setup(parts=[KNOB]), moves.motion())) == ["wall-undercut"]


def test_a_ramp_counts_only_where_it_is_below_the_wall() -> None:
    """A ramp over a part is no fault while the tip is above the stock, and one from there on."""
    bar = part(box(20, 10, 40, 30))
    moves = builder((30, 20, 24))
    moves.line_to((54, 20, 0))  # at x = 42, the stock's top; the wall is at x = 40
    findings = wall_findings(trial(setup(parts=[bar]), moves.motion()))
    assert "wall-overcut" not in kinds(findings)
    moves = builder((30, 20, 23))
    moves.line_to((54, 20, -1))  # at x = 41 the stock's top: 0.5 mm inside the cutter's reach
    (finding, *_) = wall_findings(trial(setup(parts=[bar]), moves.motion()))
    assert finding.kind == "wall-overcut"
    assert "cuts 0.49 mm past" in finding.text  # 0.01 mm may be skimmed


def test_a_hole_in_a_recess_has_its_wall_below_the_recess_only() -> None:
    """Clearing a recess passes over the hole's edge rightly; the hole's wall begins at the recess's floor."""
    knob = part(disc(30, 20, 15), hole(disc(30, 20, 3)), recess(disc(30, 20, 8), 6.0))
    moves = builder()
    moves.rapid((30, 20, 40))
    for z, radii in ((6.0, (0.5, 2.5, 4.5, 6.5)), (-0.2, (0.5, 1.5))):
        moves.rapid((30, 20, 13))
        for radius in radii:
            moves.line_to((30 + radius, 20, z))
            moves.arc_to((30 + radius, 20, z), (30, 20), math.tau)
    moves.rapid((30 + 1.5, 20, 40))
    outline_only = judged(trial(setup(parts=[knob]), moves.motion()))
    assert outline_only == ["wall-undercut"]  # the outline itself is not cut here


def test_an_island_is_a_wall_too() -> None:
    """A cutter that runs into an island of a recess is found, though the recess's own wall is kept."""
    ring = disc(30, 20, 10).difference(disc(30, 20, 4))
    knob = part(disc(30, 20, 19), recess(ring, 6.0))
    for path, found in ((5.5, False), (5.4, True)):
        moves = builder((36, 20, 13))
        moves.line_to((30 + path, 20, 6))
        moves.arc_to((30 + path, 20, 6), (30, 20), math.tau)
        assert ("wall-overcut" in judged(trial(setup(parts=[knob]), moves.motion()))) is found


def test_a_wall_on_the_edge_of_the_sheet_need_not_be_cut() -> None:
    """Where a part ends at the sheet's own edge, nothing is left to cut."""
    bar = part(box(0, 0, 60, 40))
    moves = builder()
    moves.rapid((1, 1, 40))
    assert judged(trial(setup(parts=[bar]), moves.motion())) == []


def test_a_pointed_drill_leaves_a_taper_that_is_a_caution() -> None:
    """A 3 mm drill of 118 degrees that goes 0.2 mm below the bed leaves its lowest 0.9 mm tapered.

    Point height of a drill: D / (2 tan 59 deg), the usual geometry.
    """
    drill = replace(CUTTER, kind="drill", point_deg=118.0)
    bar = part(box(0, 0, 60, 40), hole(disc(30, 20, 1.5)))
    for z, count in ((-0.2, 1), (-1.0, 0)):
        moves = builder((30, 20, 14))
        moves.line_to((30, 20, z))
        findings = wall_findings(trial(setup(parts=[bar], cutters=[drill]), moves.motion()))
        assert len(findings) == count
        assert all("tapered over at most its lowest 0.9 mm" in finding.text for finding in findings)


def test_a_bull_nose_leaves_its_corner_at_the_foot_of_a_wall() -> None:
    """A 3 mm bull nose with a 0.5 mm corner, milling a hole to 0.2 mm below the bed, leaves its foot rounded.

    At the bed the corner is 0.3 mm short of its radius up: it has 0.1 mm of its width still to come, as
    0.5 - sqrt(0.5^2 - 0.3^2) says. At 0.5 mm below the bed the wall is straight all the way.
    """
    bull = replace(CUTTER, kind="bull nose", corner_radius=0.5)
    bar = part(box(0, 0, 60, 40), hole(disc(30, 20, 1.5)))
    for z, count in ((-0.2, 1), (-0.51, 0)):
        moves = builder((30, 20, 14))
        moves.line_to((30, 20, z))
        run = trial(setup(parts=[bar], cutters=[bull]), moves.motion())
        findings = wall_findings(run)
        assert [finding.level for finding in findings] == [Level.CAUTION] * count
        assert all("tapered over at most its lowest 0.5 mm" in finding.text for finding in findings)
        points = wall_points(run.setup)
        inner = points.wall == 1
        short = -reached(points, np.zeros(len(points)), path_pieces(run.motion, [bull], below=12.0)).past[
            inner
        ]
        assert short == pytest.approx(0.1 if count else 0.0, abs=1e-3)


def test_walls_have_points_at_every_corner_and_no_gap_wider_than_promised() -> None:
    """Nothing of a wall longer than a quarter of a millimetre lies between two of its points."""
    points = wall_points(setup(parts=[part(box(10, 10, 30, 20))]))
    ring = shapely.box(10, 10, 30, 20).exterior
    along = np.sort([ring.project(shapely.Point(at)) for at in points.at])
    assert np.diff(np.append(along, ring.length + along[0])).max() <= SPACING + 1e-9
    assert {(10.0, 10.0), (30.0, 10.0), (30.0, 20.0), (10.0, 20.0)} <= {
        tuple(at) for at in points.at.tolist()
    }


# --- against other means


coordinates = st.floats(-4, 4)
heights = st.integers(-100, 300).map(lambda hundredth: hundredth / 100)
levels = st.integers(20, 200).map(lambda hundredth: hundredth / 100 + 0.005)  # never a move's end
cutters = st.sampled_from(
    [
        CUTTER,
        replace(CUTTER, kind="ball"),
        replace(CUTTER, kind="bull nose", corner_radius=0.6),
        replace(CUTTER, kind="vee", point_deg=60.0),
        replace(CUTTER, kind="drill", point_deg=118.0),
    ]
)


@st.composite
def motions(draw: st.DrawFn) -> Motion:
    """A few lines and helices in a corner of 8 x 8 mm."""
    moves = builder((draw(coordinates), draw(coordinates), draw(heights)))
    for _ in range(draw(st.integers(1, 4))):
        if draw(st.booleans()):
            moves.line_to((draw(coordinates), draw(coordinates), draw(heights)))
            continue
        centre = draw(coordinates), draw(coordinates)
        sweep = draw(st.floats(-7, 7))
        arm = moves.at[0] - centre[0], moves.at[1] - centre[1]
        cos, sin = math.cos(sweep), math.sin(sweep)
        end = centre[0] + arm[0] * cos - arm[1] * sin, centre[1] + arm[0] * sin + arm[1] * cos
        moves.arc_to((*end, draw(heights)), centre, sweep)
    return moves.motion()


@settings(max_examples=40, deadline=None)
@given(motions(), cutters, levels)
def test_the_kernel_matches_its_plain_twin(motion: Motion, cutter: Cutter, level: float) -> None:
    """However a cutter moves, what reaches past a point is what a fine walk along the path finds."""
    square: IntendedPart = part(box(-1, -1, 1, 1))
    points = wall_points(setup((9.0, 9.0, 3.0), parts=[square]))
    levels = np.full(len(points), level)
    found = reached(points, levels, path_pieces(motion, [cutter], below=3.0))
    plain = most_past(points.at, level, motion, cutter)
    near = plain > -0.9  # nothing further off is looked for
    assert found.past[near] == pytest.approx(plain[near], abs=0.004)
    assert (found.past[near] >= plain[near] - 1e-3).all()


def test_walls_agree_with_shapely_at_fine_resolution() -> None:
    """The worst overcut is how deep the swept area reaches into the part, as shapely sees it."""
    moves = builder((12, 31, 5))
    for x, y in ((28, 30.7), (40, 24), (41.2, 12)):
        moves.line_to((x, y, 5))
    moves.arc_to((30, 9.2, 5), (34, 16.8), -2.2)
    motion = moves.motion()
    knob = part(disc(30, 20, 10))
    (finding, *_) = [
        one for one in wall_findings(trial(setup(parts=[knob]), motion)) if one.kind == "wall-overcut"
    ]
    start, end, _ = chords(motion, 0.0005)
    path = shapely.MultiLineString([(a[:2], b[:2]) for a, b in zip(start, end, strict=True)])
    wall = knob.outline.exterior.segmentize(0.02)
    deepest = 1.5 - shapely.distance(shapely.points(shapely.get_coordinates(wall)), path).min()
    said = float(finding.text.partition("cuts ")[2].partition(" mm")[0])
    assert said == pytest.approx(deepest, abs=0.006)
