"""Paths: what the cutter sweeps, how deep it bites, which way it goes, and what it leaves standing."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from shapely import Polygon

from proveout.curve import Curve, circle, from_points, moved, polygon
from proveout.cutting.data import CutKind, CuttingData
from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.motion import ARC, LINE, RAPID, Motion, Run, arc_radius, chords, joined, lengths
from proveout.parts.part import Feature, FeatureKind, Part, PlacedPart, lies
from proveout.paths.order import TraceOrder
from proveout.paths.sequence import turns
from proveout.paths.tabs import TabsWanted, programmed_length, tab_count
from proveout.paths.trace import Traced, outline_check, trace
from shapes_to_cut import hexagon, lobed, notched, obround, rectangle

TOP, SAFE, NEAR, THROUGH = 11.9, 37.0, 12.9, -0.3


def cutter(number: int, diameter: float, **changes: object) -> Cutter:
    plain = Cutter(
        number=number,
        name=f"{diameter:g} mm",
        kind="flat",
        diameter=diameter,
        flutes=2,
        flute_length=22.0,
        stick_out=30.0,
        shank_diameter=diameter,
        centre_cutting=True,
        spiral="up",
        carbide=True,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]  # a test names fields that exist


CUTTERS = (cutter(1, 3.0), cutter(2, 6.0), cutter(3, 6.0, kind="drill"))


def data(number: int, kind: CutKind) -> CuttingData:
    diameter = CUTTERS[number - 1].diameter
    return CuttingData(
        cutter=number,
        depth_of_cut=0.6 * diameter if kind != "drill" else 10.0,
        stepover=0.45 * diameter,
        feed=25.0,
        plunge_feed=4.0,
        ramp_deg=3.0,
        speed_rpm=18000.0,
        finish_allowance=0.1,
        finish_feed=25.0,
        finish_depth=CUTTERS[number - 1].flute_length,
        limits=(),
        figures=(),
    )


def feature(
    name: str, kind: FeatureKind, *curves: Curve, floor: float | None = None, cutter: int = 1
) -> Feature:
    return Feature(
        name=name,
        kind=kind,
        intent="",
        curves=curves,
        floor=floor or 0.0,
        through=floor is None,
        tolerance=0.02,
        cutter=cutter,
    )


def part(name: str, outline: Curve, *features: Feature, cutter: int = 1) -> Part:
    return Part(name=name, outline=outline, cutter=cutter, features=features, rotations_deg=(0.0,))


def order(*parts: Part, apart: float = 60.0, **changes: object) -> TraceOrder:
    """The parts in a row, the first about (40, 40)."""
    placed = tuple(
        PlacedPart(name=f"{one.name} {n + 1}", part=one, sheet=1, x=40 + apart * n, y=40.0, turn_deg=0.0)
        for n, one in enumerate(parts)
    )
    plain = TraceOrder(
        placed=placed,
        stock_top=TOP,
        safe_z=SAFE,
        near_z=NEAR,
        through_z=THROUGH,
        cutters=CUTTERS,
        data=data,
        tabs=lambda _: TabsWanted(waist=6.0, height=3.0, spacing=75.0),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]  # a test names fields that exist


KNOB = part(
    "knob",
    lobed(),
    feature("bolt hole", "hole", circle((0, 0), 6.6)),
    feature("head recess", "recess", hexagon(10.1, 1.5, 0.2), floor=7.0),
)
STRAP = part("strap", obround(90, 28), feature("slot", "slot", obround(40, 6.6), cutter=2), cutter=2)


# The pieces of a trace


def runs_by_title(traced: Traced) -> dict[str, tuple[Run, Motion]]:
    """Each named stretch of moves, with the run that it is from."""
    found: dict[str, tuple[Run, Motion]] = {}
    for run in traced.runs:
        ends = [*(section.first for section in run.sections[1:]), len(run.motion)]
        for section, end in zip(run.sections, ends, strict=True):
            assert section.title not in found, "two stretches bear one name"
            found[section.title] = run, rows(run.motion, slice(section.first, end))
    return found


def rows(motion: Motion, which: slice | npt.NDArray[np.bool_]) -> Motion:
    return Motion(
        kind=motion.kind[which],
        start=motion.start[which],
        end=motion.end[which],
        centre=motion.centre[which],
        sweep=motion.sweep[which],
        plane=motion.plane[which],
        feed=motion.feed[which],
        speed_rpm=motion.speed_rpm[which],
        dwell=motion.dwell[which],
        cutter=motion.cutter[which],
        line=motion.line[which],
    )


def swept(motion: Motion, radius: float, below: float) -> shapely.Geometry:
    """What a cutter covers on all its way below a height, from above."""
    pieces = chords(motion, 5e-4)
    deep = (pieces.start[:, 2] <= below) & (pieces.end[:, 2] <= below)
    ways = np.hstack((pieces.start[deep, :2], pieces.end[deep, :2]))
    once = np.unique(ways.round(7), axis=0).reshape(-1, 2, 2)  # turns of a helix lie over one another
    return shapely.union_all(shapely.buffer(shapely.linestrings(once), radius, quad_segs=32))


def bites(motion: Motion, radius: float, top: float = TOP, cell: float = 0.2) -> npt.NDArray[np.float64]:
    """How deep each move cuts into what stands, by stamping the cutter's disc every 0.2 mm, (n,) mm."""
    pieces = chords(motion, 0.005)
    low = np.minimum(pieces.start, pieces.end)[:, :2].min(axis=0) - radius - cell
    high = np.maximum(pieces.start, pieces.end)[:, :2].max(axis=0) + radius + cell
    x, y = (np.arange(low[axis], high[axis] + cell, cell) for axis in (0, 1))
    heights = np.full((len(y), len(x)), top)
    found = np.zeros(len(motion))
    for start, end, parent in zip(*pieces, strict=True):
        for share in np.linspace(0, 1, 1 + max(1, math.ceil(np.hypot(*(end - start)[:2]) / 0.2)))[1:]:
            px, py, pz = start + (end - start) * share
            i, j = (
                np.searchsorted(x, (px - radius, px + radius)),
                np.searchsorted(y, (py - radius, py + radius)),
            )
            window = heights[j[0] : j[1], i[0] : i[1]]
            square = (x[i[0] : i[1]] - px) ** 2 + ((y[j[0] : j[1]] - py) ** 2)[:, None]
            inner = square <= (radius - 0.05) ** 2  # between two stamps, scallops stand at the very rim
            found[parent] = max(found[parent], (np.where(inner, window, pz) - pz).max())
            disc = square <= radius**2
            window[disc] = np.minimum(window[disc], pz)
    return found


