"""The grammar of SVG path data: every command, into lines, arcs and cubics.

Source: W3C Scalable Vector Graphics 1.1, 8.3; arcs in F.6 (in svg_curves.py)
"""

import re
from collections.abc import Callable
from typing import Final

from proveout.drawing.svg_curves import MOST_SEGMENTS, Ink, TooMuch
from proveout.drawing.svg_units import NUMBER, numbers
from proveout.quantity import printable

CLOSE: Final = 1e-9  # user units: ends no further apart are one point

_COMMAND: Final = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*+)")
_GAP: Final = r"[ \t\r\n\f]*+,?+[ \t\r\n\f]*+"
_ARC: Final = re.compile(
    rf"({NUMBER}){_GAP}({NUMBER}){_GAP}({NUMBER}){_GAP}([01]){_GAP}([01]){_GAP}({NUMBER}){_GAP}({NUMBER}){_GAP}"
)


class PathError(ValueError):
    """Path data that can't be read, in words that follow the element's name."""


def draw_path(data: str, ink: Ink) -> None:
    """Draw the subpaths of an attribute `d`, each as a run that is closed or open.

    Raises:
        PathError: it breaks the grammar
        TooMuch: it draws, or moves, more often than is read
    """
    pen = _Pen(ink)
    end = 0  # of what was obeyed
    for count, found in enumerate(_COMMAND.finditer(data), start=1):
        if not count > 1 and (found[1] not in "Mm" or data[: found.start()].strip()):
            raise PathError("has data that do not begin with a move (M). Draw it anew.")
        if count > 2 * MOST_SEGMENTS:  # moves that draw nothing take time too
            raise TooMuch
        pen.obey(found[1], found[2], count)
        end = found.end()
    if not end and data.strip() not in ("", "none"):
        raise PathError(f'has data that begin "{printable(data[:20])}", not with a move (M). Draw it anew.')
    pen.lift()


def _arguments(letter: str, text: str, count: int) -> list[float]:
    if letter in "Aa":
        return _arc_arguments(text, count)
    found = numbers(text)
    if found is None:
        raise PathError(f'has "{printable((letter + text)[:40])}" as command {count}, which is no path data.')
    each = _EACH[letter.upper()]
    if (len(found) % each or not found) if each else found:
        wanted = f"{each} numbers, or a multiple," if each else "no numbers"
        raise PathError(
            f"has {len(found)} numbers after {letter}, its command {count}, where {wanted} belong."
        )
    return found


def _arc_arguments(text: str, count: int) -> list[float]:
    """Seven numbers for each arc, of which two are flags that may stand without blanks around them."""
    text = text.strip(" \t\r\n\f")
    found: list[float] = []
    at = 0
    while at < len(text):
        one = _ARC.match(text, at)
        if one is None:
            raise PathError(f'has an arc, its command {count}, with "{printable(text[at : at + 40])}".')
        found.extend(map(float, one.groups()))
        at = one.end()
    if not found:
        raise PathError(f"has an arc, its command {count}, without numbers.")
    return found


_EACH: Final = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


