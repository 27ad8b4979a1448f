"""The interpreter: what each line's words do, in the order in which RS274/NGC carries them out.

A line is carried out whole or not at all: where a word can't be read with certainty, the state is put back as
it was before the line. Positions are in the program frame (see `frames.py`), mm and mm/s.
"""

import math
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

from proveout.finding import Finding, Level
from proveout.motion import LINE, PLANE_AXES, RAPID, XY, YZ, ZX
from proveout.program.arcs import Arc, NoArc, arc_by_centre, arc_by_radius
from proveout.program.cycles import MOST_STEPS, Hole, Series, hole_steps, pecks
from proveout.program.expressions import whole
from proveout.program.frames import (
    NOWHERE,
    XYZ,
    Frames,
    MachineFrame,
    Partly,
    settled,
    taken_here,
    with_placed,
    with_stated,
    zero_of,
)
from proveout.program.line import Unreadable
from proveout.program.moves import Moves
from proveout.program.rules import (
    ARCS,
    AXES,
    CANCEL,
    CYCLES,
    STRAIGHT,
    Codes,
    check_users,
    codes_by_group,
    motion_of,
)
from proveout.program.words import Block, Code
from proveout.quantity import System

FARTHEST: Final = 1e5  # mm: no router reaches further from its zero
WIDEST: Final = 1e6  # mm: no arc of a wooden part has a larger radius
LONGEST_DWELL: Final = 60.0  # s: more than this was perhaps meant in milliseconds
MOST_CUTTERS: Final = 99_999
SIDE_LETTERS: Final = "IJK"
SCALE: Final[dict[System, float]] = {"mm": 1.0, "in": 25.4}
PLANES: Final = {170: XY, 180: ZX, 190: YZ}
SYSTEMS: Final = {540: 1, 550: 2, 560: 3, 570: 4, 580: 5, 590: 6, 591: 7, 592: 8, 593: 9}
SYSTEM_NAMES: Final = {number: f"G{code / 10:g}" for code, number in SYSTEMS.items()}
QUICK_MOTION: Final = {"0": 0, "1": 10, "2": 20, "3": 30}

QuickWords = tuple[str | None, str | None, str | None, str | None, str | None, str | None, str | None]


class _Move(NamedTuple):
    kind: int
    to: XYZ
    feed: float = 0.0
    arc: Arc | None = None
    plane: int = XY
    dwell: float = 0.0


@dataclass(slots=True)
class State:
    """What the controller remembers from line to line. Every value is replaced, none is changed in place."""

    position: XYZ
    known: tuple[bool, bool, bool]  # whether the program (or the caller) has said where each axis stands
    cutter: int
    frames: Frames
    motion: int | None = None
    plane: int = XY
    plane_settled: bool = False  # stated, or its absence said
    absolute: bool = True
    distance_settled: bool = False
    arc_absolute: bool = False
    inverse_time: bool = False
    units: System = "mm"
    units_stated: System | None = None
    units_settled: bool = False
    feed: float = 0.0  # mm/s; 0: none yet
    feed_stale: bool = False  # set before the units changed
    revolutions: float = 0.0  # S
    turning: int = 0  # 30 or 40 while M3 or M4 is in force
    selected: int | None = None  # T
    empty: bool = False  # the cutter was taken out
    has_cut: bool = False
    length_of: int | None = None  # H of the G43 in force
    length_doubt: bool = False  # the cutter has changed since the last cut
    system: int = 1
    to_level: bool = True  # G98
    series: Series | None = None
    dwell: float = 0.0  # s, to be waited before the next move
    stops: int = 0
    spin_ups: int = 0
    cutter_seen: bool = False  # an M6 was read
    ended: bool = False
    said: frozenset[str] = field(default_factory=frozenset)

    @property
    def speed_rpm(self) -> float:
        """Turns a minute of the spindle now."""
        return self.revolutions if self.turning else 0.0

    @property
    def scale(self) -> float:
        """Millimetres in the unit of length in force."""
        return SCALE[self.units]


