"""The shop book's one table, and how a book of an earlier version becomes one of this version.

Read docs/decisions/0008-the-shop-book.md for why it is this way.
"""

import sqlite3
from typing import Final

APPLICATION_ID: Final = 0x73686F70  # in the file's header; "shop" in letters

_TABLE: Final = (
    """
    CREATE TABLE entries (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        recorded_at TEXT NOT NULL,  -- UTC
        kind TEXT NOT NULL CHECK (kind IN ('stock', 'cutter', 'hardware', 'size', 'fit', 'minutes')),
        taken_on TEXT NOT NULL,  -- the shop's own day, 2026-03-31
        who TEXT NOT NULL,
        job TEXT NOT NULL,
        sitting TEXT NOT NULL,
        subject TEXT NOT NULL,
        cutter TEXT NOT NULL,
        diameter REAL,  -- lengths in mm, times in s
        material TEXT NOT NULL,
        feature TEXT NOT NULL,
        direction TEXT NOT NULL,
        asked REAL,
        found REAL,
        hardware REAL,
        fitted TEXT NOT NULL,
        instrument TEXT NOT NULL,
        resolution REAL,
        note TEXT NOT NULL,
        replaces INTEGER UNIQUE REFERENCES entries (id)
    )
    """,
    """
    CREATE TRIGGER entries_are_not_changed BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'entries are never changed: add one that replaces it'); END
    """,
    """
    CREATE TRIGGER entries_are_not_deleted BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'entries are never deleted: add one that replaces it'); END
    """,
)
_LOOK_UP: Final = ("CREATE INDEX by_cut ON entries (cutter, material, feature, direction)",)

# Each brings a book one version further; what has once been given out is never edited, only added to.
MIGRATIONS: Final[tuple[tuple[str, ...], ...]] = (_TABLE, _LOOK_UP)
VERSION: Final = len(MIGRATIONS)


def version_of(connection: sqlite3.Connection) -> int:
    """The version that the file says it has; 0 where nothing was ever written."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def is_ours(connection: sqlite3.Connection) -> bool:
    """Whether the file is a shop book."""
    return int(connection.execute("PRAGMA application_id").fetchone()[0]) == APPLICATION_ID


def is_blank(connection: sqlite3.Connection) -> bool:
    """Whether nothing at all was ever put into the file."""
    return int(connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]) == 0


def migrate(connection: sqlite3.Connection, *, upto: int = VERSION) -> None:
    """Bring a book to a version, each step whole or not at all; another program may be doing the same."""
    while True:
        connection.execute("BEGIN IMMEDIATE")
        try:
            version = version_of(connection)
            if version < upto:
                for statement in MIGRATIONS[version]:
                    connection.execute(statement)
                connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                connection.execute(f"PRAGMA user_version = {version + 1}")
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
        if version + 1 >= upto:
            return
