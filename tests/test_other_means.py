"""Other means of holding than straps, against linear programmes, closed forms and rows worked by hand."""

import json
from collections.abc import Sequence
from dataclasses import replace
from math import cos, pi, sin
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from shapely import Polygon, box

import test_proof_bridges as bridges
from fit_bench import a_job
from proof_bench import disc, part
from proveout.cli import main
from proveout.finding import Finding, InputErrors, Level
from proveout.hold.grips import grip_figures
from proveout.hold.means_findings import means_findings
from proveout.hold.others import all_contacts, others_of
from proveout.hold.slip import Contacts, Stops, push_force, slip_force, slip_map
from proveout.hold.stops import placed_stops, stop_figures
from proveout.hold.thin import (
    Stretch,
    free_end,
    give,
    lift_findings,
    lift_of,
    middle_of_span,
    moduli,
    stretches,
)
from proveout.holding import holding
from proveout.job.read import read_job
from proveout.job.read_setup import read_setup
from proveout.job.records import DowelAt, Job, OtherMeans, ScrewAt, StopAt, TapeAt, Towards, VacuumAt
from proveout.job.starter import write_starter
from proveout.plan import make
from proveout.program.text import Program
from proveout.proof.grouped import flat
from proveout.proof.prove import prove
from proveout.setup import Grip, GripKind, Obstacle, PlacedStop
from proveout.shelf.tables import material

EXAMPLES = Path(__file__).parents[1] / "examples"

SIDES = 32  # of the polygon around a circle of friction
WAYS = 36  # of the push, all round


def held(
    points: Sequence[tuple[float, float, float]], stops: Sequence[tuple[float, float, int, float]] = ()
) -> Contacts:
    """Contacts of (x, y, friction) and stops of (x, y, quarter turns of the way they push, strength)."""
    table = np.array(list(points)).reshape(-1, 3)
    rows = np.array(list(stops)).reshape(-1, 4)
    turn = rows[:, 2] * pi / 2
    return Contacts(
        at=table[:, :2],
        friction=table[:, 2],
        pressed=1000.0,
        stops=Stops(at=rows[:, :2], normal=np.column_stack((np.cos(turn), np.sin(turn))), stands=rows[:, 3]),
    )


def by_programme(one: Contacts, point: tuple[float, float], angle: float) -> float:
    """The greatest push in one direction that statics balances: friction in polygons, stops from 0 up."""
    count, stops, way = len(one), len(one.stops), (cos(angle), sin(angle))
    sides = np.arange(SIDES) * 2 * pi / SIDES
    wide = 2 * count + stops + 1
    limits = np.zeros((count * SIDES, wide))
    for number in range(count):
        limits[number * SIDES : (number + 1) * SIDES, 2 * number] = np.cos(sides)
        limits[number * SIDES : (number + 1) * SIDES, 2 * number + 1] = np.sin(sides)
    balance = np.zeros((3, wide))
    balance[0, 0 : 2 * count : 2], balance[1, 1 : 2 * count : 2] = 1.0, 1.0
    balance[2, 0 : 2 * count : 2], balance[2, 1 : 2 * count : 2] = -one.at[:, 1], one.at[:, 0]
    at, normal = one.stops.at, one.stops.normal
    balance[:2, 2 * count : -1] = normal.T
    balance[2, 2 * count : -1] = at[:, 0] * normal[:, 1] - at[:, 1] * normal[:, 0]
    balance[:, -1] = *way, point[0] * way[1] - point[1] * way[0]
    found = linprog(
        np.append(np.zeros(wide - 1), -1.0),
        A_ub=limits if count else None,
        b_ub=np.repeat(one.friction, SIDES) if count else None,
        A_eq=balance,
        b_eq=np.zeros(3),
        bounds=[
            *[(None, None)] * (2 * count),
            *[(0.0, float(stands)) for stands in one.stops.stands],
            (0.0, None),
        ],
    )
    assert found.success
    return float(-found.fun)