class _Pen:
    """Where the pen is, where the subpath began, and the control point that a smooth command mirrors."""

    def __init__(self, ink: Ink) -> None:
        self.ink = ink
        self.x = self.y = self.first_x = self.first_y = self.control_x = self.control_y = 0.0
        self.last = ""  # "C" or "Q": what the control point belongs to

    def obey(self, letter: str, text: str, count: int) -> None:
        upper = letter.upper()
        arguments = _arguments(letter, text, count)
        _ACTS[upper](self, arguments, letter != upper)
        self.last = {"C": "C", "S": "C", "Q": "Q", "T": "Q"}.get(upper, "")

    def lift(self) -> None:
        """The subpath ends where the pen is: closed by itself where that is where it began."""
        far = max(abs(self.x - self.first_x), abs(self.y - self.first_y))
        self.ink.end(closed=far <= CLOSE)

    def move(self, n: list[float], relative: bool) -> None:
        self.lift()
        self.x, self.y = (self.x + n[0], self.y + n[1]) if relative else (n[0], n[1])
        self.first_x, self.first_y = self.x, self.y
        if len(n) > 2:
            self.line(n[2:], relative)

    def close(self, _: list[float], __: bool) -> None:
        if (self.x, self.y) != (self.first_x, self.first_y):
            self.line_to(self.first_x, self.first_y)
        self.ink.end(closed=True)

    def line_to(self, x: float, y: float) -> None:
        self.ink.line(self.x, self.y, x, y)
        self.x, self.y = x, y

    def line(self, n: list[float], relative: bool) -> None:
        for x, y in zip(n[::2], n[1::2], strict=True):
            if relative:
                self.line_to(self.x + x, self.y + y)
            else:
                self.line_to(x, y)

    def level(self, n: list[float], relative: bool) -> None:
        for x in n:
            self.line_to(self.x + x if relative else x, self.y)

    def upright(self, n: list[float], relative: bool) -> None:
        for y in n:
            self.line_to(self.x, self.y + y if relative else y)

    def cubic_to(self, ax: float, ay: float, bx: float, by: float, x: float, y: float) -> None:
        self.ink.cubic(self.x, self.y, ax, ay, bx, by, x, y)
        self.x, self.y, self.control_x, self.control_y = x, y, bx, by

    def cubic(self, n: list[float], relative: bool) -> None:
        for i in range(0, len(n), 6):
            x, y = (self.x, self.y) if relative else (0.0, 0.0)
            self.cubic_to(x + n[i], y + n[i + 1], x + n[i + 2], y + n[i + 3], x + n[i + 4], y + n[i + 5])

    def mirrored(self, kind: str) -> tuple[float, float]:
        """The control point on the other side of the pen, or the pen where the last command had none."""
        if self.last != kind:
            return self.x, self.y
        return 2 * self.x - self.control_x, 2 * self.y - self.control_y

    def smooth_cubic(self, n: list[float], relative: bool) -> None:
        for i in range(0, len(n), 4):
            x, y = (self.x, self.y) if relative else (0.0, 0.0)
            self.cubic_to(*self.mirrored("C"), x + n[i], y + n[i + 1], x + n[i + 2], y + n[i + 3])
            self.last = "C"

    def quadratic_to(self, ax: float, ay: float, x: float, y: float) -> None:
        """A quadratic is the cubic whose inner points lie two thirds of the way to its one control point."""
        self.cubic_to(
            self.x + (ax - self.x) * 2 / 3, self.y + (ay - self.y) * 2 / 3,
            x + (ax - x) * 2 / 3, y + (ay - y) * 2 / 3, x, y,
        )  # fmt: skip
        self.control_x, self.control_y = ax, ay

    def quadratic(self, n: list[float], relative: bool) -> None:
        for i in range(0, len(n), 4):
            x, y = (self.x, self.y) if relative else (0.0, 0.0)
            self.quadratic_to(x + n[i], y + n[i + 1], x + n[i + 2], y + n[i + 3])

    def smooth_quadratic(self, n: list[float], relative: bool) -> None:
        for i in range(0, len(n), 2):
            x, y = (self.x, self.y) if relative else (0.0, 0.0)
            self.quadratic_to(*self.mirrored("Q"), x + n[i], y + n[i + 1])
            self.last = "Q"

    def arc(self, n: list[float], relative: bool) -> None:
        for i in range(0, len(n), 7):
            rx, ry, turn, large, sweep, x, y = n[i : i + 7]
            if relative:
                x, y = self.x + x, self.y + y
            self.ink.arc(self.x, self.y, x, y, rx, ry, turn, large=large > 0, sweep=sweep > 0)
            self.x, self.y = x, y


_ACTS: Final[dict[str, Callable[[_Pen, list[float], bool], None]]] = {
    "M": _Pen.move, "L": _Pen.line, "H": _Pen.level, "V": _Pen.upright, "C": _Pen.cubic,
    "S": _Pen.smooth_cubic, "Q": _Pen.quadratic, "T": _Pen.smooth_quadratic, "A": _Pen.arc, "Z": _Pen.close,
}  # fmt: skip
