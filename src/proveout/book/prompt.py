"""The questions of `record`, in the order of the setup sheet: one size after another, each may be skipped."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Final, Protocol, TypeVar

from proveout.book import typed
from proveout.book.article import Article
from proveout.book.cut import Cut, Taken, entries_of, minutes_entry
from proveout.book.doubts import Key, Stated, doubts, key, strange_day
from proveout.book.entry import FITTED, Entry
from proveout.book.filled import Given
from proveout.book.said import caliper, entry_words
from proveout.quantity import QuantityError, System, show_time

T = TypeVar("T")

KEEP: Final = "keep"
INTRO: Final = (
    "Isolate the machine before you reach in. Type each size as you read it, or press Enter to skip it. "
    "Nothing is written before you say yes at the end."
)


class Asks(Protocol):
    """Whoever answers: a person at the terminal, or a test."""

    def ask(self, question: str) -> str:
        """The answer, one line."""

    def say(self, text: str) -> None:
        """Shows a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """What the questions are about, and what the book knows already."""

    cut: Cut
    given: Given
    today: date
    known: frozenset[Key]
    piece: int = 1


def asked_all(asks: Asks, sitting: Sitting) -> tuple[Entry, ...]:
    """Every reading that the person gives, none of it doubtful any more."""
    asks.say(INTRO)
    if sitting.piece > 1:
        asks.say(f"Readings of piece {sitting.piece} of each part.")
    taken = _taken(asks, sitting)
    entries: list[Entry] = []
    for article in sitting.cut.articles:
        entries += _article(asks, sitting, taken, article, entries)
    entries += _minutes(asks, sitting, taken)
    return tuple(entries)


def agreed(asks: Asks, entries: tuple[Entry, ...], units: System, book: str) -> bool:
    """Whether the person says yes to the summary."""
    asks.say("")
    for entry in entries:
        asks.say(f"  {entry_words(entry, units)}")
    count = f"these {len(entries)} entries" if len(entries) > 1 else "this entry"
    return _until_read(asks, f"Write {count} into {book}? yes or no: ", _yes_or_no)


def _yes_or_no(text: str) -> bool:
    if not text.strip():
        raise QuantityError("Type yes or no.")
    return typed.yes(text)


def _taken(asks: Asks, sitting: Sitting) -> Taken:
    given, units = sitting.given, sitting.cut.units
    who = given.who or _until_read(asks, "Who measured? ", _name)
    instrument = _until_read(asks, f"With what? [{given.instrument}] ", typed.words) or given.instrument
    finest = given.resolution or 0.01
    shown = f"{finest / 25.4:.4f} in" if units == "in" else f"{finest:g} mm"
    resolution = _or_default(
        asks, f"Its smallest step? [{shown}] ", lambda text: typed.length(text, units).value, finest
    )
    on = _day(asks, sitting)
    return Taken(
        who=who,
        on=on,
        instrument=instrument,
        resolution=resolution,
        note=given.note,
        sitting=given.sitting,
    )


def _day(asks: Asks, sitting: Sitting) -> date:
    usual = sitting.given.on or sitting.today
    on = _or_default(asks, f"On which day? [{usual}] ", typed.day, usual)
    while doubt := strange_day(on, sitting.today):
        asks.say(f"   {doubt}")
        text = asks.ask(f"   Type it again, or the word {KEEP} if it is so: ")
        if text.strip().lower() == KEEP:
            break
        try:
            on = typed.day(text)
        except QuantityError as error:
            asks.say(f"   {error}")
    return on


def _name(text: str) -> str:
    said = typed.words(text)
    if not said:
        raise QuantityError("A name or initials, so that a doubt can be asked about.")
    return said


def _article(
    asks: Asks, sitting: Sitting, taken: Taken, article: Article, before: list[Entry]
) -> tuple[Entry, ...]:
    cut, units = sitting.cut, sitting.cut.units
    known = sitting.known | {key(entry) for entry in before}
    question = f"{article.number}  {article.words}, asked {caliper(article.asked, units)}: "

    def size(text: str) -> Stated:
        found = typed.length(text, units, comma_is_point=True)
        (entry,) = entries_of(article, cut, taken, piece=sitting.piece, found=found.value)
        return Stated(entry=entry, step=found.step)

    stated = _undoubted(asks, sitting, question, size, known)
    found = stated.entry.found if stated else None
    fitted, hardware = _fitted(asks, article, units) if article.takes else ("", None)
    return entries_of(article, cut, taken, piece=sitting.piece, found=found, fitted=fitted, hardware=hardware)


def _fitted(asks: Asks, article: Article, units: System) -> tuple[str, float | None]:
    question = f"   How did the {article.takes} go in? {', '.join(FITTED)} - first letters do: "
    word = _or_default(asks, question, typed.fitted, "")
    if not word:
        return "", None
    usual = f" [{caliper(article.hardware, units)}]" if article.hardware else ""
    what = "its flats" if article.what == "across flats" else "its diameter"
    return word, _or_default(
        asks,
        f"   {what.capitalize()} by caliper?{usual} ",
        lambda text: typed.length(text, units, comma_is_point=True).value,
        article.hardware,
    )


def _minutes(asks: Asks, sitting: Sitting, taken: Taken) -> tuple[Entry, ...]:
    question = f"Minutes it really took, reckoned {show_time(sitting.cut.seconds)}: "

    def took(text: str) -> Stated:
        return Stated(entry=minutes_entry(sitting.cut, taken, typed.seconds(text)))

    stated = _undoubted(asks, sitting, question, took, sitting.known)
    return (stated.entry,) if stated else ()


def _undoubted(
    asks: Asks, sitting: Sitting, question: str, read: Callable[[str], Stated], known: frozenset[Key]
) -> Stated | None:
    """A reading that nothing speaks against, or that the person keeps all the same; None when skipped."""
    doubted: Stated | None = None
    while True:
        text = asks.ask(question).strip()
        if doubted and text.lower() == KEEP:
            return doubted
        if not text:
            return None
        try:
            doubted = read(text)
        except QuantityError as error:
            doubted = None
            asks.say(f"   {error}")
            continue
        said = doubts(doubted, today=None, known=known, units=sitting.cut.units)
        if not said:
            return doubted
        for one in said:
            asks.say(f"   {one[0].upper()}{one[1:]}")
        question = f"   Type it again, or the word {KEEP} if it is so: "


def _or_default(asks: Asks, question: str, read: Callable[[str], T], default: T) -> T:
    return _until_read(asks, question, lambda text: read(text) if text.strip() else default)


def _until_read(asks: Asks, question: str, read: Callable[[str], T]) -> T:
    while True:
        try:
            return read(asks.ask(question))
        except QuantityError as error:
            asks.say(f"   {error}")
