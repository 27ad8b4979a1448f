"""How long a motion takes: a plan of speeds within what the axes can accelerate.

Every move is straight or an arc, run at its feed where it can: speed changes at a constant acceleration, a
corner is passed at the speed at which a circle that cuts the corner by the permitted deviation could be run,
and a dwell or a change of cutter or spindle speed means a full stop.

While the speed changes in an arc, that and the arc's own turning may together ask sqrt(2) of what an axis
has, as they do on small controllers. The time is none the shorter for it: see tests/test_time_outside.py.
"""

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from proveout.job.records import Machine
from proveout.kernels.speeds import reach
from proveout.motion import ARC, PLANE_AXES, RAPID, Floats, Motion, arc_radius, lengths

TOOL_CHANGE: Final = (
    120.0  # s to change a cutter by hand and set its height again; common practice, no source
)
NO_LIMIT: Final = 1e9  # mm/s
STRAIGHT: Final = 1e-9  # change of a unit direction below which an axis does not turn


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """Time that a program takes, min."""

    total: float
    cutting: float
    air: float
    tool_changes: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Timing:
    """Time of a motion, in sum and move by move."""

    minutes: Minutes
    seconds: Floats  # (n,) s each move is on its way
    waits: Floats  # (n,) s before each move: dwell or the spindle running up, whichever is longer


def timing(
    motion: Motion, machine: Machine, *, tool_changes: int = 0, removed: Floats | None = None
) -> Timing:
    """The time a motion takes on a machine that keeps its accelerations.

    A move is cutting time when it removed something; where `removed` is not given, when it is not a rapid.
    Waiting is air time. Each change of cutter takes TOOL_CHANGE.
    """
    seconds = move_seconds(motion, machine)
    waits = _waits(motion, machine)
    is_cutting = motion.kind != RAPID if removed is None else removed > 0
    cutting = math.fsum(seconds[is_cutting]) / 60
    air = (math.fsum(seconds[~is_cutting]) + math.fsum(waits)) / 60
    changes = tool_changes * TOOL_CHANGE / 60
    minutes = Minutes(total=cutting + air + changes, cutting=cutting, air=air, tool_changes=changes)
    return Timing(minutes=minutes, seconds=seconds, waits=waits)


def move_seconds(motion: Motion, machine: Machine) -> Floats:
    """How long each move is on its way, waits left out, (n,) s."""
    return course_seconds(course_of(motion, machine), motion.feed)


class Way(NamedTuple):
    """The moves that go anywhere: what each may do along its path."""

    length: Floats  # (m,) mm
    speed: Floats  # (m,) mm/s, highest
    acceleration: Floats  # (m,) mm/s2 along the path
    begins: Floats  # (m, 3) unit direction at the start
    ends: Floats  # (m, 3) at the end


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """All that the time of a motion hangs on but its feeds."""

    count: int  # moves of the motion
    rows: npt.NDArray[np.int64]  # (m,) those of them that go anywhere
    rapid: npt.NDArray[np.bool_]  # (m,)
    way: Way  # with the speed that the axes have
    corner: Floats  # (m + 1,) mm/s, highest at each node


def course_of(motion: Motion, machine: Machine) -> Course:
    """A motion on a machine, to be timed at any feeds."""
    rows = np.flatnonzero(lengths(motion) > 1e-9)
    way = _way(motion, machine, rows)
    corner = _corner_limits(motion, machine, way, rows) if rows.size else np.zeros(1)
    return Course(count=len(motion), rows=rows, rapid=motion.kind[rows] == RAPID, way=way, corner=corner)


def course_seconds(course: Course, feeds: Floats) -> Floats:
    """How long each move is on its way at the feeds of all moves, (n,) s."""
    out = np.zeros(course.count)
    if course.rows.size:
        feed = feeds[course.rows]
        # a feed move without a feed is another's finding; here it runs as fast as the axes can
        asked = np.where(course.rapid | (feed <= 0), NO_LIMIT, feed)
        way = course.way._replace(speed=np.minimum(asked, course.way.speed))
        entry, leave = _node_speeds(way, course.corner)
        out[course.rows] = _travel_time(way, entry, leave)
    return out


def _way(motion: Motion, machine: Machine, rows: npt.NDArray[np.int64]) -> Way:
    begins, ends = _directions(motion)
    speed, acceleration = _path_limits(motion, machine, begins)
    return Way(lengths(motion)[rows], speed[rows], acceleration[rows], begins[rows], ends[rows])


def _directions(motion: Motion) -> tuple[Floats, Floats]:
    """Unit directions of each move at its start and its end, (n, 3) each; zeros where nothing moves."""
    length = np.maximum(lengths(motion), 1e-12)[:, None]
    begins: Floats = (motion.end - motion.start) / length
    ends = begins.copy()
    for plane, (first, second, along) in enumerate(PLANE_AXES):
        rows = np.flatnonzero((motion.kind == ARC) & (motion.plane == plane))
        rise = (motion.end[rows, along] - motion.start[rows, along]) / length[rows, 0]
        flat = np.sqrt(np.maximum(0.0, 1 - rise**2)) * np.sign(motion.sweep[rows])
        for point, tangent in ((motion.start, begins), (motion.end, ends)):
            arm = point[rows] - motion.centre[rows]
            reach = np.maximum(np.hypot(arm[:, first], arm[:, second]), 1e-12)
            tangent[rows, first] = -flat * arm[:, second] / reach
            tangent[rows, second] = flat * arm[:, first] / reach
            tangent[rows, along] = rise
    return begins, ends