along = st.integers(0, 300).map(float)
contact = st.tuples(along, along, st.floats(5, 200))
strength = st.sampled_from([50.0, 800.0, 20000.0])
edge_stop = st.one_of(
    st.tuples(st.just(0.0), along, st.just(0), strength),
    st.tuples(st.just(300.0), along, st.just(2), strength),
    st.tuples(along, st.just(0.0), st.just(1), strength),
    st.tuples(along, st.just(300.0), st.just(3), strength),
)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(contact, min_size=1, max_size=5),
    st.lists(edge_stop, min_size=1, max_size=5),
    st.tuples(along, along),
    st.integers(0, WAYS - 1),
)
def test_clamps_and_stops_stand_in_each_direction_what_statics_balances(
    points: list[tuple[float, float, float]],
    stops: list[tuple[float, float, int, float]],
    place: tuple[float, float],
    way: int,
) -> None:
    """The kinematic way with stops agrees with a linear programme of pushes and friction (scipy)."""
    one, angle = held(points, stops), way * 2 * pi / WAYS
    stands = float(push_force(one, np.array([place]), (cos(angle), sin(angle)))[0])
    right = by_programme(one, place, angle)
    slack = 1e-3 * float(one.friction.sum())
    assert stands >= right * cos(pi / SIDES) - slack
    assert stands <= right * 1.03 + slack


@settings(max_examples=12, deadline=None)
@given(
    st.lists(contact, min_size=2, max_size=5),
    st.lists(edge_stop, min_size=1, max_size=4),
    st.tuples(along, along),
)
def test_the_least_over_all_directions_is_the_least_that_any_direction_is_stood(
    points: list[tuple[float, float, float]],
    stops: list[tuple[float, float, int, float]],
    place: tuple[float, float],
) -> None:
    """What the margins count with is no more than a linear programme finds in any of 36 directions."""
    one = held(points, stops)
    each = [by_programme(one, place, number * 2 * pi / WAYS) for number in range(WAYS)]
    stands = float(slip_force(one, np.array([place]))[0])
    slack = 1e-3 * float(one.friction.sum())
    assert stands <= min(each) * 1.03 + slack
    assert stands >= min(each) * 0.85 - slack  # the true least lies between the directions tried


@settings(max_examples=40, deadline=None)
@given(
    st.lists(contact, min_size=2, max_size=5),
    st.lists(edge_stop, min_size=1, max_size=4),
    st.lists(st.tuples(along, along), min_size=4, max_size=10),
)
def test_a_stop_never_weakens_a_hold_and_a_map_never_promises_more(
    points: list[tuple[float, float, float]],
    stops: list[tuple[float, float, int, float]],
    places: list[tuple[float, float]],
) -> None:
    """Adding stops adds to what every point stands, or nothing; reading between nodes stays below it."""
    bare, more, where = held(points), held(points, stops), np.array(places)
    with_stops = slip_force(more, where)
    assert (with_stops >= slip_force(bare, where) * 0.98 - 1e-6).all()
    assert (slip_map(more, (300.0, 300.0)).at(where) <= with_stops * 1.02 + 1e-6).all()


def test_a_stop_stands_the_push_towards_it_and_nothing_of_the_push_away() -> None:
    """Two clamps of 100 N in line with a stop of 5000 N: 5200 N towards it, 200 N away (statics)."""
    one = held([(100, 50, 100), (200, 50, 100)], [(0, 50, 0, 5000)])
    middle = np.array([(150.0, 50.0)])
    assert push_force(one, middle, (-1.0, 0.0))[0] == pytest.approx(5200, rel=1e-3)
    assert push_force(one, middle, (1.0, 0.0))[0] == pytest.approx(200, rel=1e-3)
    assert slip_force(one, middle)[0] == pytest.approx(200, rel=1e-3)


def test_four_stops_that_close_a_blank_in_need_no_friction() -> None:
    """A pinwheel of stops holds a frictionless blank by their strength; with the pairs opposite it turns."""
    pinwheel = [(0, 50, 0, 1000.0), (300, 250, 2, 1000.0), (50, 0, 1, 1000.0), (250, 300, 3, 1000.0)]
    opposite = [(0, 150, 0, 1000.0), (300, 150, 2, 1000.0), (150, 0, 1, 1000.0), (150, 300, 3, 1000.0)]
    place = (100.0, 120.0)
    closed = float(slip_force(held([], pinwheel), np.array([place]))[0])
    least = min(by_programme(held([], pinwheel), place, one * 2 * pi / WAYS) for one in range(WAYS))
    assert closed > 100
    assert least * 0.85 <= closed <= least * 1.03
    assert float(slip_force(held([], opposite), np.array([place]))[0]) == pytest.approx(0, abs=1e-6)


