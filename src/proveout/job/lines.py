"""Where each field of a TOML text stands: a table from its keys to line and column.

The library's parser gives the values and no places; no validator does. This scanner runs over text which that
parser has accepted, so it only has to find where things begin, never to judge them.
"""

import re
import tomllib
from bisect import bisect_right
from typing import Final, Literal, NamedTuple

from proveout.quantity import printable

# The way to a value: names of fields, and numbers of items counted from 0.
Keys = tuple[str | int, ...]

DEEPEST: Final = 8  # steps in a way; the files need 4

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN = re.compile(r"[^,\]}#\n]+")
_STRING = re.compile(
    r'"""[^"\\]*(?:(?:\\.|"{1,2}(?!"))[^"\\]*)*"{3,5}(?!")'
    r"|'''[^']*(?:'{1,2}(?!')[^']*)*'{3,5}(?!')"
    r'|"[^"\\]*(?:\\.[^"\\]*)*"'
    r"|'[^']*'",
    re.DOTALL,
)


class Spot(NamedTuple):
    """A place in a text, both counted from 1."""

    line: int
    column: int


class Mark(NamedTuple):
    """Where in a text a header, a field or an item of a list begins and ends: characters from 0."""

    kind: Literal["table", "listed", "field", "inner", "item"]  # [x], [[x]], x = 1, the same within {}, in []
    keys: Keys
    home: Keys  # the table or list in which it is written; a dotted key leads further
    begin: int
    value: int  # where its value begins
    end: int  # past its value, or past the header's brackets


class TooDeep(ValueError):
    """Tables and lists nested deeper than any file of ours; says where."""

    def __init__(self, spot: Spot) -> None:
        super().__init__(f"nested more than {DEEPEST} deep")
        self.spot = spot


def line_table(text: str) -> dict[Keys, Spot]:
    """The place of every table, field and list item of a TOML text that parses.

    A field's place is its key, an item's is the item itself, a table's is its header.

    Raises:
        TooDeep: more than `DEEPEST` steps from the top to a value
    """
    return _Scanner(text).run()


def marks_of(text: str) -> tuple[Mark, ...]:
    """Every header, field and list item of a TOML text that parses, in order; line ends of either kind.

    Raises:
        TooDeep: more than `DEEPEST` steps from the top to a value
    """
    scanner = _Scanner(text)
    scanner.run()
    return tuple(sorted(scanner.marks, key=lambda mark: (mark.begin, -mark.end)))


def spelled(keys: Keys) -> str:
    """Keys as a person reads them: parts[2].calipers.height, items counted from 1."""
    spelt = ""
    for key in keys:
        spelt += f"[{key + 1}]" if isinstance(key, int) else f".{printable(key)}" if spelt else printable(key)
    return spelt


def nearest_spot(spots: dict[Keys, Spot], keys: Keys) -> Spot:
    """The place of a value, or of the table where it is missing from."""
    while keys and keys not in spots:
        keys = keys[:-1]
    return spots.get(keys, Spot(1, 1))


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.spots: dict[Keys, Spot] = {}
        self.marks: list[Mark] = []
        self.items: dict[Keys, int] = {}  # how many tables an array of tables has so far
        self.starts = [0, *(found.end() for found in re.finditer("\n", text))]

    def run(self) -> dict[Keys, Spot]:
        base: Keys = ()
        self.skip(_BLANK)
        while self.at < len(self.text):
            if self.sees("["):
                base = self.header()
            else:
                self.statement(base, "field")
            self.skip(_BLANK)
        return self.spots

    def header(self) -> Keys:
        begin, listed = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if listed else 1
        names = self.key()
        self.at += 2 if listed else 1
        if listed:
            whole = (*self.latest(tuple(names[:-1])), names[-1])
            self.items[whole] = self.items.get(whole, 0) + 1
        base = self.latest(tuple(names))
        for length in range(1, len(base) + 1):
            self.note(base[:length], begin)
        self.marks.append(Mark("listed" if listed else "table", base, (), begin, begin, self.at))
        return base

    def latest(self, names: Keys) -> Keys:
        """A header's names as keys: a name of an array of tables means its last table."""
        keys: Keys = ()
        for name in names:
            keys = (*keys, name)
            if keys in self.items:
                keys = (*keys, self.items[keys] - 1)
        return keys

    def statement(self, base: Keys, kind: Literal["field", "inner"]) -> None:
        begin = self.at
        keys = (*base, *self.key())
        for length in range(len(base) + 1, len(keys) + 1):
            self.note(keys[:length], begin)
        self.at += 1  # the equals sign
        self.skip(_SPACE)
        value = self.at
        self.marks.append(Mark(kind, keys, base, begin, value, self.value(keys)))

    def key(self) -> list[str]:
        """A key's names; a dotted key has several."""
        names: list[str] = []
        while True:
            self.skip(_SPACE)
            names.append(self.name())
            self.skip(_SPACE)
            if len(names) > DEEPEST:
                raise TooDeep(self.spot(self.at))
            if not self.sees("."):
                return names
            self.at += 1

    def name(self) -> str:
        if not (self.sees('"') or self.sees("'")):
            return self.take(_BARE)
        raw = self.take(_STRING)
        return next(iter(tomllib.loads(f"{raw} = 0"))) if "\\" in raw else raw[1:-1]

    def value(self, keys: Keys) -> int:
        """Goes past a value; where it ends, without the spaces behind it."""
        if self.sees("["):
            self.list_items(keys)
        elif self.sees("{"):
            self.inline_table(keys)
        elif self.sees('"') or self.sees("'"):
            self.take(_STRING)
        else:
            plain = self.take(_PLAIN)
            return self.at - len(plain) + len(plain.rstrip())
        return self.at

    def list_items(self, keys: Keys) -> None:
        self.at += 1
        number = 0
        self.skip(_BLANK)
        while not self.sees("]"):
            item, begin = (*keys, number), self.at
            self.note(item, begin)
            self.marks.append(Mark("item", item, keys, begin, begin, self.value(item)))
            number += 1
            self.skip(_BLANK)
            if self.sees(","):
                self.at += 1
                self.skip(_BLANK)
        self.at += 1

    def inline_table(self, keys: Keys) -> None:
        self.at += 1
        self.skip(_BLANK)
        while not self.sees("}"):
            self.statement(keys, "inner")
            self.skip(_BLANK)
            if self.sees(","):
                self.at += 1
                self.skip(_BLANK)
        self.at += 1

    def note(self, keys: Keys, begin: int) -> None:
        if len(keys) > DEEPEST:
            raise TooDeep(self.spot(begin))
        if keys not in self.spots:
            self.spots[keys] = self.spot(begin)

    def spot(self, begin: int) -> Spot:
        line = bisect_right(self.starts, begin)
        return Spot(line, begin - self.starts[line - 1] + 1)

    def sees(self, character: str) -> bool:
        return self.text.startswith(character, self.at)

    def skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:  # the text does not parse, against what was promised
            raise ValueError(f"no value at {self.spot(self.at)}")
        self.at = found.end()
        return found[0]
