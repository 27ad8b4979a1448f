"""The shop book's file: opened, added to, read. Nothing in it is ever changed or taken out."""

import math
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import fields
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from types import TracebackType
from typing import Any, Final

from proveout.book.entry import Entry, Kept, Kind, Mean
from proveout.book.schema import VERSION, is_blank, is_ours, migrate, version_of
from proveout.book.store_errors import NOTHING_CHANGED, said
from proveout.finding import InputError, Place

PATIENCE: Final = 5.0  # s to wait for another window that is writing

_FIELDS: Final = tuple(field.name for field in fields(Entry))
_COLUMNS: Final = ", ".join(f"e.{name}" for name in ("id", "recorded_at", *_FIELDS))
_INSERT: Final = (
    f"INSERT INTO entries (recorded_at, {', '.join(_FIELDS)}) VALUES ({', '.join('?' * (len(_FIELDS) + 1))})"
)
_STANDS: Final = (
    "NOT EXISTS (SELECT 1 FROM entries AS later WHERE later.replaces = e.id) "
    "AND NOT (e.replaces IS NOT NULL AND e.found IS NULL AND e.fitted = '')"
)


def open_book(path: Path, *, create: bool) -> "Book":
    """The shop book in that file, to be used in a `with`.

    Args:
        path: of the file
        create: open it to be added to, and begin it where it isn't there; else only to be read
    Raises:
        InputError: not there (where it may not be begun), not a shop book, of a newer version, damaged,
            can't be opened; nothing is changed then
    """
    if not create and not is_begun(path):
        raise InputError(
            "there is no shop book here yet. proveout record JOB begins one with its first entry.",
            Place(file=path),
        )
    with _told(path):
        _refuse_folder(path)
        # "rw" opens what may not be written for reading, and finishes what a crash has left half done.
        mode = "rwc" if create else "rw"
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=PATIENCE, isolation_level=None
        )
        try:
            _prepare(connection, path, create=create)
        except BaseException:
            connection.close()
            raise
    return Book(connection, path)


def is_begun(path: Path) -> bool:
    """Whether there is a file with something in it."""
    try:
        return path.exists() and not (path.is_file() and path.stat().st_size == 0)
    except (OSError, ValueError):
        return True  # what it is will be told on opening it


