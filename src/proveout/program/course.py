"""The course of a program: which of its lines comes next, by its O words, and when it has gone on too long.

Work is counted in steps, so that any text ends in bounded time: a line is one step, and one more for every 32
characters of it; one with an O word is ten more. A loop that never ends is found by the steps it takes.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, Protocol

from proveout.program.branches import LOOPS, Branch, Branches
from proveout.program.expressions import whole
from proveout.program.line import Unreadable

DEEPEST_CALL: Final = 32
LOCALS: Final = range(1, 31)  # parameters of which every call has its own
CHARACTERS_A_STEP: Final = 32
BRANCH_STEPS: Final = 10  # more of a line with an O word, so that a loop without an end is soon found


class Reading(Protocol):
    """What the course needs of the reading that it leads."""

    parameters: dict[int, float]
    steps: int

    def read_line(self, raw: str, number: int) -> bool:
        """Read one line; False where it is the last to be read."""

    def read_branch(self, branch: Branch, raw: str) -> bool:
        """Judge a line with an O word, which is to be followed; False where it is the last to be read."""

    def report(self, fault: Unreadable, number: int, left_out: str = ...) -> bool:
        """Tell of a line that is left out; False where no more is to be read."""

    def give_up(self, number: int, text: str, remedy: str = "") -> bool:
        """Tell why nothing more is read; False."""

    def has_steps(self) -> bool:
        """Whether steps are left."""


@dataclass(slots=True)
class Frame:
    """A call that has not come back yet, or the program itself."""

    back: int = 0  # line to go on with
    kept: dict[int, float] = field(default_factory=dict)  # the caller's own parameters
    passes: dict[int, int] = field(default_factory=dict)  # by line of a loop that is going on: how often
    counts: dict[int, int] = field(default_factory=dict)  # by line of a repeat: how often it shall


class Course:
    """Goes through the lines of a program."""

    def __init__(self, lines: Sequence[str], branches: Branches, reading: Reading) -> None:
        self.lines = lines
        self.branches = branches
        self.reading = reading
        self.line = 0  # that was read last
        self.frames = [Frame()]
        self._marks = [*branches.at, len(lines) + 1]
        self._costs: dict[int, int] = {}

    @property
    def is_inside(self) -> bool:
        """Whether the last line lies in a subprogram, a loop or a choice."""
        return any(
            branch.line < self.line < branch.last
            for branch in self.branches.at.values()
            if branch.end is not None
        )

    def outside_subprograms(self, first: int) -> Iterator[int]:
        """The lines from one on that lie in no subprogram."""
        inside = 0
        for number in range(first, len(self.lines) + 1):
            branch = self.branches.at.get(number)
            if branch and branch.word == "sub":
                inside = branch.last
            if number > inside:
                yield number

    def run(self) -> None:
        """Read line after line, until the last."""
        line: int | None = 1
        while line is not None and line <= len(self.lines):
            branch = self.branches.at.get(line)
            line = self._straight(line) if branch is None else self._branch(branch)

    def _straight(self, first: int) -> int | None:
        """Read up to the next O word."""
        after = self._marks[bisect_left(self._marks, first)]
        reading, lines = self.reading, self.lines
        for number in range(first, after):
            if not reading.read_line(lines[number - 1], number):
                self.line = number
                return None
        self.line = after - 1
        return after if self._charge(first, after) else None

    def _branch(self, branch: Branch) -> int | None:
        self.line = branch.line
        if not self._charge(branch.line, branch.line + 1):
            return None
        if not self.reading.read_branch(branch, self.lines[branch.line - 1]):
            return None
        try:
            if branch.unread:
                raise branch.unread
            return self._FOLLOW.get(branch.word, Course._pass)(self, branch)
        except Unreadable as fault:
            return self._left_out(branch, fault)

    def _left_out(self, branch: Branch, fault: Unreadable) -> int | None:
        """What can't be decided is left out whole: the choice, the loop or the call. A subprogram ends."""
        if branch.word in ("return", "endsub"):
            return self._return(branch) if self.reading.report(fault, branch.line) else None
        opener = branch.opener or branch
        if opener.word in LOOPS:
            self._end_loop(opener)
        what = f"Lines {opener.line} to {opener.last} are" if opener.last > opener.line else "The line is"
        if not self.reading.report(fault, branch.line, f"{what} left out from here"):
            return None
        return opener.last + 1

    # -- steps -------------------------------------------------------------------------------------------

    def _charge(self, first: int, after: int) -> bool:
        cost = self._costs.get(first)
        if cost is None:
            characters = sum(map(len, self.lines[first - 1 : after - 1]))
            cost = after - first + characters // CHARACTERS_A_STEP
            cost = self._costs[first] = cost + (BRANCH_STEPS if first in self.branches.at else 0)
        self.reading.steps += cost
        if self.reading.has_steps():
            return True
        return self._lost()

    def _lost(self) -> bool:
        """Which loop took all the steps: the one that has gone round most often since it was entered."""
        passes = {line: count for frame in self.frames for line, count in frame.passes.items()}
        if not passes:
            return self.reading.give_up(
                self.line, "The program takes more steps than are read; nothing after this line was read."
            )
        line = max(passes, key=passes.__getitem__)
        return self.reading.give_up(
            line,
            f"No end of this loop is in sight: it has gone round {passes[line]} times, and nothing more was "
            "read.",
            "See that what it waits for comes true, or go round less often.",
        )

    # -- where each O word leads -------------------------------------------------------------------------

    def _pass(self, branch: Branch) -> int | None:
        return branch.line + 1

    def _sub(self, branch: Branch) -> int | None:
        return branch.last + 1

    def _call(self, branch: Branch) -> int | None:
        subprogram = self.branches.subprograms.get(branch.label)
        if subprogram is None:
            raise branch.refused(
                "no subprogram of this label in this program; those in other files are not read",
                "Copy the subprogram into this program.",
            )
        if subprogram.end is None or subprogram.fault:
            raise branch.refused(f"the subprogram of line {subprogram.line} can't be followed")
        if len(self.frames) > DEEPEST_CALL:
            self.reading.give_up(
                branch.line,
                f"More than {DEEPEST_CALL} calls within each other; nothing after this line was read.",
                "See that a subprogram that calls itself comes to an end.",
            )
            return None
        parameters = self.reading.parameters
        values = [value((), parameters) for value in branch.values]
        kept = {number: parameters[number] for number in LOCALS if number in parameters}
        parameters.update(enumerate(values, start=1))
        self.frames.append(Frame(branch.line + 1, kept))
        return subprogram.line + 1

    def _return(self, branch: Branch) -> int | None:
        frame, parameters = self.frames.pop(), self.reading.parameters
        for number in LOCALS:
            parameters.pop(number, None)
        parameters.update(frame.kept)
        return frame.back

    def _if(self, branch: Branch) -> int | None:
        part = branch
        while part.word in ("if", "elseif"):
            try:
                if self._is_true(part):
                    return part.line + 1
            except Unreadable as fault:
                return self._left_out(part, fault)
            assert part.then
            part = part.then
        return part.line + 1

    def _end_of_part(self, branch: Branch) -> int | None:
        """At elseif or else, from the part above: the choice is done."""
        assert branch.opener
        return branch.opener.last + 1

    def _while(self, branch: Branch) -> int | None:
        """The head of a while loop, or the foot of a do loop."""
        if branch.opener:
            return self._again(branch.opener, self._is_true(branch))
        self._passes[branch.line] = 0
        return self._again(branch, self._is_true(branch))

    def _end_while(self, branch: Branch) -> int | None:
        assert branch.opener
        try:
            return self._again(branch.opener, self._is_true(branch.opener))
        except Unreadable as fault:
            return self._left_out(branch.opener, fault)

    def _do(self, branch: Branch) -> int | None:
        self._passes[branch.line] = 0
        return branch.line + 1

    def _repeat(self, branch: Branch) -> int | None:
        value = branch.values[0]((), self.reading.parameters)
        count = whole(value)
        if count is None or count < 0:
            raise branch.refused(f"a loop that goes round {value:g} times")
        frame = self.frames[-1]
        frame.passes[branch.line], frame.counts[branch.line] = 0, count
        return self._again(branch, count > 0)

    def _end_repeat(self, branch: Branch) -> int | None:
        assert branch.opener
        frame, line = self.frames[-1], branch.opener.line
        return self._again(branch.opener, frame.passes[line] < frame.counts[line])

    def _break(self, branch: Branch) -> int | None:
        assert branch.opener
        return self._again(branch.opener, False)

    def _continue(self, branch: Branch) -> int | None:
        assert branch.opener
        return branch.opener.last

    @property
    def _passes(self) -> dict[int, int]:
        return self.frames[-1].passes

    def _is_true(self, branch: Branch) -> bool:
        if branch.unread:
            raise branch.unread
        return branch.values[0]((), self.reading.parameters) != 0

    def _again(self, loop: Branch, again: bool) -> int:
        if not again:
            self._end_loop(loop)
            return loop.last + 1
        self._passes[loop.line] += 1
        return loop.line + 1

    def _end_loop(self, loop: Branch) -> None:
        """Forget how often it went round, and the loops inside it that a break has left."""
        passes = self._passes
        for line in [line for line in passes if loop.line <= line <= loop.last]:
            del passes[line]

    _FOLLOW: Final[dict[str, Callable[["Course", Branch], int | None]]] = {
        "sub": _sub,
        "endsub": _return,
        "return": _return,
        "call": _call,
        "if": _if,
        "elseif": _end_of_part,
        "else": _end_of_part,
        "while": _while,
        "endwhile": _end_while,
        "do": _do,
        "repeat": _repeat,
        "endrepeat": _end_repeat,
        "break": _break,
        "continue": _continue,
    }
