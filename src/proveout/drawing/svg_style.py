"""Whether an SVG element is shown: its own attributes, its style, and the plain rules of a style sheet.

Source: W3C Scalable Vector Graphics 1.1, 6.4 and 11.5; CSS 2.1, 6.4.3 for what outweighs what
"""

import re
from dataclasses import dataclass, field
from typing import Final

from proveout.drawing.svg_tree import Element

ASKED: Final[tuple[str, ...]] = ("display", "visibility")
_PLAIN: Final = re.compile(r"\s*+([\w-]*+)([.#]?+)([\w-]*+)\s*+")

Said = dict[str, str]  # of the properties that are asked for


@dataclass(slots=True)
class Styles:
    """The rules of a drawing's style sheets that show or hide, and the selectors that aren't read."""

    of_tag: dict[str, Said] = field(default_factory=dict)
    of_class: dict[tuple[str, str], Said] = field(default_factory=dict)  # tag or "", class
    of_id: dict[str, Said] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)

    @property
    def empty(self) -> bool:
        """Whether no rule shows or hides anything."""
        return not (self.of_tag or self.of_class or self.of_id)


def add_rules(styles: Styles, sheet: str) -> None:
    """Take the rules of a style sheet's text into the styles; later ones outweigh earlier ones."""
    first, *rest = sheet.split("/*")
    for rule in (first + "".join(one.partition("*/")[2] for one in rest)).split("}"):
        selectors, _, declarations = rule.rpartition("{")
        said = declared(declarations)
        for selector in selectors.split(",") if said else ():
            _add(styles, selector, said)  # of a rule in an @media, the selector has a brace: it is not read


def _add(styles: Styles, selector: str, said: Said) -> None:
    plain = _PLAIN.fullmatch(selector)
    if plain is None or not (plain[1] or plain[3]):
        styles.unread.append(" ".join(selector.split()))
    elif plain[2] == "#":
        styles.of_id.setdefault(plain[3], {}).update(said)
    elif plain[2] == ".":
        styles.of_class.setdefault((plain[1], plain[3]), {}).update(said)
    else:
        styles.of_tag.setdefault(plain[1], {}).update(said)


def declared(text: str) -> Said:
    """What a list of declarations says of being shown."""
    if "display" not in text and "visibility" not in text and "transform" not in text:
        return {}
    said: Said = {}
    for one in text.split(";"):
        name, _, value = one.partition(":")
        name = name.strip().lower()
        if name in ASKED or name.startswith("transform"):
            said[name] = value.replace("!important", "").strip().lower()
    return said


def shown(element: Element, styles: Styles) -> Said:
    """Display and visibility as far as they are stated for the element itself."""
    attributes = element.attributes
    said: Said = {name: attributes[name].strip().lower() for name in ASKED if name in attributes}
    if not styles.empty:
        said |= styles.of_tag.get(element.tag, {})
        classes = attributes.get("class", "").split()
        for tag in ("", element.tag):
            for one in classes:
                said |= styles.of_class.get((tag, one), {})
        said |= styles.of_id.get(attributes.get("id", ""), {})
    style = attributes.get("style")
    if style:
        said |= declared(style)
    return said
