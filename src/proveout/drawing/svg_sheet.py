"""SVG in: the lines, arcs and curves that a drawing shows, with what its page says of its unit.

The sheet's unit is the drawing's own: a unit of the outermost viewBox, or a px without one. Y is turned over,
so that a shape at y = 30 comes to lie at -30, its right side up. A shape's layer is the nearest group with
a label, else the nearest with an id.

Source: W3C Scalable Vector Graphics 1.1 (second edition), chapters 5, 7, 8 and 9
"""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np

from proveout.drawing.svg_curves import MOST_SEGMENTS, Ink, Inked, TooMuch, Unusable, wires_of
from proveout.drawing.svg_path import PathError, draw_path
from proveout.drawing.svg_style import Styles, add_rules, shown
from proveout.drawing.svg_tree import BIGGEST, LABEL, XLINK, Element, read_tree
from proveout.drawing.svg_units import SAME, Matrix, Viewport, fitted, length, numbers, page, view_box
from proveout.drawing.wires import Act, Sheet, Wires
from proveout.finding import InputError
from proveout.quantity import printable

TOLERANCE: Final = 0.002  # mm that a chord lies off its curve, where the page is sure of its unit
TOLERANCE_UNSURE: Final = 0.0005  # units, where it isn't: 0.013 mm should they be inches
MOST_SHOWN: Final = 400_000  # elements, those that are shown again and again counted each time
MOST_USES: Final = 20  # copies within copies
LONGEST_MOVE: Final = 10_000  # characters of a transform
LONGEST_PATH: Final = 10_000_000  # characters of one path
NO_GROUP: Final = "no group"

CURVES: Final = frozenset(("path", "line", "polyline", "polygon", "rect", "circle", "ellipse"))
_GROUPS: Final = frozenset(("g", "a"))
_HELD_BACK: Final = frozenset(("defs", "symbol"))  # drawn only where they are used
_SILENT: Final = frozenset(
    ("title", "desc", "metadata", "style", "view", "stop", "tspan", "cursor", "color-profile")
)
_IGNORED: Final[dict[str, str]] = {
    "text": "text", "textPath": "text", "image": "image", "foreignObject": "foreign object",
    "linearGradient": "gradient", "radialGradient": "gradient", "meshgradient": "gradient",
    "clipPath": "clip path", "mask": "mask", "pattern": "pattern", "marker": "marker", "filter": "filter",
    "script": "script", "animate": "animation", "animateTransform": "animation", "animateMotion": "animation",
    "set": "animation", "font": "font", "flowRoot": "text",
}  # fmt: skip

_MOVE: Final = re.compile(
    r"\s*+,?+\s*+(matrix|translate|scale|rotate|skewX|skewY)\s*+\(([^()]*+)\)\s*+,?+\s*+"
)


@dataclass(frozen=True, slots=True)
class _Frame:
    """What an element takes over from those around it."""

    matrix: Matrix
    number: int  # of the matrix
    viewport: Viewport
    layer: str = NO_GROUP
    labelled: bool = False
    hidden: bool = False
    uses: tuple[Element, ...] = ()


@dataclass(slots=True)
class _Reading:
    """One drawing while it is walked."""

    ids: dict[str, Element]
    styles: Styles
    ink: Ink = field(default_factory=Ink)
    matrices: list[Matrix] = field(default_factory=list)
    layers: dict[str, int] = field(default_factory=dict)
    drawn: list[tuple[Element, tuple[Element, ...]]] = field(default_factory=list)  # by entity
    hidden: Counter[str] = field(default_factory=Counter)  # shapes by layer
    noted: Counter[str] = field(default_factory=Counter)
    moves: dict[str, Matrix] = field(default_factory=dict)
    seen: int = 0
    characters: int = 0


