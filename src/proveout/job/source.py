"""A TOML file as it was read: its values, and where each of them stands. Hostile until read, and bounded."""

import re
import stat
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.finding import InputError, Place
from proveout.job.lines import DEEPEST, Keys, Spot, TooDeep, line_table, nearest_spot, spelled
from proveout.quantity import printable

BIGGEST: Final = 1_000_000  # bytes; the examples have 4,000
LONGEST_LINE: Final = 10_000  # characters: a thousand readings; the parser is slow on longer keys
LONGEST_NUMBER: Final = 400  # digits in a row; Python itself gives up at 4,300


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What stands in a file, and where."""

    file: Path
    values: dict[str, object]
    spots: dict[Keys, Spot]

    def place(self, keys: Keys) -> Place:
        """Where a field stands, or the table that lacks it."""
        spot = nearest_spot(self.spots, keys)
        return Place(file=self.file, line=spot.line, column=spot.column, field=spelled(keys))


def read_source(file: Path) -> Source:
    """A TOML file's values and places.

    Raises:
        InputError: not there, not a file, can't be read, too big, not UTF-8, not TOML, nested too deep
    """
    return parse_source(_text(file), file)


def parse_source(text: str, file: Path) -> Source:
    """The values and places of a text that was read from `file`.

    Raises:
        InputError: not TOML, or beyond the bounds of what is read
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    _check_lines(text, file)
    try:
        values = tomllib.loads(text)
        return Source(file=file, values=values, spots=line_table(text))
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(str(error), text, file) from None
    except TooDeep as error:
        raise InputError(_DEEP, Place(file=file, line=error.spot.line, column=error.spot.column)) from None
    except RecursionError:
        raise InputError(_DEEP, Place(file=file)) from None
    except ValueError as error:  # a date or number that the parser's own library can't hold
        raise InputError(f"the file holds a value that can't be read: {error}.", Place(file=file)) from None


_DEEP: Final = (
    f"tables or lists are nested more than {DEEPEST} deep. Nothing in a job or shop file goes deeper than 4."
)


def _text(file: Path) -> str:
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            kind = "a folder" if file.is_dir() else "not a plain file"
            raise InputError(f"this is {kind}. Name a TOML file.", Place(file=file))
        with file.open("rb") as opened:
            content = opened.read(BIGGEST + 1)
    except FileNotFoundError:
        raise InputError(
            "there is no such file. Check the path; proveout new writes a job and a shop file to start from.",
            Place(file=file),
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"the file can't be read: {reason}.", Place(file=file)) from None
    if len(content) > BIGGEST:
        raise InputError(
            f"the file is over {BIGGEST // 1000} kB. A job or shop file is TOML text of a few kB.",
            Place(file=file),
        )
    return _decoded(content, file)


def _decoded(content: bytes, file: Path) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        start = before.rfind(b"\n") + 1
        raise InputError(
            f"byte 0x{content[error.start]:02X} is not UTF-8 text. Save the file as UTF-8.",
            Place(
                file=file,
                line=before.count(b"\n") + 1,
                column=len(before[start:].decode("utf-8", "replace")) + 1,
            ),
        ) from None


def _check_lines(text: str, file: Path) -> None:
    """Refuses what makes the parser slow or makes it raise errors without a place."""
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise InputError(
                f"the line has {len(line)} characters; at most {LONGEST_LINE} are read. "
                "Spread a long list over several lines.",
                Place(file=file, line=number, column=LONGEST_LINE + 1),
            )
        if len(line) > LONGEST_NUMBER and (digits := _RUN.search(line)):
            raise InputError(
                f"a number of more than {LONGEST_NUMBER} digits.",
                Place(file=file, line=number, column=digits.start() + 1),
            )


_RUN = re.compile(rf"[0-9A-Fa-f_]{{{LONGEST_NUMBER + 1}}}")
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


def _syntax_error(message: str, text: str, file: Path) -> InputError:
    """The parser's own complaint with its place, the line it is about, and the slip that is most likely."""
    found = _AT.search(message)
    lines = text.split("\n")
    line, column = (int(found[1]), int(found[2])) if found and found[1] else (len(lines), len(lines[-1]) + 1)
    said = message[: found.start()] if found else message
    read = printable(lines[min(line, len(lines)) - 1].strip())
    return InputError(
        f"this is not TOML: {printable(said).lower()}. The line reads: {read} - {_way_out(said, read)}",
        Place(file=file, line=line, column=column),
    )


def _way_out(said: str, read: str) -> str:
    """What to write instead, by the slip that is most likely."""
    if _INCH_MARK.search(read):
        return 'Write inches as "in" inside the quotes: "1/4 in".'
    if _UNQUOTED.search(read):
        return 'Text and values with a unit stand in quotes: "11.8 mm".'
    if read.startswith("[") and "overwrite" in said:
        return "Several tables of one name are all written in two brackets: [[clamps]]."
    if "overwrite" in said or "twice" in said:
        return "Each field stands once in its table: take one of them out."
    if "nterminated" in said or "llegal character" in said:
        return 'Text opens and closes with quotes on one line: "birch plywood".'
    return 'A field reads: thickness = "11.8 mm".'


_INCH_MARK = re.compile(r'\d""')
_UNQUOTED = re.compile(r"=\s*[\d./-]+\s*[a-zA-Z/\"]")
