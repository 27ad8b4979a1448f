"""The chooser: depth, stepover, feed and speed for one cutter's cuts of one kind that take the least time.

It is one question. For each depth that divides the material into equal passes, and each stepover, the
greatest feed is sought at which every limit still holds; the time that the real cuts then take, told by the
motion model, decides. What would be broken first by going deeper or faster is the weakest link, and is named.

Turning faster makes chips thinner and every load smaller at the same feed, so the spindle turns as fast as
cutter, spindle and feed allow without rubbing; where the machine's feed is the limit it turns slower.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from proveout.cutting.data import CutKind, CuttingData
from proveout.cutting.drill import drilling
from proveout.cutting.force import chip_load as chip_load_of
from proveout.cutting.force import feed_for
from proveout.cutting.limits import (
    DULL,
    PRACTICE,
    RUBBING,
    Asked,
    Bench,
    Limit,
    Way,
    asked,
    chip_window,
    limits_of,
)
from proveout.cutting.reasons import Candidate, at_least, least, typed
from proveout.figure import Figure
from proveout.job.records import Cutter, Machine
from proveout.shelf.cited import cited
from proveout.shelf.tables import Material, cutting_energy

STEPS: Final = (0.4, 0.5, 0.6, 0.7)  # of the diameter, that rings may lie apart; common practice
USUAL_STEP: Final = STEPS[0]
PLUNGE_SHARE: Final = 0.2  # of the feed; common practice
PLUNGE_CHIP: Final = 0.25  # of the least usual chip load: a cutter's end clears its chips badly; our own
STEEP_RAMP: Final = 5.0  # deg: 2 to 5 are a tool maker's for cutters that cut at their centre (read)
FLAT_RAMP: Final = 3.0  # deg, for the others
FINISH: Final = 0.2  # mm left for the finishing pass of a recess; project default
SHALLOWEST: Final = 0.3  # mm: a cut is no shallower, whatever stands it badly; our own choice
MOST_PASSES: Final = 200
SAME_TIME: Final = 1.003  # times the least: what takes no longer and asks less is taken; our own choice
GENTLER: Final = (0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5)  # of the greatest feed, tried for that


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """All cuts of one kind that one cutter makes in a job."""

    cutter: Cutter
    kind: CutKind
    heights: tuple[float, ...]  # mm, of the material that they go through
    seconds: Callable[[CuttingData], float]  # that the cuts take, on this machine


class Plan(NamedTuple):
    """One way of doing a task."""

    way: Way  # with the width that its hardest stretch has
    step: float
    finish: Way | None


def straight_cut(cutter: Cutter, kind: CutKind, height: float, machine: Machine) -> Task:
    """A metre of straight slot through so much material: a task where no job says what is to be cut."""
    most = min(machine.max_feed[:2])

    def seconds(data: CuttingData) -> float:
        return math.ceil(height / data.depth_of_cut - 1e-9) * 1000 / min(data.feed, most)

    return Task(cutter=cutter, kind=kind, heights=(height,), seconds=seconds)


def choose(task: Task, bench: Bench) -> CuttingData:
    """The values with which a task takes least time within all limits, and what limits them."""
    if task.kind == "drill":
        return drilling(task.cutter, bench)
    prefix = f"cutting.cutter {task.cutter.number}.{task.kind}"
    limits = limits_of(task.cutter, bench, tabs=task.kind == "outline")
    speed = spindle_speed(prefix, task.cutter, bench)
    finish = _finishing(task, bench, speed.value)
    plans = _timed(task, bench, _plans(task, bench, limits, speed.value, finish))
    plan = _best(task, bench, limits, plans) if plans else _gentlest(task, bench, speed.value, finish)
    return _explained(prefix, task, bench, limits, speed, plan)


def peak_force(data: CuttingData, material: Material, cutter: Cutter, machine: Machine) -> float:
    """Greatest sideways force of a cut with a dull edge, N: what clamps and tabs must stand."""
    ways = [Way(data.depth_of_cut, cutter.diameter, data.feed, data.speed_rpm)]
    if data.finish_allowance:
        ways.append(Way(data.finish_depth, data.finish_allowance, data.finish_feed, data.speed_rpm))
    return max(DULL * asked(cutter, material, machine, way).force for way in ways)


# What may be done


def spindle_speed(prefix: str, cutter: Cutter, bench: Bench) -> Figure:
    """As fast as spindle and cutter turn, unless the machine's feed could not keep the chips thick enough."""
    spindle = bench.machine.spindle
    window = chip_window(bench.material, cutter)
    thin = max(window.load.min, RUBBING)
    most_feed = min(bench.machine.max_feed[:2])
    chips = Figure(
        name=f"{prefix}.chip window",
        value=thin,
        unit="mm",
        rule="the least feed a tooth that suits this cutter and material; below it an edge rubs",
        source=cited(window),
        low=window.load.min,
        high=window.load.max,
    )
    speeds = [
        Candidate(spindle.max_rpm, "the spindle's highest speed", "shop file"),
        Candidate(
            most_feed * 60 / (thin * cutter.flutes),
            "the speed at which the machine's feed still keeps the chip load",
            "shop file",
        ),
    ]
    if cutter.max_rpm is not None:
        speeds.append(Candidate(cutter.max_rpm, "the speed marked on the cutter", "shop file"))
    figure = least(f"{prefix}.speed", "rpm", speeds, (chips,))
    figure = replace(figure, value=math.floor(figure.value / 100 + 1e-9) * 100.0)
    return at_least(figure, spindle.min_rpm, "the spindle's lowest speed, though less was wanted")


