"""The shop book's file: what was recorded is there for good, and whatever is wrong is told in words."""

import multiprocessing
import os
import resource
import sqlite3
import subprocess
import sys
import traceback
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import pytest

from book_kills import kills
from proveout.book.entry import FITTED, KINDS, Entry
from proveout.book.schema import APPLICATION_ID, MIGRATIONS, VERSION, migrate
from proveout.book.store import open_book
from proveout.finding import InputError
from proveout.shelf.fit_classes import FIT_NAMES

DAY = date(2026, 3, 31)
READING = Entry(
    kind="size",
    taken_on=DAY,
    who="Ada",
    job="clamp kit",
    sitting="clamp kit, 2026-03-31",
    subject="knob 1.head recess",
    cutter="1: 3 mm two-flute up-cut",
    diameter=2.99,
    material="birch plywood",
    feature="recess",
    direction="x",
    asked=9.73,
    found=9.75,
    hardware=9.88,
    instrument="caliper",
    resolution=0.01,
    note="a \N{MULTIPLICATION SIGN} note",
)
NOBODY = 65534  # a user without rights


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a book may be begun."""
    return tmp_path / "shop-book.sqlite"


def add(path: Path, *entries: Entry) -> tuple[int, ...]:
    """Entries put into the book, which is closed again."""
    with open_book(path, create=True) as book:
        return book.add(entries)


def told(path: Path, *, create: bool) -> str:
    """What is said of a book that can't be opened."""
    with pytest.raises(InputError) as caught, open_book(path, create=create):
        pass
    assert caught.value.place and caught.value.place.file == path
    return caught.value.text


def test_an_entry_comes_back_as_it_was_given(path: Path) -> None:
    """Every field, the empty ones too, survives the file."""
    bare = Entry(kind="fit", taken_on=DAY, who="Bo", fitted="snug")
    assert add(path, READING, bare) == (1, 2)
    with open_book(path, create=False) as book:
        assert [kept.entry for kept in book.everything()] == [READING, bare]
        assert book.everything()[0].recorded_at.utcoffset() is not None


def test_the_words_for_fits_are_the_classes_and_what_lies_beyond_them() -> None:
    """The book can't import the fits, so this keeps the two lists alike."""
    assert tuple(word for word in FITTED if word not in ("too loose", "too tight", "split")) == FIT_NAMES


def test_the_file_takes_every_kind_of_entry_and_no_other(path: Path) -> None:
    """The table's own check and the code's list of kinds are the same."""
    add(path, *(replace(READING, kind=kind) for kind in KINDS))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="unknown kind"):
        replace(READING, kind="guess")  # type: ignore[arg-type]
    columns = ", ".join(field.name for field in fields(Entry) if field.name != "kind")
    with sqlite3.connect(path) as raw, pytest.raises(sqlite3.IntegrityError, match="CHECK"):
        raw.execute(
            f"INSERT INTO entries (kind, recorded_at, {columns}) "
            f"SELECT 'guess', recorded_at, {columns} FROM entries WHERE id = 1"
        )


def test_what_stands_is_what_nothing_later_replaces(path: Path) -> None:
    """A corrected entry no longer counts, its correction does; a withdrawn one leaves none that does."""
    add(path, READING, READING, READING)
    add(path, replace(READING, found=9.80, replaces=1), replace(READING, found=None, replaces=2))
    with open_book(path, create=False) as book:
        assert [(kept.id, kept.entry.found) for kept in book.standing()] == [(3, 9.75), (4, 9.80)]
        assert len(book.everything()) == 5