# What each means stands, worked by hand


def means_job(**means: object) -> Job:
    """A job of 340 by 240 mm birch plywood, 11.7 mm at its thinnest, 11.9 at its thickest, without clamps."""
    return replace(a_job(), clamps=(), means=OtherMeans(**means))  # type: ignore[arg-type]  # tables of a test


def low(job: Job, name: str) -> float:
    """The low end of what one of them stands."""
    figures = (*grip_figures(job), *stop_figures(job))
    (found,) = [one for one in figures if one.name == f"hold.{name}"]
    assert found.low is not None and found.low <= found.value <= (found.high or found.value)
    return found.low


DENTS = material("birch plywood").crush_low


def test_a_pin_stands_what_dents_its_hole() -> None:
    """A 6 mm pin in 11.7 mm: 70.2 mm2 of bearing (statics), whichever way it is pushed."""
    job = means_job(dowels=(DowelAt(at=(30.0, 30.0), diameter=6.0, height=None),))
    assert low(job, "dowel 1.shear") == pytest.approx(DENTS * 70.2)
    one = all_contacts(job)
    for angle in (0.0, 1.0, 2.5):
        at_pin = push_force(one, np.array([(30.0, 30.0)]), (cos(angle), sin(angle)))
        assert at_pin[0] == pytest.approx(DENTS * 70.2, rel=1e-2)
    assert "blank-not-held" in {one.kind for one in holding(job).findings}, "a pin keeps nothing down"


def test_a_wood_screw_stands_the_allowable_load_of_the_weakest_woods() -> None:
    """A number 8 screw, .164 in: 2520 psi x .164^2 = 67.8 lbf sideways; 2850 x .41^2 x .164 lbf an inch up.

    Source: allowable loads of wood screws in a handbook of civil engineering formulas (read)
    """
    number_8 = 0.164 * 25.4
    screw = ScrewAt(
        at=(20.0, 20.0), diameter=number_8, length=50.0, head_diameter=2 * number_8, head_height=3.0
    )
    thick = replace(means_job(screws=(screw,)).stock, readings=(20.0,))
    job = replace(means_job(screws=(screw,)), stock=thick)
    assert low(job, "screw 1.shear") == pytest.approx(2520 * 0.164**2 * 4.448, rel=2e-3)
    by_thread = 2850 * 0.41**2 * 0.164 * 4.448 * (30 / 25.4)
    by_head = DENTS * pi / 4 * 3 * number_8**2
    assert low(job, "screw 1.pull") == pytest.approx(min(by_thread, by_head), rel=2e-3)
    short = replace(job, means=OtherMeans(screws=(replace(screw, length=20 + 3.9 * number_8),)))
    assert low(short, "screw 1.shear") == 0
    assert "counts not at all" in " ".join(one.text for one in means_findings(short))


def test_a_vacuum_presses_with_its_pressure_times_its_area() -> None:
    """0.5 bar on 200 by 100 mm is 1000 N; four fifths of what the gauge shows count, 0.2 bar if none does."""
    read = VacuumAt(at=(20.0, 20.0), size=(200.0, 100.0), pressure=0.05)
    assert low(means_job(vacuum=read), "vacuum.force") == pytest.approx(800)
    assert low(means_job(vacuum=replace(read, pressure=None)), "vacuum.force") == pytest.approx(400)
    one = all_contacts(means_job(vacuum=read))
    assert one.friction.sum() == pytest.approx(0.25 * 800)
    assert one.lost == pytest.approx(0.25)
    kinds = {one.text.split()[0] for one in means_findings(means_job(vacuum=replace(read, pressure=None)))}
    assert {"How", "The", "A"} <= kinds