def _feeds(cutter: Cutter, bench: Bench, speed: float) -> tuple[float, float]:
    """The least feed that doesn't rub and the greatest that the machine has or the teeth suit, mm/s."""
    window = chip_window(bench.material, cutter).load
    most = min(*bench.machine.max_feed[:2], feed_for(max(window.max, RUBBING), cutter.flutes, speed))
    return min(feed_for(max(window.min, RUBBING), cutter.flutes, speed), most), most


def _plans(
    task: Task, bench: Bench, limits: Sequence[Limit], speed: float, finish: Way | None
) -> Iterator[Plan]:
    """Every depth and stepover worth trying, each with the greatest feed at which all limits hold."""
    least_feed, most_feed = _feeds(task.cutter, bench, speed)
    width = task.cutter.diameter  # rings are entered in a full slot, however close they lie
    for depth in _depths(task.heights):
        feed = _greatest_feed(limits, Way(depth, width, least_feed, speed), most_feed)
        if feed is None:
            continue
        feed = typed(feed, bench.machine)
        for step in _steps(task.kind):
            yield Plan(Way(depth, width, feed, speed), step * task.cutter.diameter, finish)
        if task.kind != "bore" and feed >= typed(most_feed, bench.machine) - 1e-9:
            return  # more passes go no faster than this; a helix may be flatter than its depth


def _steps(kind: CutKind) -> tuple[float, ...]:
    """Stepovers worth trying, the widest first; holes too wide for one helix are cleared in rings as well."""
    return (USUAL_STEP,) if kind == "outline" else STEPS[::-1]


def _depths(heights: Sequence[float]) -> Iterator[float]:
    """Depths of equal passes through any of the heights, deepest first; a hair more, never a pass more."""
    every = {_hair_up(height / count) for height in heights for count in range(1, MOST_PASSES)}
    yield from sorted((depth for depth in every if depth >= SHALLOWEST), reverse=True)


def _hair_up(depth: float) -> float:
    return math.ceil(depth * 1e6) / 1e6


def _greatest_feed(limits: Sequence[Limit], slow: Way, most: float) -> float | None:
    """The greatest feed up to `most` at which all limits hold; None where not even the slow way's does."""

    def holds(feed: float) -> bool:
        return _worst(limits, slow._replace(feed=feed)) <= 1 + 1e-9

    if not holds(slow.feed):
        return None
    if holds(most):
        return most
    low, high = slow.feed, most
    while high - low > 1e-4 * most:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _worst(limits: Sequence[Limit], way: Way) -> float:
    return max(limit.share(way) for limit in limits)


def _finishing(task: Task, bench: Bench, speed: float) -> Way | None:
    """The last pass along a recess's walls: as deep and as fast as its own, stricter limit allows."""
    if task.kind != "recess":
        return None
    cutter = task.cutter
    limits = [one for one in limits_of(cutter, bench, finishing=True) if one.name != "diameter"]
    least_feed, most_feed = _feeds(cutter, bench, speed)
    found: list[tuple[float, Way]] = []
    for count in range(1, MOST_PASSES):
        way = Way(_hair_up(max(task.heights) / count), min(FINISH, cutter.diameter), least_feed, speed)
        feed = _greatest_feed(limits, way, most_feed)
        if feed is not None:
            feed = typed(feed, bench.machine)
            found.append((count / feed, way._replace(feed=feed)))
            if feed >= typed(most_feed, bench.machine) - 1e-9:
                break
        if way.depth < SHALLOWEST:
            break
    if not found:
        return Way(SHALLOWEST, FINISH, least_feed, speed)
    return min(found)[1]


# Which is best


