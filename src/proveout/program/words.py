"""The words of one line: letters with their values, codes apart, parameters to be set."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from proveout.program.expressions import (
    NUMBER,
    Index,
    Numbers,
    Parameters,
    Value,
    read_index,
    read_value,
    whole,
)
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
PARTICULAR: Final = frozenset("DFHLPST")  # never negative
WHOLE: Final = frozenset("DHLT")  # and whole
_DIGITS: Final = re.compile(r"\d+", re.ASCII)


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


@dataclass(frozen=True, slots=True)
class Word:
    """A letter and how to work out its value."""

    letter: str
    start: int  # in the cursor's text
    value: Value
    plain: bool  # a number stands there, and nothing that could change from line to line


@dataclass(slots=True)
class Sentence:
    """A line as it is read, before its values are worked out."""

    cursor: Cursor
    words: list[Word] = field(default_factory=list)
    settings: list[tuple[Index, Value]] = field(default_factory=list)
    deleted: bool = False


def read_sentence(cursor: Cursor) -> Sentence:
    """The words of a line.

    Raises:
        Unreadable: anything that is not a word, a comment, a parameter setting, a slash or a line number
    """
    sentence = Sentence(cursor)
    if cursor.peek() == "/":
        sentence.deleted = True
        cursor.at += 1
    pass_line_number(cursor)
    while char := cursor.peek():
        if char == GAP:
            cursor.at += 1
        elif char == "#":
            sentence.settings.append(_read_setting(cursor))
        elif "A" <= char <= "Z":
            sentence.words.append(_read_word(cursor))
        else:
            raise _stray(cursor)
    return sentence


def read_block(raw: str, parameters: Parameters) -> Block:
    """What a line says.

    Raises:
        Unreadable: a line that can't be read, or a value that can't be worked out
    """
    sentence = read_sentence(open_line(raw))
    block = Block(deleted=sentence.deleted)
    for word in sentence.words:
        add_word(block, word, sentence.cursor, word.value((), parameters))
    block.settings = worked_out(sentence.settings, (), parameters)
    return block


def worked_out(
    settings: Iterable[tuple[Index, Value]], numbers: Numbers, parameters: Parameters
) -> list[tuple[int, float]]:
    """The parameters that a line sets, with their values.

    Raises:
        Unreadable: a number or a value that can't be worked out
    """
    return [(index(numbers, parameters), value(numbers, parameters)) for index, value in settings]


def pass_line_number(cursor: Cursor) -> None:
    """Pass an N word, where one is at the cursor.

    Raises:
        Unreadable: one that is no line number
    """
    if cursor.peek() != "N":
        return
    found = _DIGITS.match(cursor.text, cursor.at + 1)
    if found is None or len(found[0]) > LONGEST_LINE_NUMBER:
        raise cursor.fault(cursor.at, "a line number is a plain whole number of at most 5 digits")
    cursor.at = found.end()


def _read_setting(cursor: Cursor) -> tuple[Index, Value]:
    start = cursor.at
    index = read_index(cursor)
    if cursor.peek() != "=":
        raise cursor.fault(start, "a parameter that is neither used by a word nor set: an = is missing")
    cursor.at += 1
    return index, read_value(cursor)


def _read_word(cursor: Cursor) -> Word:
    start, letter = cursor.at, cursor.peek()
    if letter in REFUSED_LETTERS:
        raise cursor.fault(start, REFUSED_LETTERS[letter])
    cursor.at += 1
    plain = NUMBER.match(cursor.text, cursor.at) is not None
    return Word(letter, start, read_value(cursor), plain)


def add_word(block: Block, word: Word, cursor: Cursor, value: float) -> None:
    """Put a word with its value into a block.

    Raises:
        Unreadable: a value that the letter can't take, a letter that the block has already
    """
    start, letter = word.start, word.letter
    if letter in "GM":
        codes = block.g if letter == "G" else block.m
        codes.append(Code(_tenths(cursor, start, value), cursor.column(start)))
        return
    if letter in block.values:
        raise cursor.fault(start, f"{letter} stands twice on the line")
    block.values[letter] = checked(cursor, start, letter, value)
    block.columns[letter] = cursor.column(start)


def _tenths(cursor: Cursor, start: int, value: float) -> int:
    if abs(value) > LARGEST:
        raise cursor.fault(start, "a number too large for any router")
    tenths = round(value * 10)
    if value < 0 or abs(value * 10 - tenths) > 0.001:
        raise cursor.fault(start, "not a code")
    return tenths


def checked(cursor: Cursor, start: int, letter: str, value: float) -> float:
    """A letter's value, as the letter can take it.

    Raises:
        Unreadable: too large, negative or broken where the letter's values are not
    """
    if abs(value) > LARGEST:
        raise cursor.fault(start, "a number too large for any router")
    if letter not in PARTICULAR:
        return value
    if value < 0:
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
    return Unreadable(
        cursor.column(cursor.at),
        shown,
        "not the beginning of a word",
        "Start each word with a letter, as in X10.",
    )
