"""What the shop book tells a job: offsets of its cutters in its material, and minutes."""

from dataclasses import replace

from proveout.book.entry import Entry, cutter_words
from proveout.book.minutes import learned_minutes
from proveout.book.offsets import FEATURES, CutterNow, learned, taught
from proveout.book.store import Book, is_begun, open_book
from proveout.job.records import Cutter, Job


def with_book(job: Job) -> Job:
    """The job with what its shop's book has taught; the job itself where there is no book yet.

    Raises:
        InputError: a book that can't be read
    """
    if not is_begun(job.shop.book):
        return job
    with open_book(job.shop.book, create=False) as book:
        means = book.means()
        minutes = [kept.entry for kept in book.standing(kind="minutes")]
        told = [
            learned(taught(own, means, cutter_now(cutter), job.stock.material, feature), job.units)
            for cutter in job.shop.cutters
            for feature in FEATURES
            for own in (_of(book, cutter, job.stock.material, feature),)
        ]
    return replace(
        job, learned=tuple(one for one in told if one is not None), learned_minutes=learned_minutes(minutes)
    )


def _of(book: Book, cutter: Cutter, material: str, feature: str) -> list[Entry]:
    label = cutter_words(cutter.number, cutter.name)
    return [kept.entry for kept in book.standing(cutter=label, material=material, feature=feature)]


def cutter_now(cutter: Cutter) -> CutterNow:
    """A cutter as the shop file has it, as the book asks for it."""
    return CutterNow(
        label=cutter_words(cutter.number, cutter.name),
        diameter=cutter.diameter,
        diameter_error=cutter.diameter_error,
        runout=cutter.runout,
    )