def test_what_stands_is_told_by_day_and_can_be_narrowed(path: Path) -> None:
    """An entry of an earlier day comes first though it was recorded later; each filter keeps its own."""
    other = replace(
        READING, cutter="2: 6 mm", material="mdf", feature="slot", direction="y", kind="fit", fitted="snug"
    )
    add(path, READING, other, replace(READING, taken_on=date(2026, 3, 4)))
    with open_book(path, create=False) as book:
        assert [kept.id for kept in book.standing()] == [3, 1, 2]
        for narrowed in (
            book.standing(cutter="2: 6 mm"),
            book.standing(material="mdf"),
            book.standing(feature="slot"),
            book.standing(direction="y"),
            book.standing(kind="fit"),
        ):
            assert [kept.id for kept in narrowed] == [2]
        assert book.standing(cutter="2: 6 mm", material="birch plywood") == ()


@pytest.mark.parametrize("change", ["UPDATE entries SET found = 1", "DELETE FROM entries"])
def test_no_program_can_change_or_take_out_an_entry(path: Path, change: str) -> None:
    """The file itself refuses, whoever opens it."""
    add(path, READING)
    with sqlite3.connect(path) as raw, pytest.raises(sqlite3.IntegrityError, match="never"):
        raw.execute(change)
    with open_book(path, create=False) as book:
        assert book.everything()[0].entry == READING


def test_a_batch_is_kept_whole_or_not_at_all(path: Path) -> None:
    """The second entry corrects one that isn't there: the first isn't kept either."""
    add(path, READING)
    with pytest.raises(InputError, match="there is no entry 7") as caught:
        add(path, READING, replace(READING, replaces=7))
    assert "Nothing was changed" in caught.value.text
    with open_book(path, create=False) as book:
        assert len(book.everything()) == 1


def test_an_entry_is_corrected_once(path: Path) -> None:
    """Two corrections of one entry would both count: the second is sent to the first."""
    add(path, READING)
    add(path, replace(READING, found=9.80, replaces=1))
    with pytest.raises(InputError, match="entry 1 was corrected by entry 2 already"):
        add(path, replace(READING, found=9.81, replaces=1))


def test_an_older_book_is_brought_up_to_date_with_its_entries(path: Path) -> None:
    """A file of version 1 with rows: read as it is, then migrated on the first writing, nothing lost."""
    raw = sqlite3.connect(path, isolation_level=None)
    migrate(raw, upto=1)
    names = [field.name for field in fields(Entry) if field.type in ("str", str)]
    values = dict.fromkeys(names, "") | {
        "kind": "size",
        "taken_on": "2026-03-31",
        "who": "Ada",
        "recorded_at": "2026-03-31T10:00:00+00:00",
        "found": "9.75",
    }
    raw.execute(
        f"INSERT INTO entries ({', '.join(values)}) VALUES ({', '.join('?' * len(values))})",
        tuple(values.values()),
    )
    raw.close()
    with open_book(path, create=False) as book:
        assert [kept.entry.found for kept in book.standing()] == [9.75]
    assert version(path) == 1
    add(path, READING)
    assert version(path) == VERSION == len(MIGRATIONS)
    with open_book(path, create=False) as book:
        assert [kept.entry.found for kept in book.standing()] == [9.75, 9.75]


def version(path: Path) -> int:
    """What the file says of itself."""
    raw = sqlite3.connect(path)
    found = raw.execute("PRAGMA user_version").fetchone()[0]
    raw.close()
    return int(found)


def test_a_look_up_uses_the_index(path: Path) -> None:
    """Among many entries the few of one cut are found without reading them all."""
    add(path, READING)
    with open_book(path, create=False) as book:
        plan = book._connection.execute(
            "EXPLAIN QUERY PLAN SELECT * FROM entries AS e WHERE e.cutter = ? AND e.material = ?", ("", "")
        ).fetchall()
    assert "by_cut" in str(plan)


def test_a_newer_book_is_refused_and_left_as_it_is(path: Path) -> None:
    """Its version is told; not a byte changes."""
    add(path, READING)
    raw = sqlite3.connect(path)
    raw.execute(f"PRAGMA user_version = {VERSION + 3}")
    raw.close()
    before = path.read_bytes()
    for create in (True, False):
        text = told(path, create=create)
        assert f"version {VERSION + 3}, and this proveout reads up to version {VERSION}" in text
        assert "Nothing was changed" in text
    assert path.read_bytes() == before


