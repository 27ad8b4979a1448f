"""What `proveout new` writes: a small job and its shop, with a comment for every field."""

import os
from importlib import resources
from pathlib import Path
from typing import Final

from proveout.finding import InputError, Place

NAMES: Final = ("shop.toml", "job.toml")


def starter_files() -> dict[str, str]:
    """The starter files' texts by name, the job last."""
    folder = resources.files("proveout.job").joinpath("starter_files")
    return {name: folder.joinpath(name).read_text("utf-8") for name in NAMES}


def write_starter(folder: Path) -> list[Path]:
    """Write the starter files to a folder, which is made if it isn't there; the job file comes last.

    All of them are written or none: what was begun is taken away again.

    Raises:
        InputError: one of them is there already, or the folder can't be written
    """
    try:
        _refuse_existing(folder)
        folder.mkdir(parents=True, exist_ok=True)
        return _written(folder)
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(f"The starter files can't be written here: {why}.", Place(file=folder)) from None


def _refuse_existing(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise InputError("This is not a folder. Name another one.", Place(file=folder))
    for name in NAMES:
        # A link that leads nowhere is in the way too.
        if os.path.lexists(folder / name):
            raise InputError(
                "This is there already, and is not overwritten. Name another folder.",
                Place(file=folder / name),
            )


def _written(folder: Path) -> list[Path]:
    written: list[Path] = []
    try:
        for name, text in starter_files().items():
            with (folder / name).open("x", encoding="utf-8", newline="\n") as file:
                written.append(folder / name)
                file.write(text)
    except BaseException:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return written
