"""The interpreter: what each line's words do, in the order in which RS274/NGC carries them out.

A line is carried out whole or not at all: where a word can't be read with certainty, the state stays as it
was before the line. Positions are in the program frame (see `frames.py`), mm and mm/s.
"""

import math
from copy import copy
from typing import Final

from proveout.motion import PLANE_AXES, RAPID
from proveout.program.arcs import NoArc, arc_by_centre, arc_by_radius
from proveout.program.events import Event, What
from proveout.program.expressions import Numbers, Parameters
from proveout.program.frames import NOWHERE, XYZ, Frames, MachineFrame
from proveout.program.moves import Moves
from proveout.program.order import ORDER, Holds
from proveout.program.rules import ARCS, STRAIGHT, Codes, check_users, codes_by_group, motion_of
from proveout.program.shapes import Shape
from proveout.program.state import FARTHEST, Act, Move, State, origin
from proveout.program.told import Told
from proveout.program.travel import WIDEST
from proveout.program.words import Block

PLAIN: Final = STRAIGHT | ARCS
_NO_WORDS: Final = Block()

# Values of X, Y, Z, I, J, K, R, F, S; None where the line doesn't have them.
QuickWords = tuple[float | None, ...]


class Interpreter:
    """Carries out the lines of one program, one after the other."""

    def __init__(
        self, *, file: str, cutter: int, start: XYZ | None, assumed: XYZ, machine: MachineFrame | None
    ) -> None:
        place = start or assumed
        frames = Frames(machine=machine.zero if machine else NOWHERE)
        self.state = State(place, (start is not None,) * 3, cutter, frames)
        self.moves = Moves(place, cutter)
        self.told = Told()
        self.events: list[Event] = []
        self.placed_from: int | None = None if start is None else 0
        self._file = file
        self._machine = machine
        self._motions: dict[tuple[Shape, int | None], int | None] = {}  # of shapes that were checked
        self._change_act = self._act(_NO_WORDS, {}, None, 0)  # used again and again; never said of
        self._smooth = False  # straight moves may take the short way
        self._round = False  # arcs too
        self._origin: XYZ = (0.0, 0.0, 0.0)

    def carry_out(self, block: Block, line: int) -> None:
        """Do what the line says.

        Raises:
            Unreadable: the line breaks a rule; nothing of it was done
        """
        codes = codes_by_group(block)
        motion = motion_of(block, codes, self.state.motion)
        check_users(block, codes, motion)
        act = self._act(block, codes, motion, line)
        for step in ORDER:
            step.carry_out(act)
        self._keep(act)

    def _act(self, block: Block, codes: Codes, motion: int | None, line: int) -> Act:
        return Act(
            state=copy(self.state),
            block=block,
            codes=codes,
            motion=motion,
            line=line,
            file=self._file,
            moves_before=len(self.moves),
            machine=self._machine,
        )

    # The short way by a line's shape. Where anything is to be said of the line, it is left to the long way,
    # which knows the columns.

    def carry_out_shape(self, shape: Shape, numbers: Numbers, parameters: Parameters, line: int) -> bool:
        """Do what a line of this shape says; False, with nothing done, where the long way is needed.

        Raises:
            Unreadable: the long way is needed too
        """
        if not shape.steps:
            return True
        if self._is_repeated(shape, numbers, parameters, line):
            if "work zero" in shape.codes:
                self.state.zero_line = line
            return True
        if shape.unfailing:
            self._change(shape, numbers, parameters, line)
            return True
        if shape.is_feed and self._set_feed(shape, numbers, parameters):
            return True
        block = shape.block(numbers, parameters)
        act = self._act(block, shape.codes, self._motion_of(shape, block), line)
        for carry_out in shape.steps:
            carry_out(act)
        if act.said:
            return False
        self._keep(act)
        return True

    def _is_repeated(self, shape: Shape, numbers: Numbers, parameters: Parameters, line: int) -> bool:
        """Whether the line's codes change nothing; its plain move, where it has one, is made then."""
        if shape.holds is None or not self._holds(shape.holds):
            return False
        if shape.quick:
            words = [value and value(numbers, parameters) for value in shape.quick]
            return self._smooth and self.quick(shape.move, tuple(words), line)
        return not shape.words and shape.move is None

    def _motion_of(self, shape: Shape, block: Block) -> int | None:
        key = (shape, self.state.motion)
        if key not in self._motions:
            motion = motion_of(block, shape.codes, self.state.motion)
            check_users(block, shape.codes, motion)
            self._motions[key] = motion
        return self._motions[key]

    def _set_feed(self, shape: Shape, numbers: Numbers, parameters: Parameters) -> bool:
        """Carry out a lone F, where nothing is to be said of it."""
        state = self.state
        if not state.units_settled or state.inverse_time or state.feed_stale:
            return False
        state.feed = shape.block(numbers, parameters).values["F"] * state.scale / 60
        return True

    def _holds(self, holds: Holds) -> bool:
        state = self.state
        for name, value in holds:  # noqa: SIM110 - all() takes twice as long
            if getattr(state, name) != value:
                return False
        return True

    def _change(self, shape: Shape, numbers: Numbers, parameters: Parameters, line: int) -> None:
        """Change the state by codes that can't be refused, and that note no events of their own."""
        state, act = self.state, self._change_act
        speed_rpm, turning = state.speed_rpm, state.turning
        act.state, act.codes = state, shape.codes
        act.block = shape.block(numbers, parameters) if shape.words else _NO_WORDS
        for carry_out in shape.steps:
            carry_out(act)
        if shape.turns:
            self.moves.builder.speed_rpm = state.speed_rpm
            self._note_spindle(speed_rpm, turning, len(self.moves), line)
        if shape.sets_modes:
            self._settle()

    def _keep(self, act: Act) -> None:
        was, state = self.state, act.state
        self.state = state
        # What became of the spindle comes first, as S and M3 are carried out early.
        self._note_spindle(was.speed_rpm, was.turning, act.moves_before, act.line)
        self.events.extend(act.events)
        for finding in act.said:
            self.told.tell(finding)
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

    def _note_spindle(self, speed_rpm: float, turning: int, before: int, line: int) -> None:
        """Put down what a line made of the spindle, from how it turned above the line."""
        state = self.state
        what: What | None = None
        now_rpm = state.speed_rpm
        if bool(speed_rpm) != bool(now_rpm):
            what = "on" if now_rpm else "off"
        elif now_rpm and turning != state.turning:
            what = "reversed"
        if what:
            self.events.append(Event(what, before, line, now_rpm > 0))

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
            state.motion in PLAIN
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

    def quick(self, code: int | None, words: QuickWords, line: int) -> bool:
        """Carry out a plain move; False, with nothing done, where the long way is needed.

        Args:
            code: the line's own code of a plain move, in tenths
        """
        x, y, z, i, j, k, r, f, s = words
        if not self._smooth or (s is not None and s != self.state.revolutions):
            return False
        state, builder = self.state, self.moves.builder
        motion = state.motion if code is None else code
        scale = state.scale
        feed = state.feed if f is None else f * scale / 60
        to = self._quick_target(x, y, z, scale)
        plain = i is None and j is None and k is None and r is None
        if to is None or not 0 < feed <= FARTHEST or plain == (motion in ARCS):
            return False
        if motion in ARCS:
            first, second, along = PLANE_AXES[state.plane]
            axes, sides = (x, y, z), (i, j, k)
            if not self._round or sides[along] is not None or (axes[first] is None and axes[second] is None):
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

    def _quick_target(self, x: float | None, y: float | None, z: float | None, scale: float) -> XYZ | None:
        at = self.state.position
        base = self._origin if self.state.absolute else at
        to = (
            at[0] if x is None else x * scale + base[0],
            at[1] if y is None else y * scale + base[1],
            at[2] if z is None else z * scale + base[2],
        )
        return to if max(to) <= FARTHEST and min(to) >= -FARTHEST else None

    def _quick_arc(
        self, to: XYZ, sides: tuple[float | None, float | None, float | None], ccw: bool
    ) -> tuple[tuple[float, float], float] | None:
        first, second, _ = PLANE_AXES[self.state.plane]
        units, scale, at = self.state.units, self.state.scale, self.state.position
        start, end = (at[first], at[second]), (to[first], to[second])
        i, j, r = sides
        if r is not None and (i is not None or j is not None):
            return None
        try:
            if r is not None:
                arc = arc_by_radius(start, end, r * scale, ccw=ccw, units=units)
            else:
                centre = (start[0] + (i or 0.0) * scale, start[1] + (j or 0.0) * scale)
                arc = arc_by_centre(start, end, centre, ccw=ccw, units=units)
        except NoArc:
            return None
        return arc if math.dist(start, arc.centre) <= WIDEST else None