# Features


def room_with_neck() -> Curve:
    """Two square rooms of 14 joined by a passage of 6.1: no room there for a 6 mm cutter and an allowance."""
    below = [(-20.0, -7.0), (-6.0, -7.0), (-6.0, -3.05), (6.0, -3.05), (6.0, -7.0), (20.0, -7.0)]
    sharp = from_points([*below, *((-x, -y) for x, y in below)])
    shape = polygon((sharp,)).buffer(-3.02).buffer(3.02, quad_segs=100)  # corners rounder than the cutter
    return from_points([(x, y) for x, y in shape.exterior.coords[:-1]])


FEATURES = {
    "hexagon with reliefs": feature("cut", "recess", hexagon(10.1, 1.5, 0.2), floor=7.0),
    "hexagon with fillets": feature("cut", "recess", hexagon(10.1, 1.5, 0.0), floor=7.0),
    "bored hole": feature("cut", "hole", circle((0, 0), 6.6)),
    "hole barely wider than the cutter": feature("cut", "hole", circle((0, 0), 3.3)),
    "wide hole": feature("cut", "hole", circle((0, 0), 14.0)),
    "blind round hole": feature("cut", "hole", circle((0, 0), 8.0), floor=4.0),
    "slot a little wider than the cutter": feature("cut", "slot", obround(40, 6.6), cutter=2),
    "slot as wide as the cutter": feature("cut", "slot", obround(40, 6.0), cutter=2),
    "tray with islands": feature(
        "cut",
        "recess",
        obround(50, 24),
        circle((-8, 1), 8),
        moved(obround(12, 5), x=11, turn_deg=50),
        floor=6.0,
    ),
    "two rooms and a passage": feature("cut", "recess", room_with_neck(), floor=6.0, cutter=2),
}


