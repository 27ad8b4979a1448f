"""One line of a program before its words: comments taken out, blanks and capitals settled, columns kept."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

# A comment in brackets closes on its line and holds no other; RS274/NGC has no other form. The semicolon
# that runs to the end of the line is what many small controllers take besides.
COMMENT: Final = re.compile(r"\([^()]*\)|;.*", re.DOTALL)

SPLIT: Final = re.compile(r"[A-Za-z]?[ \t]*[+-]?[0-9.]+(?:[ \t]+[0-9.]+)+")

# Stands in the text where a comment was: it parts words, and inside a word it is a fault.
GAP: Final = ";"

_FOLLOWING: Final = re.compile(r"(?<=.)[A-Z;#]")


class Unreadable(Exception):
    """A word that can't be read with certainty: where it stands, the rule it breaks and the way out."""

    def __init__(self, column: int, word: str, rule: str, remedy: str = "") -> None:
        super().__init__(rule)
        self.column = column  # 1-based
        self.word = word
        self.rule = rule
        self.remedy = remedy

    def __str__(self) -> str:
        return f'column {self.column}, "{self.word}": {self.rule}'


@dataclass(slots=True)
class Cursor:
    """A line being read: its text without blanks, in capitals, and how far the reading has come."""

    text: str
    columns: Sequence[int]  # of each character of the text in the line as written, 1-based
    at: int = 0
    depth: int = 0  # of brackets and parameter signs, so that hostile nesting can be refused
    slots: int | None = None  # how many of a shape's numbers have been passed; None in a line as written
    compares: bool = False  # EQ, NE, GT, GE, LT and LE are read: the line has an O word

    def rest(self) -> str:
        """What has not been read yet."""
        return self.text[self.at :]

    def peek(self) -> str:
        """The next character; nothing at the end of the line."""
        return self.text[self.at : self.at + 1]

    def column(self, index: int) -> int:
        """Where a character of the text stands in the line as written, 1-based."""
        return self.columns[index] if index < len(self.columns) else self.columns[-1] + 1

    def fault(self, index: int, rule: str, remedy: str = "") -> Unreadable:
        """A fault of the word that begins at `index` of the text."""
        return Unreadable(self.column(index), self.word(index), rule, remedy)

    def word(self, index: int) -> str:
        """The text from `index` up to the next word, short enough for a message."""
        rest = self.text[index : index + 24]
        following = _FOLLOWING.search(rest)
        return rest[: following.start()] if following else rest


def open_line(raw: str) -> Cursor:
    """The line ready for reading.

    Raises:
        Unreadable: a comment that is nested or never closed, a character that isn't ASCII
    """
    bare = COMMENT.sub(lambda found: GAP + " " * (len(found[0]) - 1), raw) if _has_comment(raw) else raw
    if not bare.isascii():
        _refuse_foreign(bare)
    for bracket, rule in (
        ("(", "a comment that is not closed on its line, or holds another"),
        (")", "a bracket that closes no comment"),
    ):
        if bracket in bare:
            raise Unreadable(bare.index(bracket) + 1, bracket, rule)
    columns = [column for column, char in enumerate(bare, start=1) if char not in " \t"]
    return Cursor(bare.replace(" ", "").replace("\t", "").upper(), columns or (0,))


def split_number(raw: str) -> tuple[str, str] | None:
    """What to say, and to do, of blanks inside a number; None where there are none.

    RS274/NGC joins the pieces (NISTIR 6556, 3.3); other controllers stop, or take the first piece alone.
    """
    found = SPLIT.search(COMMENT.sub(lambda comment: GAP + " " * (len(comment[0]) - 1), raw))
    if found is None:
        return None
    joined = re.sub(r"[ \t]", "", found[0])
    return (
        (
            f'column {found.start() + 1}, "{found[0][:24]}": blanks inside a number. It is read as the '
            f"standard says, {joined[:24]}; a letter may be missing, and other controllers take the first "
            "piece alone."
        ),
        "Write the number without blanks, or the letter that is missing before the second one.",
    )


def _has_comment(raw: str) -> bool:
    return "(" in raw or ";" in raw


def _refuse_foreign(bare: str) -> None:
    column, char = next((i, char) for i, char in enumerate(bare, start=1) if not char.isascii())
    raise Unreadable(
        column,
        f"U+{ord(char):04X}",
        "not an ASCII character; outside comments a program has no others",
        "Save the program as plain ASCII text, without a byte order mark.",
    )
