"""What a file is, by its content: so that one passed in the wrong place is told by its name."""

import re
import tomllib
from pathlib import Path
from typing import Final

LOOKED_AT: Final = 4096  # bytes at the front
MOST_TOML: Final = 1_000_000  # bytes; the bound of what is read as TOML anyway

PROGRAM: Final = "an RS-274 program"
JOB: Final = "a job file"
SETUP: Final = "a setup file"
SHOP: Final = "a shop file"
DRAWING: Final = "a DXF drawing"

_FRONTS: Final[tuple[tuple[bytes, str], ...]] = (
    (b"%PDF-", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"PK\x03\x04", "a packed archive"),
    (b"\x1f\x8b", "a packed archive"),
)
# What is once matched is never matched another way (*+): nines or empty lines take no longer than others.
_DXF = re.compile(rb"(\s*+999[ \t]*+(\r\n?|\n)[^\r\n]*+(\r\n?|\n))*+\s*+0[ \t]*+(\r\n?|\n)\s*+SECTION\b")
_BINARY_DXF: Final = b"AutoCAD Binary DXF\r\n"
_MARKUP = re.compile(rb"\s*<(\?xml|!doctype|html|svg)\b", re.IGNORECASE)
_BLOCK = re.compile(
    rb"^[ \t]*+/?+[ \t]*+(N[ \t]*+\d++[ \t]*+)?+[GMTSF][ \t]*+\d", re.IGNORECASE | re.MULTILINE
)
_TABLE = re.compile(r"^[ \t]*+(\[|[A-Za-z_-]++[ \t]*+=)", re.MULTILINE)


def file_kind(content: bytes) -> str:
    """What a file's content is, in words with their article; empty where that can't be told."""
    front = content[:LOOKED_AT]
    for begin, kind in _FRONTS:
        if front.startswith(begin):
            return kind
    if front.startswith(_BINARY_DXF) or _DXF.match(front):
        return DRAWING
    if _MARKUP.match(front):
        return "an SVG drawing" if b"<svg" in front.lower() else "a web page"
    toml = _toml_kind(content)
    if toml:
        return toml
    return PROGRAM if _BLOCK.search(front) else ""


def kind_of_file(path: Path) -> str:
    """The same of a file; empty where it can't be read."""
    try:
        if not path.is_file():
            return ""
        with path.open("rb") as file:
            return file_kind(file.read(MOST_TOML))
    except (OSError, ValueError):
        return ""


def tables_kind(names: set[str]) -> str:
    """What a TOML file with these tables and fields at its top is."""
    bench = names & {"machine", "plate", "cutters"}
    if "intended" in names:
        return SETUP
    if "parts" in names:
        return JOB
    if names & {"stock", "zero"}:
        return SETUP if bench else JOB  # a job whose parts are still to come, or a bare bench
    return SHOP if bench else ""


def _toml_kind(content: bytes) -> str:
    if len(content) >= MOST_TOML:
        return ""
    try:
        text = content.decode("utf-8-sig")
        return tables_kind(set(tomllib.loads(text))) if _TABLE.search(text) else ""
    except (ValueError, RecursionError):  # neither UTF-8 nor TOML
        return ""