@cache
def traced_feature(name: str) -> Traced:
    outline = moved(rectangle(70, 40), x=-35, y=-20)
    return trace(order(part("plate", outline, FEATURES[name])))


def feature_motion(name: str, *, finishing: bool = True) -> tuple[Motion, float, Polygon, float]:
    """The moves of one feature's cut, the cutter's radius, the region where it lies, and its floor."""
    found = {title: one for title, one in runs_by_title(traced_feature(name)).items() if "cut" in title}
    radius = CUTTERS[FEATURES[name].cutter - 1].radius
    keep = [motion for title, (_, motion) in found.items() if finishing or "finishing" not in title]
    placed = lies(order(part("plate", rectangle(1, 1), FEATURES[name])).placed[0])
    region = polygon(placed.features[0].curves, 1e-4)
    floor = THROUGH if FEATURES[name].through else FEATURES[name].floor
    return joined(keep), radius, region, floor


@pytest.mark.parametrize("name", FEATURES)
def test_a_feature_is_cleared_to_its_walls_and_no_further(name: str) -> None:
    """At the floor nothing is left standing by more than 5 um, and no wall is passed by more than 5 um."""
    motion, radius, region, floor = feature_motion(name)
    assert traced_feature(name).findings == ()
    assert swept(motion, radius, TOP).difference(region.buffer(0.0052, quad_segs=64)).is_empty
    assert region.buffer(-0.005).difference(swept(motion, radius, floor + 1e-6)).is_empty


@pytest.mark.parametrize("name", FEATURES)
def test_no_pass_bites_deeper_than_the_depth_of_cut(name: str) -> None:
    """Every clearing move meets at most one depth of cut; finishing passes, which are thin, are not asked."""
    motion, radius, _, _ = feature_motion(name, finishing=False)
    allowed = 0.6 * 2 * radius
    worst = bites(motion, radius).max()
    assert 0.01 < worst < allowed + 0.02  # the stamps are 0.2 mm apart on a 3 degree ramp: 0.01


@pytest.mark.parametrize("name", FEATURES)
def test_the_finishing_pass_takes_only_a_thin_shaving(name: str) -> None:
    """What clearing leaves at the walls is a skin near the allowance of 0.1 mm, not a slot at full depth."""
    motion, radius, region, floor = feature_motion(name, finishing=False)
    left = region.difference(swept(motion, radius, floor + 1e-6))
    thick = 0.25 * radius  # a corner relief is deeper than the skin, but a corner it is
    assert left.buffer(-thick / 2).is_empty


@pytest.mark.parametrize("name", FEATURES)
def test_descents_are_no_steeper_than_the_ramp(name: str) -> None:
    """The cutter goes into material at 3 degrees at most; straight down only where nothing is left."""
    motion, radius, _, _ = feature_motion(name)
    drop = motion.start[:, 2] - motion.end[:, 2]
    run = np.sqrt(np.maximum(lengths(motion) ** 2 - drop**2, 0))
    straight = (run < 1e-9) & (drop > 1e-9) & (motion.kind != RAPID)
    assert bites(motion, radius)[straight].max(initial=0.0) < 1e-6
    sloped = (run > 1e-9) & (motion.kind != RAPID)
    assert (drop[sloped] <= run[sloped] * math.tan(math.radians(3.0)) * (1 + 1e-6) + 1e-9).all()