class Interpreter:
    """Carries out the lines of one program, one after the other."""

    def __init__(
        self, *, file: str, cutter: int, start: XYZ | None, assumed: XYZ, machine: MachineFrame | None
    ) -> None:
        position = start or assumed
        frames = Frames(machine=machine.zero if machine else NOWHERE)
        self.state = State(position, (start is not None,) * 3, cutter, frames)
        self.assumed = assumed
        self.machine = machine
        self.moves = Moves(position, cutter)
        self.findings: list[Finding] = []
        self.tool_changes: tuple[tuple[int, int], ...] = ()
        self.placed_from: int | None = 0 if start else None
        self._file = file
        self._line = 0
        self._made: list[_Move] = []
        self._doubts: list[Finding] = []
        self._changed_to: int | None = None
        self._restart = False
        self._smooth = False
        self._add: XYZ = (0.0, 0.0, 0.0)

    # -- a line, whole or not at all ---------------------------------------------------------------------

    def carry_out(self, block: Block, line: int) -> None:
        """Do what the line says.

        Raises:
            Unreadable: the line breaks a rule; nothing of it was done
        """
        before, self.state = self.state, copy(self.state)
        self._line, self._made, self._doubts = line, [], []
        self._changed_to, self._restart = None, False
        try:
            self._execute(block)
        except Unreadable:
            self.state = before
            raise
        self._commit()

    def _commit(self) -> None:
        state = self.state
        self.findings.extend(self._doubts)
        if self._restart:
            self.moves.restart(state.position)
        if self._changed_to is not None:
            self.tool_changes = (*self.tool_changes, (len(self.moves), self._changed_to))
        builder = self.moves.builder
        builder.line, builder.speed_rpm, builder.cutter = self._line, state.speed_rpm, state.cutter
        for move in self._made:
            self._add_move(move)
        builder.feed = state.feed
        self._note_placed()
        self.moves.pack()
        self._settle()

    def _add_move(self, move: _Move) -> None:
        builder = self.moves.builder
        builder.feed = move.feed
        builder.wait(move.dwell)
        if move.arc:
            builder.arc_to(move.to, move.arc.centre, move.arc.sweep, move.plane)
        elif move.kind == RAPID:
            builder.rapid(move.to)
        else:
            builder.line_to(move.to)

    def _note_placed(self) -> None:
        if self.placed_from is None and all(self.state.known):
            self.placed_from = len(self.moves)

    def _settle(self) -> None:
        """Work out whether the next lines may take the short way, and what is added to their numbers."""
        state = self.state
        self._smooth = (
            state.motion in (0, 10, 20, 30)
            and state.frames.base is not None
            and all(state.known)
            and state.units_settled
            and state.distance_settled
            and state.plane_settled
            and state.plane == XY
            and not (state.arc_absolute or state.inverse_time or state.feed_stale)
            and not (state.length_doubt or state.empty or state.ended or state.dwell)
        )
        if self._smooth:
            self._add = self._origin()

    # -- the short way, for the lines of which programs are mostly made ----------------------------------

    def quick(self, words: QuickWords, line: int) -> bool:
        """Carry out a plain move in the XY plane; False, with nothing done, where the long way is needed.

        A short cut only: what it does, and nothing else, the long way does as well.
        """
        if not self._smooth:
            return False
        code, x, y, z, i, j, f = words
        if not (x or y or z):
            return not (code or i or j or f)
        state = self.state
        motion = QUICK_MOTION[code] if code else state.motion
        scale = 25.4 if state.units == "in" else 1.0
        feed = float(f) * scale / 60 if f else state.feed
        to = self._quick_target(x, y, z, scale)
        if feed <= 0 or feed > FARTHEST or to is None:
            return False
        builder = self.moves.builder
        if motion in (20, 30):
            if not (i or j) or not (x or y):
                return False
            centre = (
                state.position[0] + (float(i) * scale if i else 0.0),
                state.position[1] + (float(j) * scale if j else 0.0),
            )
            try:
                arc = arc_by_centre(
                    state.position[:2], to[:2], centre, ccw=motion == 30, units=state.units
                )
            except NoArc:
                return False
            if math.dist(state.position[:2], centre) > WIDEST:
                return False
            builder.line, builder.feed = line, feed
            builder.arc_to(to, centre, arc.sweep)
        else:
            if i or j:
                return False
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
        state, add = self.state, self._add
        at = state.position
        if state.absolute:
            to = (
                float(x) * scale + add[0] if x else at[0],
                float(y) * scale + add[1] if y else at[1],
                float(z) * scale + add[2] if z else at[2],
            )
        else:
            to = (
                at[0] + (float(x) * scale if x else 0.0),
                at[1] + (float(y) * scale if y else 0.0),
                at[2] + (float(z) * scale if z else 0.0),
            )
        return to if max(to) <= FARTHEST and min(to) >= -FARTHEST else None

    # -- the long way: the order of NISTIR 6556, table 8 -------------------------------------------------

    def _execute(self, block: Block) -> None:
        codes = codes_by_group(block)
        motion = motion_of(block, codes, self.state.motion)
        check_users(block, codes, motion)
        self._feed_mode(codes)
        units_before = self._units(block, codes)
        self._feed_word(block, codes, units_before)
        self._speed(block)
        self._select(block)
        self._change_cutter(block, codes)
        self._spindle(codes)
        self._dwell(block, codes)
        self._plane(codes)
        self._length(block, codes)
        self._work_zero(block, codes)
        self._path_control(block, codes)
        self._distance(codes)
        self._moves_of(block, codes, motion)
        self._stop(codes)

    def _feed_mode(self, codes: Codes) -> None:
        if code := codes.get("feed mode"):
            inverse = code.tenths == 930
            if inverse != self.state.inverse_time:
                self.state.feed = 0.0  # a feed of the other kind means nothing in this one
            self.state.inverse_time = inverse

    def _units(self, block: Block, codes: Codes) -> System | None:
        """Set the units; which were stated before the line."""
        state = self.state
        before = state.units_stated
        if code := codes.get("units"):
            state.units = state.units_stated = "in" if code.tenths == 200 else "mm"
            state.units_settled = True
            state.feed_stale = state.feed_stale or (
                before not in (None, state.units) and state.feed > 0 and not state.inverse_time
            )
        lengths = "XYZIJKRQ" if state.inverse_time else "XYZIJKRQF"
        letter = next((letter for letter in lengths if letter in block.values), None)
        if letter and not state.units_settled:
            state.units_settled = True
            self._say(
                Level.STOP,
                "units-unstated",
                f"column {block.columns[letter]}, \"{letter}{block.values[letter]:g}\": the program has not "
                "said its units, and the controller may stand in inches or in millimetres. "
                "It is read as millimetres.",
                "Write G21 (millimetres) or G20 (inches) before the first number.",
            )
        return before

    def _feed_word(self, block: Block, codes: Codes, units_before: System | None) -> None:
        state = self.state
        if "F" not in block.values or state.inverse_time:
            return
        if "units" in codes and units_before != state.units:
            if units_before is not None:
                raise block.fault("F", "a feed on the line that changes the units: in which is it?")
            self._say_once(
                Level.CAUTION,
                "feed-units",
                f"column {block.columns['F']}: F stands on the line that states the units, and the standard "
                f"carries F out first. It is read as {'mm' if state.units == 'mm' else 'inches'} a minute.",
                "Write G20 or G21 on a line of its own above.",
            )
        state.feed = block.values["F"] * state.scale / 60
        state.feed_stale = False

    def _speed(self, block: Block) -> None:
        if "S" in block.values:
            before = self.state.speed_rpm
            self.state.revolutions = block.values["S"]
            self._count_spin_up(before)

    def _select(self, block: Block) -> None:
        if "T" in block.values:
            if block.values["T"] > MOST_CUTTERS:
                raise block.fault("T", f"a cutter's number is at most {MOST_CUTTERS}")
            self.state.selected = int(block.values["T"])

    def _change_cutter(self, block: Block, codes: Codes) -> None:
        code, state = codes.get("tool change"), self.state
        if code is None:
            return
        if state.selected is None:
            raise Unreadable(code.column, "M6", "a cutter change, and no T before it says which cutter")
        state.turning = 0
        state.cutter_seen = True
        state.length_doubt = state.length_doubt or (
            state.selected != state.cutter and (state.has_cut or state.length_of is not None)
        )
        state.cutter, state.empty = state.selected, state.selected == 0
        self._changed_to = state.selected

    def _spindle(self, codes: Codes) -> None:
        code, state = codes.get("spindle"), self.state
        if code is None:
            return
        before = state.speed_rpm
        if code.tenths == 40:
            self._say_once(
                Level.CAUTION,
                "backwards",
                f"column {code.column}, \"M4\": the spindle turns backwards, and an ordinary cutter does not "
                "cut that way round.",
                "Write M3, unless the cutter is made for it.",
            )
        if state.turning and code.tenths not in (50, state.turning):
            before = 0.0
        state.turning = 0 if code.tenths == 50 else code.tenths
        self._count_spin_up(before)

    def _count_spin_up(self, before: float) -> None:
        if before == 0 and self.state.speed_rpm > 0:
            self.state.spin_ups += 1

    def _dwell(self, block: Block, codes: Codes) -> None:
        code = codes.get("one-line codes")
        if code is None or code.tenths != 40:
            return
        if "P" not in block.values:
            raise Unreadable(code.column, "G4", "a dwell needs P, in seconds")
        seconds = block.values["P"]
        if seconds > LONGEST_DWELL:
            self._say_once(
                Level.CAUTION,
                "dwell",
                f"column {block.columns['P']}, \"P{seconds:g}\": read as {seconds:g} seconds of dwell. "
                "Some controllers take milliseconds.",
                "Look the unit of P up in the controller's manual.",
            )
        self.state.dwell += seconds

    def _plane(self, codes: Codes) -> None:
        if code := codes.get("plane"):
            self.state.plane = PLANES[code.tenths]
            self.state.plane_settled = True
            self.state.series = None

    def _length(self, block: Block, codes: Codes) -> None:
        code, state = codes.get("tool length"), self.state
        if code is None:
            return
        if code.tenths == 490:
            state.length_of = None
            return
        if "H" not in block.values:
            raise Unreadable(code.column, "G43", "no H says whose length is meant")
        number = int(block.values["H"])
        if state.cutter and number not in (0, state.cutter):
            raise block.fault("H", f"the length of cutter {number}, while cutter {state.cutter} is in the spindle")
        state.length_of = number or None
        self._say_once(
            Level.NOTE,
            "length",
            f"G43 H{number}: Z is read as the height of the cutter's tip, which is true where the length in "
            "the controller's table is.",
            f"Measure cutter {number} into the controller's table before the run.",
        )

    def _work_zero(self, block: Block, codes: Codes) -> None:
        code, state = codes.get("work zero"), self.state
        if code is None:
            return
        system = SYSTEMS[code.tenths]
        if state.frames.base is not None and None in zero_of(state.frames, system):
            base = SYSTEM_NAMES[state.frames.base]
            raise Unreadable(
                code.column,
                f"G{code.number}",
                f"another work zero; where it lies from {base}'s, this program doesn't say",
                f"Work in {base} alone, or set both zeros in the program with G10 L2.",
            )
        state.system = system

    def _path_control(self, block: Block, codes: Codes) -> None:
        code = codes.get("path control")
        if code is None or "P" not in block.values:
            return
        if code.tenths != 640:
            raise block.fault("P", "no code on the line uses it")
        self._say_once(
            Level.CAUTION,
            "blend",
            f"column {block.columns['P']}: G64 P{block.values['P']:g} lets the controller leave the path by that "
            "much at corners. The path is read as written.",
        )

    def _distance(self, codes: Codes) -> None:
        state = self.state
        if code := codes.get("distance"):
            state.absolute = code.tenths == 900
            state.distance_settled = True
        if code := codes.get("arc distance"):
            state.arc_absolute = code.tenths == 901
        if code := codes.get("return level"):
            state.to_level = code.tenths == 980

    def _moves_of(self, block: Block, codes: Codes, motion: int | None) -> None:
        """The one-line codes that use axis words, or the line's motion."""
        once = codes.get("one-line codes")
        if once and once.tenths in _ONCE:
            _ONCE[once.tenths](self, block, once)
        if (code := codes.get("motion")) and code.tenths == CANCEL:
            self.state.motion, self.state.series = CANCEL, None
        if once and once.tenths == 530 and motion not in STRAIGHT:
            raise Unreadable(once.column, "G53", "works with G0 or G1 and an axis word only")
        if motion is None:
            return
        self._first_move(block)
        if motion in STRAIGHT:
            self._straight(block, codes, motion, machine=once is not None and once.tenths == 530)
        elif motion in ARCS:
            self._arc(block, codes, motion)
        else:
            self._cycle(block, codes, motion)
        self.state.motion = motion
        if motion not in CYCLES:
            self.state.series = None

    def _stop(self, codes: Codes) -> None:
        if code := codes.get("stopping"):
            if code.tenths in (20, 300):
                self.state.ended = True
            else:
                self.state.stops += 1

    # -- motion ------------------------------------------------------------------------------------------

    def _first_move(self, block: Block) -> None:
        """What a move rests on, said once where the program leaves it unsaid."""
        state = self.state
        if not state.distance_settled:
            state.distance_settled = True
            self._say(
                Level.CAUTION,
                "program-word",
                "The program moves before it says G90 (from the zero) or G91 (from where it stands). "
                "It is read as G90.",
                "Write G90 at the top.",
            )
        if state.frames.base is None:
            if state.system != 1:
                name = SYSTEM_NAMES[state.system]
                self._say(
                    Level.NOTE,
                    "program-word",
                    f"The program works from the zero of {name}: set that one.",
                )
            state.frames = settled(state.frames, state.system)

    def _straight(self, block: Block, codes: Codes, motion: int, *, machine: bool) -> None:
        to = self._machine_target(block, codes) if machine else self._target(block)
        if motion == 0:
            self._go(_Move(RAPID, to), block)
            return
        self._before_cut(block, codes)
        length = math.dist(self.state.position, to)
        if length == 0 and self.state.inverse_time:
            return
        self._go(_Move(LINE, to, self._feed(block, codes, length)), block)

    def _arc(self, block: Block, codes: Codes, motion: int) -> None:
        state = self.state
        self._need_plane(codes)
        first, second, along = PLANE_AXES[state.plane]
        if not (state.known[first] and state.known[second]):
            raise self._fault(block, codes, "an arc from a place that the program has not said")
        if AXES[first] not in block.values and AXES[second] not in block.values:
            raise self._fault(
                block, codes, f"an arc needs {AXES[first]} or {AXES[second]} for its end in this plane"
            )
        self._before_cut(block, codes)
        to = self._target(block)
        start = (state.position[first], state.position[second])
        arc = self._arc_of(block, codes, start, (to[first], to[second]), ccw=motion == 30)
        radius = math.dist(start, arc.centre)
        if radius > WIDEST:
            raise self._fault(block, codes, f"an arc of {radius / 1000:.0f} m radius")
        length = math.hypot(radius * arc.sweep, to[along] - state.position[along])
        self._go(_Move(LINE, to, self._feed(block, codes, length), arc, state.plane), block)

    def _arc_of(
        self, block: Block, codes: Codes, start: tuple[float, float], end: tuple[float, float], *, ccw: bool
    ) -> Arc:
        units = self.state.units
        sides = [letter for letter in SIDE_LETTERS if letter in block.values]
        try:
            if "R" in block.values:
                if sides:
                    raise block.fault(sides[0], "an arc is given by its centre or by R, not by both")
                return arc_by_radius(start, end, block.values["R"] * self.state.scale, ccw=ccw, units=units)
            return arc_by_centre(start, end, self._centre(block, codes, sides), ccw=ccw, units=units)
        except NoArc as fault:
            raise self._fault(block, codes, str(fault)) from None

    def _centre(self, block: Block, codes: Codes, sides: list[str]) -> tuple[float, float]:
        state = self.state
        plane = PLANE_AXES[state.plane][:2]
        allowed = [SIDE_LETTERS[axis] for axis in plane]
        for letter in sides:
            if letter not in allowed:
                raise block.fault(letter, f"not in this plane: its arcs take {' and '.join(sorted(allowed))}")
        if not sides or (state.arc_absolute and len(sides) < 2):
            needed = " and " if state.arc_absolute else " or "
            raise self._fault(block, codes, f"an arc needs {needed.join(sorted(allowed))}, or R")
        values = [block.values.get(letter, 0.0) * state.scale for letter in allowed]
        base = self._origin() if state.arc_absolute else state.position
        return base[plane[0]] + values[0], base[plane[1]] + values[1]

    def _cycle(self, block: Block, codes: Codes, code: int) -> None:
        state = self.state
        self._need_plane(codes)
        if not all(state.known):
            raise self._fault(block, codes, "a canned cycle from a place that the program has not said")
        if state.inverse_time:
            raise self._fault(block, codes, "a canned cycle in inverse time (G93)")
        first, second, along = PLANE_AXES[state.plane]
        self._before_cut(block, codes)
        series = self._series(block, codes, code, along)
        hole = self._hole(block, codes, series, along)
        repeats = int(block.values.get("L", 1.0))
        if repeats < 1:
            raise block.fault("L", "a cycle is repeated at least once")
        if repeats * 3 * (pecks(hole) + 2) > MOST_STEPS:
            raise self._fault(block, codes, f"more than {MOST_STEPS} moves from one line")
        feed = self._feed(block, codes, 1.0)
        if state.position[along] < hole.clear:
            self._go(_Move(RAPID, _with(state.position, along, hole.clear)), block)
        for _ in range(repeats):
            to = self._target(block, only=(first, second))
            if to != state.position:
                self._go(_Move(RAPID, to), block)
            if state.position[along] != hole.clear:
                self._go(_Move(RAPID, _with(state.position, along, hole.clear)), block)
            for step in hole_steps(code, hole):
                state.dwell += step.dwell
                self._go(_Move(step.kind, _with(state.position, along, step.to), feed), block)
        state.series = series

    def _series(self, block: Block, codes: Codes, code: int, along: int) -> Series:
        """The cycle's numbers: those on the line, and those kept from the line before."""
        state, old = self.state, self.state.series
        kept = old if old and old.code == code else None
        missing = [letter for letter in (AXES[along], "R") if letter not in block.values]
        if missing and kept is None:
            raise self._fault(block, codes, f"the first line of this cycle needs {' and '.join(missing)}")
        if missing and kept and kept.absolute != state.absolute:
            self._say_once(
                Level.CAUTION,
                "sticky",
                f"{' and '.join(missing)} of the canned cycle is kept from a line in the other distance mode. "
                "The number is read anew in the mode in force, as the standard's interpreter does.",
                f"Write {' and '.join(missing)} on the line.",
            )

        def number(letter: str, before: float) -> float:
            return block.values[letter] * state.scale if letter in block.values else before

        dwell = block.values.get("P", kept.dwell if kept else -1.0)
        if code in (820, 890) and dwell < 0:
            raise self._fault(block, codes, "the first line of this cycle needs P, in seconds")
        peck = number("Q", kept.peck if kept else 0.0)
        if code in (730, 830) and peck <= 0:
            raise self._fault(block, codes, "this cycle needs Q, the depth of a peck, above 0")
        return Series(
            code=code,
            clear=number("R", kept.clear if kept else 0.0),
            bottom=number(AXES[along], kept.bottom if kept else 0.0),
            dwell=dwell,
            peck=peck,
            level=old.level if old else state.position[along],
            absolute=state.absolute,
        )

    def _hole(self, block: Block, codes: Codes, series: Series, along: int) -> Hole:
        state = self.state
        base = self._origin()[along] if state.absolute else state.position[along]
        clear = base + series.clear
        bottom = (base if state.absolute else clear) + series.bottom
        if bottom > clear:
            raise self._fault(block, codes, f"the hole's bottom lies above R, by {bottom - clear:.3f} mm")
        if max(abs(clear), abs(bottom)) > FARTHEST:
            raise self._fault(block, codes, f"further than {FARTHEST / 1000:.0f} m from the zero")
        if series.code in (730, 830):
            self._say_once(
                Level.NOTE,
                "peck",
                "How far a pecking cycle backs off differs between controllers; it is read as 0.254 mm.",
            )
        back = max(series.level, clear) if state.to_level else clear
        return Hole(clear=clear, bottom=bottom, back=back, dwell=max(series.dwell, 0.0), peck=series.peck)

    def _need_plane(self, codes: Codes) -> None:
        if not self.state.plane_settled:
            self.state.plane_settled = True
            self._say(
                Level.NOTE,
                "program-word",
                "The program says no plane before its first arc or cycle. It is read as G17, the XY plane.",
                "Write G17 at the top.",
            )

    def _before_cut(self, block: Block, codes: Codes) -> None:
        """What must hold before the cutter moves at a feed."""
        state = self.state
        if state.empty:
            raise self._fault(block, codes, "a move at a feed with no cutter in the spindle (T0 M6)")
        if state.feed_stale:
            raise self._fault(
                block, codes, "the feed in force was set in the other units", "Write F again after G20 or G21."
            )
        if not all(state.known):
            self._unplaced_cut(block)
        if state.length_doubt:
            self._doubt_length(block, codes)
        state.has_cut = True

    def _unplaced_cut(self, block: Block) -> None:
        """A cut from a place that the program has not said."""
        state = self.state
        unsaid = [AXES[axis] for axis in range(3) if not state.known[axis]]
        guessed = any(letter in block.values for letter in unsaid) and not state.absolute
        at = ", ".join(f"{AXES[axis]} {self.assumed[axis]:g} mm" for axis in range(3) if not state.known[axis])
        self._say_once(
            Level.STOP if guessed else Level.CAUTION,
            "unplaced, incremental" if guessed else "unplaced",
            f"A move at a feed, and the program has not said where {' and '.join(unsaid)} stands. "
            f"It is read from {at}.",
            "Go to a named place by G90 G0 with X, Y and Z first.",
        )

    def _doubt_length(self, block: Block, codes: Codes) -> None:
        state = self.state
        if state.length_of not in (None, state.cutter):
            raise self._fault(
                block,
                codes,
                f"cutter {state.cutter} cuts with the length of cutter {state.length_of} in force",
                f"Write G43 H{state.cutter} after the change.",
            )
        state.length_doubt = False
        if state.length_of is None:
            self._say(
                Level.CAUTION,
                "program-word",
                f"Cutter {state.cutter} went in during the program, and no G43 H{state.cutter} followed: "
                "depths are right only where Z is set again to its tip.",
                f"Write G43 H{state.cutter} after the change, or set Z at the change.",
            )

    def _feed(self, block: Block, codes: Codes, length: float) -> float:
        """Speed along the path, mm/s."""
        state = self.state
        if state.inverse_time:
            turns = block.values.get("F", 0.0)
            if turns <= 0:
                raise self._fault(block, codes, "in inverse time (G93) every move at a feed needs F above 0")
            return length * turns / 60
        if state.feed <= 0:
            raise self._fault(block, codes, "a move at a feed, and no feed above 0 is in force", "Write F.")
        if state.feed > FARTHEST:
            raise self._fault(block, codes, f"a feed of {state.feed * 60:.3g} mm/min")
        return state.feed

    def _target(self, block: Block, only: tuple[int, ...] = (0, 1, 2)) -> XYZ:
        """Where the axis words lead; those axes become known."""
        state = self.state
        origin, to, known = self._origin(), list(state.position), list(state.known)
        for axis in only:
            letter = AXES[axis]
            if letter not in block.values:
                continue
            value = block.values[letter] * state.scale
            to[axis] = value + origin[axis] if state.absolute else to[axis] + value
            known[axis] = known[axis] or state.absolute
            if abs(to[axis]) > FARTHEST:
                raise block.fault(letter, f"further than {FARTHEST / 1000:.0f} m from the zero")
        return self._reached(to, known)

    def _reached(self, to: list[float], known: list[bool]) -> XYZ:
        # A move's end makes its axes known only once the move is made: `_go` takes this over.
        self._known_after = (known[0], known[1], known[2])
        return to[0], to[1], to[2]

    def _machine_target(self, block: Block, codes: Codes) -> XYZ:
        state, code = self.state, codes["one-line codes"]
        if not state.absolute:
            raise Unreadable(code.column, "G53", "in incremental distance mode (G91)")
        to, known = list(state.position), list(state.known)
        for axis, letter in enumerate(AXES):
            if letter not in block.values:
                continue
            zero = state.frames.machine[axis]
            if zero is None:
                raise Unreadable(
                    code.column,
                    "G53",
                    f"machine coordinates, and where the machine's {letter} zero lies isn't known here",
                    "Go to a height or place in work coordinates instead.",
                )
            to[axis], known[axis] = zero + block.values[letter] * state.scale, True
            if abs(to[axis]) > FARTHEST:
                raise block.fault(letter, f"further than {FARTHEST / 1000:.0f} m from the zero")
        return self._reached(to, known)

    def _go(self, move: _Move, block: Block) -> None:
        """Make a move."""
        state = self.state
        self._made.append(move._replace(dwell=state.dwell))
        state.dwell = 0.0
        state.position, state.known = move.to, self._known_after if self._known_after else state.known

    # -- zeros -------------------------------------------------------------------------------------------

    def _origin(self) -> XYZ:
        """The zero in force, with any shift, in the program frame."""
        frames = self.state.frames
        zero = zero_of(frames, self.state.system)
        return (
            (zero[0] or 0.0) + frames.shift[0],
            (zero[1] or 0.0) + frames.shift[1],
            (zero[2] or 0.0) + frames.shift[2],
        )

    def _set_zero(self, block: Block, code: Code) -> None:
        """G10 L2 and L20."""
        state = self.state
        kind = whole(block.values.get("L", -1.0))
        if kind not in (2, 20):
            raise Unreadable(code.column, "G10", "only G10 L2 and L20, which set a work zero, are read")
        system = whole(block.values.get("P", -1.0))
        if system is None or not (0 if kind == 20 else 1) <= system <= len(SYSTEMS):
            raise Unreadable(code.column, "G10", "P says which work zero: 1 for G54 to 9 for G59.3")
        system = system or state.system
        values = self._axis_values(block)
        state.series = None
        if kind == 20:
            self._set_zero_here(block, code, system, values)
            return
        frames = with_stated(state.frames, system, values)
        if frames.base is not None and system == state.system and None in zero_of(frames, system):
            raise Unreadable(
                code.column, "G10", "moves the zero in force to a place that isn't known from the last one"
            )
        state.frames = frames
        if frames.base is None and system == state.system:
            self._say_once(
                Level.CAUTION,
                "zero-set",
                f"G10 L2 sets {SYSTEM_NAMES[system]} to machine coordinates: the zero that was set by hand is lost.",
            )

    def _set_zero_here(self, block: Block, code: Code, system: int, values: Partly) -> None:
        state = self.state
        self._take_unknown(block, code, values if system == state.system else NOWHERE)
        state.frames = settled(state.frames, state.system) if any(state.known) else state.frames
        self._need_known(code, values)
        taken = self._newly_taken
        zero = [
            None if value is None or taken[axis] else state.position[axis] - state.frames.shift[axis] - value
            for axis, value in enumerate(values)
        ]
        state.frames = with_placed(state.frames, system, (zero[0], zero[1], zero[2]))

    def _shift(self, block: Block, code: Code) -> None:
        """G92: the place where the cutter stands gets these coordinates."""
        state = self.state
        values = self._axis_values(block)
        if all(value is None for value in values):
            raise Unreadable(code.column, "G92", "no X, Y or Z on its line")
        self._take_unknown(block, code, values)
        self._need_known(code, values)
        state.series = None
        if state.frames.base is None and state.known != self._newly_taken:
            state.frames = settled(state.frames, state.system)
        zero = zero_of(state.frames, state.system)
        shift = list(state.frames.shift)
        for axis, value in enumerate(values):
            if value is not None and not self._newly_taken[axis]:
                shift[axis] = state.position[axis] - (zero[axis] or 0.0) - value
        now = (shift[0], shift[1], shift[2])
        state.frames = replace(state.frames, shift=now, kept_shift=now)
        self._say_once(
            Level.CAUTION,
            "shift",
            "G92 shifts the zero without a trace on the controller's screen, and may outlast the program.",
            "Set the zero in a work system (G54) instead.",
        )

    def _unshift(self, block: Block, code: Code) -> None:
        """G92.1 and G92.2 take the shift away, G92.3 brings it back."""
        state, frames = self.state, self.state.frames
        if any(letter in block.values for letter in AXES):
            raise Unreadable(code.column, f"G{code.number}", "takes no axis words")
        if any(frames.taken):
            raise Unreadable(
                code.column, f"G{code.number}", "undoes a G92 from the start, before which the place isn't known"
            )
        nothing = (0.0, 0.0, 0.0)
        state.series = None
        if code.tenths == 923:
            if frames.kept_shift is None:
                raise Unreadable(code.column, "G92.3", "brings back a shift that this program has not made")
            state.frames = replace(frames, shift=frames.kept_shift)
        else:
            kept = None if code.tenths == 921 else frames.shift
            state.frames = replace(frames, shift=nothing, kept_shift=nothing if kept is None else kept)

    def _home(self, block: Block, code: Code) -> None:
        """G28 and G30: by way of the place that is named, then to a place of the machine."""
        state, word = self.state, f"G{code.number}"
        named = [letter for letter in AXES if letter in block.values]
        home = self.machine and (self.machine.home if code.tenths == 280 else self.machine.second_home)
        if not home:
            raise Unreadable(
                code.column,
                word,
                "goes to a place that is stored in the machine and isn't known here",
                "Go to a height or place in work coordinates instead.",
            )
        if len(named) not in (0, 3):
            raise Unreadable(
                code.column,
                word,
                f"with {' and '.join(named)} alone: the standard sends all three axes home, other controllers "
                "only those",
                "Name all three axes or none.",
            )
        self._first_move(block)
        if named:
            self._go(_Move(RAPID, self._target(block)), block)
        self._known_after = (True, True, True)
        self._go(_Move(RAPID, home), block)
        state.series = None

    def _axis_values(self, block: Block) -> Partly:
        values = [
            block.values[letter] * self.state.scale if letter in block.values else None for letter in AXES
        ]
        for letter, value in zip(AXES, values, strict=True):
            if value is not None and abs(value) > FARTHEST:
                raise block.fault(letter, f"further than {FARTHEST / 1000:.0f} m from the zero")
        return values[0], values[1], values[2]

    def _take_unknown(self, block: Block, code: Code, values: Partly) -> None:
        """Before the first move, an axis that gets a value here stands at it: that makes the program's zero."""
        state = self.state
        taken = [value is not None and not state.known[axis] for axis, value in enumerate(values)]
        self._newly_taken = (taken[0], taken[1], taken[2])
        if not any(taken) or len(self.moves):
            self._newly_taken = (False, False, False)
            return
        at = [
            value if value is not None and taken[axis] else state.position[axis]
            for axis, value in enumerate(values)
        ]
        known = [old or new for old, new in zip(state.known, taken, strict=True)]
        state.position, state.known = (at[0], at[1], at[2]), (known[0], known[1], known[2])
        state.frames = taken_here(state.frames, self._newly_taken)
        self._restart = True
        self._say_once(
            Level.CAUTION,
            "taken",
            f"G{code.number} makes the place where the cutter stands at the start the measure of the zero: "
            "the program is right only where the cutter was put there.",
            "Set the zero in a work system (G54) instead.",
        )

    def _need_known(self, code: Code, values: Partly) -> None:
        for axis, value in enumerate(values):
            if value is not None and not self.state.known[axis]:
                raise Unreadable(
                    code.column,
                    f"G{code.number}",
                    f"sets a zero from where {AXES[axis]} stands, which the program has not said",
                )

    # -- what is said ------------------------------------------------------------------------------------

    def _fault(self, block: Block, codes: Codes, rule: str, remedy: str = "") -> Unreadable:
        """A fault of the line's motion: of its code, or of its first axis word where the code is older."""
        if code := codes.get("motion"):
            return Unreadable(code.column, f"G{code.number}", rule, remedy)
        return block.fault(next(letter for letter in AXES if letter in block.values), rule, remedy)

    def _say(self, level: Level, kind: str, text: str, remedy: str = "") -> None:
        self._doubts.append(
            Finding(level=level, kind=kind, text=text, remedy=remedy, program=self._file, line=self._line)
        )

    def _say_once(self, level: Level, key: str, text: str, remedy: str = "") -> None:
        if key not in self.state.said:
            self.state.said = self.state.said | {key}
            self._say(level, "program-word", text, remedy)


def _with(point: XYZ, axis: int, value: float) -> XYZ:
    out = list(point)
    out[axis] = value
    return out[0], out[1], out[2]


_ONCE: Final[dict[int, Callable[[Interpreter, Block, Code], None]]] = {
    100: Interpreter._set_zero,
    280: Interpreter._home,
    300: Interpreter._home,
    920: Interpreter._shift,
    921: Interpreter._unshift,
    922: Interpreter._unshift,
    923: Interpreter._unshift,
}