def read_svg_sheet(file: Path) -> Sheet:
    """What an SVG drawing shows, in its own units, y upward, and what its page says of them.

    Circular arcs stay exact arcs wherever their transform keeps them circular; ellipses and Bezier curves
    become chords within 0.002 mm, or 0.0005 units where the unit is not sure. Text, pictures, clips and what
    is hidden are left out, each with an act.

    Raises:
        InputError: no such file, no SVG, broken, too much of it, or a shape that can't be read, with the
            element's name, line and id
    """
    root = read_tree(file)
    paper = page(root)
    reading = _Reading(ids={}, styles=Styles())
    ignored = _survey(root, reading)
    matrix: Matrix = (1.0, 0.0, 0.0, -paper.stretch, 0.0, 0.0)
    frame = _moved(reading, root, _placed(reading, _Frame(SAME, 0, paper.viewport), matrix))
    _dress_and_walk(reading, root, frame)
    claim = paper.claim
    tolerance = TOLERANCE / claim.mm if claim.sure and claim.mm else TOLERANCE_UNSURE
    inked = _inked(reading, tolerance)
    wires, layers, entities = _named(reading, inked.wires)
    acts = tuple(_acts(reading, ignored, inked.flattened, tolerance))
    return Sheet(
        file=file, wires=wires, layers=layers, entities=entities, claim=claim, pixels=True, acts=acts
    )


def _survey(root: Element, reading: _Reading) -> Counter[str]:
    """Note every id and style rule, and count what is no geometry, in one pass over the tree."""
    ignored: Counter[str] = Counter()
    waiting = [root]
    while waiting:
        element = waiting.pop()
        name = element.attributes.get("id")
        if name:
            reading.ids.setdefault(name, element)
        if element.tag == "style":
            add_rules(reading.styles, element.text)
        elif element.tag in _IGNORED:
            ignored[_IGNORED[element.tag]] += 1
        waiting.extend(reversed(element.children))
    return ignored


def _inked(reading: _Reading, tolerance: float) -> Inked:
    try:
        return wires_of(reading.ink, reading.matrices, tolerance)
    except TooMuch:
        raise _too_much() from None
    except Unusable as bad:
        raise reading.drawn[bad.entity][0].refusal(f"{bad}. Correct or delete it.") from None


def _too_much() -> InputError:
    return InputError(
        f"it holds more than {MOST_SEGMENTS} lines and arcs, the most that is read. Split the drawing."
    )


def _named(reading: _Reading, wires: Wires) -> tuple[Wires, tuple[str, ...], tuple[str, ...]]:
    """Wires with layers and entities numbered anew, so that each one has something on it."""
    layers, layer = np.unique(wires.layer, return_inverse=True)
    entities, entity = np.unique(wires.entity, return_inverse=True)
    names = list(reading.layers)
    named = replace(wires, layer=layer.astype(np.int32), entity=entity.astype(np.int32))
    said = [reading.drawn[one] for one in entities.tolist()]
    copies = [element.name + "".join(f" in {use.name}" for use in reversed(uses)) for element, uses in said]
    return named, tuple(names[one] for one in layers.tolist()), tuple(copies)


def _acts(reading: _Reading, ignored: Counter[str], flattened: int, tolerance: float) -> Iterator[Act]:
    for kind, count in sorted(ignored.items()):
        yield Act(kind=f"{kind} ignored", text=f"{count} x {kind} left out: no geometry to cut.")
    for layer, count in sorted(reading.hidden.items()):
        yield Act(kind="hidden ignored", text=f'{count} hidden shapes left out, of layer "{layer}".')
    for text, count in sorted(reading.noted.items()):
        kind, _, rest = text.partition("|")
        yield Act(kind=kind, text=f"{count} x {rest}")
    for selector in sorted(set(reading.styles.unread)):
        said = printable(selector)
        yield Act(
            kind="style rule ignored", text=f'The style rule "{said}" may hide or show; it is not read.'
        )
    if flattened:
        text = f"{flattened} curves became chords, none further off than {tolerance:.4g} units."
        yield Act(kind="curve flattened", text=text, size=tolerance)


def _walk(reading: _Reading, element: Element, frame: _Frame) -> None:
    """Draw one element and what is in it."""
    reading.seen += 1
    if reading.seen > MOST_SHOWN:
        raise element.refusal(
            f"is where the drawing passes {MOST_SHOWN} elements, the most that is read, copies counted each. "
            "Split the drawing."
        )
    tag = element.tag
    if tag in CURVES:
        _shape(reading, element, frame)
    elif tag in _GROUPS:
        _dress_and_walk(reading, element, _layered(element, _moved(reading, element, frame)))
    elif tag == "svg":
        framed = _viewed(reading, element, _layered(element, frame), element)
        if framed:
            _dress_and_walk(reading, element, framed)
    elif tag == "use":
        _use(reading, element, frame)
    elif tag == "switch":
        _switch(reading, element, _moved(reading, element, frame))
    elif tag not in _HELD_BACK and tag not in _SILENT and tag not in _IGNORED and " " not in tag:
        reading.noted[f"unknown ignored|element {printable(tag)}, which is not known, was left out."] += 1


