"""What the controller remembers, and the carrying out of one line: the ground on which the codes work."""

from dataclasses import dataclass, field
from typing import Final, NamedTuple

from proveout.finding import Finding, Level
from proveout.motion import XY
from proveout.program.arcs import Arc
from proveout.program.cycles import Series
from proveout.program.events import Event, What
from proveout.program.frames import XYZ, Frames, MachineFrame, settled, zero_of
from proveout.program.line import Unreadable
from proveout.program.rules import AXES, Codes
from proveout.program.words import Block
from proveout.quantity import System

FARTHEST: Final = 1e5  # mm: no router reaches further from its zero
SCALE: Final[dict[System, float]] = {"mm": 1.0, "in": 25.4}
SYSTEMS: Final = {540: 1, 550: 2, 560: 3, 570: 4, 580: 5, 590: 6, 591: 7, 592: 8, 593: 9}
SYSTEM_NAMES: Final = {number: f"G{code / 10:g}" for code, number in SYSTEMS.items()}

Known = tuple[bool, bool, bool]


@dataclass
class State:
    """What holds from line to line. Values are replaced, never changed in place: a copy is whole.

    Without slots: a copy is made for almost every line, and copying one dictionary is ten times as fast.
    """

    position: XYZ  # program frame, mm
    known: Known  # whether the program (or the caller) has said where each axis stands
    cutter: int
    frames: Frames
    motion: int | None = None  # code in tenths
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
    selected_line: int = 0
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
    changes: tuple[tuple[int, int], ...] = ()  # (moves made before, cutter)
    zero_line: int | None = None  # that chose or moved a zero last
    ended: bool = False
    said: frozenset[str] = field(default_factory=frozenset)
    # The last answer of `origin`, and what it was the answer for: it is asked for several times a line.
    kept_origin: tuple[Frames | None, int, XYZ] = (None, 0, (0.0, 0.0, 0.0))

    def __copy__(self) -> "State":
        copied = object.__new__(State)
        copied.__dict__.update(self.__dict__)
        return copied

    @property
    def speed_rpm(self) -> float:
        """Turns a minute of the spindle now."""
        return self.revolutions if self.turning else 0.0

    @property
    def scale(self) -> float:
        """Millimetres in the unit of length in force."""
        return SCALE[self.units]


class Move(NamedTuple):
    """One move of a line that is being carried out."""

    kind: int
    to: XYZ
    feed: float = 0.0  # mm/s
    arc: Arc | None = None
    plane: int = XY
    dwell: float = 0.0  # s, before the move


class Aim(NamedTuple):
    """Where axis words lead, and which axes are known when the cutter is there."""

    to: XYZ
    known: Known


@dataclass(slots=True, kw_only=True)
class Act:
    """One line being carried out: the state it changes, the moves it makes, what there is to say of it."""

    state: State
    block: Block
    codes: Codes
    motion: int | None  # code of the line's motion, in tenths
    line: int
    file: str
    moves_before: int
    machine: MachineFrame | None
    made: list[Move] = field(default_factory=list)
    said: list[Finding] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    starts_elsewhere: bool = False  # no move was made yet, and the place of the first one has changed

    def value(self, letter: str) -> float | None:
        """A word's length in mm; None where the line doesn't have the word."""
        value = self.block.values.get(letter)
        return None if value is None else value * self.state.scale

    def is_code(self, group: str, tenths: int) -> bool:
        """Whether the line has this code."""
        code = self.codes.get(group)
        return code is not None and code.tenths == tenths

    def go(self, move: Move, known: Known) -> None:
        """Make a move."""
        if self.state.dwell:
            move, self.state.dwell = move._replace(dwell=self.state.dwell), 0.0
        self.made.append(move)
        self.state.position, self.state.known = move.to, known

    def note(self, what: What, *, seconds: float = 0.0, word: str = "") -> None:
        """Put an event between the moves made so far and the next."""
        before, turning = self.moves_before + len(self.made), self.state.speed_rpm > 0
        self.events.append(Event(what, before, self.line, turning, seconds, word))

    def aim(self, axes: tuple[int, ...] = (0, 1, 2)) -> Aim:
        """Where the line's axis words lead from here, in the distance mode in force."""
        state = self.state
        at, to, known = origin(state), list(state.position), list(state.known)
        for axis in axes:
            value = self.value(AXES[axis])
            if value is not None:
                to[axis] = value + (at[axis] if state.absolute else to[axis])
                known[axis] = known[axis] or state.absolute
                self.check_reach(AXES[axis], to[axis])
        return Aim((to[0], to[1], to[2]), (known[0], known[1], known[2]))

    def check_reach(self, letter: str, place: float) -> None:
        """Refuse a place that no router reaches."""
        if abs(place) > FARTHEST:
            raise self.block.fault(letter, f"further than {FARTHEST / 1000:.0f} m from the zero")

    def fault(self, rule: str, remedy: str = "") -> Unreadable:
        """A fault of the line's motion: of its code, or of its first axis word where the code is older."""
        if code := self.codes.get("motion"):
            return Unreadable(code.column, f"G{code.number}", rule, remedy)
        return self.block.fault(next(letter for letter in AXES if letter in self.block.values), rule, remedy)

    def fault_of(self, group: str, rule: str, remedy: str = "", letter: str = "G") -> Unreadable:
        """A fault of the line's code of this group."""
        code = self.codes[group]
        return Unreadable(code.column, f"{letter}{code.number}", rule, remedy)

    def say(self, level: Level, text: str, remedy: str = "", kind: str = "program-word") -> None:
        """Put a finding on this line."""
        self.said.append(
            Finding(level=level, kind=kind, text=text, remedy=remedy, program=self.file, line=self.line)
        )

    def say_once(self, level: Level, key: str, text: str, remedy: str = "") -> None:
        """Put a finding on this line, unless the program has had it before."""
        if key not in self.state.said:
            self.state.said = self.state.said | {key}
            self.say(level, text, remedy)

    def settle_frame(self) -> None:
        """The zero in force at the first move is the program's frame."""
        state = self.state
        if state.frames.base is None and state.system != 1:
            name = SYSTEM_NAMES[state.system]
            self.say(
                Level.NOTE, f"The program works from the zero of {name}.", f"Set the work zero in {name}."
            )
        state.frames = settled(state.frames, state.system)


def origin(state: State) -> XYZ:
    """The zero in force, with any shift, in the program frame."""
    frames, system, place = state.kept_origin
    if frames is state.frames and system == state.system:
        return place
    zero, shift = zero_of(state.frames, state.system), state.frames.shift
    place = (zero[0] or 0.0) + shift[0], (zero[1] or 0.0) + shift[1], (zero[2] or 0.0) + shift[2]
    state.kept_origin = (state.frames, state.system, place)
    return place