class Book:
    """An open shop book."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self.path = path

    def __enter__(self) -> "Book":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def add(self, entries: Iterable[Entry]) -> tuple[int, ...]:
        """Keep all of the entries, or none; returns their ids once they are safe on the disk.

        Raises:
            InputError: an entry replaces one that isn't there or that was replaced before, or the file can't
                be written; nothing is changed then
        """
        now = datetime.now(UTC).isoformat(timespec="seconds")
        with _told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                ids = tuple(self._added(entry, now) for entry in entries)
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        return ids

    def standing(
        self,
        *,
        kind: Kind | None = None,
        cutter: str | None = None,
        material: str | None = None,
        feature: str | None = None,
        direction: str | None = None,
    ) -> tuple[Kept, ...]:
        """The entries that count, by day and then id: neither replaced by a later one nor withdrawn."""
        wanted = {
            name: value
            for name, value in (
                ("kind", kind),
                ("cutter", cutter),
                ("material", material),
                ("feature", feature),
                ("direction", direction),
            )
            if value is not None
        }
        where = " AND ".join((*(f"e.{name} = ?" for name in wanted), _STANDS))
        return self._read(f"WHERE {where} ORDER BY e.taken_on, e.id", tuple(wanted.values()))

    def means(self) -> tuple[Mean, ...]:
        """Of every kind of cut the mean of what came out less what was asked, of the sizes that count.

        One pass inside the database, which a book of many entries needs and no list of them does.
        """
        with _told(self.path):
            rows = self._connection.execute(
                "SELECT e.cutter, e.material, e.feature, e.diameter, count(*), avg(e.found - e.asked), "
                "avg(coalesce(e.resolution, 0) * coalesce(e.resolution, 0)) FROM entries AS e "
                "WHERE e.kind = 'size' AND e.cutter <> '' AND e.found IS NOT NULL AND e.asked IS NOT NULL "
                f"AND {_STANDS} GROUP BY e.cutter, e.material, e.feature, e.diameter "
                "ORDER BY e.cutter, e.material, e.feature, e.diameter"
            )
            return tuple(
                Mean(
                    cutter=cutter, material=wood, feature=feature, diameter=diameter, count=count, mean=mean,
                    resolution=math.sqrt(square),
                )
                for cutter, wood, feature, diameter, count, mean, square in rows
            )  # fmt: skip

    def everything(self) -> tuple[Kept, ...]:
        """All that was ever recorded, by id; what was corrected stands there beside its correction."""
        return self._read("ORDER BY e.id", ())

    def _added(self, entry: Entry, now: str) -> int:
        if entry.replaces is not None:
            self._refuse_replaced(entry.replaces)
        values = (getattr(entry, name) for name in _FIELDS)
        made = self._connection.execute(_INSERT, (now, *(_stored(value) for value in values)))
        assert made.lastrowid is not None
        return made.lastrowid

    def _refuse_replaced(self, replaced: int) -> None:
        if not 0 < replaced < 2**63 or not self._count("id = ?", replaced):
            raise InputError(
                f"there is no entry {replaced}. proveout book lists them with their numbers. "
                f"{NOTHING_CHANGED}",
                Place(file=self.path),
            )
        later = self._connection.execute("SELECT id FROM entries WHERE replaces = ?", (replaced,)).fetchone()
        if later:
            raise InputError(
                f"entry {replaced} was corrected by entry {later[0]} already. Correct that one. "
                f"{NOTHING_CHANGED}",
                Place(file=self.path),
            )

    def _count(self, where: str, value: int) -> int:
        return int(
            self._connection.execute(f"SELECT count(*) FROM entries WHERE {where}", (value,)).fetchone()[0]
        )

    def _read(self, clauses: str, values: tuple[str, ...]) -> tuple[Kept, ...]:
        with _told(self.path):
            rows = self._connection.execute(f"SELECT {_COLUMNS} FROM entries AS e {clauses}", values)
            return tuple(_kept(row, self.path) for row in rows)


def _prepare(connection: sqlite3.Connection, path: Path, *, create: bool) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA cache_size = -65536")  # kB: a book of 100,000 entries is read once
    if not is_ours(connection) and not (is_blank(connection) and version_of(connection) == 0):
        raise InputError(
            "this is a database of another program, not a shop book. Name another file: the shop file's "
            f"`book`, or --book. {NOTHING_CHANGED}",
            Place(file=path),
        )
    version = version_of(connection)
    if version > VERSION:
        raise InputError(
            f"this shop book has version {version}, and this proveout reads up to version {VERSION}. Use a "
            f"newer proveout. {NOTHING_CHANGED}",
            Place(file=path),
        )
    _refuse_damaged(connection)
    if not create:
        connection.execute("PRAGMA query_only = ON")
        return
    # One file at rest: what a write-ahead log holds can't be read in a folder that can't be written.
    connection.execute("PRAGMA journal_mode = DELETE")
    migrate(connection)


def _refuse_damaged(connection: sqlite3.Connection) -> None:
    """A damaged page may read as fewer entries without a word: so all are looked at, 0.3 s for 100,000."""
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise sqlite3.DatabaseError(f"malformed: {found}")


def _refuse_folder(path: Path) -> None:
    if path.is_dir():
        raise InputError("this is a folder. Name the shop book's file.", Place(file=path))
    if path.exists() and not path.is_file():
        raise InputError("this is not a plain file. Name the shop book's file.", Place(file=path))
    if not path.parent.is_dir():
        raise InputError(
            "the folder that the shop book should be in isn't there. Make it, or name another file.",
            Place(file=path),
        )


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """What the database complains of, in the shop's words."""
    try:
        yield
    except sqlite3.Error as error:
        raise InputError(said(error, path), Place(file=path)) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(f"the shop book can't be used: {why}. {NOTHING_CHANGED}", Place(file=path)) from None


def _stored(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value


def _kept(row: tuple[Any, ...], path: Path) -> Kept:
    number, recorded_at, kind, taken_on, *others = row
    try:
        entry = Entry(kind=kind, taken_on=_day(taken_on), **dict(zip(_FIELDS[2:], others, strict=True)))
        return Kept(id=number, recorded_at=_moment(recorded_at), entry=entry)
    except (TypeError, ValueError) as error:
        raise InputError(
            f"entry {number} of this shop book can't be read: {error}. Fetch the last good copy of the file.",
            Place(file=path),
        ) from None


# Readings come in sittings: many entries share a day and a moment.
_day = lru_cache(4096)(date.fromisoformat)
_moment = lru_cache(4096)(datetime.fromisoformat)
