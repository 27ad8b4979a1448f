"""What a person types for a size, a time, a day or a word on fit. QuantityError says what would be read."""

import re
from dataclasses import dataclass
from datetime import date
from typing import Final

from proveout.book.entry import FITTED
from proveout.quantity import LONGEST, Kind, QuantityError, System, parse, seen

MOST_LENGTH: Final = 10_000.0  # mm: nothing on a bench is longer
MOST_TIME: Final = 100 * 3600.0  # s
MOST_WORDS: Final = 100  # characters of a name
MOST_NOTE: Final = 500

_COMMA = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d{0,6}),(?P<part>\d{1,6})(?P<unit>\s*[^\d,.]*)", re.ASCII)
_DECIMAL = re.compile(r"[+-]?\d*\.?(?P<part>\d*)\s*(?P<unit>\D*)", re.ASCII)
_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,4}):(\d{2})", re.ASCII)
_PARTS = re.compile(
    r"(?:(?P<h>\d{1,3})\s*h)?\s*(?:(?P<min>\d{1,5}(?:\.\d{1,3})?)\s*min)?\s*(?:(?P<s>\d{1,6})\s*s)?", re.ASCII
)
_DAY_FIRST = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """A length as it was typed."""

    value: float
    step: float | None  # of its last digit; None for a fraction


def length(text: str, units: System, *, comma_is_point: bool = False) -> Typed:
    """A length; a bare number counts in `units`.

    Args:
        text: "9.87", "9.87 mm", ".389 in", "25/64 in"; "9,87" too, where its comma can be nothing else
        units: of a bare number
        comma_is_point: whether "1,234" is a decimal too, and not perhaps a thousand
    """
    said = _pointed(_short(text, "a length"), comma_is_point)
    value = parse(said, Kind.LENGTH, units)
    if value <= 0:
        raise QuantityError(f"{seen(text)} is not more than zero. Type the size as you read it.")
    if value > MOST_LENGTH:
        raise QuantityError(f"{seen(text)} is longer than anything on a bench. Type the size as you read it.")
    found = _DECIMAL.fullmatch(said)
    if found is None:
        return Typed(value=value, step=None)
    unit = parse(f"1 {found['unit'].strip()}", Kind.LENGTH, units)
    return Typed(value=value, step=unit * 10.0 ** -len(found["part"]))


def _short(text: str, what: str) -> str:
    """Text that is no longer than a quantity can be, so that no pattern is slow on it."""
    said = text.strip()
    if len(said) > LONGEST:
        raise QuantityError(f"{seen(said)} is not {what}.")
    return said


def _pointed(text: str, comma_is_point: bool) -> str:
    """A decimal comma as a point."""
    found = _COMMA.fullmatch(text)
    if found is None:
        return text
    perhaps_thousands = len(found["part"]) == 3 and found["whole"].strip("0")
    if perhaps_thousands and not comma_is_point:
        raise QuantityError(f"{seen(text)} may be a thousand or a decimal. Write a point: 9.87.")
    return f"{found['sign']}{found['whole']}.{found['part']}{found['unit']}"


def seconds(text: str) -> float:
    """A time, s: "14" and "14.5" are minutes; "14:30", "14 min 30 s", "1 h 05 min" are read too."""
    said = _short(text, "a time").lower()
    if re.fullmatch(r"\d{1,5}([.,]\d{1,3})?", said, re.ASCII):
        found = float(said.replace(",", ".")) * 60
    elif clock := _CLOCK.fullmatch(said):
        hours, minutes, rest = (int(one or 0) for one in clock.groups())
        found = hours * 3600.0 + minutes * 60.0 + rest
    elif said and (parts := _PARTS.fullmatch(said)):
        found = int(parts["h"] or 0) * 3600.0 + float(parts["min"] or 0) * 60.0 + int(parts["s"] or 0)
    else:
        raise QuantityError(f"{seen(text)} is not a time. Write minutes, 14.5, or 14 min 30 s.")
    if not 0 < found <= MOST_TIME:
        raise QuantityError(f"{seen(text)} is not a time that a job takes. Write minutes, 14.5.")
    return found


def day(text: str) -> date:
    """A day: "2026-03-31", or "31.3.2026"."""
    said = text.strip()
    try:
        if found := _DAY_FIRST.fullmatch(said):
            return date(int(found[3]), int(found[2]), int(found[1]))
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", said, re.ASCII):
            return date.fromisoformat(said)
    except ValueError:
        pass
    raise QuantityError(f"{seen(text)} is not a day. Write year-month-day: 2026-03-31.")


def fitted(text: str) -> str:
    """A word on how something fitted; its first letters do where they leave no doubt."""
    said = " ".join(text.lower().split())
    if said in FITTED:
        return said
    near = [word for word in FITTED if said and word.startswith(said)]
    if len(near) == 1:
        return near[0]
    if near:
        raise QuantityError(f"{seen(text)} may be {' or '.join(near)}. Type a letter or two more.")
    raise QuantityError(f"{seen(text)} is not one of the words: {', '.join(FITTED)}.")


def words(text: str, *, most: int = MOST_WORDS) -> str:
    """A name or a note: one line that can be shown."""
    said = " ".join(text.split())
    if len(said) > most:
        raise QuantityError(f"the text has {len(said)} characters; at most {most} are kept.")
    if not said.isprintable():
        raise QuantityError(f"{seen(said)} holds characters that can't be shown.")
    return said


def yes(text: str) -> bool:
    """Whether a word says yes."""
    said = text.strip().lower()
    if said in ("y", "yes"):
        return True
    if said in ("n", "no", ""):
        return False
    raise QuantityError(f"{seen(text)} is neither yes nor no.")
