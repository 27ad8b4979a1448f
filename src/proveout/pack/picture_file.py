"""A picture of loads as a file of its own: written whole or not at all, and over nothing unasked."""

import errno
import os
from contextlib import suppress
from pathlib import Path

from proveout.finding import InputError, Place
from proveout.pack.load_plot import MARK


def refuse_existing(path: Path, *, replace: bool) -> None:
    """Nothing that is there is touched unless a person says so, and then only a picture of ours.

    Raises:
        InputError: the file exists, or is to be replaced and is no picture of loads
    """
    if not os.path.lexists(path):
        return
    if not replace:
        raise InputError(
            "This is there already. Give another name to --loads, or add --replace to replace it.",
            Place(file=path),
        )
    if not _is_ours(path):
        raise InputError(
            "This is no picture of loads of ours, so it is not replaced. Give another name to --loads.",
            Place(file=path),
        )


def _is_ours(path: Path) -> bool:
    try:
        if path.is_symlink() or not path.is_file():
            return False
        with path.open("rb") as file:
            return MARK.encode() in file.read(200)
    except OSError:
        return False


def write_picture(picture: str, path: Path, *, replace: bool) -> None:
    """Write a picture under a name of its own beside the wanted one, then rename it.

    Raises:
        InputError: the file exists, or can't be written; nothing is changed then
    """
    refuse_existing(path, replace=replace)
    waiting = path.parent / f".proveout-{os.urandom(8).hex()}"
    try:
        with waiting.open("wb") as file:
            file.write(picture.encode())
            file.flush()
            os.fsync(file.fileno())
        waiting.replace(path)
    except OSError as error:
        raise InputError(_cannot(error), Place(file=path)) from None
    finally:
        with suppress(OSError):
            waiting.unlink()


def _cannot(error: OSError) -> str:
    if error.errno == errno.ENOENT:
        return "The picture can't be written here: there is no such folder. Make it first."
    return f"The picture can't be written here: {error.strerror or error}. Nothing was written."
