"""Jobs that are open, jobs that were open lately, and jobs that begin, in the folder that a person named."""

import hashlib
import json
import os
import shutil
import sys
import threading
import tomllib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from proveout.card.desk import Desk
from proveout.card.document import is_there
from proveout.card.form import PATTERNS, template
from proveout.card.job_form import PART_WORDS
from proveout.finding import Edit, InputError, Place
from proveout.job.kinds import Wrong, part_name
from proveout.job.read import read_job, read_shop
from proveout.job.rewrite import rewritten
from proveout.job.source import BIGGEST, read_source
from proveout.job.starter import starter_files
from proveout.pack.folder import slug
from proveout.quantity import System, printable

if TYPE_CHECKING:
    from proveout.drawing.look import Look

MOST_RECENT: Final = 12
MOST_AWAKE: Final = 3  # jobs that keep a process for their proofs: each takes 100 MB and more
EXAMPLES: Final = {
    "clamp-kit": "Eight knobs, four straps, two stop blocks from one sheet, in millimetres",
    "inch-knobs": "Knobs round quarter-inch bolts, in inches",
    "drawn-bracket": "A bracket from a DXF drawing",
}
LONGEST_NAME: Final = 100  # characters of a folder's; file systems take 255
DRAWINGS: Final = (".dxf", ".svg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recent:
    """A job that was open lately."""

    id: str
    name: str
    folder: str
    there: bool


class Jobs:
    """The jobs of one run of the card."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._desks: dict[str, Desk] = {}
        self._lock = threading.RLock()
        self._beginning = threading.Lock()  # one at a time: two may want one name, and drawings take memory

    def open(self, path: Path) -> str:
        """Put a job on the desk; its short name in addresses.

        Raises:
            InputError: there is no such file
        """
        path = Path(os.path.realpath(path))
        if not is_there(path):
            raise InputError("there is no such file.", Place(file=path))
        with self._lock:
            found = id_of(path)
            if found not in self._desks:
                desk = Desk(path)
                desk.open()
                for other in tuple(self._desks.values())[: -MOST_AWAKE + 1]:
                    other.rest()
                self._desks[found] = desk
            _remember(path)
            return found

    def desk(self, job: str) -> Desk | None:
        """The job of a short name: one that is open, or was lately."""
        with self._lock:
            if job not in self._desks:
                path = next((one for one in _recent_paths() if id_of(one) == job and is_there(one)), None)
                if path is None:
                    return None
                self.open(path)
            return self._desks[job]

    def recent(self) -> list[Recent]:
        """Jobs that were open lately, the latest first."""
        return [
            Recent(id=id_of(one), name=_name_of(one), folder=str(one.parent), there=is_there(one))
            for one in _recent_paths()
        ]

    def close(self) -> None:
        """Let go of all jobs."""
        with self._lock:
            for desk in self._desks.values():
                desk.close()
            self._desks.clear()

    # --- beginning a job

    def from_pattern(self, name: str, pattern: str) -> str:
        """A job with one part of a pattern, and a bench to write over.

        Raises:
            InputError: a name that is taken or can't be a folder's
        """
        _checked(name)
        files = starter_files()
        text = _only(rewritten(files["job.toml"], [_set_name(name)]), pattern)
        return self.open(
            self._begin(name, {"shop.toml": files["shop.toml"].encode(), "job.toml": text.encode()})
        )

    def from_example(self, example: str) -> str:
        """A copy of an example that ships with the project.

        Raises:
            InputError: no such example, or the folder is taken
        """
        folder = examples_folder() / example
        if example not in EXAMPLES or not folder.is_dir():
            raise InputError(f"There is no example called {example}.")
        files = {one.name: one.read_bytes() for one in sorted(folder.iterdir()) if one.is_file()}
        if "shop.toml" not in files:  # it shares another example's bench
            job = read_source(folder / "job.toml")
            files["shop.toml"] = (folder / str(job.values["shop"])).read_bytes()
            own = Edit(what="set", keys=("shop",), value="shop.toml")
            files["job.toml"] = rewritten(files["job.toml"].decode(), [own]).encode()
        return self.open(self._begin(example, files))

    def from_drawing(self, name: str, content: bytes, *, known: str | None, units: System | None) -> str:
        """A job around a drawing that was dropped on the page.

        Raises:
            InputError: it can't be read, or its unit is not settled
        """
        suffix, stem = Path(name).suffix.lower(), slug(Path(name).stem)[:LONGEST_NAME] or "drawing"
        name = printable(name)
        if suffix not in DRAWINGS:
            raise InputError(
                f"{name} is neither a DXF nor an SVG drawing. Save it as one of them, and drop that."
            )
        with self._beginning:
            job = self._around(stem, suffix, name, content, known, units)
        return self.open(job)

    def _around(
        self, stem: str, suffix: str, name: str, content: bytes, known: str | None, units: System | None
    ) -> Path:
        """A drawing's job in a folder of its own, whole or not at all."""
        from proveout.drawing.job_around import job_around

        folder = self._free_folder(stem)
        waiting = self.root / f".proveout-{os.urandom(8).hex()}"
        try:
            waiting.mkdir(parents=True)
            (waiting / f"{stem}{suffix}").write_bytes(content)
            (waiting / "shop.toml").write_text(starter_files()["shop.toml"], encoding="utf-8")
            shop = read_shop(waiting / "shop.toml")
            found = _looked(waiting / f"{stem}{suffix}", name, known, units)
            job = waiting / "job.toml"
            text = job_around(found, shop, job=job, known=known, units=units)
            if len(text.encode()) > BIGGEST:
                raise InputError(
                    f"{name} holds so many curves that the job around it is over {BIGGEST // 1000} kB, "
                    "the most that is read. Split the drawing."
                )
            job.write_text(text, encoding="utf-8", newline="\n")
            read_job(job)
            waiting.rename(folder)
        except OSError as error:
            raise InputError(
                f"The job can't be written: {error.strerror or error}.", Place(file=folder)
            ) from None
        finally:
            shutil.rmtree(waiting, ignore_errors=True)
        return folder / "job.toml"

    def _begin(self, name: str, files: dict[str, bytes]) -> Path:
        with self._beginning:
            return self._written(self._free_folder(slug(name)[:LONGEST_NAME]), files)

    def _written(self, folder: Path, files: dict[str, bytes]) -> Path:
        try:
            folder.mkdir(parents=True)
            for file, content in files.items():
                (folder / file).write_bytes(content)
        except OSError as error:
            raise InputError(
                f"The job can't be written: {error.strerror or error}.", Place(file=folder)
            ) from None
        return folder / "job.toml"

    def _free_folder(self, stem: str) -> Path:
        """A folder that isn't there yet; a name that is taken gets a number."""
        if not stem:
            raise InputError("Give the job a name with letters or digits in it.")
        names = (stem, *(f"{stem}-{number}" for number in range(2, 1000)))
        free = next((self.root / one for one in names if not os.path.lexists(self.root / one)), None)
        if free is None:
            raise InputError(f"There are a thousand jobs called {stem} already. Give this one another name.")
        return free


def id_of(path: Path) -> str:
    """A job's short name in addresses."""
    return hashlib.sha256(os.fsencode(path)).hexdigest()[:10]


def examples_folder() -> Path:
    """Where the examples lie: in the installed package, or in the repository it is run from."""
    packaged = Path(__file__).parents[1] / "examples"
    return packaged if packaged.is_dir() else Path(__file__).parents[3] / "examples"


def _looked(file: Path, name: str, known: str | None, units: System | None) -> "Look":
    from proveout.drawing.look import look

    try:
        return look(file, known=known, units=units)
    except InputError as error:
        raise InputError(error.text.replace(str(file), name)) from None


def _checked(name: str) -> None:
    """Refuse a job's name that the job file couldn't be read with."""
    try:
        part_name(name, None)
    except Wrong as wrong:
        raise InputError(wrong.complaints[0][1]) from None


def _set_name(name: str) -> Edit:
    return Edit(what="set", keys=("name",), value=name)


def _only(text: str, pattern: str) -> str:
    """The starter's job with one part alone, of this pattern."""
    if pattern not in PART_WORDS:
        raise InputError(f"There is no pattern called {pattern}. There are: {', '.join(PART_WORDS)}.")
    parts: Sequence[dict[str, object]] = tomllib.loads(text)["parts"]
    if not any(one.get("pattern") == pattern for one in parts):
        value = template(PATTERNS[pattern], name=pattern.rpartition(" ")[2], pattern=pattern, count=2)
        text = rewritten(text, [Edit(what="add", keys=("parts",), value=value)])
        parts = [*parts, value]
    keep = next(number for number, one in enumerate(parts) if one.get("pattern") == pattern)
    drop = [number for number in range(len(parts) - 1, -1, -1) if number != keep]
    return rewritten(text, [Edit(what="drop", keys=("parts", number)) for number in drop])


# --- what was open lately


def _state_file() -> Path:
    named = os.environ.get("PROVEOUT_STATE")
    if named:
        return Path(named) / "recent.json"
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    else:
        base = Path(os.environ.get("XDG_STATE_HOME", Path.home() / ".local" / "state"))
    return base / "proveout" / "recent.json"


def _recent_paths() -> list[Path]:
    try:
        listed = json.loads(_state_file().read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return []
    found = [one for one in listed if _is_path(one)] if isinstance(listed, list) else []
    return [Path(one) for one in found[:MOST_RECENT]]


def _is_path(listed: object) -> bool:
    """Whether a line of the list, which anybody may have written into, can be a file's name."""
    try:
        return isinstance(listed, str) and "\0" not in listed and bool(os.fsencode(listed))
    except UnicodeEncodeError:
        return False


def _remember(path: Path) -> None:
    """The job as the latest; that this can't be kept is no reason not to open it."""
    paths = [str(path), *(str(one) for one in _recent_paths() if one != path)][:MOST_RECENT]
    file = _state_file()
    with suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        waiting = file.with_name(f"recent-{os.urandom(6).hex()}.json")
        waiting.write_text(json.dumps(paths, indent=1), encoding="utf-8")
        waiting.replace(file)


def _name_of(path: Path) -> str:
    with suppress(InputError):
        name = read_source(path).values.get("name")
        if isinstance(name, str):
            return name[:100]
    return path.stem
