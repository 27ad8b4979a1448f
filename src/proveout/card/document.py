"""A TOML file that several windows edit: saved whole or not at all, merged or refused, never lost.

The file on the disk is the truth: it is read anew before each edit, so that what an editor or another window
has written meanwhile is edited, not overwritten.
"""

import errno
import hashlib
import os
import re
import threading
import time
import tomllib
from collections import OrderedDict
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from proveout.finding import Edit, InputError, Place
from proveout.job.rewrite import rewritten
from proveout.job.source import BIGGEST

REMEMBERED: Final = 300  # texts that a window may still have before it
MOST_KEPT: Final = 20_000_000  # characters of such texts; the examples have 4,000 each
LEFT_BEHIND: Final = 60.0  # s, after which a file that waits to be saved waits for nobody
_WAITING = re.compile(r"\.proveout-card-[0-9a-f]{16}\.toml")


class Conflict(Exception):
    """Another window, or an editor, has changed the same place since this window last looked."""


class Gone(InputError):
    """The file has been taken away, or can't be read any more."""


class Document:
    """One file. Its methods may be called from several threads."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.RLock()
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._last = ""
        self._kept = 0  # characters of the texts
        _clear_waiting(path)

    def read(self) -> tuple[str, str]:
        """The text as it stands on the disk, and its revision.

        Raises:
            Gone: it isn't there, or can't be read
        """
        with self._lock:
            text = text_of(self.path)
            self._last = text
            return text, self._remember(text)

    def last(self) -> str:
        """The text when it could be read last."""
        return self._last

    def edited(self, edits: Sequence[Edit], seen: str) -> tuple[str, str]:
        """The text before and after some edits, not saved yet.

        Args:
            seen: the revision that the window has before it
        Raises:
            Conflict: what is edited has been changed since that revision
            InputError: edits that can't be made, or the file is gone
        """
        with self._lock:
            text, _ = self.read()
            base = self._texts.get(seen)
            if base is None:
                raise Conflict(
                    "This window is older than what the card remembers. Look again, then change it."
                )
            if base != text:
                _refuse_changed(base, text, edits)
            return text, rewritten(text, edits)

    def swap(self, before: str, after: str) -> str:
        """Put a text in the place of another; its revision.

        Raises:
            Conflict: the file holds something else by now
            InputError: it can't be written
        """

        def still() -> None:
            if text_of(self.path) != before:
                raise Conflict(
                    "The file was changed by something else meanwhile, so nothing was done. Look again: what "
                    "stands here now is what is in the file."
                )

        with self._lock:
            _write(self.path, after, still)
            self._last = after
            return self._remember(after)

    def write_again(self) -> str:
        """The last text that was read, written where the file was taken away; its revision."""
        with self._lock:
            with suppress(Gone):
                return self.read()[1]
            if not self._last:
                raise Gone(
                    "Nothing was read of it, so there is nothing to write again.", Place(file=self.path)
                )
            _write(self.path, self._last)
            return self._remember(self._last)

    def _remember(self, text: str) -> str:
        revision = revision_of(text)
        if revision not in self._texts:
            self._kept += len(text)
        self._texts[revision] = text
        self._texts.move_to_end(revision)
        while len(self._texts) > REMEMBERED or (self._kept > MOST_KEPT and len(self._texts) > 1):
            self._kept -= len(self._texts.popitem(last=False)[1])
        return revision


def _refuse_changed(base: str, text: str, edits: Sequence[Edit]) -> None:
    """Edits go on only where what they are about is still as the window saw it."""
    try:
        seen, now = tomllib.loads(base), tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise Conflict("The file was changed by something else, and can't be read as it is now.") from None
    for edit in edits:
        if _about(seen, edit) != _about(now, edit):
            raise Conflict(
                "This was changed in another window, or by an editor, since you last saw it. Nothing of "
                "yours was saved: look at what stands there now, and change it again if you still want to."
            )


def _about(values: dict[str, object], edit: Edit) -> object:
    """What an edit is about: the value itself and the names of the tables on the way; how many, of a list."""
    found: list[object] = []
    at: object = values
    for key in edit.keys:
        if isinstance(at, list) and isinstance(key, int):
            found.append(len(at))
            at = at[key] if 0 <= key < len(at) else None
            if isinstance(at, dict):
                found.append((at.get("name"), at.get("clamp"), at.get("part"), at.get("pattern")))
        elif isinstance(at, dict) and isinstance(key, str):
            at = at.get(key)
        else:
            at = None
    return found, None if edit.what == "add" else at


def revision_of(text: str) -> str:
    """A short name of a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def is_there(path: Path) -> bool:
    """Whether there is a file of that name; a name that none can have is none's."""
    try:
        return path.is_file()
    except OSError:
        return False


def text_of(path: Path) -> str:
    """The text of a file, its line ends as they are.

    Raises:
        Gone: it isn't there, or can't be read
    """
    try:
        with path.open("rb") as file:
            content = file.read(BIGGEST + 1)
        if len(content) > BIGGEST:
            raise Gone(f"the file has grown over {BIGGEST // 1000} kB.", Place(file=path))
        return content.decode("utf-8")
    except UnicodeDecodeError:
        raise Gone("the file is no longer UTF-8 text.", Place(file=path)) from None
    except OSError as error:
        why = (
            "it is no longer there" if isinstance(error, FileNotFoundError) else error.strerror or str(error)
        )
        raise Gone(f"the file can't be read: {why}.", Place(file=path)) from None


def _write(path: Path, text: str, still: Callable[[], None] = lambda: None) -> None:
    """The text under a name of its own, then in the file's place: at no moment is there half a file.

    Args:
        still: asked at the last moment, when all is on the disk; what it raises leaves the file as it is
    """
    real = path.resolve()
    waiting = real.parent / f".proveout-card-{os.urandom(8).hex()}.toml"
    try:
        _refuse_locked(real)
        with waiting.open("xb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        with suppress(OSError):
            waiting.chmod(real.stat().st_mode & 0o777)
        still()
        waiting.replace(real)
    except OSError as error:
        raise InputError(
            f"the file can't be written: {error.strerror or error}. Nothing was changed.", Place(file=path)
        ) from None
    finally:
        with suppress(OSError):
            waiting.unlink(missing_ok=True)


def _refuse_locked(file: Path) -> None:
    """Whoever locks a file means its text to stay, though the folder would take another in its place."""
    with suppress(FileNotFoundError):
        if not file.stat().st_mode & 0o222 or not os.access(file, os.W_OK):
            raise PermissionError(errno.EACCES, "it is locked against writing; unlock it to change it here")


def _clear_waiting(path: Path) -> None:
    """Takes away what a card that was killed while saving has left beside the file."""
    with suppress(OSError):
        for one in path.resolve().parent.iterdir():
            if _WAITING.fullmatch(one.name) and one.stat().st_mtime < time.time() - LEFT_BEHIND:
                one.unlink()
