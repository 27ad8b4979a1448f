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
- Subprograms, loops, probing, cutter radius compensation, rotary axes, scaling and turning of coordinates are
  refused by name.
"""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from proveout.finding import Finding, Level
from proveout.motion import Motion
from proveout.program.abilities import Abilities, Lack, lacks, parameter_use, radius_arc
from proveout.program.events import Event, ProgramZero, zero_of_program
from proveout.program.frames import XYZ, MachineFrame
from proveout.program.interpret import Interpreter
from proveout.program.line import COMMENT, Unreadable, split_number
from proveout.program.words import Block, read_block
from proveout.quantity import System

ASSUMED_START: Final[XYZ] = (0.0, 0.0, 50.0)  # mm: above the zero, clear of most work

_NUMBER = r" *([+-]?(?:[0-9]{1,9}\.?[0-9]{0,9}|\.[0-9]{1,9})) *"
_QUICK = re.compile(
    rf" *(?:N[0-9]{{1,5}} *)?(?:G0*([0-3]) *)?(?:F{_NUMBER})?(?:X{_NUMBER})?(?:Y{_NUMBER})?(?:Z{_NUMBER})?"
    rf"(?:I{_NUMBER})?(?:J{_NUMBER})?(?:K{_NUMBER})?(?:R{_NUMBER})?(?:F{_NUMBER})?(?:S{_NUMBER})?"
    r"(?:\([ -'*-~]*\) *)?(?:;[ -~]*)?\n?",
    re.IGNORECASE | re.ASCII,
)
# Possessive, so that a line of a million blanks is passed over once and not once for each of them.
_BRANCH = re.compile(r"[ \t]*+/?[ \t]*+(?:N[\d \t]++)?O", re.IGNORECASE | re.ASCII)
_PROGRAM_NUMBER = re.compile(r"[ \t]*O[ \t]*\d+[ \t]*(?:\([^()]*\)[ \t]*)?", re.IGNORECASE | re.ASCII)
_OPENING = re.compile(r"[ \t\r\n]*%[ \t]*(?:[\r\n]|\Z)")
RADIUS: Final = 9  # number of its group
_LONE_RETURN = re.compile(r"\r(?!\n)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadLimits:
    """How much of a text is read before it is refused."""

    characters: int = 32_000_000
    line_length: int = 256  # the standard's own; the line's end not counted
    moves: int = 2_000_000
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
        self.parameters: dict[int, float] = {}
        self.units: System | None = None
        self.bad_lines = 0
        self.last = 0  # line
        self.opened = False  # the first line that isn't blank is a %
        self.inside = False  # that line has been passed
        self.closed = False
        self.given_up = False
        self.spoken: set[str] = set()

    def result(self) -> ReadProgram:
        state, moves = self.interpreter.state, self.interpreter.moves
        placed = self.interpreter.placed_from
        return ReadProgram(
            file=self.file,
            motion=moves.motion(),
            findings=tuple(sorted(self.interpreter.findings, key=lambda finding: finding.line or 0)),
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
        lines = enumerate(io.StringIO(text, newline=None), start=1)
        for number, raw in lines:
            self.last = number
            if not self.read_line(raw, number):
                break
        self.judge_rest(lines)
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
        longest = self.limits.line_length
        found = _QUICK.fullmatch(raw) if len(raw) <= longest else None
        if self.limits.block_length is not None and len(raw) > self.limits.block_length:
            self.judge_length(raw, number, self.limits.block_length)
        if found and self.interpreter.quick(found.groups(), number):
            if found[RADIUS] and not self.able.radius_arcs:
                self.say_lack(radius_arc(found.start(RADIUS), f"R{found[RADIUS]}"), number)
            return self.has_room(number)
        line = raw.rstrip("\n")
        if line.strip(" \t") == "%":
            return self.read_percent(number)
        if _BRANCH.match(line):
            return self.is_program_number(line, number) or self.give_up(
                number,
                f'column {line.upper().index("O") + 1}, "{line.strip()[:24]}": a subprogram or a loop. '
                "The reader follows no program that branches, and nothing after this line was read.",
                "Write the program out, without subprograms and loops.",
            )
        try:
            self.carry_out(line, number)
        except Unreadable as fault:
            return self.report(fault, number)
        return not self.interpreter.state.ended and self.has_room(number)

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
        if block.deleted and not block.is_empty:
            self.say_once(
                "slash",
                Level.CAUTION,
                number,
                "Lines that begin with a slash are skipped where the machine's block delete switch is on. "
                "They are read as carried out.",
                "Take the slash or the line away.",
            )
        before = self.interpreter.state
        self.interpreter.carry_out(block, number)
        self.judge_words(line, block, number, before.motion, before.cutter)
        self.parameters.update(block.settings)
        if self.units is None:
            self.units = self.interpreter.state.units_stated

    def judge_words(self, line: str, block: Block, number: int, modal: int | None, cutter: int) -> None:
        for lack in lacks(self.able, block, modal, cutter=cutter):
            self.say_lack(lack, number)
        if used := parameter_use(self.able, line):
            self.say_lack(used, number)

    def say_lack(self, lack: Lack, number: int) -> None:
        self.say_once(f"lack {lack.key}", lack.level, number, lack.text, lack.remedy, kind="controller-lacks")

    def judge_length(self, raw: str, number: int, most: int) -> None:
        """A controller counts what reaches its buffer: comments don't, in most of them."""
        length = len(COMMENT.sub("", raw).strip())
        if length > most:
            self.say_once(
                "long",
                Level.CAUTION,
                number,
                f"A line of {length} characters without its comments; the controller takes {most}, and cuts "
                "off or refuses what is longer.",
                f"Break the line into pieces of at most {most} characters.",
                kind="controller-lacks",
            )

    def report(self, fault: Unreadable, number: int) -> bool:
        at = self.interpreter.state.position
        self.say(
            Level.STOP,
            number,
            f"{fault}. The line is left out; what follows is read from "
            f"X {at[0]:.3f}, Y {at[1]:.3f}, Z {at[2]:.3f} mm.",
            fault.remedy or f"Correct line {number}, or take it out if it is not needed, and prove it again.",
        )
        self.bad_lines += 1
        if self.bad_lines < self.limits.bad_lines:
            return True
        return self.give_up(number, f"{self.bad_lines} lines can't be read; nothing after this one was.")

    def give_up(self, number: int, text: str, remedy: str = "") -> bool:
        self.say(Level.STOP, number, text, remedy)
        self.given_up = True
        return False

    def has_room(self, number: int) -> bool:
        if len(self.interpreter.moves) <= self.limits.moves:
            return True
        return self.give_up(
            number,
            f"More than {self.limits.moves} moves; nothing after this line was read.",
            "Split the program.",
        )

    def is_program_number(self, line: str, number: int) -> bool:
        """A lone O word with a number before anything else names the program: it is passed over."""
        if not _PROGRAM_NUMBER.fullmatch(line) or len(self.interpreter.moves) or "O" in self.spoken:
            return False
        self.say_once(
            "O", Level.NOTE, number, f'"{line.strip()[:24]}" is taken for the number of the program.'
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

    def judge_rest(self, lines: Iterator[tuple[int, str]]) -> None:
        """What stands after the end is never run; a person should know of it."""
        told = self.given_up
        for number, raw in lines:
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

    def say(self, level: Level, line: int, text: str, remedy: str = "", kind: str = "program-word") -> None:
        self.interpreter.findings.append(
            Finding(level=level, kind=kind, text=text, remedy=remedy, program=self.file, line=line)
        )

    def say_once(
        self,
        key: str,
        level: Level,
        line: int,
        text: str,
        remedy: str = "",
        kind: str = "program-word",
    ) -> None:
        if key not in self.spoken:
            self.spoken.add(key)
            self.say(level, line, text, remedy, kind)