def _timed(task: Task, bench: Bench, plans: Iterator[Plan]) -> list[tuple[float, Plan]]:
    """The plans with their seconds, deepest first; of a bore, down to the depth from which on they rise."""
    timed: list[tuple[float, Plan]] = []
    quickest = math.inf
    for plan in plans:
        seconds = task.seconds(_values(task, bench, plan))
        is_shallower = bool(timed) and plan.way.depth < timed[-1][1].way.depth
        if task.kind == "bore" and is_shallower and seconds > SAME_TIME * quickest:
            break
        timed.append((seconds, plan))
        quickest = min(quickest, seconds)
    return timed


def _best(task: Task, bench: Bench, limits: Sequence[Limit], timed: list[tuple[float, Plan]]) -> Plan:
    """The plan that takes least time; of those that take hardly longer, the one that asks least."""
    quickest = min(seconds for seconds, _ in timed)
    good = [plan for seconds, plan in timed if seconds <= SAME_TIME * quickest]
    plan = min(good, key=lambda one: _worst(limits, one.way))
    return _slowed(task, bench, plan, SAME_TIME * quickest)


def _slowed(task: Task, bench: Bench, plan: Plan, enough: float) -> Plan:
    """The same at the least feed that takes hardly longer: short ways never reach a high feed anyway."""
    bottom, _ = _feeds(task.cutter, bench, plan.way.speed_rpm)
    best = plan
    for share in GENTLER:
        feed = typed(share * plan.way.feed, bench.machine)
        slower = plan._replace(way=plan.way._replace(feed=feed))
        if feed < bottom or task.seconds(_values(task, bench, slower)) > enough:
            break
        best = slower
    return best


def _gentlest(task: Task, bench: Bench, speed: float, finish: Way | None) -> Plan:
    """Where no depth stands every limit: as gentle as a cut can be; the proof tells what is wrong with it."""
    cutter = task.cutter
    feed, _ = _feeds(cutter, bench, speed)
    return Plan(
        Way(min(SHALLOWEST, cutter.flute_length), cutter.diameter, typed(feed, bench.machine), speed),
        USUAL_STEP * cutter.diameter,
        finish,
    )


def _values(task: Task, bench: Bench, plan: Plan) -> CuttingData:
    """A plan as cutting values, without reasons."""
    cutter, way = task.cutter, plan.way
    finish = plan.finish or way
    return CuttingData(
        cutter=cutter.number,
        depth_of_cut=way.depth,
        stepover=plan.step,
        feed=way.feed,
        plunge_feed=min(one.value for one in _plunges(cutter, bench, way)),
        ramp_deg=STEEP_RAMP if cutter.centre_cutting else FLAT_RAMP,
        speed_rpm=way.speed_rpm,
        finish_allowance=FINISH if plan.finish else 0.0,
        finish_feed=finish.feed,
        finish_depth=min(finish.depth, cutter.flute_length),
        limits=(),
        figures=(),
    )


def _plunges(cutter: Cutter, bench: Bench, way: Way) -> list[Candidate]:
    share = PLUNGE_SHARE if cutter.centre_cutting else PLUNGE_SHARE / 2
    thin = chip_window(bench.material, cutter).load.min
    end = PLUNGE_CHIP * feed_for(max(thin, RUBBING), cutter.flutes, way.speed_rpm)
    return [
        Candidate(share * way.feed, f"{share:g} of the feed, straight down", PRACTICE),
        Candidate(end, "a quarter of the least usual chip, which the cutter's end can clear", PRACTICE),
        Candidate(bench.machine.max_feed[2], "the machine's highest feed in Z", "shop file"),
    ]


# Why


def _explained(
    prefix: str, task: Task, bench: Bench, limits: Sequence[Limit], speed: Figure, plan: Plan
) -> CuttingData:
    way, cutter = plan.way, task.cutter
    chip = _chip(prefix, cutter, bench, way)
    deep, fast = _holds_depth(task, limits, way), _holds_feed(bench, limits, way)
    depth = _depth(prefix, deep, limits, way)
    feed = Figure(
        name=f"{prefix}.feed",
        value=way.feed,
        unit="mm/s",
        rule=f"limited by: {fast.reason}",
        source=fast.source,
        inputs=(chip, speed),
    )
    step = Figure(
        name=f"{prefix}.stepover",
        value=plan.step,
        unit="mm",
        rule="limited by: nothing; this cut has one ring"
        if task.kind == "outline"
        else "limited by: the least time of all that lie between 0.4 and 0.7 of the cutter's diameter",
        source=PRACTICE,
    )
    plunge = least(f"{prefix}.plunge feed", "mm/s", _plunges(cutter, bench, way), (feed,))
    figures = [chip, speed, feed, depth, step, plunge, _force(prefix, bench, cutter, way, (depth, chip))]
    if plan.finish:
        figures.append(_finish_feed(prefix, cutter, bench, plan.finish))
    return replace(
        _values(task, bench, plan),
        limits=tuple((figure.name.rsplit(".", 1)[-1], figure.rule) for figure in (depth, step, feed, plunge)),
        figures=tuple(figures),
        active=(deep.name, fast.name),
    )


