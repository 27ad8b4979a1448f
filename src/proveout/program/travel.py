"""The codes that move: straight, along an arc, or through a canned cycle."""

import math
from typing import Final

from proveout.finding import Level
from proveout.motion import LINE, PLANE_AXES, RAPID
from proveout.program.arcs import Arc, NoArc, arc_by_centre, arc_by_radius
from proveout.program.cycles import MOST_STEPS, Hole, Series, hole_steps, pecks
from proveout.program.frames import XYZ
from proveout.program.rules import ARCS, AXES, CANCEL, CYCLES, STRAIGHT
from proveout.program.state import FARTHEST, Act, Aim, Move, origin

WIDEST: Final = 1e6  # mm: no arc of a wooden part has a larger radius
SIDE_LETTERS: Final = "IJK"
WITH_DWELL: Final = frozenset({820, 890})
WITH_PECKS: Final = frozenset({730, 830})


def travel(act: Act) -> None:
    """The line's motion, as G53 modifies it."""
    if act.is_code("motion", CANCEL):
        act.state.motion, act.state.series = CANCEL, None
    in_machine = act.is_code("one-line codes", 530)
    if in_machine and act.motion not in STRAIGHT:
        raise act.fault_of("one-line codes", "works with G0 or G1 and an axis word only")
    if act.motion is None:
        return
    _first_move(act)
    if act.motion in STRAIGHT:
        _straight(act, _machine_aim(act) if in_machine else act.aim())
    elif act.motion in ARCS:
        _arc(act)
    else:
        _cycle(act)
    act.state.motion = act.motion
    if act.motion not in CYCLES:
        act.state.series = None


def _first_move(act: Act) -> None:
    if not act.state.distance_settled:
        act.state.distance_settled = True
        act.say(
            Level.CAUTION,
            "The program moves before it says G90 (from the zero) or G91 (from where the cutter stands). "
            "It is read as G90.",
            "Write G90 at the top.",
        )
    act.settle_frame()


def _straight(act: Act, aim: Aim) -> None:
    if act.motion == 0:
        act.go(Move(RAPID, aim.to), aim.known)
        return
    _before_cut(act)
    length = math.dist(act.state.position, aim.to)
    feed = _feed(act, length)
    if feed > 0:  # in inverse time a move of no length has no speed, and nothing moves
        act.go(Move(LINE, aim.to, feed), aim.known)


def _machine_aim(act: Act) -> Aim:
    """G53: the axis words count from the machine's own zero, where that is known."""
    state = act.state
    if not state.absolute:
        raise act.fault_of("one-line codes", "machine coordinates in incremental distance mode (G91)")
    to, known = list(state.position), list(state.known)
    for axis, letter in enumerate(AXES):
        value = act.value(letter)
        if value is None:
            continue
        zero = state.frames.machine[axis]
        if zero is None:
            raise act.fault_of(
                "one-line codes",
                f"machine coordinates, and where the machine's own {letter} zero lies isn't known here",
                "Go to a place in work coordinates instead.",
            )
        to[axis], known[axis] = zero + value, True
        act.check_reach(letter, to[axis])
    return Aim((to[0], to[1], to[2]), (known[0], known[1], known[2]))


# -- arcs ------------------------------------------------------------------------------------------------


def _arc(act: Act) -> None:
    state = act.state
    _need_plane(act)
    first, second, along = PLANE_AXES[state.plane]
    if not (state.known[first] and state.known[second]):
        raise act.fault("an arc from a place that the program has not said")
    if not any(AXES[axis] in act.block.values for axis in (first, second)):
        raise act.fault(f"an arc needs {AXES[first]} or {AXES[second]} for its end in this plane")
    _before_cut(act)
    aim = act.aim()
    start = (state.position[first], state.position[second])
    arc = _arc_between(act, start, (aim.to[first], aim.to[second]))
    radius = math.dist(start, arc.centre)
    if radius > WIDEST:
        raise act.fault(f"an arc of {radius / 1000:.0f} m radius")
    length = math.hypot(radius * arc.sweep, aim.to[along] - state.position[along])
    act.go(Move(LINE, aim.to, _feed(act, length), arc, state.plane), aim.known)


