"""An SVG file as a tree of elements, read with every door shut: no entities, nothing fetched, all bounded."""

import stat
import xml.parsers.expat as expat
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from proveout.filekind import file_kind
from proveout.finding import InputError
from proveout.quantity import printable

BIGGEST: Final = 20_000_000  # bytes
DEEPEST: Final = 100  # elements within each other
MOST_ELEMENTS: Final = 400_000
MOST_STYLE: Final = 1_000_000  # characters of a style sheet

SVG: Final = "http://www.w3.org/2000/svg"
LABEL: Final = "http://www.inkscape.org/namespaces/inkscape label"
VERSION: Final = "http://www.inkscape.org/namespaces/inkscape version"
XLINK: Final = "http://www.w3.org/1999/xlink href"

_OURS: Final = ("-//W3C//DTD SVG",)  # how the public name of the standard's own document type begins


@dataclass(slots=True, eq=False)
class Element:
    """One element: its name without SVG's namespace, and where it stands."""

    tag: str  # of another namespace: "namespace name"
    attributes: dict[str, str]
    line: int
    number: int  # from 1, among the elements of this tag
    children: list["Element"] = field(default_factory=list)
    text: str = ""  # of a style sheet only

    @property
    def name(self) -> str:
        """As people are told of it: "path 14"."""
        return f"{self.tag} {self.number}"

    def refusal(self, why: str) -> InputError:
        """An error that tells which element, with its id and line."""
        named = self.attributes.get("id")
        known = f', id "{printable(named[:60])}"' if named else ""
        return InputError(f"{self.name} (line {self.line}{known}) {why}")


def read_tree(file: Path) -> Element:
    """The root element of an SVG file.

    Raises:
        InputError: no such file, no SVG, broken, too big or too deep, or it declares or fetches something
    """
    return tree(_content(file))


def tree(content: bytes) -> Element:
    """The root element of an SVG text; raises InputError as read_tree does."""
    grower = _Grower()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.StartElementHandler = grower.start
    parser.EndElementHandler = grower.end
    parser.CharacterDataHandler = grower.words
    parser.StartDoctypeDeclHandler = grower.doctype
    parser.EntityDeclHandler = grower.entity
    parser.SkippedEntityHandler = grower.skipped
    parser.ExternalEntityRefHandler = grower.skipped
    grower.parser = parser
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        why = expat.ErrorString(error.code) or "it can't be parsed"
        raise InputError(
            f"it is a broken SVG drawing: line {error.lineno}: {why}. Save it as plain SVG again."
        ) from None
    except (ValueError, LookupError) as error:  # an encoding that nobody knows
        raise InputError(f"it is a broken SVG drawing: {error}. Save it as plain SVG in UTF-8.") from None
    if grower.root is None or grower.root.tag != "svg":
        raise InputError("it is XML but no SVG drawing: its first element is not svg. Save it as plain SVG.")
    return grower.root


def _content(file: Path) -> bytes:
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            raise InputError("it is not a plain file. Name an SVG drawing.")
        with file.open("rb") as opened:
            content = opened.read(BIGGEST + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(f"it can't be read: {why}. Name an SVG drawing.") from None
    if len(content) > BIGGEST:
        raise InputError(f"it is over {BIGGEST // 1_000_000} MB, the most that is read of a drawing.")
    if content[:2] == b"\x1f\x8b":
        raise InputError("it is a packed SVG (svgz). Save it as plain SVG, not compressed.")
    head = content[:1024]
    wide = head[:2] in (b"\xff\xfe", b"\xfe\xff")
    if not wide and (b"\0" in head or not head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<")):
        kind = file_kind(content)
        said = f"it is {kind}" if kind else "it is no SVG text"
        raise InputError(f"{said}, where an SVG drawing is wanted. Save the drawing as plain SVG.")
    return content


class _Grower:
    """Builds the tree as the parser walks the text."""

    def __init__(self) -> None:
        self.root: Element | None = None
        self.open: list[Element] = []
        self.numbers: dict[str, int] = {}
        self.count = 0
        self.parser: expat.XMLParserType

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        tag = tag.removeprefix(SVG + " ")
        self.count += 1
        if self.count > MOST_ELEMENTS:
            raise InputError(f"it holds more than {MOST_ELEMENTS} elements, the most that is read.")
        if len(self.open) >= DEEPEST:
            raise InputError(
                f"its groups lie more than {DEEPEST} deep in each other (line "
                f"{self.parser.CurrentLineNumber}), the most that is read. Ungroup it."
            )
        number = self.numbers[tag] = self.numbers.get(tag, 0) + 1
        made = Element(tag, attributes, self.parser.CurrentLineNumber, number)
        if self.open:
            self.open[-1].children.append(made)
        elif self.root is None:
            self.root = made
        self.open.append(made)

    def end(self, _: str) -> None:
        self.open.pop()

    def words(self, words: str) -> None:
        if self.open and self.open[-1].tag == "style":
            self.open[-1].text += words
            if len(self.open[-1].text) > MOST_STYLE:
                raise self.open[-1].refusal(f"is over {MOST_STYLE // 1_000_000} MB. Save it as plain SVG.")

    def doctype(self, _name: str, system: str | None, public: str | None, _internal: int) -> None:
        if (system or public) and not (public or "").startswith(_OURS):
            raise InputError(
                "it refers to a document type outside the file, and nothing outside is read. "
                "Delete its <!DOCTYPE ...> line, or save it as plain SVG."
            )

    def entity(self, name: str, *_: object) -> None:
        raise InputError(
            f'it declares an XML entity, "{printable(name[:60])}" (line {self.parser.CurrentLineNumber}), '
            "and entities are never read, since a few of them can grow without end. Save it as plain SVG."
        )

    def skipped(self, name: str | None, *_: object) -> int:
        raise InputError(
            f'it uses an XML entity, "{printable(str(name)[:60])}", that stands outside the file. '
            "Save it as plain SVG."
        )