def _dress_and_walk(reading: _Reading, element: Element, frame: _Frame) -> None:
    """Walk the children of a group, unless it is not displayed."""
    dressed = _dressed(reading, element, frame)
    if dressed is None:
        _count_hidden(reading, element, frame.layer)
        return
    for child in element.children:
        _walk(reading, child, dressed)


def _dressed(reading: _Reading, element: Element, frame: _Frame) -> _Frame | None:
    """The frame with the element's own visibility; None where it is not displayed."""
    said = shown(element, reading.styles)
    if "clip-path" in element.attributes or "mask" in element.attributes:
        reading.noted["clip ignored|shape or group that is clipped or masked was read whole."] += 1
    if not said:
        return frame
    if any(name.startswith("transform") for name in said):
        raise element.refusal(
            "is moved by its style, which is not read. Save it as plain SVG 1.1, with transform attributes."
        )
    if said.get("display") == "none":
        return None
    if "visibility" in said and said["visibility"] != "inherit":
        return replace(frame, hidden=said["visibility"] in ("hidden", "collapse"))
    return frame


def _count_hidden(reading: _Reading, element: Element, layer: str) -> None:
    waiting = [element]
    while waiting:
        one = waiting.pop()
        reading.hidden[layer] += one.tag in CURVES or one.tag == "use"
        reading.seen += 1
        waiting.extend(one.children)
    reading.hidden += Counter()  # which forgets layers without any


def _switch(reading: _Reading, element: Element, frame: _Frame) -> None:
    """The first child that asks for nothing special (5.8.2)."""
    dressed = _dressed(reading, element, frame)
    for child in element.children if dressed else ():
        if dressed and child.tag != "foreignObject" and "requiredExtensions" not in child.attributes:
            _walk(reading, child, dressed)
            return


def _layered(element: Element, frame: _Frame) -> _Frame:
    label, name = element.attributes.get(LABEL), element.attributes.get("id")
    if label:
        return replace(frame, layer=printable(label), labelled=True)
    if name and not frame.labelled:
        return replace(frame, layer=printable(name))
    return frame


def _times(one: Matrix, two: Matrix) -> Matrix:
    """The transform that does two first, then one."""
    a, b, c, d, e, f = one
    g, h, i, j, k, m = two
    return (
        a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f,
    )  # fmt: skip


def _placed(reading: _Reading, frame: _Frame, matrix: Matrix) -> _Frame:
    made = _times(frame.matrix, matrix)
    reading.matrices.append(made)
    return replace(frame, matrix=made, number=len(reading.matrices) - 1)


def _moved(reading: _Reading, element: Element, frame: _Frame) -> _Frame:
    """The frame with the element's own transform."""
    text = element.attributes.get("transform")
    if text is None:
        return frame
    if "transform-origin" in element.attributes:
        raise element.refusal("has a transform-origin, which is not read. Save it as plain SVG 1.1.")
    matrix = reading.moves.get(text)
    if matrix is None:
        matrix = reading.moves[text] = _transform(element, text)
    return _placed(reading, frame, matrix)


def _transform(element: Element, text: str) -> Matrix:
    if len(text) > LONGEST_MOVE:
        raise element.refusal(f"has a transform of over {LONGEST_MOVE} characters. Save it as plain SVG.")
    matrix, at, text = SAME, 0, text.strip()
    while at < len(text):
        found = _MOVE.match(text, at)
        given = numbers(found[2]) if found else None
        if found is None or given is None or len(given) not in _COUNTS[found[1]]:
            raise element.refusal(
                f'has a transform of "{printable(text[at : at + 50])}", which is none of matrix, translate, '
                "scale, rotate, skewX and skewY with their numbers."
            )
        if not all(abs(one) <= 1e12 for one in given):
            raise element.refusal("has a transform too large to be meant. Correct or delete it.")
        matrix = _times(matrix, _MOVES[found[1]](given))
        at = found.end()
    return matrix


def _turn(n: list[float]) -> Matrix:
    angle = np.radians(np.fmod(n[0], 360.0))
    cos, sin = float(np.cos(angle)), float(np.sin(angle))
    quarters = n[0] % 360 / 90
    if quarters == int(quarters):  # exactly, so that what was level stays level
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters)]
    x, y = n[1:] or (0.0, 0.0)
    return cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y


def _tan(degrees: float) -> float:
    return float(np.tan(np.radians(np.fmod(degrees, 180.0))))


