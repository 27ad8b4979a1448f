"""Which of some programs another one was made from, by the lines that they share."""

import re
from collections.abc import Iterable
from typing import Final

from proveout.program.text import Program

SHARE: Final = 0.5  # of its lines; an edited program keeps nearly all, another program hardly any

_NUMBER = re.compile(r"^\s*N\d+\s*", re.IGNORECASE)


def likest(text: str, programs: Iterable[Program]) -> Program | None:
    """The program that shares the most lines with a text, if that is more than half of the text's."""
    lines = _lines(text)
    best, most = None, SHARE
    for program in programs:
        shared = len(lines & _lines(program.text)) / max(len(lines), 1)
        if shared > most:
            best, most = program, shared
    return best


def _lines(text: str) -> set[str]:
    """A program's lines without their numbers, which change when a line is put in."""
    return {line for line in (_NUMBER.sub("", one).strip() for one in text.splitlines()) if line}