def _path_limits(motion: Motion, machine: Machine, begins: Floats) -> tuple[Floats, Floats]:
    """Highest speed and acceleration along each move's path, so that no axis exceeds its own.

    An arc is held to the slower axis of its plane all the way round, and to v <= sqrt(a r).
    """
    share = np.maximum(np.abs(begins), 1e-9)
    speed: Floats = (np.array(machine.max_feed) / share).min(axis=1)
    acceleration: Floats = (np.array(machine.acceleration) / share).min(axis=1)
    radius = arc_radius(motion)
    for plane, (first, second, along) in enumerate(PLANE_AXES):
        rows = np.flatnonzero((motion.kind == ARC) & (motion.plane == plane))
        flat = np.maximum(np.sqrt(np.maximum(0.0, 1 - begins[rows, along] ** 2)), 1e-9)
        slower = min(machine.max_feed[first], machine.max_feed[second])
        weaker = min(machine.acceleration[first], machine.acceleration[second])
        round_speed = np.minimum(slower, np.sqrt(weaker * radius[rows])) / flat
        speed[rows] = np.minimum(round_speed, machine.max_feed[along] / share[rows, along])
        acceleration[rows] = np.minimum(weaker / flat, machine.acceleration[along] / share[rows, along])
    return speed, acceleration


def corner_speed(sine_half: Floats, acceleration: Floats, deviation: float) -> Floats:
    """Highest speed through a corner, mm/s.

    A circle that touches both moves and passes the corner at the deviation has the radius
    R = deviation sin(t/2) / (1 - sin(t/2)), t the angle between the moves (straight on: 180 degrees), and
    v = sqrt(a R). The cutter doesn't follow that circle; it only limits the speed.

    Args:
        sine_half: (m,) sin(t/2)
        acceleration: (m,) mm/s2
        deviation: mm
    Source: derived; a common practice of small controllers
    """
    radius = deviation * sine_half / np.maximum(1 - sine_half, 1e-15)
    speed: Floats = np.minimum(NO_LIMIT, np.sqrt(acceleration * radius))
    return speed


def _corner_limits(motion: Motion, machine: Machine, way: Way, rows: npt.NDArray[np.int64]) -> Floats:
    """Highest speed at each node, (m + 1,): 0 at both ends and wherever the motion has to stop."""
    one, other = way.ends[:-1], way.begins[1:]
    sine_half = np.sqrt(np.clip((1 + (one * other).sum(axis=1)) / 2, 0, 1))
    turns = np.abs(other - one) > STRAIGHT
    weakest = np.where(turns, np.array(machine.acceleration), np.inf).min(axis=1)
    acceleration = np.where(turns.any(axis=1), weakest, min(machine.acceleration))
    limits = corner_speed(sine_half, acceleration, machine.corner_deviation)
    limits[~turns.any(axis=1)] = NO_LIMIT
    stops = np.cumsum(_stops_before(motion))
    limits[stops[rows[1:]] > stops[rows[:-1]]] = 0.0
    return np.concatenate(([0.0], limits, [0.0]))


def _stops_before(motion: Motion) -> npt.NDArray[np.bool_]:
    """Before which moves the motion stands still, (n,)."""
    stops: npt.NDArray[np.bool_] = motion.dwell > 0
    stops[1:] |= np.diff(motion.cutter) != 0
    stops[1:] |= np.diff(motion.speed_rpm) != 0
    return stops


def _node_speeds(way: Way, corner: Floats) -> tuple[Floats, Floats]:
    """Speeds at which each move is entered and left: backward for braking, forward for picking up speed."""
    cap = np.minimum(corner, NO_LIMIT)
    cap[1:-1] = np.minimum(cap[1:-1], np.minimum(way.speed[:-1], way.speed[1:]))
    squared = cap**2
    reach(squared, 2 * way.acceleration * way.length)
    speeds = np.sqrt(squared)
    return speeds[:-1], speeds[1:]


def _travel_time(way: Way, entry: Floats, leave: Floats) -> Floats:
    """Time of each move from its entry to its leaving speed, by way of the highest it can reach."""
    double = 2 * way.acceleration
    peak = np.minimum(way.speed, np.sqrt((double * way.length + entry**2 + leave**2) / 2))
    cruise = np.maximum(0.0, way.length - (2 * peak**2 - entry**2 - leave**2) / double)
    time: Floats = (2 * peak - entry - leave) / way.acceleration + cruise / peak
    return time


def _waits(motion: Motion, machine: Machine) -> Floats:
    """The dwell before each move; where the spindle starts, at least the time it takes to run up."""
    waits = motion.dwell.copy()
    before = np.concatenate(([0.0], motion.speed_rpm[:-1]))[: len(motion)]
    starts = (before == 0) & (motion.speed_rpm > 0)
    waits[starts] = np.maximum(waits[starts], machine.spindle.spin_up)
    return waits
