"""The reader: anybody's RS-274 mill program in, its motion and everything doubtful about it out.

It follows RS274/NGC (NISTIR 6556, Kramer, Proctor and Messina, 2000) and is strict: what the standard calls
an error, or what controllers understand differently, is a finding with its line and column. A line with such
a word is left out whole, and reading goes on with the next one from where the cutter stood.

Conventions, each of them said in a finding where a program makes use of it:

- The program frame is the work zero of the first move (G54 and its like), as the operator has set it.
- Where the cutter stands when the program starts isn't known unless the caller says so. It is taken to be at
  `ASSUMED_START`, and `placed_from` says from which move on the program itself has settled all three axes.
- A program without G20 or G21 is read in millimetres, without G90 or G91 as G90, without a plane as G17.
- A change of cutter (M6) stops the spindle and leaves the axes where they were.
- With G43 the length in the controller's table is taken to be right: Z is the height of the cutter's tip.
- Lines that begin with a slash are carried out.
- Blanks inside a number are passed over, as the standard says.
- Subprograms, loops and choices by O words are followed within the one text (see `branches.py`); a loop
  without an end is found by the steps it takes.
- Subprograms in other files, parameters with names, probing, cutter radius compensation, rotary axes, scaling
  and turning of coordinates are refused by name.
"""

import io
import math
import re
from dataclasses import dataclass
from typing import Final

from proveout.finding import Finding, Level
from proveout.motion import Motion
from proveout.program.abilities import Abilities, Lack, branch_use, lacks, parameter_use
from proveout.program.branches import BRANCH, Branch, Branches, find_branches
from proveout.program.course import Course
from proveout.program.events import Event, ProgramZero, zero_of_program
from proveout.program.frames import XYZ, MachineFrame
from proveout.program.interpret import Interpreter
from proveout.program.line import COMMENT, Unreadable, split_number
from proveout.program.shapes import Shapes
from proveout.program.words import Block, read_block, worked_out
from proveout.quantity import System

ASSUMED_START: Final[XYZ] = (0.0, 0.0, 50.0)  # mm: above the zero, clear of most work
STEPS_BY_WORD: Final = 50
CODES: Final = {"0": 0, "1": 10, "2": 20, "3": 30}