def test_tape_stands_by_its_area_and_is_peeled_off_by_its_edge() -> None:
    """A wide piece: 0.03 N/mm2 sideways, and no more than 0.2 N for each mm of its edge straight up."""
    job = means_job(tape=(TapeAt(at=(10.0, 10.0), size=(200.0, 100.0)),))
    assert low(job, "tape 1.shear") == pytest.approx(0.03 * 20_000)
    assert low(job, "tape 1.pull") == pytest.approx(min(0.015 * 20_000, 0.2 * 600))
    one = all_contacts(job)
    assert one.lost == 0, "tape needs no pressing"
    whole = slip_force(one, np.array([(110.0, 60.0)]))[0]
    assert whole == pytest.approx(600, rel=1e-3)


def test_a_large_area_that_holds_stands_less_of_a_turn_than_its_four_quarters_would() -> None:
    """A square of tape turns about its middle against 0.3826 a of its force (closed form, the mean distance).

    The mean distance of a square's points from its middle is a (sqrt 2 + ln(1 + sqrt 2)) / 6.
    """
    job = means_job(tape=(TapeAt(at=(0.0, 0.0), size=(200.0, 200.0)),))
    one = all_contacts(job)
    arm = np.hypot(*(one.at - 100.0).T) @ one.friction / one.friction.sum()
    exact = 200 * (2**0.5 + np.log(1 + 2**0.5)) / 6
    assert 0.93 * exact < arm < exact


def test_a_stop_stands_its_edge_s_bearing_or_what_it_is_said_to_stand() -> None:
    """20 mm wide on 11.7 mm: 234 mm2 of edge; a stop that shifts at 150 N counts 150 N."""
    stop = StopAt(at=(0.0, 60.0), side="left", width=20.0, depth=20.0, height=None, stands=None)
    assert low(means_job(stops=(stop,)), "stop 1.stands") == pytest.approx(DENTS * 234)
    assert low(means_job(stops=(replace(stop, stands=150.0),)), "stop 1.stands") == 150
    (block,) = placed_stops(means_job(stops=(stop,)))
    assert block.solid.footprint.bounds == (-20.0, 50.0, 0.0, 70.0)
    assert block.solid.top == pytest.approx(11.7)


@pytest.mark.parametrize("side", ["left", "right", "front", "back"])
def test_a_stop_stands_beside_the_sheet_and_pushes_into_it(side: Towards) -> None:
    """Its block touches the edge from outside, and a push at it from the sheet is stood by all of it."""
    job = means_job()
    wide, deep = job.stock.size
    at = {"left": (0.0, 100.0), "right": (wide, 100.0), "front": (100.0, 0.0), "back": (100.0, deep)}[side]
    stop = StopAt(at=at, side=side, width=20.0, depth=15.0, height=8.0, stands=400.0)
    (placed,) = placed_stops(means_job(stops=(stop,)))
    sheet = box(0, 0, wide, deep)
    assert placed.solid.footprint.intersection(sheet).area == 0
    assert placed.solid.footprint.distance(sheet) == 0
    assert placed.solid.footprint.area == pytest.approx(20 * 15)
    others = others_of(means_job(stops=(stop,)))
    assert others is not None
    ((name, force),) = others.towards
    assert name == "stop 1"
    assert force == pytest.approx(400.0)


# Thin stock


@pytest.mark.parametrize(("span", "force"), [(200.0, 10.0), (321.0, 4.2)])
def test_a_strip_bends_as_beams_do(span: float, force: float) -> None:
    """PL^3/48EI and Pa^3/3EI, against the moment's curve integrated twice by sums."""
    modulus, inertia = 8000.0, 1234.0
    x = np.linspace(0.0, span / 2, 20_001)
    step = x[1] - x[0]
    slope = np.cumsum(force * x / 2) * step / (modulus * inertia)
    drop = float(((slope[-1] - slope) * step).sum())
    assert force * middle_of_span(span, modulus, inertia) == pytest.approx(drop, rel=1e-3)
    x = np.linspace(0.0, span, 20_001)
    step = x[1] - x[0]
    slope = np.cumsum(force * (span - x)) * step / (modulus * inertia)
    assert force * free_end(span, modulus, inertia) == pytest.approx(float(slope.sum() * step), rel=1e-3)


