"""Values as TOML writes them."""

import math
import re
from collections.abc import Iterable
from typing import Final

WIDEST: Final = 110  # columns: longer lists are written one item a line; our own choice

_BARE_NAME = re.compile(r"[A-Za-z0-9_-]+")
_SHORT: Final = {"\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r", '"': '\\"', "\\": "\\\\"}


def value_text(value: object) -> str:
    """A value on one line.

    Raises:
        ValueError: TOML has no such value
    """
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return _quoted(value)
        case int():
            return str(value)
        case float():
            return repr(value) if math.isfinite(value) else str(value)
        case list() | tuple():
            return "[" + ", ".join(value_text(item) for item in value) + "]"
        case dict():
            return "{" + ", ".join(field_text((str(key),), each) for key, each in value.items()) + "}"
    raise ValueError(f"{type(value).__name__} is not a value that the file can hold")


def field_text(names: Iterable[str], value: object) -> str:
    """A field on one line; several names make a dotted key.

    Raises:
        ValueError: TOML has no such value
    """
    return f"{dotted(names)} = {value_text(value)}"


def dotted(names: Iterable[str]) -> str:
    """Names as a key, in quotes where they must be."""
    return ".".join(name if _BARE_NAME.fullmatch(name) else _quoted(name) for name in names)


def laid_over_lines(value: list[object], indent: str, newline: str) -> str:
    """A list with one item a line.

    Raises:
        ValueError: TOML has no such value
    """
    items = "".join(f"{indent}    {value_text(item)},{newline}" for item in value)
    return f"[{newline}{items}{indent}]"


def _quoted(text: str) -> str:
    if any(0xD800 <= ord(character) < 0xE000 for character in text):
        raise ValueError("text with half a character is not text that a file can hold")
    return '"' + "".join(_escaped(character) for character in text) + '"'


def _escaped(character: str) -> str:
    if character in _SHORT:
        return _SHORT[character]
    return f"\\u{ord(character):04X}" if ord(character) < 0x20 or ord(character) == 0x7F else character
