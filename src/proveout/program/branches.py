"""O words: subprograms, loops and choices of a program, each matched with its end before anything is run.

RS274/NGC itself (NISTIR 6556) has none. This is its common extension: `O100 sub ... O100 endsub`, `call`,
`return`, `if`, `elseif`, `else`, `endif`, `while ... endwhile`, `do ... while`, `repeat ... endrepeat`,
`break` and `continue`, with a number or a <name> as label. One O word stands alone on its line.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from proveout.program.expressions import Value, read_value
from proveout.program.line import GAP, Cursor, Unreadable, open_line
from proveout.program.words import pass_line_number

MOST_ARGUMENTS: Final = 30
MOST_BRANCHES: Final = 20_000  # O words in one program
DEEPEST: Final = 50  # loops and choices within each other

LOOPS: Final = frozenset({"while", "do", "repeat"})
OPENING: Final = LOOPS | {"sub", "if"}
OPENED_BY: Final = {"endsub": "sub", "endif": "if", "endwhile": "while", "endrepeat": "repeat"}
VALUES: Final = {"while": 1, "if": 1, "elseif": 1, "repeat": 1}  # in brackets; other words have none

# Possessive, so that a line of a million blanks is passed over once and not once for each of them.
BRANCH: Final = re.compile(r"[ \t]*+/?[ \t]*+(?:N[\d \t]++)?O", re.IGNORECASE | re.ASCII)
_LABEL: Final = re.compile(r"<[^<>\[\];#]{1,80}>|\d{1,9}", re.ASCII)
_WORD: Final = re.compile(  # ELSEIF before ELSE, which begins like it
    "SUB|ENDSUB|CALL|RETURN|DO|WHILE|ENDWHILE|IF|ELSEIF|ELSE|ENDIF|REPEAT|ENDREPEAT|BREAK|CONTINUE"
)


@dataclass(slots=True, eq=False)
class Branch:
    """A line with an O word, and where it leads; changed only while the whole is matched."""

    line: int  # 1-based
    column: int = 1
    label: str = ""
    word: str = ""  # "number" where the line names the program and nothing else
    values: tuple[Value, ...] = ()
    deleted: bool = False
    opener: "Branch | None" = None  # of the loop, choice or subprogram that this one belongs to
    then: "Branch | None" = None  # of if and elseif: the next elseif, else or endif
    end: "Branch | None" = None  # of what opens something: the line that closes it
    fault: Unreadable | None = None  # why it can't be followed
    unread: Unreadable | None = None  # what is wrong on its line behind the word itself

    def refused(self, rule: str, remedy: str = "") -> Unreadable:
        """A fault of this O word."""
        return Unreadable(self.column, f"O{self.label} {self.word}", rule, remedy)

    @property
    def last(self) -> int:
        """The line that closes what this one opens."""
        return self.end.line if self.end else self.line


@dataclass(slots=True)
class Branches:
    """The O words of a program."""

    at: dict[int, Branch] = field(default_factory=dict)  # by line
    subprograms: dict[str, Branch] = field(default_factory=dict)  # by label

    def faults(self) -> Iterable[tuple[int, Unreadable]]:
        """What is wrong with their lines and their order, with the line of each."""
        return [
            (branch.line, fault)
            for branch in self.at.values()
            if branch.fault
            for fault in (branch.fault, branch.unread)
            if fault
        ]


def find_branches(lines: Iterable[str], longest: int) -> Branches:
    """The O words of a program's lines, matched with each other.

    Args:
        longest: no longer line is looked into; it is refused anyway
    """
    found = Branches()
    for number, raw in enumerate(lines, start=1):
        if len(raw) > longest + 1 or not BRANCH.match(raw):
            continue
        branch = found.at[number] = _read_branch(raw, number)
        if len(found.at) > MOST_BRANCHES:
            branch.fault = branch.refused(f"more than {MOST_BRANCHES} O words")
            break
    _match(found)
    return found


# -- one line --------------------------------------------------------------------------------------------


def _read_branch(raw: str, number: int) -> Branch:
    branch = Branch(number, raw.upper().index("O") + 1)
    try:
        cursor = open_line(raw.rstrip("\n"))
        cursor.compares = True
        _read_into(branch, cursor)
    except Unreadable as fault:
        # With its word known it can still be matched with its end; then what it leads to is left out whole.
        if branch.word:
            branch.unread = fault
        else:
            branch.fault = fault
    return branch


def _read_into(branch: Branch, cursor: Cursor) -> None:
    _pass_gaps(cursor)
    if cursor.peek() == "/":
        branch.deleted = True
        cursor.at += 1
    pass_line_number(cursor)
    start = cursor.at
    label = _LABEL.match(cursor.text, start + 1)
    if cursor.peek() != "O" or label is None:
        raise cursor.fault(start, "an O word needs a number or a <name>", "Write O100 or O<name>.")
    branch.column = cursor.column(start)
    branch.label = label[0] if label[0].startswith("<") else str(int(label[0]))
    cursor.at = label.end()
    _pass_gaps(cursor)
    word = _WORD.match(cursor.text, cursor.at)
    branch.word = word[0].lower() if word else "number"
    cursor.at += len(word[0]) if word else 0
    branch.values = _values(branch, cursor)
    if cursor.at < len(cursor.text):
        raise cursor.fault(cursor.at, "nothing else stands on the line of an O word", "Break the line.")


def _values(branch: Branch, cursor: Cursor) -> tuple[Value, ...]:
    values = []
    _pass_gaps(cursor)
    while cursor.peek() == "[":
        values.append(read_value(cursor))
        _pass_gaps(cursor)
    if branch.word == "call":
        if len(values) > MOST_ARGUMENTS:
            raise branch.refused(f"more than {MOST_ARGUMENTS} values")
    elif branch.word in ("return", "endsub") and values:
        raise branch.refused("a subprogram that returns a value; not read here", "Set a parameter above #30.")
    elif len(values) != VALUES.get(branch.word, 0):
        wanted = "one value in square brackets" if branch.word in VALUES else "no value"
        raise branch.refused(f"{branch.word} takes {wanted}")
    return tuple(values)


def _pass_gaps(cursor: Cursor) -> None:
    while cursor.peek() == GAP:
        cursor.at += 1


# -- all of them -----------------------------------------------------------------------------------------


def _match(found: Branches) -> None:
    opened: list[Branch] = []
    for branch in found.at.values():
        if branch.fault:
            continue
        try:
            _place(branch, opened, found.subprograms)
        except Unreadable as fault:
            branch.fault = fault
    for branch in opened:
        branch.fault = branch.refused(f"is never closed: no {_closing(branch)} follows")


def _place(branch: Branch, opened: list[Branch], subprograms: dict[str, Branch]) -> None:
    top = opened[-1] if opened else None
    if branch.word == "while" and top and (top.word, top.label) == ("do", branch.label):
        _close(branch, opened)
    elif branch.word in OPENING:
        _open(branch, opened, subprograms)
    elif branch.word in OPENED_BY:
        if top is None or (top.word, top.label) != (OPENED_BY[branch.word], branch.label):
            raise branch.refused(f"closes no {OPENED_BY[branch.word]} of its label{_standing(top)}")
        _close(branch, opened)
    elif branch.word in ("elseif", "else"):
        _continue_choice(branch, top)
    elif branch.word in ("break", "continue"):
        branch.opener = _enclosing(branch, opened, LOOPS)
    elif branch.word == "return":
        branch.opener = _enclosing(branch, opened, frozenset({"sub"}))


def _open(branch: Branch, opened: list[Branch], subprograms: dict[str, Branch]) -> None:
    if len(opened) >= DEEPEST:
        raise branch.refused(f"more than {DEEPEST} O words within each other")
    if branch.word == "sub":
        if opened:
            raise branch.refused(f"a subprogram inside something else{_standing(opened[-1])}")
        if branch.label in subprograms:
            raise branch.refused(
                f"a second subprogram of this label, after line {subprograms[branch.label].line}"
            )
        subprograms[branch.label] = branch
    opened.append(branch)


def _close(branch: Branch, opened: list[Branch]) -> None:
    opener = opened.pop()
    branch.opener, opener.end = opener, branch
    if opener.word == "if":
        part = opener
        while part.then:
            part.end, part = branch, part.then
        part.then = part.end = branch


def _continue_choice(branch: Branch, top: Branch | None) -> None:
    if top is None or (top.word, top.label) != ("if", branch.label):
        raise branch.refused(f"belongs to no if of its label{_standing(top)}")
    part = top
    while part.then:
        part = part.then
    if part.word == "else":
        raise branch.refused(f"stands after the else of line {part.line}")
    branch.opener, part.then = top, branch


def _enclosing(branch: Branch, opened: list[Branch], words: frozenset[str]) -> Branch:
    for opener in reversed(opened):
        if opener.word in words and opener.label == branch.label:
            return opener
    raise branch.refused(f"stands in no {' or '.join(sorted(words))} of its label")


def _closing(branch: Branch) -> str:
    return "while" if branch.word == "do" else f"end{branch.word}"


def _standing(top: Branch | None) -> str:
    return f"; open is O{top.label} {top.word} of line {top.line}" if top else ""
