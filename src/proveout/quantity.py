"""Lengths, speeds, forces: text with a unit in, millimetres, newtons and seconds out, and back to text.

Inside proveout a length is in mm, a speed in mm/s, a force in N, a torque in N mm, a turning speed in
turns a minute, an angle in degrees. Units exist at the edges only: here.
"""

import re
from enum import Enum
from fractions import Fraction
from typing import Final, Literal

System = Literal["mm", "in"]

INCH: Final = Fraction(254, 10)
POUND_FORCE: Final = Fraction(44482216152605, 10**13)  # 0.45359237 kg x 9.80665 m/s2, exact


class Kind(Enum):
    """What a quantity measures; the value is the word used in messages."""

    LENGTH = "length"
    SPEED = "speed"
    TURNING = "turning speed"
    ANGLE = "angle"
    POWER = "power"
    FORCE = "force"
    TORQUE = "torque"
    TIME = "time"
    ACCELERATION = "acceleration"
    STIFFNESS = "stiffness"
    PRESSURE = "pressure"


# Each unit's size in the internal unit, exact.
UNITS: Final[dict[Kind, dict[str, Fraction]]] = {
    Kind.LENGTH: {
        "mm": Fraction(1),
        "cm": Fraction(10),
        "m": Fraction(1000),
        "in": INCH,
        '"': INCH,
        "thou": INCH / 1000,
        "ft": INCH * 12,
    },
    Kind.SPEED: {
        "mm/min": Fraction(1, 60),
        "mm/s": Fraction(1),
        "m/min": Fraction(1000, 60),
        "m/s": Fraction(1000),
        "in/min": INCH / 60,
        "in/s": INCH,
    },
    Kind.TURNING: {"rpm": Fraction(1), "1/min": Fraction(1)},
    Kind.ANGLE: {"deg": Fraction(1), "°": Fraction(1)},
    Kind.POWER: {
        "W": Fraction(1),
        "kW": Fraction(1000),
        "hp": 550 * 12 * INCH * POUND_FORCE / 1000,  # 550 foot pounds-force a second
    },
    Kind.FORCE: {"N": Fraction(1), "kN": Fraction(1000), "lbf": POUND_FORCE},
    Kind.TORQUE: {
        "N mm": Fraction(1),
        "N m": Fraction(1000),
        "lbf in": POUND_FORCE * INCH,
        "lbf ft": POUND_FORCE * INCH * 12,
    },
    Kind.TIME: {"s": Fraction(1), "min": Fraction(60)},
    Kind.ACCELERATION: {"mm/s2": Fraction(1), "m/s2": Fraction(1000), "in/s2": INCH},
    Kind.STIFFNESS: {"N/mm": Fraction(1), "lbf/in": POUND_FORCE / INCH},
    Kind.PRESSURE: {
        "N/mm2": Fraction(1),
        "bar": Fraction(1, 10),
        "mbar": Fraction(1, 10_000),
        "kPa": Fraction(1, 1000),
        "psi": POUND_FORCE / INCH**2,
        "inHg": Fraction(3_386_389, 10**9),  # conventional inch of mercury, 3386.389 Pa
    },
}

# What a bare number means where a file declares its units.
DECLARED: Final[dict[System, dict[Kind, str]]] = {
    "mm": {
        Kind.LENGTH: "mm",
        Kind.SPEED: "mm/min",
        Kind.TURNING: "rpm",
        Kind.ANGLE: "deg",
        Kind.POWER: "W",
        Kind.FORCE: "N",
        Kind.TORQUE: "N m",
        Kind.TIME: "s",
        Kind.ACCELERATION: "mm/s2",
        Kind.STIFFNESS: "N/mm",
        Kind.PRESSURE: "bar",
    },
    "in": {
        Kind.LENGTH: "in",
        Kind.SPEED: "in/min",
        Kind.TURNING: "rpm",
        Kind.ANGLE: "deg",
        Kind.POWER: "W",
        Kind.FORCE: "lbf",
        Kind.TORQUE: "lbf in",
        Kind.TIME: "s",
        Kind.ACCELERATION: "in/s2",
        Kind.STIFFNESS: "lbf/in",
        Kind.PRESSURE: "inHg",
    },
}