def _arc_between(act: Act, start: tuple[float, float], end: tuple[float, float]) -> Arc:
    units, ccw = act.state.units, act.motion == 30
    sides = [letter for letter in SIDE_LETTERS if letter in act.block.values]
    radius = act.value("R")
    if sides and radius is not None:
        raise act.block.fault(sides[0], "an arc is given by its centre or by R, not by both")
    try:
        if radius is not None:
            return arc_by_radius(start, end, radius, ccw=ccw, units=units)
        return arc_by_centre(start, end, _centre(act, sides), ccw=ccw, units=units)
    except NoArc as fault:
        raise act.fault(str(fault)) from None


def _centre(act: Act, sides: list[str]) -> tuple[float, float]:
    state = act.state
    first, second, _ = PLANE_AXES[state.plane]
    allowed = sorted((SIDE_LETTERS[first], SIDE_LETTERS[second]))
    for letter in sides:
        if letter not in allowed:
            raise act.block.fault(letter, f"not in this plane: its arcs take {' and '.join(allowed)}")
    if not sides or (state.arc_absolute and len(sides) < 2):
        raise act.fault(f"an arc needs {(' and ' if state.arc_absolute else ' or ').join(allowed)}, or R")
    base = origin(state) if state.arc_absolute else state.position
    return (
        base[first] + (act.value(SIDE_LETTERS[first]) or 0.0),
        base[second] + (act.value(SIDE_LETTERS[second]) or 0.0),
    )


def _need_plane(act: Act) -> None:
    if not act.state.plane_settled:
        act.state.plane_settled = True
        act.say(
            Level.NOTE,
            "The program says no plane before its first arc or cycle. It is read as G17, the XY plane.",
            "Write G17 at the top.",
        )


# -- canned cycles ---------------------------------------------------------------------------------------


def _cycle(act: Act) -> None:
    state = act.state
    _need_plane(act)
    if not all(state.known):
        raise act.fault("a canned cycle from a place that the program has not said")
    if state.inverse_time:
        raise act.fault("a canned cycle in inverse time (G93)")
    first, second, along = PLANE_AXES[state.plane]
    _before_cut(act)
    series = _series(act, along)
    hole = _hole(act, series, along)
    repeats, feed = _repeats(act, hole), _feed(act, 1.0)
    _rise_to(act, along, max(state.position[along], hole.clear))
    for _ in range(repeats):
        aim = act.aim((first, second))
        if aim.to != state.position:
            act.go(Move(RAPID, aim.to), aim.known)
        _rise_to(act, along, hole.clear)
        for step in hole_steps(series.code, hole):
            state.dwell += step.dwell
            if step.dwell:
                act.note("dwell", seconds=step.dwell, word="P")
            act.go(Move(step.kind, _with(state.position, along, step.to), feed), state.known)
    state.series = series


def _rise_to(act: Act, along: int, height: float) -> None:
    if act.state.position[along] != height:
        act.go(Move(RAPID, _with(act.state.position, along, height)), act.state.known)


def _repeats(act: Act, hole: Hole) -> int:
    repeats = int(act.block.values.get("L", 1.0))
    if repeats < 1:
        raise act.block.fault("L", "a cycle is carried out at least once")
    if repeats * 3 * (pecks(hole) + 2) > MOST_STEPS:
        raise act.fault(f"more than {MOST_STEPS} moves from one line")
    return repeats


def _series(act: Act, along: int) -> Series:
    """The cycle's numbers: those on the line, and those kept from the line before."""
    state, code, depth = act.state, act.motion or 0, AXES[along]
    before = state.series
    kept = before if before and before.code == code else None
    missing = [letter for letter in (depth, "R") if letter not in act.block.values]
    if missing:
        _need_kept(act, kept, " and ".join(missing))
    dwell = act.block.values.get("P", kept.dwell if kept else None)
    if code in WITH_DWELL and dwell is None:
        raise act.fault("the first line of this cycle needs P, in seconds")
    peck = _or(act.value("Q"), kept.peck if kept else 0.0)
    if code in WITH_PECKS and peck <= 0:
        raise act.fault("this cycle needs Q, the depth of a peck, above 0")
    return Series(
        code=code,
        clear=_or(act.value("R"), kept.clear if kept else 0.0),
        bottom=_or(act.value(depth), kept.bottom if kept else 0.0),
        dwell=dwell or 0.0,
        peck=peck,
        level=before.level if before else state.position[along],
        absolute=state.absolute,
    )