def test_another_programs_database_is_refused_and_left_as_it_is(path: Path) -> None:
    """A file of ours alone is written to: another application's mark, or tables and no mark, are not."""
    for mark in (APPLICATION_ID + 1, 0):
        path.unlink(missing_ok=True)
        raw = sqlite3.connect(path)
        raw.execute("CREATE TABLE theirs (x)")
        raw.execute(f"PRAGMA application_id = {mark}")
        raw.commit()
        raw.close()
        before = path.read_bytes()
        for create in (True, False):
            assert "a database of another program" in told(path, create=create)
        assert path.read_bytes() == before


def test_what_is_no_database_is_refused_and_left_as_it_is(path: Path) -> None:
    """A text file that stands in the book's place."""
    path.write_text("thickness 11.8\n" * 100)
    for create in (True, False):
        text = told(path, create=create)
        assert "this is not a shop book" in text and "Nothing was changed" in text
    assert path.read_text() == "thickness 11.8\n" * 100


def test_a_damaged_book_is_refused_before_it_is_written_to(path: Path) -> None:
    """A page of it is overwritten: told with what to do, and the file is left for whoever can mend it."""
    add(path, *(replace(READING, note=f"note {number}" * 20) for number in range(300)))
    content = bytearray(path.read_bytes())
    content[3 * 4096 : 5 * 4096] = b"\xa5" * 8192
    path.write_bytes(content)
    text = told(path, create=True)
    assert "damaged" in text and "last good copy" in text
    assert path.read_bytes() == content
    assert "damaged" in told(path, create=False)


def test_reading_a_book_that_is_not_begun_makes_no_file(path: Path) -> None:
    """The way to begin one is told, and the folder stays empty."""
    assert "proveout record JOB begins one" in told(path, create=False)
    assert list(path.parent.iterdir()) == []


def test_a_book_can_only_be_in_a_folder_that_is_there(tmp_path: Path) -> None:
    """Nothing is made on the way to a file that was mistyped; a folder is no book."""
    assert "isn't there" in told(tmp_path / "no" / "book.sqlite", create=True)
    assert not (tmp_path / "no").exists()
    assert "this is a folder" in told(tmp_path, create=True)


def test_a_book_opened_to_be_read_takes_nothing(path: Path) -> None:
    """Not even by a slip of ours."""
    add(path, READING)
    with open_book(path, create=False) as book, pytest.raises(InputError, match="only be read"):
        book.add([READING])


def as_nobody(act: Callable[[], None]) -> None:
    """Run it in a child without any rights (for root, read-only means nothing); its failure is ours."""
    if os.geteuid() != 0:
        act()
        return
    hears, says = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.setgid(NOBODY)
            os.setuid(NOBODY)
            act()
        except BaseException:
            os.write(says, traceback.format_exc().encode()[:60_000])
        os._exit(0)
    os.close(says)
    with os.fdopen(hears, "rb") as pipe:
        fault = pipe.read().decode()
    os.waitpid(child, 0)
    assert not fault, fault