def thin_job(*holes: tuple[str, str], thick: float = 3.6) -> Job:
    """A sheet of thin birch plywood under straps at these holes."""
    job = read_job(EXAMPLES / "clamp-kit" / "job.toml")
    clamps = tuple(
        replace(job.clamps[0], hole=hole, towards=way)  # type: ignore[arg-type]  # a word of the test
        for hole, way in holes
    )
    kept = clamps or job.clamps
    return replace(job, stock=replace(job.stock, readings=(thick,)), clamps=kept)


def test_the_lift_of_a_thin_sheet_worked_by_hand() -> None:
    """A bare span of 300 mm of 3.6 mm plywood, 16 471 and 1 029 N/mm2 (Handbook of Finnish Plywood)."""
    stretch = Stretch(axis=0, free=300.0, ends=False)
    stock = replace(a_job().stock, readings=(3.6,), size=(340.0, 240.0))
    weak, strong = moduli(material("birch plywood"), 3.6)
    assert weak == pytest.approx(0.8 * 1029)
    assert strong == pytest.approx(0.8 * 16471)
    inertia = 90.0 * 3.6**3 / 12  # a strip of 0.3 x 300 mm
    assert give(stretch, stock, strong) == pytest.approx(300**3 / (48 * 0.8 * 16471 * inertia), rel=1e-6)
    end = replace(stretch, free=40.0, ends=True)
    inertia = 20.0 * 3.6**3 / 12
    assert give(end, stock, weak) == pytest.approx(40**3 / (3 * 0.8 * 1029 * inertia), rel=1e-6)


def test_what_nothing_holds_is_measured_between_holds_and_to_the_edges() -> None:
    """Noses over 0 to 20 and 180 to 200 of 300 mm leave 160 between them and 100 to the edge."""
    areas = [box(0, 0, 20, 10), box(180, 0, 200, 10)]
    found = {(one.free, one.ends) for one in stretches(areas, 0, 300.0)}
    assert found == {(0.0, True), (160.0, False), (100.0, True)}


def test_thin_stock_is_told_to_lift_with_a_way_out_and_thick_stock_is_not() -> None:
    """3.6 mm plywood lifts under 10 N where 18 mm doesn't; tape all over it, or no pull, silences it."""
    job = thin_job()
    (found,) = lift_findings(job, 10.0)
    assert found.kind == "stock-lifts" and found.level is Level.CAUTION
    assert "down-cut or a straight cutter" in found.remedy and "clamp, tape or a screw" in found.remedy
    assert not lift_findings(thin_job(thick=18.0), 10.0)
    assert not lift_findings(job, 0.0), "a down-cut or straight cutter pulls nothing up"
    wide, deep = job.stock.size
    taped = OtherMeans(tape=(TapeAt(at=(0.0, 0.0), size=(wide, deep)),))
    assert not lift_findings(replace(job, means=taped), 10.0)


@settings(max_examples=30, deadline=None)
@given(st.floats(1.0, 20.0), st.floats(0.5, 30.0), st.floats(0.0, 300.0), st.floats(0.0, 200.0))
def test_a_screw_more_never_lifts_the_sheet_further(
    thick: float, pull: float, right: float, back: float
) -> None:
    """Nor does a thicker sheet."""
    job = thin_job(thick=thick)
    screw = ScrewAt(at=(20 + right, 20 + back), diameter=4.0, length=60.0, head_diameter=8.0, head_height=0.0)
    before = lift_of(job, pull)
    after = lift_of(replace(job, means=OtherMeans(screws=(screw,))), pull)
    assert before is not None and after is not None
    assert after.lift <= before.lift + 1e-12
    assert before.lift <= (lift_of(thin_job(thick=thick / 1.02), pull) or before).lift * 1.0001 or thick > 3.6


# On the bench


def grip(kind: GripKind, area: Polygon, *, shear: float, down: float = 100.0) -> Grip:
    """A grip under some of the bridges' bench."""
    return Grip(kind=kind, name=f"{kind} 1", pressing=area, force=0.0, shear=shear, down=down)


