"""The words of one line: letters with their values, codes apart, parameters to be set."""

import re
from dataclasses import dataclass, field
from typing import Final

from proveout.program.expressions import Parameters, parameter_index, real_value, whole
from proveout.program.line import GAP, Cursor, Unreadable, open_line

LARGEST: Final = 1e9  # no word of a router program is larger; what is, is a fault
LONGEST_LINE_NUMBER: Final = 5  # digits

# Letters that mean something but not here, and why.
REFUSED_LETTERS: Final[dict[str, str]] = {
    "A": "a rotary axis; only X, Y and Z are read",
    "B": "a rotary axis; only X, Y and Z are read",
    "C": "a rotary axis; only X, Y and Z are read",
    "E": "not a word of a mill program; a number has no exponent",
    "N": "a line number stands at the beginning of the line, once",
    "O": "a subprogram or a loop; the reader follows no program that branches",
    "U": "a second linear axis; only X, Y and Z are read",
    "V": "a second linear axis; only X, Y and Z are read",
    "W": "a second linear axis; only X, Y and Z are read",
}
NEVER_NEGATIVE: Final = frozenset("DFHLPST")
WHOLE: Final = frozenset("DHLT")


@dataclass(frozen=True, slots=True)
class Code:
    """A G or M word: the code in tenths (G59.1 is 591, M3 is 30) and its column."""

    tenths: int
    column: int

    @property
    def number(self) -> str:
        """As it is written: 59.1, 3."""
        return f"{self.tenths / 10:g}"


@dataclass(slots=True)
class Block:
    """What one line says. Values are in the line's own units; which those are, the line may say itself."""

    values: dict[str, float] = field(default_factory=dict)
    columns: dict[str, int] = field(default_factory=dict)
    g: list[Code] = field(default_factory=list)
    m: list[Code] = field(default_factory=list)
    settings: list[tuple[int, float]] = field(default_factory=list)
    deleted: bool = False  # the line begins with a slash

    @property
    def is_empty(self) -> bool:
        """Whether the line says nothing to the machine."""
        return not (self.values or self.g or self.m or self.settings)

    def fault(self, letter: str, rule: str, remedy: str = "") -> Unreadable:
        """A fault of the word with this letter."""
        return Unreadable(self.columns[letter], f"{letter}{self.values[letter]:g}", rule, remedy)


def read_block(raw: str, parameters: Parameters) -> Block:
    """The words of a line.

    Raises:
        Unreadable: anything that is not a word, a comment, a parameter setting, a slash or a line number
    """
    cursor = open_line(raw)
    block = Block()
    if cursor.peek() == "/":
        block.deleted = True
        cursor.at += 1
    _pass_line_number(cursor)
    while char := cursor.peek():
        if char == GAP:
            cursor.at += 1
        elif char == "#":
            _read_setting(cursor, block, parameters)
        elif "A" <= char <= "Z":
            _read_word(cursor, block, parameters)
        else:
            raise _stray(cursor)
    return block


def _pass_line_number(cursor: Cursor) -> None:
    if cursor.peek() != "N":
        return
    found = re.compile(r"\d+", re.ASCII).match(cursor.text, cursor.at + 1)
    if found is None or len(found[0]) > LONGEST_LINE_NUMBER:
        raise cursor.fault(cursor.at, "a line number is a plain whole number of at most 5 digits")
    cursor.at = found.end()


def _read_setting(cursor: Cursor, block: Block, parameters: Parameters) -> None:
    start = cursor.at
    index = parameter_index(cursor, parameters)
    if cursor.peek() != "=":
        raise cursor.fault(start, "a parameter that is neither used by a word nor set: an = is missing")
    cursor.at += 1
    block.settings.append((index, real_value(cursor, parameters)))


def _read_word(cursor: Cursor, block: Block, parameters: Parameters) -> None:
    start, letter = cursor.at, cursor.peek()
    if letter in REFUSED_LETTERS:
        raise cursor.fault(start, REFUSED_LETTERS[letter])
    cursor.at += 1
    value = real_value(cursor, parameters)
    if abs(value) > LARGEST:
        raise cursor.fault(start, "a number too large for any router")
    if letter in "GM":
        codes = block.g if letter == "G" else block.m
        codes.append(Code(_tenths(cursor, start, value), cursor.column(start)))
        return
    if letter in block.values:
        raise cursor.fault(start, f"{letter} stands twice on the line")
    block.values[letter] = _checked(cursor, start, letter, value)
    block.columns[letter] = cursor.column(start)


def _tenths(cursor: Cursor, start: int, value: float) -> int:
    tenths = round(value * 10)
    if value < 0 or abs(value * 10 - tenths) > 0.001:
        raise cursor.fault(start, "not a code")
    return tenths


def _checked(cursor: Cursor, start: int, letter: str, value: float) -> float:
    if value < 0 and letter in NEVER_NEGATIVE:
        raise cursor.fault(start, f"{letter} can't be negative")
    if letter not in WHOLE:
        return value
    integer = whole(value)
    if integer is None:
        raise cursor.fault(start, f"{letter} takes a whole number")
    return float(integer)


def _stray(cursor: Cursor) -> Unreadable:
    char = cursor.peek()
    if char == ",":
        return cursor.fault(cursor.at, "a decimal comma is not read", "Write a point.")
    shown = char if char.isprintable() else f"U+{ord(char):04X}"
    return Unreadable(cursor.column(cursor.at), shown, "not the beginning of a word")