def test_a_bored_hole_has_the_volume_of_the_closed_form() -> None:
    """Centre circle 2.5, cutter radius 3, depth 12: pi (R + r)^2 d = 1140 mm3. (Derived.)"""
    hole = feature("bore", "hole", circle((0, 0), 11.0), cutter=2)
    traced = trace(order(part("plate", rectangle(60, 40), hole), stock_top=12.0, through_z=0.0))
    cuts = [motion for title, (_, motion) in runs_by_title(traced).items() if "bore" in title]
    area = swept(joined(cuts), 3.0, 1e-6).area
    assert area * 12.0 == pytest.approx(1140.4, abs=0.3)


def test_a_helix_is_true_arcs() -> None:
    """A bored hole is arcs with a change of height, their ends equally far from the centre."""
    motion, _, _, _ = feature_motion("bored hole")
    arcs = motion.kind == ARC
    assert arcs.sum() > 40
    ends = np.hypot(*(motion.end - motion.centre)[arcs, :2].T)
    assert np.abs(ends - arc_radius(motion)[arcs]).max() < 1e-6
    assert (motion.end[arcs, 2] < motion.start[arcs, 2] - 1e-6).sum() > 30


def test_a_hole_of_the_cutters_own_width_is_drilled_with_pecks_where_it_is_deep() -> None:
    """A 3 mm hole, 12.2 mm deep, is drilled; chips are cleared before three diameters."""
    hole = feature("pilot", "hole", circle((0, 0), 3.01))
    _, motion = runs_by_title(trace(order(part("plate", rectangle(60, 40), hole))))["plate 1: pilot"]
    assert np.ptp(motion.end[1:-1, :2], axis=0).max() < 1e-9
    assert motion.end[:, 2].min() == pytest.approx(THROUGH)
    down = motion.kind == LINE
    assert (motion.end[motion.kind == RAPID, 2] >= NEAR).all()
    assert bites(motion, 1.5)[down].max() <= 3 * 3.0 + 1e-6


def test_a_hole_hardly_wider_than_the_cutter_is_drilled_and_turned_out() -> None:
    """A 3.06 mm hole with a 3 mm cutter takes pecks and one turn, not a thousand turns of a helix."""
    hole = feature("pilot", "hole", circle((0, 0), 3.06))
    _, motion = runs_by_title(trace(order(part("plate", rectangle(60, 40), hole))))["plate 1: pilot"]
    assert len(motion) < 40
    assert swept(motion, 1.5, THROUGH + 1e-6).area == pytest.approx(math.pi * 1.53**2, abs=0.01)
    assert bites(motion, 1.5).max() <= 0.6 * 3.0 + 1e-6


def test_a_cutter_without_a_cutting_centre_does_not_drill() -> None:
    """A hole of the cutter's own width needs a cutter that cuts at its centre."""
    tools = (cutter(1, 3.0, centre_cutting=False), *CUTTERS[1:])
    hole = feature("pilot", "hole", circle((9, 9), 3.0))
    finding = only(trace(order(part("plate", rectangle(60, 40), hole), cutters=tools)).findings)
    assert finding.level is Level.STOP and finding.kind == "no-cutter"
    assert "does not cut at its centre" in finding.text


def test_a_hole_in_a_recess_starts_from_the_recess_floor() -> None:
    """A bolt hole under a head recess is cut after it, and wastes no turns in the air above its floor."""
    traced = trace(order(KNOB))
    titles = list(runs_by_title(traced))
    assert titles.index("knob 1: head recess") < titles.index("knob 1: bolt hole")
    _, hole = runs_by_title(traced)["knob 1: bolt hole"]
    arcs = hole.kind == ARC
    assert hole.start[arcs, 2].max() <= 7.0 + 0.5


# Outlines


def outline_motion(traced: Traced, name: str) -> Motion:
    return runs_by_title(traced)[f"{name}: outline"][1]


OUTLINES = {
    "knob": (lobed(), 1),
    "strap": (obround(90, 28), 2),
    "notched plate": (moved(notched(3.5), x=-40, y=-30), 2),
    "block": (moved(rectangle(60, 32), x=-30, y=-16), 2),
}