def cut_free(*grips: Grip) -> list[Finding]:
    """What is found where a square of 30 mm is cut free between two clamps, over some grips."""
    bench = replace(
        bridges.BENCH, parts=(part(box(35, 15, 65, 45), name="square", tolerance=0.5),), grips=grips
    )
    text = bridges.square((0.0, 0.0), 0.0)
    program = Program(file="square.nc", text=text, cutters=(1,), dialect="plain", units="mm")
    return list(flat(prove([program], bench, cell=0.3).findings))


def test_a_part_that_is_cut_free_over_tape_is_held_by_what_lies_under_it() -> None:
    """Enough tape holds it, too little is told with how much is wanted; a vacuum or none lets it loose."""
    under = box(36, 16, 64, 44)
    assert not {"piece-loose", "hold-margin"} & {one.kind for one in cut_free(grip("tape", under, shear=500))}
    weak = [one for one in cut_free(grip("tape", under, shear=5)) if one.kind == "hold-margin"]
    assert weak and "tape 1" in weak[0].text and "times as much tape" in weak[0].remedy
    for loose in ((), (grip("vacuum", box(10, 5, 90, 55), shear=0),)):
        assert "piece-loose" in {one.kind for one in cut_free(*loose)}


def test_a_screw_in_the_way_is_struck() -> None:
    """Steel in the kerf is a stop, with the screw's name; beside it by more than the cutter it is not."""
    for x, struck in ((50.0, True), (20.0, False)):
        pin = Obstacle(kind="stop", name="screw 1", footprint=disc(x, 13.5, 2.0), bottom=-50.0, top=14.0)
        one = replace(grip("screw", disc(x, 13.5, 4.0), shear=100), name="screw 1", solids=(pin,))
        found = [one for one in cut_free(one) if one.kind == "stop-struck"]
        assert bool(found) is struck
    bench = replace(bridges.BENCH, grips=(replace(one, solids=(replace(pin, footprint=disc(50, 13.5, 2)),)),))
    text = bridges.square((0.0, 0.0), 0.0)
    program = Program(file="square.nc", text=text, cutters=(1,), dialect="plain", units="mm")
    first = next(f for f in flat(prove([program], bench, cell=0.3).findings) if f.kind == "stop-struck")
    assert first.level is Level.STOP
    assert "the screw 1" in first.text and "state its new place" in first.remedy


def test_the_proof_s_margins_count_tape_and_stops() -> None:
    """No clamps, tape of 200 N at the left, four stops around: a cut's margin is slip and tip by statics."""
    area = box(0, 0, 30, 60)
    tape = grip("tape", area, shear=200.0, down=5000.0)
    places = [(100.0, 50.0, 2), (0.0, 10.0, 0), (90.0, 0.0, 1), (60.0, 60.0, 3)]
    far = Obstacle(kind="stop", name="stop", footprint=box(200, 0, 201, 1), bottom=0.0, top=5.0)
    stops = tuple(
        PlacedStop(
            name="stop",
            at=(x, y),
            push=(round(cos(turn * pi / 2)), round(sin(turn * pi / 2))),
            stands=300.0,
            solid=far,
        )
        for x, y, turn in places
    )
    bench = replace(bridges.BENCH, clamps=(), grips=(tape,), stops=stops)
    text = bridges.square((6.0, 6.0), 4.0)
    program = Program(file="square.nc", text=text, cutters=(1,), dialect="plain", units="mm")
    verdict = prove([program], bench, cell=0.3)
    loads = verdict.loads
    assert loads is not None and "blank-not-held" not in {one.kind for one in verdict.findings}
    row = int(np.flatnonzero((loads.force > 0) & (loads.lift > 0))[40])
    (place,) = (loads.motion.start[[row], :2] + loads.motion.end[[row], :2]) / 2
    quarters = [(x, y, 50.0) for x in (7.5, 22.5) for y in (15.0, 45.0)]
    one = held(quarters, [(*stop, 300.0) for stop in places])
    bare = float(slip_force(held(quarters), np.array([place]))[0])
    each = [by_programme(one, tuple(place), number * 2 * pi / WAYS) for number in range(WAYS)]
    slides = min(each) / (2 * loads.force[row])  # a dull edge doubles the force
    tips = 5000 * 15 / place[0] / (2 * loads.lift[row])  # about the left edge, tape in its middle
    assert min(each) > 1.1 * bare, "the stops help here"
    assert slides < tips
    assert loads.margin[row] == pytest.approx(slides, rel=0.06)