_COUNTS: Final[dict[str, tuple[int, ...]]] = {
    "matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,), "skewY": (1,),
}  # fmt: skip
_MOVES: Final[dict[str, Callable[[list[float]], Matrix]]] = {
    "matrix": lambda n: (n[0], n[1], n[2], n[3], n[4], n[5]),
    "translate": lambda n: (1.0, 0.0, 0.0, 1.0, n[0], n[1] if len(n) > 1 else 0.0),
    "scale": lambda n: (n[0], 0.0, 0.0, n[-1], 0.0, 0.0),
    "rotate": _turn,
    "skewX": lambda n: (1.0, 0.0, _tan(n[0]), 1.0, 0.0, 0.0),
    "skewY": lambda n: (1.0, _tan(n[0]), 0.0, 1.0, 0.0, 0.0),
}


def _viewed(reading: _Reading, element: Element, frame: _Frame, size: Element) -> _Frame | None:
    """The frame inside a nested svg or a symbol; None where it has no room.

    Args:
        size: the element that states its width and height: itself, or the use that shows it
    """
    around = frame.viewport
    x = length(element, "x", around.width) if element.tag == "svg" else 0.0
    y = length(element, "y", around.height) if element.tag == "svg" else 0.0
    sized = [size if name in size.attributes else element for name in ("width", "height")]
    if around.width != around.width and "viewBox" not in element.attributes:
        sides = [around.width, around.height]  # of a page without a size, which nothing counts from
    else:
        sides = [
            length(one, name, whole, "100%")
            for one, name, whole in zip(
                sized, ("width", "height"), (around.width, around.height), strict=True
            )
        ]
    if any(side <= 0 for side in sides):
        return None
    lain = _times((1.0, 0.0, 0.0, 1.0, x, y), fitted(element, *sides))
    moved = _placed(reading, _moved(reading, element, frame), lain)
    box = view_box(element)
    return replace(moved, viewport=Viewport(*(box[2:] if box else sides)))


def _use(reading: _Reading, element: Element, frame: _Frame) -> None:
    """Draw what a use shows, once more, at its own place (5.6)."""
    target = element.attributes.get("href", element.attributes.get(XLINK, "")).strip()
    if not target.startswith("#"):
        raise element.refusal(
            f'shows "{printable(target[:40])}", which is not in this file, and nothing outside is read. '
            "Embed it, or delete it."
        )
    shown_one = reading.ids.get(target[1:])
    if shown_one is None:
        reading.noted["use ignored|copy of something that is not in the file was left out."] += 1
        return
    uses = (*frame.uses, element)
    if element in frame.uses or len(uses) > MOST_USES:
        why = "shows itself" if element in frame.uses else f"lies in more than {MOST_USES} copies of copies"
        raise element.refusal(f"{why}, so that its drawing has no end. Delete it.")
    dressed = _dressed(reading, element, frame)
    if dressed is None:
        reading.hidden[frame.layer] += 1
        return
    moved = _moved(reading, element, replace(dressed, uses=uses))
    x = length(element, "x", frame.viewport.width)
    y = length(element, "y", frame.viewport.height)
    moved = _placed(reading, moved, (1.0, 0.0, 0.0, 1.0, x, y))
    if shown_one.tag in ("symbol", "svg"):
        framed = _viewed(reading, shown_one, moved, element)
        if framed:
            _dress_and_walk(reading, shown_one, framed)
    else:
        _walk(reading, shown_one, moved)


def _shape(reading: _Reading, element: Element, frame: _Frame) -> None:
    dressed = _dressed(reading, element, frame)
    if dressed is None or dressed.hidden:
        reading.hidden[frame.layer] += 1
        return
    dressed = _moved(reading, element, dressed)
    ink = reading.ink
    ink.matrix, ink.entity = dressed.number, len(reading.drawn)
    ink.layer = reading.layers.setdefault(dressed.layer, len(reading.layers))
    reading.drawn.append((element, dressed.uses))
    before = len(ink.rows)
    try:
        if element.tag == "path":
            _path(reading, element, ink)
        else:
            _DRAW[element.tag](element, ink, dressed.viewport)
    except PathError as error:
        raise element.refusal(str(error)) from None
    except TooMuch:
        raise _too_much() from None
    if len(ink.rows) == before:
        reading.noted["empty ignored|shape without any length was left out."] += 1


