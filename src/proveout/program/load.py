"""A program file as text, whatever its owner saved it as."""

import stat
from pathlib import Path
from typing import Final

from proveout.finding import InputError, Place

LARGEST: Final = 64 * 1024 * 1024  # bytes


def load_text(path: Path) -> str:
    """The file's text; bytes that are not ASCII come through as they are, for the reader to judge.

    Raises:
        InputError: no such file, not readable, a folder, too large
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
    return data.decode("latin-1")
