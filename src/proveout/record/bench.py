"""Which pack is recorded of, into which book, and what comes of it."""

import signal
import threading
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from proveout.book.cut import Cut, read_cut
from proveout.book.doubts import Key, key
from proveout.book.entry import Entry
from proveout.book.store import is_begun, open_book
from proveout.finding import InputError, Place
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.pack.folder import MARK, default_folder
from proveout.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What is recorded of, and into which book."""

    named: Path  # as the person named it
    folder: Path  # of the pack
    book: Path
    job: Job | None  # None where a bare pack was named

    @property
    def units(self) -> System:
        """In which the person reads lengths."""
        return self.job.units if self.job else "mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What was written; nothing where `entries` is empty, for the reason in `why`."""

    book: Path
    units: System
    entries: tuple[Entry, ...] = ()
    ids: tuple[int, ...] = ()
    why: str = ""


def bench_of(named: Path, *, book: Path | None, pack: Path | None) -> Bench:
    """The pack and the book that a person means by a job file, or by a pack's folder and a book.

    Raises:
        InputError: a pack without a book, or a job file that can't be read
    """
    if named.is_dir():
        if pack is not None:
            raise InputError("--pack goes with a job file; this is a folder.", Place(file=named))
        if book is None:
            raise InputError(
                "a pack doesn't say which shop book it belongs to. Name the job file instead, or add "
                "--book FILE.",
                Place(file=named),
            )
        return Bench(named=named, folder=named, book=book, job=None)
    job = read_job(named)
    return Bench(named=named, folder=pack or default_folder(job), book=book or job.shop.book, job=job)


def cut_of(bench: Bench) -> Cut:
    """What the pack says of itself.

    Raises:
        InputError: no pack, a spoiled one, or another job's
    """
    cut = read_cut(bench.folder)
    if bench.job is not None and cut.job != bench.job.name:
        raise InputError(
            f'this pack is of the job "{cut.job}", and {bench.named.name} is "{bench.job.name}". Name the '
            "job file that it was made from.",
            Place(file=bench.folder / MARK),
        )
    return cut


def written(book: Path, entries: Sequence[Entry], units: System) -> Recorded:
    """The entries in the book, all of them or none."""
    with _undisturbed(), open_book(book, create=True) as opened:
        ids = opened.add(entries)
    return Recorded(book=book, units=units, entries=tuple(entries), ids=ids)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """An interrupt waits its turn: what is said of the book must be true of it."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def counted(book: Path) -> Counter[Key]:
    """How often the book has each reading, those that were corrected included."""
    if not is_begun(book):
        return Counter()
    with open_book(book, create=False) as opened:
        return Counter(key(kept.entry) for kept in opened.everything())