EXAMPLES: Final[dict[Kind, str]] = {
    Kind.LENGTH: '"18.5 mm" or "3/4 in"',
    Kind.SPEED: '"1400 mm/min" or "55 in/min"',
    Kind.TURNING: '"18000 rpm"',
    Kind.ANGLE: '"30 deg"',
    Kind.POWER: '"300 W"',
    Kind.FORCE: '"400 N" or "90 lbf"',
    Kind.TORQUE: '"2.5 N m" or "20 lbf in"',
    Kind.TIME: '"3 s"',
    Kind.ACCELERATION: '"500 mm/s2"',
    Kind.STIFFNESS: '"200 N/mm"',
    Kind.PRESSURE: '"0.5 bar" or "15 inHg"',
}

LONGEST: Final = 60  # characters of a quantity, and of anything that a message repeats

# Digits are bounded so that hostile input can't ask for huge integers; the whole text is, so that runs of
# spaces can't make the pattern try every way of sharing them out.
_NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?: (?:(?P<whole>\d{1,9})(?:\s+|\s*-\s*))? (?P<over>\d{1,9})\s*/\s*(?P<under>\d{1,9})
      | (?P<decimal>\d{1,15}(?:\.\d{0,15})?|\.\d{1,15}) )
    \s*(?P<unit>(?:[^\d\s]|1/min).*?)?\s*""",
    re.VERBOSE | re.ASCII,
)


NO_UNIT: Final = "has no unit, and this file declares none"


class QuantityError(ValueError):
    """Text that is not a quantity of the kind asked for; the message says what would be."""


def parse(text: object, kind: Kind, declared: System | None = None) -> float:
    """The value of `text` in the internal unit of its kind.

    Accepts a number with a unit ("1-3/16 in", "6.35 mm", "80 thou"), and a bare number, as text or as a
    number, where the file has `declared` its units.

    Raises:
        QuantityError: not a number, an unknown unit, a unit of another kind, no unit where none is declared
    """
    said = _said(text, kind)
    match = _NUMBER.fullmatch(said) if len(said) <= LONGEST else None
    if match is None:
        raise QuantityError(_not_a(text, kind))
    unit = (match["unit"] or "").strip()
    if not unit:
        if declared is None:
            raise QuantityError(
                f"{seen(text)} {NO_UNIT}. "
                f'Write {EXAMPLES[kind]}, or put units = "mm" (or "in") at the top of the file.'
            )
        unit = DECLARED[declared][kind]
    return float(_value(match, text, kind) * _factor(unit, text, kind))


def seen(value: object) -> str:
    """A value of a file as a message repeats it: text in quotes, cut short, nothing that isn't printable."""
    match value:
        case str():
            return f'"{printable(value)}"'
        case bool():
            return "true" if value else "false"
        case int() if abs(value) > 10**15:
            return "a huge number"
        case int() | float():
            return str(value)
        case list() | tuple():
            return "a list"
        case dict():
            return "a table"
        case None:
            return "nothing"
        case _:
            return "a date or time"


def printable(text: str) -> str:
    """Text that is safe to show: at most 60 characters, each one printable."""
    short = text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."
    return "".join(character if character.isprintable() else "?" for character in short)


def _said(value: object, kind: Kind) -> str:
    match value:
        case str():
            return value.strip()
        case bool():
            raise QuantityError(_not_a(value, kind))
        case int() | float() if abs(value) <= 1e9:  # which NaN is not
            return f"{value:.12f}" if isinstance(value, float) else str(value)
        case _:
            raise QuantityError(_not_a(value, kind))


def _value(match: re.Match[str], text: object, kind: Kind) -> Fraction:
    if match["decimal"]:
        value = Fraction(match["decimal"])
    else:
        if int(match["under"]) == 0:
            raise QuantityError(f"{seen(text)} divides by zero. Write {EXAMPLES[kind]}.")
        value = Fraction(int(match["over"]), int(match["under"])) + int(match["whole"] or 0)
    return -value if match["sign"] == "-" else value