@pytest.mark.parametrize("name", OUTLINES)
def test_an_outline_leaves_the_part_its_exact_shape(name: str) -> None:
    """The cutter never enters the part by 5 um, and frees it everywhere at the top."""
    curve, number = OUTLINES[name]
    traced = trace(order(part("part", curve, cutter=number)))
    assert traced.findings == ()
    shape = polygon((moved(curve, x=40, y=40),), 1e-4)
    radius = CUTTERS[number - 1].radius
    kerf = swept(outline_motion(traced, "part 1"), radius, TOP)
    assert kerf.intersection(shape.buffer(-0.005)).is_empty
    assert shape.buffer(2 * radius - 0.01).difference(kerf).difference(shape.buffer(0.005)).is_empty


@pytest.mark.parametrize("name", OUTLINES)
def test_tabs_are_as_wide_as_stated_and_the_rest_is_cut_through(name: str) -> None:
    """Below the tabs' height the kerf is open right through but for bridges of the stated waist."""
    curve, number = OUTLINES[name]
    traced = trace(order(part("part", curve, cutter=number)))
    radius = CUTTERS[number - 1].radius
    path = polygon((moved(curve, x=40, y=40),), 1e-4).buffer(radius, quad_segs=200).exterior
    for below in (THROUGH + 1e-6, 3.0 - 1e-6):
        cut = swept(outline_motion(traced, "part 1"), radius, below)
        bridges = [
            one for one in shapely.get_parts(shapely.line_merge(path.difference(cut))) if one.length > 0.1
        ]
        assert len(bridges) == len(traced.tabs) >= 3
        assert [one.length for one in bridges] == pytest.approx([6.0] * len(bridges), abs=0.02)
    for tab in traced.tabs:
        assert shapely.Point(tab.at).distance(polygon((moved(curve, x=40, y=40),)).exterior) < 0.002
        assert min(one.distance(shapely.Point(tab.at)) for one in bridges) == pytest.approx(radius, abs=0.01)
    over = swept(outline_motion(traced, "part 1"), radius, 3.0 + 1e-6)
    assert path.difference(over).length < 0.1  # at the tabs' height the cutter has been everywhere


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("centre_cutting", [True, False])
def test_outline_passes_keep_to_depth_ramp_and_cutter(name: str, centre_cutting: bool) -> None:
    """Passes bite no deeper than allowed; a cutter without a cutting centre never goes straight into wood."""
    curve, number = OUTLINES[name]
    tools = tuple(replace(one, centre_cutting=centre_cutting) for one in CUTTERS)
    traced = trace(order(part("part", curve, cutter=number), cutters=tools))
    motion, radius = outline_motion(traced, "part 1"), CUTTERS[number - 1].radius
    bite = bites(motion, radius, cell=0.3)
    assert bite.max() < 0.6 * 2 * radius + 0.03
    drop = motion.start[:, 2] - motion.end[:, 2]
    run = np.sqrt(np.maximum(lengths(motion) ** 2 - drop**2, 0))
    straight = (run < 1e-9) & (drop > 1e-9) & (motion.kind != RAPID)
    if not centre_cutting:
        assert bite[straight].max(initial=0.0) < 1e-6
    fed = (run > 1e-9) & (motion.kind != RAPID)
    assert (drop[fed] <= run[fed] * math.tan(math.radians(3.0)) * (1 + 1e-6) + 1e-6).all()


def turning(motion: Motion, about: tuple[float, float]) -> float:
    """Twice the signed area that the way sweeps about a point: positive anticlockwise."""
    pieces = chords(motion, 0.01)
    arm = pieces.start[:, :2] - np.array(about)
    way = (pieces.end - pieces.start)[:, :2]
    return float((arm[:, 0] * way[:, 1] - arm[:, 1] * way[:, 0]).sum())


