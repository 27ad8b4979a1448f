"""Lengths of SVG, the frame that a viewBox lays over a page, and what a page says of the size of its unit.

Source: W3C Scalable Vector Graphics 1.1, 7.2, 7.7, 7.8 and 7.10; CSS Values 3, 5.2: 96 px to the inch
"""

import math
import re
from dataclasses import dataclass
from typing import Final

from proveout.drawing.svg_tree import VERSION, Element
from proveout.drawing.wires import UnitClaim
from proveout.quantity import printable

Matrix = tuple[float, float, float, float, float, float]  # a b c d e f: x' = ax + cy + e, y' = bx + dy + f
SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

INCH: Final = 25.4  # mm
PX: Final = 96  # to the inch, of the standard
OLD: Final = 90  # to the inch, of a widespread writer before its version 0.92
POINT: Final = 72  # to the inch, of writers that count in points
MM: Final[dict[str, float]] = {
    "mm": 1.0, "cm": 10.0, "in": INCH, "pt": INCH / 72, "pc": INCH / 6, "q": 0.25,
}  # fmt: skip
ALIKE: Final = 1e-3  # of each other: two scales that agree, for rounded page sizes
EXACT: Final = 1e-6  # of each other: a scale that is a known one, but for rounding

NUMBER: Final = r"[-+]?+(?:\d++\.?+\d*+|\.\d++)(?:[eE][-+]?+\d++)?+"
_LENGTH: Final = re.compile(rf"\s*+({NUMBER})\s*+([a-zA-Z]*+|%)\s*+")
_NUMBERS: Final = re.compile(NUMBER)


@dataclass(frozen=True, slots=True)
class Viewport:
    """The size that percentages count from, in user units; NaN where the file tells none."""

    width: float
    height: float

    @property
    def diagonal(self) -> float:
        """What percentages of a radius count from."""
        return math.sqrt((self.width * self.width + self.height * self.height) / 2)


@dataclass(frozen=True, slots=True)
class Page:
    """The outermost frame: what it says of the unit, and how far heights are stretched against widths."""

    claim: UnitClaim
    stretch: float
    viewport: Viewport


def numbers(text: str) -> list[float] | None:
    """Numbers apart by blanks, commas or signs; None where something else is among them."""
    if _NUMBERS.sub("", text).strip(" \t\r\n\f,"):
        return None
    return [float(one) for one in _NUMBERS.findall(text)]


def length(element: Element, name: str, whole: float, default: str = "0") -> float:
    """An attribute as user units; physical units at 96 px to the inch, as the standard says.

    Args:
        whole: what percentages count from

    Raises:
        InputError: it is no length, or a percentage of a page without a size
    """
    text = element.attributes.get(name, default)
    try:
        return float(text)  # the usual case, quickly; what isn't finite is refused with all other numbers
    except ValueError:
        pass
    found = _LENGTH.fullmatch(text)
    unit = found[2].lower() if found else ""
    if found and unit in ("", "px"):
        return float(found[1])
    if found and unit in MM:
        return float(found[1]) * MM[unit] * PX / INCH
    if found and unit == "%" and whole == whole:
        return float(found[1]) * whole / 100
    why = "is a share of a page that has no size" if unit == "%" else "is no length that is read"
    raise element.refusal(
        f'has {name} = "{printable(text[:40])}", which {why}. Write it as a plain number of user units.'
    )


def view_box(element: Element) -> tuple[float, float, float, float] | None:
    """The viewBox as left, top, width, height; None without one."""
    text = element.attributes.get("viewBox")
    if text is None:
        return None
    found = numbers(text)
    if found is None or len(found) != 4 or not all(abs(one) <= 1e9 for one in found) or min(found[2:]) < 0:
        raise element.refusal(
            f'has a viewBox of "{printable(text[:60])}", where four numbers are wanted: left, top, width '
            "and height."
        )
    return (found[0], found[1], found[2], found[3]) if min(found[2:]) > 0 else None


def fitted(element: Element, width: float, height: float) -> Matrix:
    """What lays a viewBox over a frame of a width and height whose corner is at zero.

    Source: SVG 1.1, 7.8
    """
    box = view_box(element)
    if box is None:
        return SAME
    left, top, wide, high = box
    across, along = width / wide, height / high
    align, _, how = element.attributes.get("preserveAspectRatio", "xMidYMid").strip().partition(" ")
    if align == "none":
        return across, 0.0, 0.0, along, -left * across, -top * along
    scale = max(across, along) if how.strip() == "slice" else min(across, along)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    x = (width - wide * scale) * share.get(align[1:4], 0.5)
    y = (height - high * scale) * share.get(align[5:8], 0.5)
    return scale, 0.0, 0.0, scale, x - left * scale, y - top * scale


