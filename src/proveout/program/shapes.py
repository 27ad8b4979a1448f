"""Shapes: what many lines of a program have in common, so that it is worked out once and not for each.

Two lines have one shape where they differ in nothing but the numbers after their letters and in their
expressions: `G1 X3 Y[#1+2]` and `G1 X5.5 Y[#7+9]`. The codes after G and M belong to the shape. Most programs
have a few dozen of them. Shapes are a short cut only: a line that has none (because it breaks a rule, or is
written in an odd way) is read word by word, and so is every line of which there is something to say.
"""

import re
from dataclasses import dataclass
from typing import Final, NamedTuple

from proveout.program.abilities import Abilities, possible_lacks
from proveout.program.expressions import SLOT, Index, Numbers, Parameters, Value
from proveout.program.line import COMMENT, GAP, Cursor, Unreadable, split_number
from proveout.program.order import TURNING, Holds, Steps, holds_of, is_unfailing, steps_of
from proveout.program.rules import ARCS, AXES, STRAIGHT, Codes, codes_by_group
from proveout.program.words import Block, Code, Word, add_word, checked, read_sentence

MOST_SHAPES: Final = 20_000  # lines of further shapes are read word by word
MOST_KEPT: Final = 20_000  # lines remembered as they are written; more are forgotten all at once
QUICK_LETTERS: Final = "XYZIJKRFS"

_PLAIN_NUMBER: Final = re.compile(r"(?<![GgMm.\d])(\d{1,9}(?:\.\d{0,12})?|\.\d{1,12})", re.ASCII)
_LINE_NUMBER: Final = re.compile(r"[ \t]*+(/?)[ \t]*+[Nn]\d{1,5}+[ \t]*+(?=[^\d.]|$)", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A line without its numbers."""

    cursor: Cursor
    words: tuple[Word, ...]  # other than G and M
    settings: tuple[tuple[Index, Value], ...]
    g: list[Code]
    m: list[Code]
    codes: Codes  # their columns are those of the first line with this shape
    deleted: bool
    steps: Steps
    unfailing: bool
    turns: bool  # it may change how the spindle turns
    sets_modes: bool  # it has a step that changes more than the spindle
    holds: Holds | None  # what the state must be for its codes to change nothing
    is_feed: bool  # it has an F word and no other
    move: int | None  # code in tenths where the line has the code of a plain move
    lacks: frozenset[str]  # keys of what the stated controller may lack for such a line
    quick: tuple[Value | None, ...]  # of X, Y, Z, I, J, K, R, F and S; empty where it is no plain move

    def block(self, numbers: Numbers, parameters: Parameters) -> Block:
        """What the line says.

        Raises:
            Unreadable: a value that can't be worked out, or that its letter can't take
        """
        values = {
            word.letter: checked(self.cursor, word.start, word.letter, word.value(numbers, parameters))
            for word in self.words
        }
        return Block(values=values, columns=dict.fromkeys(values, 0), g=self.g, m=self.m)


class Line(NamedTuple):
    """A line by its shape."""

    shape: Shape
    numbers: tuple[float, ...]


class Shapes:
    """The shapes of one program, found as its lines come."""

    def __init__(self, able: Abilities) -> None:
        self._able = able
        self.known: dict[str, Line] = {}  # lines as they are written
        self._shapes: dict[str, Shape | None] = {}

    def line(self, raw: str) -> Line | None:
        """The line by its shape; None where it must be read word by word."""
        if SLOT in raw:
            return None
        number = _LINE_NUMBER.match(raw)
        text = number[1] + raw[number.end() :] if number else raw
        if "(" in text or ";" in text:
            text = COMMENT.sub(GAP, text)
        pieces = _PLAIN_NUMBER.split(text)
        key = SLOT.join(pieces[::2])
        try:
            shape = self._shapes[key]
        except KeyError:
            if len(self._shapes) >= MOST_SHAPES:
                return None
            shape = self._shapes[key] = _shape(key, self._able)
        if shape is None:
            return None
        if len(self.known) >= MOST_KEPT:
            self.known.clear()
        line = self.known[raw] = Line(shape, tuple(map(float, pieces[1::2])))
        return line


def _shape(key: str, able: Abilities) -> Shape | None:
    text = key.rstrip("\n").replace(" ", "").replace("\t", "").upper()
    if not text.isascii() or split_number(key.replace(SLOT, "1")):
        return None
    cursor, block = Cursor(text, range(1, len(text) + 2), slots=0), Block()
    try:
        sentence = read_sentence(cursor)
        for word in sentence.words:
            if word.letter in "GM":
                if not word.plain:
                    return None
                add_word(block, word, cursor, word.value((), {}))
        codes = codes_by_group(block)
    except Unreadable:
        return None
    words = tuple(word for word in sentence.words if word.letter not in "GM")
    letters = frozenset(word.letter for word in words)
    if len(letters) != len(words):
        return None
    holds, motion, steps = holds_of(codes), codes.get("motion"), steps_of(codes, letters)
    return Shape(
        cursor=cursor,
        words=words,
        settings=tuple(sentence.settings),
        g=block.g,
        m=block.m,
        codes=codes,
        deleted=sentence.deleted,
        steps=steps,
        unfailing=is_unfailing(codes, letters),
        turns=not TURNING.isdisjoint(steps),
        sets_modes=not TURNING.issuperset(steps),
        holds=holds,
        is_feed=letters == {"F"} and not codes,
        move=motion.tenths if motion and motion.tenths in STRAIGHT | ARCS else None,
        lacks=possible_lacks(able, codes, letters, text),
        quick=_quick(words, letters) if holds is not None else (),
    )


def _quick(words: tuple[Word, ...], letters: frozenset[str]) -> tuple[Value | None, ...]:
    if letters.isdisjoint(AXES) or not letters.issubset(QUICK_LETTERS):
        return ()
    values = {word.letter: word.value for word in words}
    return tuple(values.get(letter) for letter in QUICK_LETTERS)