def test_cuts_climb() -> None:
    """A spindle that turns clockwise from above climbs clockwise round a part, anticlockwise in a recess.

    The wall is then on the right of the travel, where the teeth run against the travel. (Common knowledge.)
    """
    titles = runs_by_title(trace(order(KNOB)))
    assert turning(titles["knob 1: outline"][1], (40, 40)) < 0
    assert turning(titles["knob 1: head recess, finishing"][1], (40, 40)) > 0
    assert turning(titles["knob 1: bolt hole, finishing"][1], (40, 40)) > 0
    motion, _, _, _ = feature_motion("tray with islands")
    near = np.hypot(*(motion.centre[:, :2] - np.array((32.0, 41.0))).T) < 1e-6
    tight = near & (motion.kind == ARC) & (np.abs(arc_radius(motion) - 5.5) < 1e-6)
    assert tight.any() and (motion.sweep[tight] < 0).all()


def test_a_plate_of_80_by_60_gets_the_worked_examples_tabs() -> None:
    """Perimeter 280, spacing 75: 4 tabs; a waist of 6 with a 6 mm cutter takes 12 mm. (Derived.)"""
    assert tab_count(280.0, 75.0) == 4
    assert programmed_length(6.0, 6.0) == 12.0
    traced = trace(order(part("plate", rectangle(80, 60), cutter=2)))
    assert len(traced.tabs) == 4
    motion = outline_motion(traced, "plate 1")
    up = (np.abs(motion.start[:, 2] - 3.0) < 1e-9) & (np.abs(motion.end[:, 2] - 3.0) < 1e-9)
    begins = np.flatnonzero(up & ~np.append(False, up[:-1]))
    raised = np.add.reduceat(np.append(np.where(up, lengths(motion), 0.0), 0.0), begins)
    assert (np.abs(raised - 12.0) < 1e-6).sum() >= 4
    assert raised.max() < 12.0 + 1e-6


def test_a_tab_without_a_waist_is_an_error() -> None:
    """A programmed length of one diameter leaves nothing, so a waist of zero is refused."""
    with pytest.raises(ValueError, match="leaves nothing to hold the part"):
        programmed_length(0.0, 6.0)


def test_tabs_stay_out_of_a_knobs_hollows() -> None:
    """A tab in a scallop can't be sanded with a flat block: tabs sit on the lobes."""
    traced = trace(order(KNOB))
    assert len(traced.tabs) == 3
    for tab in traced.tabs:
        assert math.dist(tab.at, (40, 40)) > 21.8  # lobes reach to 22, hollows to 16


def test_tabs_look_for_waste_that_holds() -> None:
    """Between two parts whose cuts nearly meet there is nothing to hold on to: the tabs go elsewhere."""
    block = part("block", moved(rectangle(60, 40), x=-30, y=-20), cutter=2)
    traced = trace(order(block, block, apart=60 + 2 * 6.0 + 0.5))
    facing = [tab for tab in traced.tabs if 69.9 < tab.at[0] < 82.6]
    assert facing == []
    assert traced.findings == ()


# The whole sheet


def sheet(**changes: object) -> TraceOrder:
    block = part(
        "block",
        moved(rectangle(50, 36), x=-25, y=-18),
        feature("dowel", "hole", circle((-12, 0), 6.0), cutter=3),
        feature("window", "hole", circle((8, 0), 14.0)),
        cutter=2,
    )
    return order(KNOB, STRAP, KNOB, block, apart=110.0, **changes)


def test_rapids_never_enter_the_stock_and_cross_only_at_the_safe_height() -> None:
    """A rapid goes straight up, across at the safe height, or down to the plane above the stock."""
    for run in trace(sheet()).runs:
        motion = run.motion
        rapid = motion.kind == RAPID
        across = rapid & (np.hypot(*(motion.end - motion.start)[:, :2].T) > 1e-9)
        assert (motion.start[across, 2] == SAFE).all() and (motion.end[across, 2] == SAFE).all()
        down = rapid & (motion.end[:, 2] < motion.start[:, 2])
        assert (motion.end[down, 2] >= NEAR).all()
        assert (motion.feed[rapid] == 0).all() and (motion.feed[~rapid] > 0).all()
        assert motion.start[0, 2] == motion.end[-1, 2] == SAFE