@pytest.fixture
def locked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A read-only folder with a book of one entry; everybody may look in."""
    folder = tmp_path_factory.mktemp("locked")
    for above in (folder, *folder.parents[:3]):
        if above.name.startswith(("pytest-", "locked", "popen-")):
            above.chmod(0o755)
    book = folder / "shop-book.sqlite"
    add(book, READING)
    book.chmod(0o444)
    folder.chmod(0o555)
    return book


def test_a_book_in_a_read_only_folder_is_read(locked: Path) -> None:
    """What stands there can be learned from, and no file appears beside it."""

    def act() -> None:
        with open_book(locked, create=False) as book:
            assert [kept.entry for kept in book.standing()] == [READING]

    as_nobody(act)
    assert [one.name for one in locked.parent.iterdir()] == [locked.name]


@pytest.mark.parametrize("mode", [0o444, 0o666])
def test_a_book_that_may_not_be_written_is_told_so(locked: Path, mode: int) -> None:
    """A read-only file, or a writable one in a read-only folder: in words, and nothing is lost."""
    locked.chmod(mode)

    def act() -> None:
        with pytest.raises(InputError) as caught:
            add(locked, READING)
        assert "read-only" in caught.value.text and "Nothing was changed" in caught.value.text

    as_nobody(act)
    with open_book(locked, create=False) as book:
        assert len(book.everything()) == 1


def test_no_book_is_begun_in_a_read_only_folder(locked: Path) -> None:
    """The way out is another file."""

    def act() -> None:
        text = told(locked.with_name("other.sqlite"), create=True)
        assert "read-only" in text and "--book" in text

    as_nobody(act)


def test_a_full_disk_loses_nothing(path: Path) -> None:
    """The file may grow no further: the batch is refused whole, and what was there stays."""
    add(path, READING)
    with open_book(path, create=True) as book:
        pages = book._connection.execute("PRAGMA page_count").fetchone()[0]
        book._connection.execute(f"PRAGMA max_page_count = {pages + 1}")
        with pytest.raises(InputError) as caught:
            book.add(replace(READING, note="long " * 90) for _ in range(200))
        assert "no space left" in caught.value.text and "Nothing was changed" in caught.value.text
        assert [kept.entry for kept in book.everything()] == [READING]


FILLS = """
import resource, sys
from dataclasses import replace
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from test_book_store import READING
from proveout.book.store import open_book
from proveout.finding import InputError
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
try:
    with open_book(Path(sys.argv[1]), create=True) as book:
        book.add(replace(READING, note="long " * 90) for _ in range(3000))
except InputError as error:
    print(error.text)
"""


def test_a_disk_that_takes_no_more_loses_nothing(path: Path) -> None:
    """The same where it is the system that refuses the file another byte."""
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[1] == resource.RLIM_INFINITY
    add(path, READING)
    done = subprocess.run(
        [sys.executable, "-c", FILLS, path, Path(__file__).parent], capture_output=True, text=True, check=True
    )
    assert "room" in done.stdout and "Nothing was changed" in done.stdout, done.stdout + done.stderr
    with open_book(path, create=True) as book:
        assert [kept.entry for kept in book.everything()] == [READING]


def test_a_book_that_another_window_holds_is_waited_for_and_then_told(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The wait is cut short here; the words are those after five seconds."""
    monkeypatch.setattr("proveout.book.store.PATIENCE", 0.05)
    add(path, READING)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        with pytest.raises(InputError, match="another window") as caught:
            add(path, READING)
        assert "Nothing was changed" in caught.value.text
    finally:
        holder.close()


def _adds(path: Path, who: str) -> None:
    for number in range(200):
        add(path, replace(READING, who=who, note=str(number)))


def test_two_windows_at_once_lose_nothing(path: Path) -> None:
    """Each adds 200 entries, one at a time, to a book that neither found begun."""
    context = multiprocessing.get_context("fork")
    windows = [context.Process(target=_adds, args=(path, who)) for who in ("Ada", "Bo")]
    for window in windows:
        window.start()
    for window in windows:
        window.join()
    with open_book(path, create=False) as book:
        notes = [(kept.entry.who, kept.entry.note) for kept in book.everything()]
    assert sorted(notes) == sorted((who, str(number)) for who in ("Ada", "Bo") for number in range(200))


def test_nothing_that_was_acknowledged_is_lost_to_a_kill(tmp_path: Path) -> None:
    """Sixty kills at any moment; `python tests/book_kills.py --kills 1000` makes more."""
    acknowledged, journals, fault = kills(tmp_path, 60, seed=7)
    assert fault == ""
    assert acknowledged > 20 and journals > 5