def _path(reading: _Reading, element: Element, ink: Ink) -> None:
    data = element.attributes.get("d", "")
    reading.characters += len(data)
    if len(data) > LONGEST_PATH:
        raise element.refusal(
            f"is longer than {LONGEST_PATH // 1_000_000} million characters. Break it apart."
        )
    if reading.characters > 3 * BIGGEST:  # one path in the file, shown by many uses
        raise _too_much()
    draw_path(data, ink)


def _line(element: Element, ink: Ink, around: Viewport) -> None:
    x, to_x = (length(element, name, around.width) for name in ("x1", "x2"))
    y, to_y = (length(element, name, around.height) for name in ("y1", "y2"))
    ink.line(x, y, to_x, to_y)
    ink.end(closed=False)


def _points(element: Element, ink: Ink, _: Viewport) -> None:
    """A polyline or polygon; a polyline that ends where it began is closed as well."""
    text = element.attributes.get("points", "")
    found = numbers(text)
    if found is None or len(found) % 2:
        raise element.refusal(
            f'has points "{printable(text[:40])}", where pairs of numbers belong. Draw it anew.'
        )
    corners = list(zip(found[::2], found[1::2], strict=True))
    if element.tag == "polygon" and corners:
        corners.append(corners[0])
    for (x, y), (to_x, to_y) in pairwise(corners):
        ink.line(x, y, to_x, to_y)
    ink.end(closed=len(corners) > 2 and corners[0] == corners[-1])


def _rect(element: Element, ink: Ink, around: Viewport) -> None:
    """A rectangle from the top of its left side onward, its corners rounded by rx and ry (9.2)."""
    x, y = length(element, "x", around.width), length(element, "y", around.height)
    wide, high = _size(element, "width", around.width), _size(element, "height", around.height)
    if not wide or not high:
        return
    rx, ry = _corner(element, around)
    rx, ry = min(rx, wide / 2), min(ry, high / 2)
    right, low = x + wide, y + high
    if not rx or not ry:
        corners = ((x, y), (right, y), (right, low), (x, low), (x, y))
        for (from_x, from_y), (to_x, to_y) in pairwise(corners):
            ink.line(from_x, from_y, to_x, to_y)
    else:
        ink.line(x + rx, y, right - rx, y)
        ink.round(right - rx, y, right, y + ry, right - rx, y + ry, rx, ry)
        ink.line(right, y + ry, right, low - ry)
        ink.round(right, low - ry, right - rx, low, right - rx, low - ry, rx, ry)
        ink.line(right - rx, low, x + rx, low)
        ink.round(x + rx, low, x, low - ry, x + rx, low - ry, rx, ry)
        ink.line(x, low - ry, x, y + ry)
        ink.round(x, y + ry, x + rx, y, x + rx, y + ry, rx, ry)
    ink.end(closed=True)


def _corner(element: Element, around: Viewport) -> tuple[float, float]:
    """The two radii of a rectangle's corners; one that isn't stated is as the other."""
    given = [
        _size(element, name, whole) if element.attributes.get(name, "auto") != "auto" else None
        for name, whole in (("rx", around.width), ("ry", around.height))
    ]
    rx = given[0] if given[0] is not None else given[1]
    ry = given[1] if given[1] is not None else given[0]
    return rx or 0.0, ry or 0.0


def _size(element: Element, name: str, whole: float) -> float:
    size = length(element, name, whole)
    if size < 0:
        raise element.refusal(f"has a negative {name}, {size:g}. Correct or delete it.")
    return size


def _circle(element: Element, ink: Ink, around: Viewport) -> None:
    _ring(element, ink, around, *(2 * [_size(element, "r", around.diagonal)]))


def _ellipse(element: Element, ink: Ink, around: Viewport) -> None:
    _ring(element, ink, around, *_corner(element, around))


def _ring(element: Element, ink: Ink, around: Viewport, rx: float, ry: float) -> None:
    if not rx or not ry:
        return
    x, y = length(element, "cx", around.width), length(element, "cy", around.height)
    ink.round(x + rx, y, x - rx, y, x, y, rx, ry)
    ink.round(x - rx, y, x + rx, y, x, y, rx, ry)
    ink.end(closed=True)


_DRAW: Final[dict[str, Callable[[Element, Ink, Viewport], None]]] = {
    "line": _line, "polyline": _points, "polygon": _points, "rect": _rect, "circle": _circle,
    "ellipse": _ellipse,
}  # fmt: skip