def test_moves_follow_one_another_without_gaps() -> None:
    """Each move starts where the one before ended, through all links and all parts."""
    for run in trace(sheet()).runs:
        assert np.abs(run.motion.start[1:] - run.motion.end[:-1]).max() < 1e-6
        assert (run.motion.cutter == run.cutter).all()


def test_nothing_goes_below_the_through_cuts() -> None:
    """The lowest point of any program is the stated allowance below the bed, and through cuts get there."""
    traced = trace(sheet())
    assert min(run.motion.end[:, 2].min() for run in traced.runs) == pytest.approx(THROUGH)
    for title, (_, motion) in runs_by_title(traced).items():
        if "recess" not in title:
            assert motion.end[:, 2].min() == pytest.approx(THROUGH), title


def test_vertical_speed_stays_within_the_plunge_feed() -> None:
    """On ramps and helices too, the cutter goes down no faster than its plunge feed."""
    steep = trace(sheet(data=lambda number, kind: replace(data(number, kind), ramp_deg=20.0)))
    for run in steep.runs:
        motion = run.motion
        long = lengths(motion) > 1e-9
        vertical = motion.feed[long] * np.abs(motion.end - motion.start)[long, 2] / lengths(motion)[long]
        assert vertical.max() == pytest.approx(4.0)


def test_every_part_is_cut_inside_before_outside() -> None:
    """No feature of a part is cut after the part's outline has been."""
    titles = list(runs_by_title(trace(sheet())))
    for name in ("knob 1", "strap 2", "knob 3", "block 4"):
        outline = titles.index(f"{name}: outline")
        assert all(titles.index(title) <= outline for title in titles if title.startswith(name))


def test_a_cutter_comes_once_unless_two_wait_for_one_another() -> None:
    """Drill, then the thin cutter, then the outlines' own; a second round only where it must be."""
    one = part("one", rectangle(9, 9), feature("a", "hole", circle((0, 0), 6.0), cutter=3), cutter=1)
    two = part("two", rectangle(9, 9), feature("b", "recess", rectangle(4, 4), floor=1.0, cutter=1), cutter=2)
    assert [turn.cutter for turn in turns([one, two])] == [3, 1, 2]
    back = part("three", rectangle(9, 9), feature("c", "slot", obround(8, 6), cutter=2), cutter=1)
    round_trip = turns([two, back])
    assert [turn.cutter for turn in round_trip] == [1, 2, 1]
    assert [turn.outlines for turn in round_trip] == [False, True, True]


def test_a_turned_part_gets_the_turned_path() -> None:
    """A part laid at 90 degrees is cut by the same moves, turned: no rounding creeps in."""
    lying = order(KNOB, tabs=lambda _: None)
    stood = replace(lying, placed=(replace(lying.placed[0], turn_deg=90.0, x=-40.0 + 80, y=40.0),))
    _, one = runs_by_title(trace(lying))["knob 1: head recess"]
    _, other = runs_by_title(trace(stood))["knob 1: head recess"]
    centre = np.array((40.0, 40.0))
    arm = one.end[1:, :2] - centre
    assert np.abs(np.column_stack((-arm[:, 1], arm[:, 0])) + centre - other.end[1:, :2]).max() < 1e-9


def test_the_same_order_gives_the_same_moves() -> None:
    """Tracing twice gives the same numbers to the last bit."""
    for one, other in zip(trace(sheet()).runs, trace(sheet()).runs, strict=True):
        assert one.motion.end.tobytes() == other.motion.end.tobytes()
        assert one.sections == other.sections