def test_a_setup_file_states_them_too(tmp_path: Path) -> None:
    """The bench of a program from elsewhere may be taped."""
    folder = EXAMPLES / "bought-program"
    for file in folder.iterdir():
        if file.is_file():
            (tmp_path / file.name).write_bytes(file.read_bytes())
    text = (folder / "setup.toml").read_text()
    taped = tmp_path / "setup.toml"
    taped.write_text(f'{text}\n[[tape]]\nat = ["10 mm", "10 mm"]\nsize = ["20 mm", "30 mm"]\n')
    (tape,) = read_setup(taped).means.tape
    assert tape.size == (20.0, 30.0)


def test_a_screw_through_a_part_is_told() -> None:
    """In the part it leaves a hole; in waste beside it nothing is said."""
    for x, told in ((50.0, True), (20.0, False)):
        found = cut_free(grip("screw", disc(x, 30.0, 4.0), shear=100))
        texts = [one.text for one in found if one.kind == "means-doubt"]
        assert [("goes through square" in one) for one in texts] == ([True] if told else [])


MEANS = """
[[stops]]
at = [0, 70]
side = "left"
stands = "200 N"

[[tape]]
at = [10, 10]
size = [180, 50]

[[tape]]
at = [10, 80]
size = [180, 50]

[[screws]]
at = [30, 30]
diameter = 4
length = 40

[[dowels]]
at = [190, 130]
diameter = 6
"""


def started(folder: Path, means: str) -> Path:
    """The starter's job with other means in place of its clamps."""
    write_starter(folder)
    file = folder / "job.toml"
    text = file.read_text()
    file.write_text(text[: text.index("# Clamps:")] + means + text[text.index("\n[[parts]]") :])
    return file


def test_a_job_without_clamps_is_held_by_tape_and_screws(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is read, held and told with each range; parts lie clear of the screw, and it is proved ready."""
    file = started(tmp_path, MEANS)
    assert main(["hold", str(file), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["stated"]["enough"] and record["stated"]["clamps"] == []
    assert record["others"]["counted"]["tape 1.shear"] == pytest.approx(0.03 * 9000)
    assert record["others"]["closed_in"] is False
    assert main(["hold", str(file)]) == 0
    out = capsys.readouterr().out
    assert "the job's own hold: no clamps" in out
    assert "tape 1 stands sideways 270 N to 900 N; counted: 270 N" in out
    assert "the stops alone leave it free to" in out
    made = make(read_job(file))
    assert made.ready
    steel = [one.footprint for each in made.setup.grips for one in each.solids]
    for one in made.setup.parts:
        assert all(one.outline.distance(solid) > 1.5 for solid in steel)


def test_stops_alone_hold_nothing_down(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A blank between stops is not held, and that is a stop."""
    file = started(tmp_path, MEANS[: MEANS.index("[[tape]]")])
    assert main(["hold", str(file), "--json"]) == 1
    record = json.loads(capsys.readouterr().out)
    assert "blank-not-held" in {one["kind"] for one in record["findings"]}
    assert not make(read_job(file)).ready


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("at = [0, 70]", "at = [3, 70]", "this is 3 mm from the sheet's left edge"),
        ("at = [0, 70]", "at = [0, 170]", "the stop would stand beyond the end of the left edge"),
        ("size = [180, 50]", "size = [195, 50]", "this reaches 5 mm beyond the sheet's edge"),
        ("length = 40", "length = 9", "a screw of 9 mm doesn't reach through a sheet of 9.1 mm"),
        ("at = [190, 130]", "at = [198, 130]", "this reaches 1 mm beyond the sheet's edge"),
        ("length = 40", "length = 40\nhead_diameter = 3", "a head of 3 mm is narrower than its screw"),
    ],
)
def test_what_can_not_stand_there_is_told(tmp_path: Path, old: str, new: str, said: str) -> None:
    """Places are held against the sheet, each fault with the number by which it misses."""
    file = started(tmp_path, MEANS.replace(old, new, 1))
    with pytest.raises(InputErrors) as wrong:
        read_job(file)
    assert said in str(wrong.value)
