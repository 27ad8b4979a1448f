"""Spelling: the one way in which the shelf writes a size or a name, and what it says when it has none."""

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from fractions import Fraction
from typing import Final, NamedTuple, TypeVar

Record = TypeVar("Record")

SHOWN: Final = 60  # characters of a person's text that a message repeats

# What typewriters, drawings and catalogues write, as a keyboard has it.
_PLAIN: Final = str.maketrans(
    {"″": '"', "”": '"', "×": "x", "–": "-", "⁄": "/", "⅛": "1/8", "¼": "1/4", "⅜": "3/8", "½": "1/2"}
)

# Digits are bounded so that hostile input can't ask for huge integers.
_METRIC = re.compile(r"m\s*(\d{1,3}(?:\.\d{1,3})?)(?:\s*[x-]\s*(\d{1,3}(?:\.\d{1,3})?).*)?", re.ASCII)
_NUMBERED = re.compile(r"(?:#|no\.?)\s*(\d{1,2})(?:\s*-\s*(\d{1,2})\b.*)?", re.ASCII)
_FRACTION = re.compile(
    r"(\d{1,3}/[1-9]\d{0,2})\s*(?:in|inch|inches|\")?\.?(?:\s*-\s*(\d{1,2})\b(?!/).*)?", re.ASCII
)
_DECIMAL_INCH = re.compile(r"(\d{0,3}\.\d{1,4}|\d{1,3})\s*(?:in|inch|inches|\")\.?", re.ASCII)
_MILLIMETRES = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)\s*(?:mm)?", re.ASCII)


class ShelfError(LookupError):
    """Something that the shelf doesn't have; the message names what is nearest."""

    def __init__(self, text: str, nearest: tuple[str, ...] = ()) -> None:
        super().__init__(text)
        self.nearest = nearest


class Size(NamedTuple):
    """A size as the shelf writes it, and the pitch where the person wrote one."""

    name: str  # "M6", "1/4", "#10", "6"
    pitch: str | None  # "1.0" of M6x1.0 in mm, "20" of 1/4-20 in threads an inch


def size(text: str) -> Size:
    """A size read from any of its common spellings; text that is no size comes back as it is.

    "m6", "M6x1", "M6-1.0 x 30" are M6; '1/4"', "1/4 in", "1/4-20 UNC", "0.25 in" are 1/4; "No. 10" is #10; a
    bare number or one in mm is the diameter of a pin.
    """
    said = text[:SHOWN].translate(_PLAIN).replace("''", '"').strip().casefold()
    if match := _METRIC.fullmatch(said):
        return Size(f"M{_plain(match[1])}", match[2])
    if match := _NUMBERED.fullmatch(said):
        return Size(f"#{int(match[1])}", match[2])
    if match := _FRACTION.fullmatch(said):
        return Size(str(Fraction(match[1])), match[2])
    if match := _DECIMAL_INCH.fullmatch(said):
        return Size(str(Fraction(match[1])), None)
    if match := _MILLIMETRES.fullmatch(said):
        return Size(_plain(match[1]), None)
    return Size(text.strip(), None)


def name(text: str) -> str:
    """A name as the shelf writes it: small letters, single spaces, no hyphens."""
    return " ".join(text[: 4 * SHOWN].casefold().replace("-", " ").replace("_", " ").split())


def found(records: Mapping[str, Record], key: str, *, said: str, kind: str) -> Record:
    """The record under a key.

    Raises:
        ShelfError: there is none; the message repeats what was `said` and names the nearest keys
    """
    if key in records:
        return records[key]
    near = nearest(key, records)
    have = f"Nearest: {', '.join(near)}." if near else f"It has: {', '.join(records)}."
    raise ShelfError(f'"{shown(said)}" is not among the shelf\'s {kind}. {have}', near)


def nearest(key: str, keys: Iterable[str]) -> tuple[str, ...]:
    """Up to three keys spelt most like this one, the likest first."""
    return tuple(get_close_matches(key[:SHOWN], list(keys), n=3, cutoff=0.4))


def shown(said: str) -> str:
    """What a person wrote, cut to a length that fits a message."""
    return said if len(said) <= SHOWN else said[: SHOWN - 3] + "..."


def _plain(number: str) -> str:
    """A decimal without the noughts that say nothing: 6.0 is 6, 06 is 6."""
    return f"{float(number):g}"
