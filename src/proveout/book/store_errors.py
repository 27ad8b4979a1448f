"""What the database says when it can't go on, in the shop's words with the way out."""

import os
import sqlite3
from pathlib import Path
from typing import Final

NOTHING_CHANGED: Final = "Nothing was changed, and nothing is lost."

# By the names of the database's own result codes, the longest that fits first.
_WORDS: Final[dict[str, str]] = {
    "SQLITE_BUSY": "another window has been writing to this shop book for 5 seconds. Close it, or try again.",
    "SQLITE_LOCKED": "another window is using this shop book. Close it, or try again.",
    "SQLITE_FULL": "there is no space left for the shop book. Make room on this disk and try again.",
    "SQLITE_IOERR": "the disk doesn't take or give what the shop book needs: it may be full or failing. Make "
    "room, or copy the book to another disk, and try again.",
    "SQLITE_READONLY_ROLLBACK": "the last writing to this shop book was cut off, and to finish that the file "
    "and its folder must be writable. Make them writable, or copy both files of the book to another folder.",
    "SQLITE_READONLY": "this shop book may only be read: the file or its folder is read-only. Make both "
    "writable, or name another file with --book.",
    "SQLITE_NOTADB": "this is not a shop book. Name another file: the shop file's `book`, or --book.",
    "SQLITE_CORRUPT": "this shop book is damaged. Keep the file as it is, and fetch the last good copy.",
    "SQLITE_PERM": "you may not use this file. Ask whoever keeps the shop book for leave.",
    "SQLITE_CANTOPEN": "the shop book can't be opened here.",
}


def said(error: sqlite3.Error, path: Path) -> str:
    """A complaint of the database about that file, in words, with what to do."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if "malformed" in str(error):
        name = "SQLITE_CORRUPT"
    if name.startswith("SQLITE_CANTOPEN"):
        return f"{_cannot_open(path)} {NOTHING_CHANGED}"
    for code in sorted(_WORDS, key=len, reverse=True):
        if name.startswith(code):
            return f"{_WORDS[code]} {NOTHING_CHANGED}"
    if isinstance(error, sqlite3.DatabaseError) and not isinstance(error, sqlite3.IntegrityError):
        return f"this shop book can't be used: {error}. {NOTHING_CHANGED}"
    raise error  # a slip of ours, not of the file


def _cannot_open(path: Path) -> str:
    if path.exists() and not os.access(path, os.R_OK):
        return "you may not read this shop book. Ask whoever keeps it for leave."
    if not path.exists() and not os.access(path.parent, os.W_OK):
        return "this folder is read-only, so no shop book can be begun in it. Name another file with --book."
    if path.exists() and not os.access(path.parent, os.W_OK):
        return _WORDS["SQLITE_READONLY"]
    return f"{_WORDS['SQLITE_CANTOPEN']} Check the path, and that file and folder can be written."