def _factor(unit: str, text: object, kind: Kind) -> Fraction:
    spelt = _spelling(unit)
    if spelt in UNITS[kind]:
        return UNITS[kind][spelt]
    for other, units in UNITS.items():
        if spelt in units:
            raise QuantityError(
                f"{seen(text)} is {_a(other.value)}, where {_a(kind.value)} is wanted. "
                f"Write {EXAMPLES[kind]}."
            )
    raise QuantityError(_not_a(text, kind))


def _spelling(unit: str) -> str:
    """The unit as the table spells it: spaces, dots and common variants of the same unit folded."""
    folded = re.sub(r"\s*[·*]\s*|\s+", " ", unit.strip())
    folded = re.sub(r"\s*/\s*", "/", folded).replace("²", "2").replace("^2", "2")
    same = {"inch": "in", "inches": "in", "″": '"', "mil": "thou", "Nm": "N m", "Nmm": "N mm"}
    same |= {"in lbf": "lbf in", "lbf-in": "lbf in", "in-lbf": "lbf in", "degrees": "deg", "RPM": "rpm"}
    same |= {"ft lbf": "lbf ft", "lbf-ft": "lbf ft", "ft-lbf": "lbf ft", "r/min": "rpm"}
    return same.get(folded, folded)


def _not_a(text: object, kind: Kind) -> str:
    comma = isinstance(text, str) and re.search(r"\d,\d", text[:LONGEST])
    hint = " A decimal comma is not read: write a point." if comma else ""
    if isinstance(text, str) and re.search(r"\d[^,]{0,9}[,;]\s", text[:LONGEST]):
        hint = " A list stands in brackets, each value in its own quotes."
    return f"{seen(text)} is not {_a(kind.value)}. Write {EXAMPLES[kind]}.{hint}"


def _a(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def show_length(value: float, system: System = "mm") -> str:
    """A length as a shop writes it: 6.35 mm, or 1/4 in, or 0.235 in where no sixty-fourth is near."""
    if system == "mm":
        return f"{_trim(value, 2)} mm"
    inches = value / 25.4
    sixty_fourths = round(inches * 64)
    if sixty_fourths and abs(inches - sixty_fourths / 64) < 0.0001:
        return f"{_fraction(Fraction(sixty_fourths, 64))} in"
    return f"{_trim(inches, 3)} in"


def show_fine(value: float, system: System = "mm") -> str:
    """A small length to the micrometre, as chips and bending are told: 0.085 mm or 0.0033 in."""
    return f"{_trim(value / 25.4, 4)} in" if system == "in" else f"{_trim(value, 3)} mm"


def show_speed(value: float, system: System = "mm") -> str:
    """A feed as a shop writes it: 1400 mm/min or 55 in/min."""
    if system == "mm":
        return f"{_trim(value * 60, 0)} mm/min"
    return f"{_trim(value * 60 / 25.4, 1)} in/min"


def show(value: float, unit: str, system: System = "mm") -> str:
    """A value in an internal unit ("mm", "mm/s", "N", "N mm", "rpm", "s" ...) as a person reads it."""
    match unit:
        case "mm":
            return show_length(value, system)
        case "mm/s":
            return show_speed(value, system)
        case "N mm":
            return f"{_trim(value / 1000, 2)} N m"
        case "N":
            return f"{_trim(value, 0 if abs(value) >= 10 else 1)} N"
        case "rpm":
            return f"{value:.0f} rpm"
        case "s":
            return show_time(value)
        case "":
            return _trim(value, 3)
        case _:
            return f"{_trim(value, 2)} {unit}"


def show_time(seconds: float) -> str:
    """A duration as it is read aloud: 42 s, 3 min 20 s, 1 h 05 min."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def _trim(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _fraction(value: Fraction) -> str:
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole}-{rest}" if whole else f"{sign}{rest}"
