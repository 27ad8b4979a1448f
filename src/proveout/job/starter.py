"""What `proveout new` writes: a small job and its shop, with a comment for every field."""

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

    Raises:
        InputError: one of them is there already, or the folder can't be written
    """
    paths = [folder / name for name in NAMES]
    for path in paths:
        if path.exists():
            raise InputError(
                "This is there already, and is not overwritten. Name another folder.", Place(file=path)
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, text in zip(paths, starter_files().values(), strict=True):
            with path.open("x", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(f"The starter files can't be written here: {why}.", Place(file=folder)) from None
    return paths
