"""The interpreter: what each line's words do, in the order in which RS274/NGC carries them out.

A line is carried out whole or not at all: where a word can't be read with certainty, the state stays as it
was before the line. Positions are in the program frame (see `frames.py`), mm and mm/s.
"""

import math
from collections.abc import Callable
from copy import copy
from typing import Final

from proveout.finding import Finding
from proveout.motion import PLANE_AXES, RAPID
from proveout.program import settings
from proveout.program.arcs import NoArc, arc_by_centre, arc_by_radius
from proveout.program.events import Event, What
from proveout.program.frames import NOWHERE, XYZ, Frames, MachineFrame
from proveout.program.moves import Moves
from proveout.program.rules import ARCS, check_users, codes_by_group, motion_of
from proveout.program.state import FARTHEST, Act, Move, State, origin
from proveout.program.travel import WIDEST, travel
from proveout.program.words import Block
from proveout.program.zeros import move_zero

QUICK_MOTION: Final = {"0": 0, "1": 10, "2": 20, "3": 30}

# Code, F, X, Y, Z, I, J, K, R, F, S as they stand on a line; None where they don't.
QuickWords = tuple[str | None, ...]


def _stop(act: Act) -> None:
    if code := act.codes.get("stopping"):
        word = f"M{code.number}"
        if code.tenths in (20, 300):
            act.state.ended = True
            act.note("end", word=word)
        else:
            act.state.stops += 1
            act.note("pause", word=word)


# NISTIR 6556, table 8; coolant, overrides and pallets move nothing and are left out. F is carried out with
# the units, so that a line with both can be judged.
ORDER: Final[tuple[Callable[[Act], None], ...]] = (
    settings.feed_mode,
    settings.units_and_feed,
    settings.speed,
    settings.select_cutter,
    settings.change_cutter,
    settings.spindle,
    settings.dwell,
    settings.plane,
    settings.length,
    settings.work_zero,
    settings.path_control,
    settings.distance,
    move_zero,
    travel,
    _stop,
)