def test_the_outline_check_goes_round_with_the_spindle_off() -> None:
    """Sheet and cutting are traced above the clamps, slowly, with the spindle standing still."""
    run = outline_check(sheet(), (400.0, 120.0), 30.0)
    assert run.cutter == 0
    assert (run.motion.speed_rpm == 0).all() and (run.motion.end[:, 2] == 30.0).all()
    corners = {(x, y) for x, y, _ in run.motion.end.tolist()}
    assert {(0.0, 0.0), (400.0, 0.0), (400.0, 120.0), (0.0, 120.0)} <= corners
    assert (run.motion.feed[run.motion.kind == LINE] <= 25.0).all()


# What a person hears of


def only(findings: Sequence[Finding]) -> Finding:
    (finding,) = findings
    return finding


def test_a_recess_with_sharp_corners_is_reported() -> None:
    """A round cutter can't make a sharp inside corner, and says so instead of leaving it."""
    sharp = part(
        "box", rectangle(60, 40), feature("tray", "recess", moved(rectangle(20, 20), x=9, y=9), floor=5.0)
    )
    finding = only(trace(order(sharp)).findings)
    assert finding.level is Level.STOP and finding.kind == "material-left"
    assert finding.text.startswith("box: tray: cutter 1 (3 mm) can't reach 4 places")


def test_a_slot_narrower_than_the_cutter_is_reported() -> None:
    """A 6 mm cutter does not fit into a slot of 5.5 mm."""
    narrow = part("bar", rectangle(60, 40), feature("slot", "slot", obround(30, 5.5), cutter=2), cutter=2)
    finding = only(trace(order(narrow)).findings)
    assert finding.level is Level.STOP and finding.kind == "no-cutter"
    assert finding.text == "bar: slot: cutter 2 (6 mm) does not fit in."


def test_a_hollow_tighter_than_the_cutter_is_reported() -> None:
    """A 6 mm cutter can't follow the sharp inside corners of a 10 mm notch, or enter one of 5 mm."""
    slit = from_points([(0, 0), (60, 0), (60, 40), (32.5, 40), (32.5, 20), (27.5, 20), (27.5, 40), (0, 40)])
    finding = only(trace(order(part("comb", slit, cutter=2))).findings)
    assert finding.level is Level.STOP
    assert finding.text == "comb: outline: cutter 2 (6 mm) can't get into 1 hollow of the outline."


def test_a_drills_point_that_may_not_leave_the_board_is_reported() -> None:
    """A 118 degree point on a 6 mm drill is 1.8 mm long: 0.3 mm below the board the hole isn't open yet."""
    pointed = (*CUTTERS[:2], cutter(3, 6.0, kind="drill", point_deg=118.0))
    hole = feature("dowel", "hole", circle((30, 20), 6.0), cutter=3)
    finding = only(trace(order(part("block", rectangle(60, 40), hole, cutter=2), cutters=pointed)).findings)
    assert finding.level is Level.STOP and finding.kind == "material-left"
    assert "the drill's point is 1.8 mm long, but may go only 0.3 mm below the board" in finding.text
    deeper = order(part("block", rectangle(60, 40), hole, cutter=2), cutters=pointed, deepest_z=-3.0)
    assert trace(deeper).findings == ()
    assert min(run.motion.end[:, 2].min() for run in trace(deeper).runs) == pytest.approx(
        -0.3 - 1.803, abs=1e-3
    )


def test_an_outline_without_tabs_is_reported() -> None:
    """A part that nothing holds in the sheet is a caution, and is still cut."""
    traced = trace(order(KNOB, tabs=lambda _: None))
    finding = only(traced.findings)
    assert finding.level is Level.CAUTION and finding.kind == "piece-loose"
    assert traced.tabs == ()


def test_a_cutter_that_is_not_there_is_reported_and_the_rest_is_cut() -> None:
    """A part that names cutter 9 stops the job, but the other parts are planned all the same."""
    traced = trace(order(part("odd", rectangle(30, 30), cutter=9), KNOB))
    assert only(traced.findings).text == "odd: outline: there is no cutter number 9."
    assert "knob 2: outline" in runs_by_title(traced)
