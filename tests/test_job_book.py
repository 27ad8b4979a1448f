"""A job with its shop's book: sizes, reasons, minutes and warnings that come of what was recorded."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from shutil import copytree, ignore_patterns
from tempfile import TemporaryDirectory

import pytest

from proveout.book.entry import Entry
from proveout.book.store import open_book
from proveout.figure import Figure, walk
from proveout.finding import InputError
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.pack.pack import pack_files
from proveout.plan import make
from proveout.reckon import reckon
from proveout.report_text import made_text

ROOT = Path(__file__).parents[1]
RECESS = Entry(
    kind="size",
    taken_on=date(2026, 4, 7),
    who="Ines",
    job="kit coupon",
    sitting="c1",
    subject="coupon.recess 1",
    cutter="1: 3 mm two-flute up-cut",
    diameter=2.99,
    material="birch plywood",
    feature="recess",
    asked=9.77,
    found=9.70,
    resolution=0.01,
)


def kit(folder: Path, *entries: Entry) -> Path:
    """The clamp kit in a folder of its own, with that in its shop's book."""
    copytree(ROOT / "examples" / "clamp-kit", folder / "kit", ignore=ignore_patterns("*-pack"))
    if entries:
        with open_book(folder / "kit" / "shop-book.sqlite", create=True) as book:
            book.add(entries)
    return folder / "kit" / "job.toml"


def coupons(many: int, step: float = 0.0) -> list[Entry]:
    """So many coupons of five recesses, each a step further off than the last."""
    return [
        replace(
            RECESS,
            taken_on=date(2026, 4, 1 + coupon),
            sitting=f"c{coupon}",
            subject=f"coupon.recess {number}",
            found=9.70 + step * coupon + 0.004 * (number - 3),
        )
        for coupon in range(many)
        for number in range(1, 6)
    ]


def figure(job: Job, name: str) -> Figure:
    """A figure of a job, by its whole name."""
    return next(one for one in walk(reckon(job).figures) if one.name == name)


def test_a_coupon_makes_the_next_job_cut_wider_and_says_why(tmp_path: Path) -> None:
    """This cutter cuts 0.07 mm small, 0.04 more than was reckoned: the recess is told 0.04 wider."""
    before = read_job(kit(tmp_path / "a"))
    after = read_job(kit(tmp_path / "b", *coupons(6)))
    size = "knob.head recess.flats"
    assert figure(after, size).value - figure(before, size).value == pytest.approx(0.03, abs=0.016)
    reason = figure(after, "knob.head recess.cutting scatter")
    assert reason.source == "shop book: 6 coupons, offset -0.070 +/- 0.003 mm"
    assert figure(after, "knob.head recess.share right").value > 0.95
    assert figure(before, "knob.head recess.share right").value < 0.85


def test_a_withdrawn_coupon_counts_no_more(tmp_path: Path) -> None:
    """Corrections are new rows; what they replace is not learned from."""
    path = kit(tmp_path, RECESS)
    assert read_job(path).learned
    with open_book(path.parent / "shop-book.sqlite", create=True) as book:
        book.add([replace(RECESS, found=None, replaces=1)])
    assert not read_job(path).learned


def test_a_drifting_cutter_is_told() -> None:
    """Seven coupons, each 0.02 mm smaller."""
    with TemporaryDirectory() as folder:
        job = read_job(kit(Path(folder), *coupons(7, -0.02)))
    (told,) = [one for one in reckon(job).shaped.findings if one.kind == "cutter-wears"]
    assert "1: 3 mm two-flute up-cut drifts" in told.text and "fresh cutter" in told.remedy


def test_a_made_job_says_the_minutes_that_the_shop_takes(tmp_path: Path) -> None:
    """Five jobs that took a third longer: text, sheet, report and result.json say both, and why."""
    minutes = Entry(
        kind="minutes", taken_on=date(2026, 4, 7), who="Ines", job="kit", asked=600.0, found=800.0
    )
    made = make(read_job(kit(tmp_path, *[minutes] * 5)))
    likely = next(one for one in made.figures if one.name == "minutes.by the shop book")
    assert likely.value == pytest.approx(made.verdict.minutes.total * 60 * 1.32, rel=0.02)
    assert likely.source == "shop book: 5 jobs"
    assert "by the shop book (5 jobs)" in made_text(made, tmp_path)
    files = pack_files(made)
    assert b"by the shop book (5 jobs)" in files["report.html"]
    assert files == pack_files(make(read_job(tmp_path / "kit" / "job.toml")))


def test_a_book_that_cannot_be_read_stops_the_job(tmp_path: Path) -> None:
    """Better no job than one that silently forgets what was learned."""
    path = kit(tmp_path)
    (path.parent / "shop-book.sqlite").write_text("this is no database at all")
    with pytest.raises(InputError, match=r"shop-book\.sqlite"):
        read_job(path)


def test_a_book_in_a_folder_that_is_not_there_is_told_at_once(tmp_path: Path) -> None:
    """A misspelt path would lose all that was learned, without a word."""
    path = kit(tmp_path)
    shop = path.parent / "shop.toml"
    shop.write_text('book = "mising/shop-book.sqlite"\n' + shop.read_text())
    with pytest.raises(InputError, match=r"shop\.toml:1:1: book: there is no folder .*mising\. Make it"):
        read_job(path)
    shop.write_text(shop.read_text().replace("mising", "m" * 300))
    with pytest.raises(InputError, match="there is no folder"):
        read_job(path)