class Interpreter:
    """Carries out the lines of one program, one after the other."""

    def __init__(
        self, *, file: str, cutter: int, start: XYZ | None, assumed: XYZ, machine: MachineFrame | None
    ) -> None:
        place = start or assumed
        frames = Frames(machine=machine.zero if machine else NOWHERE)
        self.state = State(place, (start is not None,) * 3, cutter, frames)
        self.moves = Moves(place, cutter)
        self.findings: list[Finding] = []
        self.events: list[Event] = []
        self.placed_from: int | None = None if start is None else 0
        self._file = file
        self._machine = machine
        self._smooth = False  # straight moves may take the short way
        self._round = False  # arcs too
        self._origin: XYZ = (0.0, 0.0, 0.0)

    def carry_out(self, block: Block, line: int) -> None:
        """Do what the line says.

        Raises:
            Unreadable: the line breaks a rule; nothing of it was done
        """
        state = copy(self.state)
        codes = codes_by_group(block)
        motion = motion_of(block, codes, state.motion)
        check_users(block, codes, motion)
        act = Act(
            state=state,
            block=block,
            codes=codes,
            motion=motion,
            line=line,
            file=self._file,
            moves_before=len(self.moves),
            machine=self._machine,
        )
        for carry_out in ORDER:
            carry_out(act)
        self._keep(act)

    def _keep(self, act: Act) -> None:
        self._keep_events(act)
        state = self.state = act.state
        self.findings.extend(act.said)
        if act.starts_elsewhere:
            self.moves.restart(state.position)
        builder = self.moves.builder
        builder.line, builder.speed_rpm, builder.cutter = act.line, state.speed_rpm, state.cutter
        for move in act.made:
            self._add(move)
        if self.placed_from is None and all(state.known):
            self.placed_from = len(self.moves)
        self.moves.pack()
        self._settle()

    def _keep_events(self, act: Act) -> None:
        """What the line did; what became of the spindle comes first, as S and M3 are carried out early."""
        was, now = self.state, act.state
        what: What | None = None
        if bool(was.speed_rpm) != bool(now.speed_rpm):
            what = "on" if now.speed_rpm else "off"
        elif now.speed_rpm and was.turning != now.turning:
            what = "reversed"
        if what:
            self.events.append(Event(what, act.moves_before, act.line, now.speed_rpm > 0))
        self.events.extend(act.events)

    def _add(self, move: Move) -> None:
        builder = self.moves.builder
        builder.feed = move.feed
        builder.wait(move.dwell)
        if move.arc:
            builder.arc_to(move.to, move.arc.centre, move.arc.sweep, move.plane)
        elif move.kind == RAPID:
            builder.rapid(move.to)
        else:
            builder.line_to(move.to)

    def _settle(self) -> None:
        """Work out whether the next lines may take the short way, and from which zero they count."""
        state = self.state
        self._smooth = (
            state.motion in QUICK_MOTION.values()
            and state.frames.base is not None
            and all(state.known)
            and state.units_settled
            and state.distance_settled
            and not (state.inverse_time or state.feed_stale)
            and not (state.length_doubt or state.empty or state.ended or state.dwell)
        )
        self._round = state.plane_settled and not state.arc_absolute
        self._origin = origin(state)

    # The short way. It is a short cut only: the long way does the same, and the tests compare the two.

    def quick(self, words: QuickWords, line: int) -> bool:
        """Carry out a plain move; False, with nothing done, where the long way is needed."""
        code, early_f, x, y, z, i, j, k, r, f, s = words
        if not (x or y or z):
            return not any(words)
        if not self._smooth or (s and float(s) != self.state.revolutions) or (early_f and f):
            return False
        state, builder = self.state, self.moves.builder
        motion = QUICK_MOTION[code] if code else state.motion
        scale = state.scale
        f = f or early_f
        feed = float(f) * scale / 60 if f else state.feed
        to = self._quick_target(x, y, z, scale)
        if to is None or not 0 < feed <= FARTHEST or bool(i or j or k or r) != (motion in ARCS):
            return False
        if motion in ARCS:
            first, second, along = PLANE_AXES[state.plane]
            axes, sides = (x, y, z), (i, j, k)
            if not (self._round and (axes[first] or axes[second])) or sides[along]:
                return False
            arc = self._quick_arc(to, (sides[first], sides[second], r), motion == 30)
            if arc is None:
                return False
            builder.line, builder.feed = line, feed
            builder.arc_to(to, *arc, state.plane)
        else:
            builder.line, builder.feed = line, feed
            if motion:
                builder.line_to(to)
            else:
                builder.rapid(to)
        state.feed, state.motion, state.position = feed, motion, to
        state.has_cut = state.has_cut or motion != 0
        self.moves.pack()
        return True

    def _quick_target(self, x: str | None, y: str | None, z: str | None, scale: float) -> XYZ | None:
        at = self.state.position
        base = self._origin if self.state.absolute else at
        to = (
            float(x) * scale + base[0] if x else at[0],
            float(y) * scale + base[1] if y else at[1],
            float(z) * scale + base[2] if z else at[2],
        )
        return to if max(to) <= FARTHEST and min(to) >= -FARTHEST else None

    def _quick_arc(
        self, to: XYZ, sides: tuple[str | None, str | None, str | None], ccw: bool
    ) -> tuple[tuple[float, float], float] | None:
        first, second, _ = PLANE_AXES[self.state.plane]
        units, scale, at = self.state.units, self.state.scale, self.state.position
        start, end = (at[first], at[second]), (to[first], to[second])
        i, j, r = sides
        if r and (i or j):
            return None
        try:
            if r:
                arc = arc_by_radius(start, end, float(r) * scale, ccw=ccw, units=units)
            else:
                centre = (start[0] + float(i or 0) * scale, start[1] + float(j or 0) * scale)
                arc = arc_by_centre(start, end, centre, ccw=ccw, units=units)
        except NoArc:
            return None
        return arc if math.dist(start, arc.centre) <= WIDEST else None