_NUMBER = r" *([+-]?(?:[0-9]{1,9}\.?[0-9]{0,9}|\.[0-9]{1,9})) *"
_QUICK = re.compile(
    rf" *(?:N[0-9]{{1,5}} *)?(?:G0*([0-3]) *)?(?:F{_NUMBER})?(?:X{_NUMBER})?(?:Y{_NUMBER})?(?:Z{_NUMBER})?"
    rf"(?:I{_NUMBER})?(?:J{_NUMBER})?(?:K{_NUMBER})?(?:R{_NUMBER})?(?:F{_NUMBER})?(?:S{_NUMBER})?"
    r"(?:\([ -'*-~]*\) *)?(?:;[ -~]*)?\n?",
    re.IGNORECASE | re.ASCII,
)
_ANY_BRANCH = re.compile(f"^{BRANCH.pattern}", re.IGNORECASE | re.ASCII | re.MULTILINE)
_OPENING = re.compile(r"[ \t\r\n]*%[ \t]*(?:[\r\n]|\Z)")
_NAME = re.compile(r"<[^<>]*>")  # blanks in an O word's name mean nothing
_LONE_RETURN = re.compile(r"\r(?!\n)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadLimits:
    """How much of a text is read before it is refused."""

    characters: int = 32_000_000
    line_length: int = 256  # the standard's own; the line's end not counted
    lines: int = 2_000_000
    moves: int = 2_000_000
    # A line carried out is a step, and one more for every 32 characters of it; ten more with an O word,
    # and one that must be read word by word, because it is odd or wrong, 50 more.
    steps: int = 3_000_000
    bad_lines: int = 100
    block_length: int | None = None  # that the controller takes, comments not counted; None: not judged


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadProgram:
    """A program as the reader understood it."""

    file: str
    motion: Motion  # program frame, mm, mm/s; the line of each move; the moves of canned cycles too
    findings: tuple[Finding, ...]  # by line; the text says the column, the word and the rule
    units: System | None  # the first stated by G20 or G21; None: never
    tool_changes: tuple[tuple[int, int], ...]  # (index of the first move after the change, cutter number)
    stops: int  # M0, M1 and M60: the machine waits for its operator
    spin_ups: int  # how often the spindle was started
    ended: bool  # by M2, M30 or a closing %
    # Index of the first move whose start is certain; where earlier ones start is assumed in some axis.
    placed_from: int
    events: tuple[Event, ...]  # spindle, dwells, stops and the end, in order
    zero: ProgramZero


def read_program(
    text: str,
    *,
    file: str,
    cutter: int = 0,
    start: XYZ | None = None,
    limits: ReadLimits | None = None,
    machine: MachineFrame | None = None,
    able: Abilities | None = None,
) -> ReadProgram:
    """The motion of a program and what is doubtful about it. Never raises for any text.

    Args:
        file: the program's name in findings
        cutter: number of the cutter in the spindle until the program changes it
        start: where the cutter stands at the start, program frame, mm, where that is known
        machine: where the machine's zero and homes lie in the program frame, for G53, G28 and G30
        able: the words that the controller takes; None: all that are read here
    """
    reading = _Reading(file, limits or ReadLimits(), cutter, start, machine, able or Abilities())
    reading.read(text)
    return reading.result()


class _Reading:
    """One text on its way through the interpreter."""

    def __init__(
        self,
        file: str,
        limits: ReadLimits,
        cutter: int,
        start: XYZ | None,
        machine: MachineFrame | None,
        able: Abilities,
    ) -> None:
        self.file = file
        self.able = able
        self.limits = limits
        self.interpreter = Interpreter(
            file=file, cutter=cutter, start=start, assumed=ASSUMED_START, machine=machine
        )
        self.shapes = Shapes(able)
        self.block_length = math.inf if limits.block_length is None else limits.block_length
        self.parameters: dict[int, float] = {}
        self.units: System | None = None
        self.steps = 0
        self.bad_lines = 0
        self.last = 0  # line
        self.opened = False  # the first line that isn't blank is a %
        self.inside = False  # that line has been passed
        self.closed = False
        self.given_up = False
        self.lacking: set[str] = set()  # keys of what the controller lacks and was told
        self.judged: set[int] = set()  # lines with O words
        self.spoken: set[str] = set()  # keys of what is told once for the program

    def result(self) -> ReadProgram:
        state, moves = self.interpreter.state, self.interpreter.moves
        placed = self.interpreter.placed_from
        return ReadProgram(
            file=self.file,
            motion=moves.motion(),
            findings=tuple(self.interpreter.told.by_line()),
            units=self.units,
            tool_changes=state.changes,
            stops=state.stops,
            spin_ups=state.spin_ups,
            ended=state.ended or self.closed,
            placed_from=len(moves) if placed is None else placed,
            events=self.events(),
            zero=zero_of_program(state.frames, state.zero_line),
        )

    def events(self) -> tuple[Event, ...]:
        """What the lines did, and the end of a text that no M2 or M30 ends; no end where reading stopped."""
        state, told = self.interpreter.state, tuple(self.interpreter.events)
        if state.ended or self.given_up:
            return told
        word = "%" if self.closed else ""
        return *told, Event("end", len(self.interpreter.moves), self.last, state.speed_rpm > 0, word=word)

    def read(self, text: str) -> None:
        if len(text) > self.limits.characters:
            self.say(
                Level.STOP,
                1,
                f"The program has {len(text)} characters; at most {self.limits.characters} are read, so "
                "nothing was.",
                "Split it.",
            )
            return
        self.judge_line_ends(text)
        self.opened = _OPENING.match(text) is not None
        if (count := text.count("\n") + text.count("\r")) > self.limits.lines:
            self.give_up(
                1,
                f"The program has about {count} lines; at most {self.limits.lines} are read, so nothing was.",
                "Split it.",
            )
            return
        lines = list(io.StringIO(text, newline=None))
        branches = Branches()
        if "\r" in text or _ANY_BRANCH.search(text):
            branches = find_branches(lines, self.limits.line_length)
        self.judge_branches(branches)
        course = Course(lines, branches, self)
        course.run()
        self.last = course.line
        self.judge_rest(course)
        self.judge_end()
        if self.able.between_percents and not self.opened:
            self.say(
                Level.CAUTION,
                1,
                "The program does not stand between two % lines, and the controller stated wants them.",
                "Write a % line at the top and 1 more at the end.",
                kind="controller-lacks",
            )

    def read_line(self, raw: str, number: int) -> bool:
        """Read one line; False where it is the last to be read."""
        if len(raw) > self.block_length:
            self.judge_length(raw, number)
        if len(raw) <= self.limits.line_length and self.read_short(raw, number):
            return not self.interpreter.state.ended and self.has_room(number)
        line = raw.rstrip("\n")
        if line.strip(" \t") == "%":
            return self.read_percent(number)
        self.steps += STEPS_BY_WORD
        try:
            self.carry_out(line, number)
        except Unreadable as fault:
            return self.report(fault, number) and self.is_within_steps(number)
        if self.interpreter.state.ended:
            return False
        return self.has_room(number) and self.is_within_steps(number)

    def read_branch(self, branch: Branch, raw: str) -> bool:
        """Judge a line with an O word, which is to be followed; False where it is the last to be read."""
        if branch.fault:
            return self.give_up(
                branch.line,
                "What runs after this line hangs on an O word that can't be followed; nothing after it was "
                "read.",
            )
        if branch.word == "number" and not branch.unread:
            return self.is_program_number(branch) or self.give_up(
                branch.line,
                f'column {branch.column}, "O{branch.label}": the number of another program, or an O word of '
                "which the rest is missing; nothing after this line was read.",
                "Write what it does after its number (sub, call, if, while ...), or one program a file.",
            )
        if branch.line not in self.judged:
            self.judged.add(branch.line)
            self.judge_branch(branch, raw.rstrip("\n"))
        return True

    def judge_branch(self, branch: Branch, line: str) -> None:
        """What there is to say of an O word's line as of any other, once."""
        if len(line) > self.block_length:
            self.judge_length(line, branch.line)
        self.say_slash(branch.line, branch.deleted)
        if branch.unread:
            return
        if number_parts := split_number(_NAME.sub(lambda name: "O" * len(name[0]), line)):
            self.say(Level.STOP, branch.line, *number_parts)
        for lack in (branch_use(self.able, branch), parameter_use(self.able, line)):
            if lack:
                self.say_lack(lack, branch.line)

    def read_short(self, raw: str, number: int) -> bool:
        """Read a line the short way; False, with nothing done, where it must be read word by word."""
        line = self.shapes.known.get(raw)
        if line is None:
            if (found := _QUICK.fullmatch(raw)) and self.read_plain(found, number):
                return True
            line = self.shapes.line(raw)
            if line is None:
                return False
        shape, numbers = line
        if not raw.isascii() or (shape.deleted and "slash" not in self.spoken):
            return False
        if shape.lacks and not shape.lacks <= self.lacking:
            return False
        try:
            changed = worked_out(shape.settings, numbers, self.parameters) if shape.settings else ()
            if not self.interpreter.carry_out_shape(shape, numbers, self.parameters, number):
                return False
        except Unreadable:
            return False
        if changed:
            self.parameters.update(changed)
        if self.units is None:
            self.units = self.interpreter.state.units_stated
        return True

    def read_plain(self, found: re.Match[str], number: int) -> bool:
        """Read a plain move, a comment or an empty line by the words that were found."""
        code, early, x, y, z, i, j, k, r, f, s = found.groups()
        if not (x or y or z):
            return not (code or early or i or j or k or r or f or s)
        if early and f:
            return False
        if r and not self.able.radius_arcs and "radius" not in self.lacking:
            return False
        words = [float(word) if word else None for word in (x, y, z, i, j, k, r, early or f, s)]
        return self.interpreter.quick(CODES[code] if code else None, tuple(words), number)

    def carry_out(self, line: str, number: int) -> None:
        if len(line) > self.limits.line_length:
            raise Unreadable(
                self.limits.line_length + 1,
                line[:16] + "...",
                f"a line of {len(line)} characters; a controller takes {self.limits.line_length} at most",
                "Break the line.",
            )
        block = read_block(line, self.parameters)
        if not line.isascii():
            self.say_once("foreign", Level.NOTE, number, "A comment holds characters that are not ASCII.")
        if number_parts := split_number(line):
            self.say(Level.STOP, number, *number_parts)
        self.say_slash(number, block.deleted and not block.is_empty)
        before = self.interpreter.state
        self.interpreter.carry_out(block, number)
        self.judge_words(line, block, number, before.motion, before.cutter)
        self.parameters.update(block.settings)
        if self.units is None:
            self.units = self.interpreter.state.units_stated

    def say_slash(self, number: int, deleted: bool) -> None:
        if deleted:
            self.say_once(
                "slash",
                Level.CAUTION,
                number,
                "Lines that begin with a slash are skipped where the machine's block delete switch is on. "
                "They are read as carried out.",
                "Take the slash or the line away.",
            )

    def judge_words(self, line: str, block: Block, number: int, modal: int | None, cutter: int) -> None:
        for lack in lacks(self.able, block, modal, cutter=cutter):
            self.say_lack(lack, number)
        if used := parameter_use(self.able, line):
            self.say_lack(used, number)

    def say_lack(self, lack: Lack, number: int) -> None:
        if lack.key not in self.lacking:
            self.lacking.add(lack.key)
            self.say(lack.level, number, lack.text, lack.remedy, kind="controller-lacks")

    def judge_length(self, raw: str, number: int) -> None:
        """A controller counts what reaches its buffer: comments don't, in most of them."""
        most, length = self.limits.block_length, len(COMMENT.sub("", raw).strip())
        if most is not None and length > most:
            self.block_length = math.inf  # it is told once
            self.say(
                Level.CAUTION,
                number,
                f"A line of {length} characters without its comments; the controller takes {most}, and cuts "
                "off or refuses what is longer.",
                f"Break the line into pieces of at most {most} characters.",
                kind="controller-lacks",
            )

    def report(self, fault: Unreadable, number: int, left_out: str = "The line is left out") -> bool:
        """Tell of a line that is left out; False where no more is to be read."""
        at = self.interpreter.state.position
        told = self.say(
            Level.STOP,
            number,
            f"{fault}. {left_out}; what follows is read from X {at[0]:.3f}, Y {at[1]:.3f}, Z {at[2]:.3f} mm.",
            fault.remedy or f"Correct line {number}, or take it out if it is not needed, and prove it again.",
        )
        self.bad_lines += told
        self.steps += 0 if told else STEPS_BY_WORD
        if self.bad_lines < self.limits.bad_lines:
            return True
        return self.give_up(number, f"{self.bad_lines} lines can't be read; nothing after this one was.")

    def give_up(self, number: int, text: str, remedy: str = "") -> bool:
        """Tell why nothing more is read; False."""
        self.say(Level.STOP, number, text, remedy)
        self.given_up = True
        return False

    def has_steps(self) -> bool:
        """Whether steps are left."""
        return self.steps <= self.limits.steps

    def is_within_steps(self, number: int) -> bool:
        return self.has_steps() or self.give_up(
            number,
            f"More than {self.limits.steps} steps; nothing after this line was read. A line is a step, one "
            f"that has to be read word by word is {STEPS_BY_WORD}.",
            "Split the program.",
        )

    def has_room(self, number: int) -> bool:
        if len(self.interpreter.moves) > self.limits.moves:
            return self.give_up(
                number,
                f"More than {self.limits.moves} moves; nothing after this line was read.",
                "Split the program.",
            )
        return True

    # -- O words -----------------------------------------------------------------------------------------

    def judge_branches(self, branches: Branches) -> None:
        """Tell what is wrong with the O words before anything is run; and of the order of subprograms."""
        for line, fault in branches.faults():
            if self.bad_lines < self.limits.bad_lines:
                self.bad_lines += self.say(Level.STOP, line, f"{fault}.", fault.remedy)
        for branch in branches.at.values():
            subprogram = branches.subprograms.get(branch.label)
            if branch.word == "call" and subprogram and subprogram.line > branch.line:
                self.say_once(
                    "late",
                    Level.CAUTION,
                    branch.line,
                    f"The subprogram O{branch.label} stands below its call, in line {subprogram.line}. It is "
                    "followed, but many controllers only know a subprogram that stands above.",
                    "Move the subprograms to the top of the program.",
                )

    def is_program_number(self, branch: Branch) -> bool:
        """A lone O word with a number before anything else names the program: it is passed over."""
        if branch.label.startswith("<") or len(self.interpreter.moves) or "O" in self.spoken:
            return False
        self.say_once(
            "O", Level.NOTE, branch.line, f'"O{branch.label}" is taken for the number of the program.'
        )
        return True

    # -- the ends of lines and of the program ------------------------------------------------------------

    def judge_line_ends(self, text: str) -> None:
        lone = _LONE_RETURN.search(text)
        if lone and "\n" in text:
            # Up to the first lone return, every line feed ends a line, with or without a return before it.
            line = 1 + text.count("\n", 0, lone.start())
            self.say(
                Level.STOP,
                line,
                "The line ends in a carriage return alone, others end in a line feed: a controller may take "
                "two lines for one.",
                "Save the program with one kind of line end.",
            )

    def read_percent(self, number: int) -> bool:
        """A % line opens the program or closes it."""
        if not self.opened:
            self.say(
                Level.STOP,
                number,
                'column 1, "%": closes a program that no % opened. It is passed over.',
                "Begin the program with a % line, or end it with M2 or M30 before this one.",
            )
            return True
        self.closed, self.inside = self.inside, True
        return not self.closed

    def judge_rest(self, course: Course) -> None:
        """What stands after the end is never run; a person should know of it."""
        told = self.given_up or course.is_inside
        for number in course.outside_subprograms(self.last + 1):
            raw = course.lines[number - 1]
            if raw.strip() == "%":
                self.closed = self.closed or self.opened
            elif not told and COMMENT.sub("", raw[:1000]).strip():
                told = True
                self.say(
                    Level.CAUTION,
                    number,
                    f'"{raw.strip()[:24]}" and what follows stand after the end and are never run.',
                    "Take them away, or look for an end that is too early.",
                    kind="program-end",
                )
            if told and (self.closed or not self.opened):
                return

    def judge_end(self) -> None:
        state = self.interpreter.state
        if self.given_up:
            return
        if not (state.ended or self.closed):
            turning = " The spindle is still turning." if state.speed_rpm else ""
            self.say(
                Level.CAUTION,
                max(self.last, 1),
                "The program has no end: no M2, no M30 and no closing %. It may have been cut short."
                + turning,
                "End it with M5 and M30.",
                kind="program-end",
            )
        elif self.opened and not self.closed:
            self.say(
                Level.CAUTION,
                self.last,
                "The program begins with % and no % closes it. It may have been cut short.",
                "Write a % line at the end.",
                kind="program-end",
            )
        if state.selected is not None and not state.changes and state.selected != state.cutter:
            self.say(
                Level.CAUTION,
                state.selected_line,
                f"T{state.selected} is selected, and no M6 puts it into the spindle.",
                "Write M6 after T, or take T away.",
            )

    # -- what is said ------------------------------------------------------------------------------------

    def say(self, level: Level, line: int, text: str, remedy: str = "", kind: str = "program-word") -> bool:
        finding = Finding(level=level, kind=kind, text=text, remedy=remedy, program=self.file, line=line)
        return self.interpreter.told.tell(finding)

    def say_once(
        self,
        key: str,
        level: Level,
        line: int,
        text: str,
        remedy: str = "",
    ) -> None:
        if key not in self.spoken:
            self.spoken.add(key)
            self.say(level, line, text, remedy)