def page(root: Element) -> Page:
    """What the outermost svg element says of its page, with user units as those of its viewBox."""
    box = view_box(root)
    sides = [_side(root, name) for name in ("width", "height")]
    if box:
        viewport = Viewport(box[2], box[3])
    else:
        viewport = Viewport(*(size * PX / INCH if size else math.nan for size, _ in sides))
    per_inch, hint = _writer(root)
    physical = all(unit in MM for _, unit in sides)
    if not box or not all(size for size, _ in sides):
        return Page(_without_box(root, sides, per_inch, hint), 1.0, viewport)
    scales = [size / whole for (size, _), whole in zip(sides, box[2:], strict=True) if size]
    scale, stretch = min(scales), 1.0
    align, _, how = root.attributes.get("preserveAspectRatio", "").strip().partition(" ")
    if align == "none":
        scale, stretch = scales[0], scales[1] / scales[0]
    elif how.strip() == "slice":
        scale = max(scales)
    alike = max(scales) - min(scales) <= ALIKE * scale
    if not alike:
        claim = _unlike(root, scale, scales)
    elif physical:
        claim = UnitClaim(mm=_known(scale), basis=f"{_said(root)} over a viewBox of {_size(box)}", sure=True)
    else:
        claim = _px(root, scale, per_inch, hint, box)
    return Page(claim, stretch if not alike else 1.0, viewport)


def _side(root: Element, name: str) -> tuple[float | None, str]:
    """A side of the page in mm, at 96 px to the inch, and its unit; None where it has no size of its own."""
    text = root.attributes.get(name, "100%")
    found = _LENGTH.fullmatch(text)
    unit = found[2].lower() if found else ""
    if found is None or unit not in (*MM, "", "px", "%", "em", "ex", "auto"):
        if text.strip() == "auto":
            return None, "%"
        raise root.refusal(f'has {name} = "{printable(text[:40])}", which is no length, such as "210mm".')
    value = float(found[1])
    if unit in ("%", "em", "ex"):
        return None, unit
    if not 0 < value <= 1e7:
        raise root.refusal(f'has {name} = "{printable(text[:40])}", which is no size of a page.')
    return value * MM.get(unit, INCH / PX), unit


def _said(root: Element) -> str:
    width, height = (printable(root.attributes.get(name, "none")[:20]) for name in ("width", "height"))
    return f"its page says {width} x {height}"


def _size(box: tuple[float, float, float, float]) -> str:
    return f"{box[2]:g} x {box[3]:g}"


def _known(scale: float) -> float:
    """The scale itself, or the exact one that it is but for rounding."""
    for exact in (1.0, 10.0, INCH, INCH / PX, INCH / OLD, INCH / POINT):
        if abs(scale / exact - 1) <= EXACT:
            return exact
    return scale


def _writer(root: Element) -> tuple[int, str]:
    """How many px its writer counted to the inch, as far as it left a mark, and which mark; 96 without one.

    The marks are common practice, no source: a version before 0.92 of the one writer drew at 90, and writers
    that leave an enable-background draw in points.
    """
    if "enable-background" in root.attributes:
        return POINT, "its enable-background is the mark of a writer that counts 72 to the inch"
    found = re.match(r"0\.(\d{2})\D?", root.attributes.get(VERSION, ""))
    if found and int(found[1]) < 92:
        return (
            OLD,
            f"it was saved by version 0.{found[1]} of a writer that counted 90 to the inch before 0.92",
        )
    return PX, ""


def _without_box(root: Element, sides: list[tuple[float | None, str]], per_inch: int, hint: str) -> UnitClaim:
    if not all(size for size, _ in sides):
        more = f"; {hint}" if hint else ""
        basis = f"{_said(root)}, which is no size: a unit may be 1 mm, or 1/96, 1/90 or 1/72 inch{more}"
        return UnitClaim(mm=None, basis=basis, sure=False)
    why = hint or "the standard takes a unit for 1/96 inch"
    basis = (
        f"{_said(root)} without a viewBox: {why}, but 1/96, 1/90 and 1/72 inch and 1 mm are all in use. "
        "Check one known size"
    )
    return UnitClaim(mm=INCH / per_inch, basis=basis, sure=False)


def _px(
    root: Element, scale: float, per_inch: int, hint: str, box: tuple[float, float, float, float]
) -> UnitClaim:
    sizes = ", ".join(f"{scale * PX / one:.6g} mm at {one}" for one in (PX, OLD, POINT))
    why = hint or "the standard takes 96 px to the inch"
    basis = (
        f"{_said(root)} in px over a viewBox of {_size(box)}: a unit is {sizes} px to the inch, or simply "
        f"1 mm; {why}. Check one known size"
    )
    return UnitClaim(mm=_known(scale * PX / per_inch), basis=basis, sure=False)


def _unlike(root: Element, scale: float, scales: list[float]) -> UnitClaim:
    basis = (
        f"{_said(root)}, which is of another shape than its viewBox: a unit is {scales[0]:.6g} mm by its "
        f"width and {scales[1]:.6g} mm by its height. Check one known size"
    )
    return UnitClaim(mm=_known(scale), basis=basis, sure=False)
