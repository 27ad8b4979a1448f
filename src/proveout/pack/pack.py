"""The pack: every file of a made job as bytes, and the folder that holds them, whole or not at all."""

import errno
import os
import shutil
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from proveout.drawing.dxf import dxf
from proveout.drawing.layered_svg import layered_svg
from proveout.finding import InputError, Place
from proveout.pack.drawings import counted_from, part_layers, part_remarks
from proveout.pack.folder import MARK, slug
from proveout.pack.made import Made
from proveout.pack.plan_picture import plan_svg
from proveout.pack.report import report_html
from proveout.pack.result_json import result_json
from proveout.pack.result_picture import result_png
from proveout.pack.sheet import ROOM, setup_sheet


def pack_files(made: Made) -> dict[str, bytes]:
    """Every file of the pack by its relative path; equal jobs give equal bytes."""
    plan, picture = plan_svg(made).encode(), result_png(made.verdict.result)
    for_sheet = plan_svg(made, ROOM).encode()
    files = {MARK: result_json(made)}
    files |= {program.file: program.text.encode("ascii") for program in made.programs}
    files |= {
        "setup-sheet.pdf": setup_sheet(made, for_sheet),
        "setup-sheet-letter.pdf": setup_sheet(made, for_sheet, "letter"),
        "report.html": report_html(made, plan.decode(), picture).encode(),
        "plan.svg": plan,
        "result.png": picture,
    }
    return files | _drawings(made)


def _drawings(made: Made) -> dict[str, bytes]:
    """A DXF and an SVG of each kind of part; names that make the same file name are numbered apart."""
    parts = {placed.part.name: placed.part for placed in made.placed}
    files: dict[str, bytes] = {}
    for name, part in sorted(parts.items()):
        stem = slug(name) or "part"
        spellings = (f"parts/{stem}{end}" for end in ("", *(f"-{n}" for n in range(2, len(parts) + 2))))
        file = next(one for one in spellings if f"{one}.dxf" not in files)
        layers, remarks = part_layers(part, counted_from(made.job)), part_remarks(part, made.job.name)
        files[f"{file}.dxf"] = dxf(layers, remarks).encode("ascii")
        files[f"{file}.svg"] = layered_svg(layers, remarks).encode()
    return files


def refuse_existing(folder: Path, *, replace: bool) -> None:
    """Nothing that is there is touched unless a person says so, and then only a pack.

    Raises:
        InputError: the folder exists, or is to be replaced and is no pack
    """
    if not os.path.lexists(folder):
        return
    if not replace:
        raise InputError(
            "This is there already. Give another folder with --out, or add --replace to replace it whole.",
            Place(file=folder),
        )
    if not _is_pack(folder):
        raise InputError(
            f"This is no pack (it holds no {MARK} of ours), so it is not replaced. "
            "Give another folder with --out.",
            Place(file=folder),
        )


def _is_pack(folder: Path) -> bool:
    """Whether it is a folder that we wrote: other programs name a file result.json too."""
    mark = folder / MARK
    try:
        if folder.is_symlink() or not mark.is_file():
            return False
        with mark.open("rb") as file:
            return b'"proveout"' in file.read(100)
    except OSError:
        return False


def write_pack(files: Mapping[str, bytes], folder: Path, *, replace: bool) -> None:
    """Write the files to a new folder, whole or not at all.

    They go to a folder with a name of its own beside the wanted one, which is renamed when all is on the
    disk; an old pack is moved aside first, put back if that fails, and removed at the end.

    Raises:
        InputError: the folder exists, or can't be written; nothing is changed then
    """
    folder = Path.cwd() / folder
    refuse_existing(folder, replace=replace)
    try:
        _write_aside(files, folder)
    except OSError as error:
        raise InputError(_cannot(error), Place(file=folder)) from None


def _write_aside(files: Mapping[str, bytes], folder: Path) -> None:
    missing = [above for above in folder.parents if not above.exists()]
    # Named before it is made, so that no interrupt can fall between its making and its clearing away.
    waiting = folder.parent / f".proveout-{os.urandom(8).hex()}"
    try:
        waiting.mkdir(mode=0o700, parents=True)
        for name, content in files.items():
            _write_file(waiting / "new" / name, content)
        if folder.exists():
            folder.rename(waiting / "old")
        (waiting / "new").rename(folder)
    finally:
        _clear_away(waiting, folder)
        for above in missing:
            with suppress(OSError):  # it holds the pack
                above.rmdir()


def _write_file(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _clear_away(waiting: Path, folder: Path) -> None:
    """The waiting folder removed; before that, the old pack put back where no new one has taken its place.

    Raises:
        InputError: the old pack can't be put back; it is kept where it is then
    """
    old = waiting / "old"
    if old.exists() and not folder.exists():
        try:
            old.rename(folder)
        except OSError:
            text = f"The new pack can't be put here, nor the old one put back. The old one is kept in {old}."
            raise InputError(text, Place(file=folder)) from None
    shutil.rmtree(waiting, ignore_errors=True)


def _cannot(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "There is no space left on this disk for the pack. Nothing was written."
    return f"The pack can't be written here: {error.strerror or error}. Nothing was written."
