"""What a pack says of itself: its job, its minutes, and what of it can be measured."""

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from proveout.book.article import Article
from proveout.book.entry import Entry
from proveout.finding import InputError, Place
from proveout.quantity import System

BIGGEST: Final = 200_000_000  # bytes of a result


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A pack that was cut."""

    job: str
    units: System
    ready: bool
    seconds: float  # reckoned for the whole job
    material: str
    articles: tuple[Article, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """By whom, when and with what readings were taken; the same for many of them."""

    who: str
    on: date
    instrument: str
    resolution: float
    note: str = ""
    sitting: str = ""  # "": the job's name and the day


def read_cut(folder: Path) -> Cut:
    """A pack as its result.json tells it.

    Raises:
        InputError: no pack, or one that doesn't say what can be measured
    """
    file = folder / "result.json"
    try:
        with file.open("rb") as opened:
            told: dict[str, Any] = json.loads(opened.read(BIGGEST))
        return Cut(
            job=str(told["job"]),
            units="in" if told["units"] == "in" else "mm",
            ready=told["verdict"] == "ready",
            seconds=float(told["minutes"]["total"]) * 60,
            material=str(told["stock"]["material"]),
            articles=tuple(Article(**one) for one in told["articles"]),
        )
    except FileNotFoundError:
        raise InputError(
            "there is no pack here to record readings of. Make the job first: proveout make JOB; or name the "
            "pack's folder with --pack.",
            Place(file=folder),
        ) from None
    except OSError as error:
        raise InputError(f"the pack can't be read: {error.strerror or error}.", Place(file=file)) from None
    except (KeyError, TypeError, ValueError, RecursionError):
        raise InputError(
            "this pack doesn't say what of it can be measured: it is spoiled, or an earlier proveout made it."
            " Make the job again.",
            Place(file=file),
        ) from None


def entries_of(
    article: Article,
    cut: Cut,
    taken: Taken,
    *,
    piece: int = 1,
    found: float | None = None,
    fitted: str = "",
    hardware: float | None = None,
) -> tuple[Entry, ...]:
    """What the book keeps of one article: its size, and how its hardware went in, where either was said."""
    entries = []
    for kind, said in (("size", found is not None), ("fit", bool(fitted))):
        if said:
            entries.append(
                Entry(
                    kind="fit" if kind == "fit" else "size",
                    taken_on=taken.on,
                    who=taken.who,
                    job=cut.job,
                    sitting=sitting_of(cut.job, taken),
                    subject=article.subject(piece),
                    cutter=article.cutter,
                    diameter=article.diameter,
                    material=article.material,
                    feature=article.feature,
                    direction=article.direction,
                    asked=article.asked,
                    found=found,
                    hardware=(hardware or article.hardware) if kind == "fit" else None,
                    fitted=fitted if kind == "fit" else "",
                    instrument=taken.instrument if found is not None else "",
                    resolution=taken.resolution if found is not None else None,
                    note=taken.note,
                )
            )
    return tuple(entries)


def minutes_entry(cut: Cut, taken: Taken, seconds: float) -> Entry:
    """How long the whole job really took."""
    return Entry(
        kind="minutes",
        taken_on=taken.on,
        who=taken.who,
        job=cut.job,
        sitting=sitting_of(cut.job, taken),
        subject="the whole job",
        material=cut.material,
        asked=cut.seconds,
        found=seconds,
        note=taken.note,
    )


def sitting_of(job: str, taken: Taken) -> str:
    """What is taken for one go: what one job cut on one day, where nobody says otherwise."""
    return taken.sitting or f"{job}, {taken.on}"