class Weakest(NamedTuple):
    """What holds a value back."""

    name: str
    reason: str
    source: str


def _holds_depth(task: Task, limits: Sequence[Limit], way: Way) -> Weakest:
    deeper = _next_deeper(task.heights, way.depth)
    if deeper is None:
        return Weakest("material", "the material itself, which one pass goes through", "geometry")
    others = [one for one in limits if one.name != "chip"]  # which no depth changes
    weakest = max(others, key=lambda one: one.share(way._replace(depth=deeper)))
    if weakest.share(way._replace(depth=deeper)) <= 1:
        reason = "time: a deeper cut would save none, since the way down is no steeper than its ramp"
        return Weakest("ramp", reason, "motion model")
    return Weakest(weakest.name, weakest.reason, weakest.source)


def _holds_feed(bench: Bench, limits: Sequence[Limit], way: Way) -> Weakest:
    faster = way._replace(feed=1.05 * way.feed)
    others = [one for one in limits if one.name not in ("flutes", "diameter")]  # which no feed changes
    weakest = max(others, key=lambda one: one.share(faster))
    if faster.feed > min(bench.machine.max_feed[:2]):
        return Weakest("feed", "the machine's highest feed", "shop file")
    if weakest.share(faster) > 1:
        return Weakest(weakest.name, weakest.reason, weakest.source)
    reason = "the machine's acceleration: on ways this short more feed saves no time"
    return Weakest("acceleration", reason, "shop file")


def _chip(prefix: str, cutter: Cutter, bench: Bench, way: Way) -> Figure:
    window = chip_window(bench.material, cutter)
    return Figure(
        name=f"{prefix}.chip load",
        value=chip_load_of(way.feed, cutter.flutes, way.speed_rpm),
        unit="mm",
        rule="feed over flutes and speed, within the range for this cutter and material",
        source=cited(window),
        low=window.load.min,
        high=window.load.max,
    )


def _depth(prefix: str, weakest: Weakest, limits: Sequence[Limit], way: Way) -> Figure:
    name = f"{prefix}.depth of cut"
    return Figure(
        name=name,
        value=way.depth,
        unit="mm",
        rule=f"limited by: {weakest.reason}",
        source=weakest.source,
        inputs=tuple(_alone(name, one, way) for one in limits if one.name != "chip" and one.share(way) > 0),
    )


def _next_deeper(heights: Sequence[float], depth: float) -> float | None:
    """The next depth that saves one of the cuts a pass; None where each takes one."""
    counts = [(height, math.ceil(height / depth - 1e-6)) for height in heights]
    return min((height / (count - 1) for height, count in counts if count > 1), default=None)


def _alone(name: str, limit: Limit, way: Way) -> Figure:
    """The depth that one limit alone would allow at the same feed."""
    low, high = 0.0, 1000.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if limit.share(way._replace(depth=middle)) <= 1 else (low, middle)
    return Figure(
        name=f"{name}.if {limit.reason}",
        value=low,
        unit="mm",
        rule=f"would be allowed at this feed by: {limit.reason}",
        source=limit.source,
    )


def _force(prefix: str, bench: Bench, cutter: Cutter, way: Way, inputs: tuple[Figure, ...]) -> Figure:
    energy = cutting_energy(bench.material.energy_class)
    sharp = _asks(cutter, bench, way).force
    return Figure(
        name=f"{prefix}.force",
        value=DULL * sharp,
        unit="N",
        rule="greatest force on a tooth in a full slot, doubled for a dull edge",
        source=cited(energy),
        inputs=inputs,
        low=sharp * energy.low,
        high=DULL * sharp * energy.high,
    )


def _asks(cutter: Cutter, bench: Bench, way: Way) -> Asked:
    return asked(cutter, bench.material, bench.machine, way)


def _finish_feed(prefix: str, cutter: Cutter, bench: Bench, way: Way) -> Figure:
    off = _asks(cutter, bench, way).push_off
    return Figure(
        name=f"{prefix}.finishing feed",
        value=way.feed,
        unit="mm/s",
        rule=f"the last {FINISH:g} mm along the walls, {way.depth:.1f} mm deep at a time: cutter and gantry "
        f"give way by about {off:.3f} mm, where {bench.allowed.finish_push_off:g} mm may be",
        source=cited(cutting_energy(bench.material.energy_class)),
    )