def _need_kept(act: Act, kept: Series | None, missing: str) -> None:
    if kept is None:
        raise act.fault(f"the first line of this cycle needs {missing}")
    if kept.absolute != act.state.absolute:
        act.say_once(
            Level.CAUTION,
            "kept",
            f"{missing} of the canned cycle is kept from a line in the other distance mode, and is read anew "
            "in the mode in force.",
            f"Write {missing} on this line.",
        )


def _hole(act: Act, series: Series, along: int) -> Hole:
    """Heights in the program frame: from the zero (G90), or R from here and the bottom from R (G91)."""
    state = act.state
    base = origin(state)[along] if state.absolute else state.position[along]
    clear = base + series.clear
    bottom = (base if state.absolute else clear) + series.bottom
    if bottom > clear:
        raise act.fault(f"the bottom of the hole lies above R, by {bottom - clear:.3f} mm")
    if max(abs(clear), abs(bottom)) > FARTHEST:
        raise act.fault(f"further than {FARTHEST / 1000:.0f} m from the zero")
    if series.code in WITH_PECKS:
        act.say_once(
            Level.NOTE,
            "peck",
            "How far a pecking cycle backs off differs between controllers. It is read as 0.254 mm.",
        )
    back = max(series.level, clear) if state.to_level else clear
    return Hole(clear=clear, bottom=bottom, back=back, dwell=series.dwell, peck=series.peck)


def _or(value: float | None, kept: float) -> float:
    return kept if value is None else value


def _with(point: XYZ, axis: int, value: float) -> XYZ:
    out = list(point)
    out[axis] = value
    return out[0], out[1], out[2]


# -- cuts ------------------------------------------------------------------------------------------------


def _before_cut(act: Act) -> None:
    """What must hold before the cutter moves at a feed."""
    state = act.state
    if state.empty:
        raise act.fault("a move at a feed with no cutter in the spindle (T0 M6)")
    if state.feed_stale:
        raise act.fault("the feed in force was set in the other units", "Write F again after G20 or G21.")
    if not all(state.known):
        _say_unplaced(act)
    if state.length_doubt:
        _judge_length(act)
    state.has_cut = True


def _say_unplaced(act: Act) -> None:
    """A cut from a place that the program has not said: a step from there leads nobody knows where."""
    state = act.state
    unsaid = [axis for axis in range(3) if not state.known[axis]]
    letters = ", ".join(AXES[axis] for axis in unsaid)
    stepped = not state.absolute and any(AXES[axis] in act.block.values for axis in unsaid)
    places = ", ".join(f"{AXES[axis]} {state.position[axis]:g} mm" for axis in unsaid)
    act.say_once(
        Level.STOP if stepped else Level.CAUTION,
        "unplaced step" if stepped else "unplaced",
        f"A move at a feed, before the program has said where the cutter stands in {letters}. "
        f"It is read from {places}.",
        "Go to a place by G90 G0 with X, Y and Z first.",
    )


def _judge_length(act: Act) -> None:
    """The first cut after a change of cutter: whose length is in force?"""
    state = act.state
    if state.length_of not in (None, state.cutter):
        raise act.fault(
            f"cutter {state.cutter} cuts with the length of cutter {state.length_of} in force",
            f"Write G43 H{state.cutter} after the change.",
        )
    state.length_doubt = False
    if state.length_of is None:
        act.say(
            Level.CAUTION,
            f"Cutter {state.cutter} went in during the program, and no G43 H{state.cutter} followed: depths "
            "are right only where Z is set again to its tip.",
            f"Write G43 H{state.cutter} after the change, or set Z at the change.",
        )


def _feed(act: Act, length: float) -> float:
    """Speed along the path, mm/s."""
    state = act.state
    if state.inverse_time:
        per_minute = act.block.values.get("F", 0.0)
        if per_minute <= 0:
            raise act.fault("in inverse time (G93) every move at a feed has its own F, above 0")
        return length * per_minute / 60
    if state.feed <= 0:
        raise act.fault("a move at a feed, and no feed above 0 is in force", "Write F.")
    if state.feed > FARTHEST:
        raise act.fault(f"a feed of {state.feed * 60:.3g} mm/min")
    return state.feed
