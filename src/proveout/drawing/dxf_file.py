"""A DXF file's bytes, judged before anything is made of them: what it is, whether it is whole, its unit."""

import logging
import re
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from proveout.drawing.wires import Act, UnitClaim
from proveout.filekind import DRAWING, file_kind
from proveout.finding import InputError
from proveout.quantity import printable

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

BIGGEST: Final = 40_000_000  # bytes
TAIL: Final = 4096  # bytes at the end in which a whole drawing says EOF
BINARY: Final = b"AutoCAD Binary DXF\r\n\x1a\x00"  # the standard's sentinel

# $INSUNITS, a DXF header's statement of its unit: name and mm.
# Source: the published DXF reference, header variables
UNITS: Final[dict[int, tuple[str, float]]] = {
    1: ("inches", 25.4),
    2: ("feet", 304.8),
    4: ("millimetres", 1.0),
    5: ("centimetres", 10.0),
    6: ("metres", 1000.0),
    8: ("millionths of an inch", 25.4e-6),
    9: ("thousandths of an inch", 0.0254),
    10: ("yards", 914.4),
    13: ("microns", 0.001),
    14: ("decimetres", 100.0),
}

_STATED_UNIT: Final = re.compile(rb"\$INSUNITS\s+70\s+(\d{1,3})\s")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loaded:
    """A drawing as the library holds it, what it says of its unit, and what was wrong with the file."""

    document: "Document"
    claim: UnitClaim
    acts: tuple[Act, ...]


# Without a handler of its own the library's warnings go to the terminal; what matters is told as acts.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())


def load_dxf(file: Path) -> Loaded:
    """A DXF drawing, as text or binary, R12 or newer; a damaged one where its end is there.

    Raises:
        InputError: without a place: no such file, no DXF, too large, cut short, or past mending
    """
    content = _content(file)
    _refuse_cut_short(content)
    document, acts = _document(file)
    return Loaded(document=document, claim=_claim(_header_unit(content, document)), acts=acts)


def _content(file: Path) -> bytes:
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            raise InputError("it is not a plain file. Name a DXF or SVG drawing.")
        with file.open("rb") as opened:
            content = opened.read(BIGGEST + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(f"it can't be read: {why}. Name a DXF or SVG drawing.") from None
    if len(content) > BIGGEST:
        raise InputError(f"it is over {BIGGEST // 1_000_000} MB, the most that is read of a drawing.")
    kind = file_kind(content)
    if kind != DRAWING:
        said = f"it is {kind}" if kind else "it is no DXF text"
        raise InputError(f"{said}, where a DXF drawing is wanted. Save the drawing as DXF.")
    return content


def _refuse_cut_short(content: bytes) -> None:
    """Recovery makes of half a drawing a small one without a word, so what lacks its end is not mended."""
    if b"EOF" not in content[-TAIL:]:
        raise InputError(
            "it is cut short: a DXF drawing ends with EOF, and this one doesn't. Copy or export it again."
        )


def _document(file: Path) -> tuple["Document", tuple[Act, ...]]:
    from ezdxf.filemanagement import readfile

    try:
        return readfile(file), ()
    except Exception as error:  # the library lets whatever a broken file provokes through, of any type
        first = _why(error)
    return _recovered(file, first)


def _recovered(file: Path, first: str) -> tuple["Document", tuple[Act, ...]]:
    from ezdxf.recover import readfile

    try:
        document, auditor = readfile(file)
    except Exception:
        raise InputError(f"it is a broken DXF drawing: {first}. Save it as DXF again.") from None
    if not len(document.modelspace()):
        raise InputError(f"it is a broken DXF drawing, and nothing in it could be saved: {first}.")
    faults = len(auditor.errors) + len(auditor.fixes)
    counted = {0: "", 1: ", 1 fault"}.get(faults, f", {faults} faults")
    text = (
        f"The file is damaged ({first}) and was read by leaving out what is wrong in it{counted}: hold every "
        "part against the drawing."
    )
    return document, (Act(kind="damaged", text=text),)


def _why(error: Exception) -> str:
    return printable(str(error)).strip().rstrip(".")[:200] or type(error).__name__


def _header_unit(content: bytes, document: "Document") -> int | None:
    """$INSUNITS as the file itself states it, else None.

    Not the library's: where a file has no header, that makes one up which says metres.
    """
    if content.startswith(BINARY):
        stated = b"$INSUNITS\x00" in content
        return int(document.header.get("$INSUNITS", 0)) if stated else None
    found = _STATED_UNIT.search(content.partition(b"ENTITIES")[0])
    return int(found[1]) if found else None


def _claim(code: int | None) -> UnitClaim:
    if code in UNITS and code is not None:
        name, mm = UNITS[code]
        return UnitClaim(mm=mm, basis=f"its header says {name}", sure=True)
    if code:
        return UnitClaim(mm=None, basis=f"its header's unit (code {code}) is not one for parts", sure=False)
    return UnitClaim(mm=None, basis="its header says nothing of its unit", sure=False)
