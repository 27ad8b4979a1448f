"""Kills a writer of the shop book at any moment: python tests/book_kills.py --kills 1000 [--seed 1].

A child adds batches of entries and acknowledges each through a pipe once `add` has returned. It is killed
after a random while; then the book is opened again. It must be sound, hold every batch that was acknowledged,
and no batch in part. Prints the first book that shows otherwise, and exits with 1.
"""

import argparse
import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from datetime import date
from pathlib import Path

from proveout.book.entry import Entry
from proveout.book.store import open_book

BATCH = 3  # entries in each
LONGEST = 0.12  # s that a writer lives after it is seen to begin


def main() -> None:
    """Run as many kills as were asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        kept, journals, fault = kills(Path(folder), args.kills, args.seed)
    print(f"{args.kills} kills, {journals} in the midst of writing; {kept} acknowledged batches")
    print(f"FAULT: {fault}" if fault else "nothing lost, nothing kept in part, every book sound")
    sys.exit(1 if fault else 0)


def kills(folder: Path, count: int, seed: int) -> tuple[int, int, str]:
    """Batches acknowledged in all, kills that left a journal to roll back, and what went wrong, if anything.

    Every twenty kills a new book is begun, so that the making of a book is cut off too.
    """
    dice = random.Random(seed)
    acknowledged: set[str] = set()
    in_all = journals = 0
    for number in range(count):
        path = folder / f"book-{number // 20}.sqlite"
        if number % 20 == 0:
            acknowledged = set()
        said = _writer_killed(path, f"run {number}", dice.uniform(0, LONGEST))
        journals += Path(f"{path}-journal").exists()
        acknowledged |= said
        in_all += len(said)
        fault = _fault(path, acknowledged)
        if fault:
            return in_all, journals, f"kill {number}: {fault}"
    return in_all, journals, ""


def _writer_killed(path: Path, run: str, seconds: float) -> set[str]:
    """The batches that a writer acknowledged before it was killed."""
    hears, says = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(hears)
        with suppress(BaseException):
            _write(path, run, says)
        os._exit(1)
    os.close(says)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(hears, "rb") as pipe:
        lines = pipe.read().decode().split("\n")
    return set(lines[:-1])  # a line cut off in its midst was not said


def _write(path: Path, run: str, says: int) -> None:
    for number in range(10_000):
        batch = f"{run}, batch {number}"
        with open_book(path, create=True) as book:
            book.add(
                Entry(kind="size", taken_on=date(2026, 3, 31), who="learner", sitting=batch, found=9.87)
                for _ in range(BATCH)
            )
        os.write(says, f"{batch}\n".encode())


def _fault(path: Path, acknowledged: set[str]) -> str:
    """What is wrong with the book after a kill."""
    with open_book(path, create=True) as book:
        batches = Counter(kept.entry.sitting for kept in book.everything())
    with sqlite3.connect(path) as connection:
        sound = connection.execute("PRAGMA integrity_check").fetchone()[0]
    connection.close()
    if sound != "ok":
        return f"the book is damaged: {sound}"
    lost = acknowledged - batches.keys()
    if lost:
        return f"acknowledged and lost: {sorted(lost)[0]}"
    halves = [batch for batch, count in batches.items() if count != BATCH]
    return f"kept in part: {halves[0]}" if halves else ""


if __name__ == "__main__":
    main()
