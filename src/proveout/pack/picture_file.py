"""A picture as a file of its own: written whole or not at all, and over nothing unasked."""

import errno
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.finding import InputError, Place
from proveout.pack import load_plot, margin_picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of picture: what it shows, the option that names its file, and what in it makes it ours."""

    shows: str
    option: str
    mark: str


LOADS: Final = Kind(shows="loads", option="--loads", mark=load_plot.MARK)
MARGINS: Final = Kind(shows="margins", option="--svg", mark=margin_picture.MARK)


def refuse_existing(path: Path, kind: Kind, *, replace: bool) -> None:
    """Nothing that is there is touched unless a person says so, and then only a picture of ours.

    Raises:
        InputError: the file exists, or is to be replaced and is no such picture
    """
    if not os.path.lexists(path):
        return
    if not replace:
        raise InputError(
            f"This is there already. Give another name to {kind.option}, or add --replace to replace it.",
            Place(file=path),
        )
    if not _is_ours(path, kind):
        raise InputError(
            f"This is no picture of {kind.shows} of ours, so it is not replaced. "
            f"Give another name to {kind.option}.",
            Place(file=path),
        )


def _is_ours(path: Path, kind: Kind) -> bool:
    try:
        if path.is_symlink() or not path.is_file():
            return False
        with path.open("rb") as file:
            return kind.mark.encode() in file.read(200)
    except OSError:
        return False


def write_picture(picture: str, path: Path, kind: Kind, *, replace: bool) -> None:
    """Write a picture under a name of its own beside the wanted one, then rename it.

    Raises:
        InputError: the file exists, or can't be written; nothing is changed then
    """
    refuse_existing(path, kind, replace=replace)
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
