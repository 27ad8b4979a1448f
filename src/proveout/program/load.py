"""A program file as text, whatever its owner saved it as."""

import stat
from pathlib import Path
from typing import Final

from proveout.filekind import DRAWING, JOB, PROGRAM, SETUP, SHOP, file_kind
from proveout.finding import InputError, Place

LARGEST: Final = 64 * 1024 * 1024  # bytes


def load_text(path: Path) -> str:
    """The file's text; bytes that are not ASCII come through as they are, for the reader to judge.

    Raises:
        InputError: no such file, not readable, a folder, too large, another kind of file
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise InputError("This is no plain file. Give an RS-274 text file.", Place(file=path))
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        why = error.strerror or "it can't be opened"
        raise InputError(
            f"The program can't be read: {why}. Give an RS-274 text file.", Place(file=path)
        ) from None
    if len(data) > LARGEST:
        raise InputError(f"The program is larger than {LARGEST // 2**20} MB.", Place(file=path))
    _refuse_other_kinds(file_kind(data), path)
    return data.decode("latin-1")


def _refuse_other_kinds(kind: str, path: Path) -> None:
    """A file that is surely something else is told by its name, rather than as a line that can't be read."""
    ways_out = {
        SHOP: f'Give an RS-274 text file; a shop file is named in the setup file: shop = "{path.name}".',
        JOB: f"Give an RS-274 text file here, and this one after --setup: --setup {path.name}.",
        SETUP: f"Give an RS-274 text file here, and this one after --setup: --setup {path.name}.",
        DRAWING: "A drawing has no moves. Give an RS-274 text file, and name the drawing in the setup file "
        "under [[intended]].",
    }
    if kind not in ("", PROGRAM):
        raise InputError(
            f"This is {kind}, where a program is wanted. {ways_out.get(kind, 'Give an RS-274 text file.')}",
            Place(file=path),
        )
