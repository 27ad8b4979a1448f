"""`record` and `book` as a person meets them: questions, forms, single readings, corrections, the listing."""

import csv
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

from book_pack import Answers, pack_in
from proveout.book.entry import Entry
from proveout.book.filled import Given
from proveout.book.store import open_book
from proveout.cli import main
from proveout.record.bench import Bench, Recorded
from proveout.record.readings import record_by_prompt

EXAMPLES = Path(__file__).parent.parent / "examples"
TODAY = date.today()
GIVEN = Given(who=None, on=None, instrument="caliper", resolution=0.01)
BY = ("--by", "Ada", "--on", TODAY)
WHO = ["Ada", "", "", ""]  # who, with what, its smallest step, on which day


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Where the book will be."""
    return tmp_path / "shop-book.sqlite"


@pytest.fixture
def bench(tmp_path: Path, book: Path) -> Bench:
    """A bare pack and a book that isn't begun."""
    folder = pack_in(tmp_path / "pack")
    return Bench(named=folder, folder=folder, book=book, job=None)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job file with its shop, and a pack of it in its usual place."""
    folder = tmp_path / "job"
    shutil.copytree(EXAMPLES / "clamp-kit", folder, ignore=shutil.ignore_patterns("*-pack"))
    pack_in(folder / "clamp-kit-pack", job_name="clamp kit")
    return folder / "job.toml"


def standing(book: Path) -> list[Entry]:
    """What counts in the book."""
    with open_book(book, create=False) as opened:
        return [kept.entry for kept in opened.standing()]


def asked(bench: Bench, answers: Sequence[str], given: Given = GIVEN) -> tuple[Recorded, Answers]:
    """The questions, answered in order; every answer must have been wanted."""
    person = Answers(answers)
    recorded = record_by_prompt(bench, given, person, today=TODAY, piece=1)
    assert person.all_used
    return recorded, person


def test_a_person_is_asked_for_each_size_by_its_number(bench: Bench, book: Path) -> None:
    """Two sizes, a word on a fit with the head's flats, the minutes; the rest is skipped."""
    answers = [*WHO, "43.95", "9.75", "firm", "9.90", "", "6.6 mm", "", "", "", "14:30", "yes"]
    recorded, person = asked(bench, answers)
    assert recorded.ids == (1, 2, 3, 4, 5)
    assert [(one.kind, one.subject, one.found) for one in standing(book)] == [
        ("size", "knob 1.over the lobes", 43.95),
        ("size", "knob 1.head recess", 9.75),
        ("fit", "knob 1.head recess", 9.75),
        ("size", "knob 1.bolt hole", 6.6),
        ("minutes", "the whole job", 870.0),
    ]
    fit = standing(book)[2]
    assert (fit.fitted, fit.hardware, fit.who, fit.taken_on) == ("firm press", 9.90, "Ada", TODAY)
    numbers = [line.split()[0] for line in person.heard if "asked" in line and line[0].isdigit()]
    assert numbers == ["1", "2", "3", "4", "5", "6", "7"]


def test_the_heads_flats_are_the_jobs_where_nobody_measures_again(bench: Bench, book: Path) -> None:
    """Enter takes the 9.92 mm that the job file states."""
    asked(bench, [*WHO, "", "", "snug", "", *[""] * 6, "y"])
    assert [(one.kind, one.fitted, one.hardware, one.found) for one in standing(book)] == [
        ("fit", "snug", 9.92, None)
    ]


def test_a_doubtful_size_is_asked_back(bench: Bench, book: Path) -> None:
    """97.5 for 9.73: typed again. 12.1: kept, since the person says so. Nonsense, or too fine: again."""
    answers = [
        *WHO,
        "43.951",
        "43.95",
        "97.5",
        "9,75",
        "",
        "12.1",
        "keep",
        "six",
        "6.6",
        "",
        "",
        "",
        "",
        "yes",
    ]
    _, person = asked(bench, answers)
    assert [one.found for one in standing(book)] == [43.95, 9.75, 12.1, 6.6]
    heard = "\n".join(person.heard)
    for words in ("looks like a slipped decimal point", "more finely than the caliper",
"4.73 mm off the 7.37 mm",
                  '"six" is not a length', "Type it again, or the word keep"):  # fmt: skip
        assert words in heard, words


def test_keep_is_no_answer_to_what_can_not_be_read(bench: Bench, book: Path) -> None:
    """A reading that isn't one can't be kept; a doubt that was answered by nonsense is gone."""
    asked(bench, [*WHO, "zzz", "keep", "97.5", "no", "keep", "43.95", *[""] * 8, "yes"])
    assert [one.found for one in standing(book)] == [43.95]


def test_a_strange_day_is_asked_back_once(bench: Bench, book: Path) -> None:
    """Kept at the start, it isn't doubted again with every size."""
    _, person = asked(bench, ["Ada", "", "", "2999-01-01", "keep", "43.95", *[""] * 8, "yes"])
    assert [one.taken_on.year for one in standing(book)] == [2999]
    assert sum("still to come" in line for line in person.heard) == 1


def test_the_same_reading_again_is_asked_back(bench: Bench, book: Path) -> None:
    """A form that was typed in yesterday isn't typed in again unseen; skipping leaves the book as it is."""
    asked(bench, [*WHO, "43.95", *[""] * 8, "yes"])
    recorded, person = asked(bench, [*WHO, "43.95", "", *[""] * 8])
    assert "stands in the book already" in "\n".join(person.heard)
    assert recorded.ids == () and len(standing(book)) == 1


def test_without_a_yes_nothing_is_written(bench: Bench, book: Path) -> None:
    """No is said and meant; the book isn't even begun. Something else is asked again."""
    recorded, _ = asked(bench, [*WHO, "43.95", *[""] * 8, "perhaps", "", "no"])
    assert recorded.why == "Nothing was written."
    assert not book.exists()


def test_a_pack_that_was_not_ready_is_asked_about(bench: Bench) -> None:
    """Nobody should have cut it."""
    result = bench.folder / "result.json"
    result.write_text(result.read_text().replace('"verdict": "ready"', '"verdict": "not ready"'))
    _, person = asked(bench, [*WHO, *[""] * 9])
    assert person.heard[0] == "This pack's verdict is NOT READY. Was it really cut?"


# The command itself


def run(*arguments: object, answers: str = "") -> subprocess.CompletedProcess[str]:
    """One command as a process of its own."""
    command = [sys.executable, "-m", "proveout.cli", *map(str, arguments)]
    return subprocess.run(command, input=answers, capture_output=True, text=True, check=False)


def text_of(capsys: pytest.CaptureFixture[str], status: int, *arguments: object) -> str:
    """What a command prints, in this process; its status must be the one expected."""
    assert main([str(one) for one in arguments]) == status
    out, err = capsys.readouterr()
    return out + err


def test_the_book_lies_beside_the_shop_file_or_where_that_says(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By default under a usual name; with `book` counted from the shop file's folder."""
    text_of(capsys, 0, "record", job, "--stock", "11.82", "--by", "Ada")
    assert (job.parent / "shop-book.sqlite").exists()
    shop = job.parent / "shop.toml"
    shop.write_text('book = "../our-book.sqlite"\n' + shop.read_text())
    text_of(capsys, 0, "record", job, "--stock", "11.82", "--by", "Ada")
    assert (job.parent.parent / "our-book.sqlite").exists()


def test_the_prompt_ends_without_a_word_written_when_the_answers_do(job: Path) -> None:
    """An end of input before the yes: exit status 2, said, no book."""
    done = run("record", job, answers="Ada\n\n\n\n43.95\n")
    assert done.returncode == 2
    assert "The answers ended before the yes. Nothing was written." in done.stderr
    assert not (job.parent / "shop-book.sqlite").exists()


def test_an_interrupt_at_the_prompt_writes_nothing(job: Path) -> None:
    """Ctrl-C in the midst of the questions."""
    command = [sys.executable, "-m", "proveout.cli", "record", str(job)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as asked:
        assert asked.stdin and asked.stdout and asked.stderr
        asked.stdin.write(b"Ada\n\n\n\n43.95\n")
        asked.stdin.flush()
        seen = b""
        while b"flats" not in seen:
            seen += os.read(asked.stdout.fileno(), 4096)
        time.sleep(0.1)
        asked.send_signal(signal.SIGINT)
        assert asked.wait(20) == 2
        assert b"Nothing was written" in asked.stderr.read()
    assert not (job.parent / "shop-book.sqlite").exists()


def test_with_json_only_json_is_on_standard_output(job: Path) -> None:
    """Questions go to standard error, so that a program can read what was written."""
    done = run("record", job, "--json", answers="Ada\n\n\n\n43.95\n" + "\n" * 8 + "yes\n")
    assert done.returncode == 0, done.stderr
    (written,) = json.loads(done.stdout)["written"]
    assert (written["id"], written["subject"], written["found"]) == (1, "knob 1.over the lobes", 43.95)
    assert "Who measured?" in done.stderr


def test_a_form_is_written_once_and_read_back(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Written, filled in, recorded; given a second time it changes nothing, and that is no fault."""
    form = tmp_path / "form.csv"
    assert "fill in found" in text_of(capsys, 0, "record", job, "--form", form)
    assert "is there already" in text_of(capsys, 2, "record", job, "--form", form)
    fill(form, "2", "9.75", "firm press")
    told = text_of(capsys, 0, "record", job, "--csv", form, *BY)
    assert "1  knob 1.head recess (recess): 9.75 mm, asked 9.73 mm" in told
    book = job.parent / "shop-book.sqlite"
    before = book.read_bytes()
    again = text_of(capsys, 0, "record", job, "--csv", form, *BY)
    assert "All 2 readings" in again and "Nothing was changed" in again
    assert book.read_bytes() == before


def fill(form: Path, number: str, found: str, fitted: str = "", sure: str = "") -> None:
    """One row of the form filled in."""
    rows = list(csv.reader(io.StringIO(form.read_text(encoding="utf-8-sig"))))
    head = [cell.split()[0] for cell in rows[0]]
    row = next(one for one in rows if one[0] == number)
    row[head.index("found")], row[head.index("fitted")], row[head.index("sure")] = found, fitted, sure
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    form.write_text(text.getvalue(), encoding="utf-8")


def test_a_corrected_reading_is_not_recorded_again_by_its_form(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The form still says what was mended since."""
    form = tmp_path / "form.csv"
    text_of(capsys, 0, "record", job, "--form", form)
    fill(form, "1", "43.95")
    text_of(capsys, 0, "record", job, "--csv", form, *BY)
    text_of(capsys, 0, "record", job, "--correct", 1, "--found", "43.59")
    assert "stand in the book already" in text_of(capsys, 0, "record", job, "--csv", form, *BY)
    assert [one.found for one in standing(job.parent / "shop-book.sqlite")] == [43.59]


def test_one_doubtful_row_keeps_out_all_until_someone_is_sure(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Told with its line; yes in the column sure takes it, and giving the form again still adds nothing."""
    form = tmp_path / "form.csv"
    text_of(capsys, 0, "record", job, "--form", form)
    fill(form, "1", "43.95")
    fill(form, "2", "97.5")
    told = text_of(capsys, 2, "record", job, "--csv", form, *BY)
    assert f"{form}:3: 97.5 mm, where 9.73 mm was asked for, looks like a slipped decimal point." in told
    assert "write yes in its column sure" in told
    assert not (job.parent / "shop-book.sqlite").exists()
    fill(form, "2", "97.5", sure="yes")
    for _ in range(2):
        text_of(capsys, 0, "record", job, "--csv", form, *BY)
    assert [one.found for one in standing(job.parent / "shop-book.sqlite")] == [43.95, 97.5]


def test_one_reading_twice_in_a_form_is_doubted(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A row that was copied by a slip; of two pieces it is no doubt."""
    form = tmp_path / "form.csv"
    form.write_text("number,found\n1,43.95\n1,43.95\n")
    assert ":3: " in text_of(capsys, 2, "record", job, "--csv", form, *BY)
    form.write_text("number,found,piece\n1,43.95,1\n1,43.95,2\n")
    text_of(capsys, 0, "record", job, "--csv", form, *BY)
    assert len(standing(job.parent / "shop-book.sqlite")) == 2


def test_stock_cutters_and_hardware_are_recorded_one_by_one(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each with what the job or the shop file states of it."""
    by = ("--by", "Ada")
    text_of(capsys, 0, "record", job, "--stock", "11.82 11.76 mm; 11.90".replace("11.76 mm;", "11.76"), *by)
    text_of(capsys, 0, "record", job, "--stock", "11,82; 11,9", "--lot", "March delivery", *by)
    told = text_of(capsys, 0, "record", job, "--cutter", 1, "--found", "2.97 mm", *by)
    assert "take a cutter's diameter from the shop file: write it there too" in told
    text_of(capsys, 0, "record", job, "--hardware", "M6 hex head bolt", "--found", ".389 in", *by)
    found = [(one.kind, one.subject, one.found, one.asked and round(one.asked, 2)) for one in standing(
        job.parent / "shop-book.sqlite")]  # fmt: skip
    assert found == [
        *(("stock", "birch plywood", size, 11.8) for size in (11.82, 11.76, 11.90)),
        *(("stock", "March delivery", size, 11.8) for size in (11.82, 11.9)),
        ("cutter", "1: 3 mm two-flute up-cut", 2.97, 2.99),
        ("hardware", "M6 hex head bolt", pytest.approx(9.8806), None),
    ]


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--stock", "118.2", "--by", "Ada"], "a slipped decimal point. Check it, and add --sure"),
        (["--cutter", "1", "--found", "29.7 mm", "--by", "Ada"], "a slipped decimal point"),
        (["--cutter", "9", "--found", "3 mm", "--by", "Ada"], "the shop file has no cutter 9. It has: 1"),
        (["--cutter", "1", "--by", "Ada"], "--cutter needs the reading: --found"),
        (["--stock", "11.8"], "Say who measured: --by NAME."),
        (["--stock", "eleven", "--by", "Ada"], '"eleven" is not a length'),
        (["--stock", "11.8", "--by", "Ada", "--on", "soon"], '"soon" is not a day'),
        (["--correct", "1", "--found", "3"], "there is no shop book here yet"),
        (["--pack", "nowhere"], "Make the job first: proveout make JOB"),
    ],
)
def test_what_can_not_be_recorded_is_told_why(
    job: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], why: str
) -> None:
    """Exit status 2, and no book is begun."""
    assert why in text_of(capsys, 2, "record", job, *arguments)
    assert not (job.parent / "shop-book.sqlite").exists()


def test_what_looks_like_a_slip_is_recorded_when_someone_is_sure(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same words with --sure; and the same sheet's readings twice need it too."""
    text_of(capsys, 0, "record", job, "--stock", "13.2", "--by", "Ada", "--sure")
    assert "already" in text_of(capsys, 2, "record", job, "--stock", "13.2", "--by", "Ada")
    text_of(capsys, 0, "record", job, "--stock", "13.2", "--by", "Ada", "--sure")
    assert len(standing(job.parent / "shop-book.sqlite")) == 2


def test_a_bare_pack_needs_its_book_named(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A pack says nothing of the shop it was made in; what needs the whole bench needs the job file."""
    pack = job.parent / "clamp-kit-pack"
    assert "add --book FILE" in text_of(capsys, 2, "record", pack)
    book = job.parent / "b.sqlite"
    form = job.parent / "form.csv"
    form.write_text("number,found\n1,43.95\n")
    text_of(capsys, 0, "record", pack, "--book", book, "--csv", form, *BY)
    assert len(standing(book)) == 1
    assert "--stock needs the job file" in text_of(
        capsys, 2, "record", pack, "--book", book, "--stock", "11.8", "--by", "Ada"
    )


def test_another_jobs_pack_is_refused(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The readings would be kept under the wrong name."""
    other = pack_in(tmp_path / "other", job_name="clamp knobs")
    told = text_of(capsys, 2, "record", job, "--pack", other)
    assert 'this pack is of the job "clamp knobs", and job.toml is "clamp kit"' in told


def test_a_pack_of_an_earlier_version_is_to_be_made_again(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its result says nothing of what can be measured."""
    result = job.parent / "clamp-kit-pack" / "result.json"
    told = json.loads(result.read_text())
    del told["articles"]
    for text in (json.dumps(told), "{", "[]", "[" * 100_000):
        result.write_text(text)
        assert "Make the job again." in text_of(capsys, 2, "record", job)


def test_a_size_and_the_fit_that_was_typed_with_it_are_mended_together(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both hold the one reading. A withdrawn size leaves the word on the fit; that is mended by itself."""
    form = job.parent / "form.csv"
    form.write_text("number,found,fitted\n2,9.57,snug\n")
    book = job.parent / "shop-book.sqlite"
    text_of(capsys, 0, "record", job, "--csv", form, *BY)
    text_of(capsys, 0, "record", job, "--correct", 1, "--found", "9.75 mm", "--note", "digits swapped")
    assert [(one.kind, one.found, one.replaces) for one in standing(book)] == [
        ("size", 9.75, 1),
        ("fit", 9.75, 2),
    ]
    text_of(capsys, 0, "record", job, "--correct", 4, "--fitted", "light")
    text_of(capsys, 0, "record", job, "--withdraw", 3)
    assert [(one.kind, one.found, one.fitted) for one in standing(book)] == [("fit", None, "light press")]


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--correct", "1", "--found", "98"], "a slipped decimal point"),
        (["--correct", "1"], "say what entry 1 should be"),
        (["--correct", "1", "--fitted", "snug"], "says nothing on how something fitted"),
        (["--correct", "7", "--found", "9.7"], "there is no entry 7"),
        (["--withdraw", "0"], "there is no entry 0"),
        (["--withdraw", "2"], "entry 2 was corrected or withdrawn before"),
    ],
)
def test_what_can_not_be_mended_is_told_why(
    job: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], why: str
) -> None:
    """And the book stays as it is."""
    form = job.parent / "form.csv"
    form.write_text("number,found\n2,9.75\n1,43.9\n")
    text_of(capsys, 0, "record", job, "--csv", form, *BY)
    text_of(capsys, 0, "record", job, "--withdraw", 2)
    before = (job.parent / "shop-book.sqlite").read_bytes()
    assert why in text_of(capsys, 2, "record", job, *arguments)
    assert (job.parent / "shop-book.sqlite").read_bytes() == before


def test_the_book_is_listed_with_what_was_mended(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By job, by shop and by the file itself; corrected entries are marked, and what counts is counted."""
    form = job.parent / "form.csv"
    form.write_text("number,found\n2,9.75\n1,43.9\nminutes,14:30\n")
    text_of(capsys, 0, "record", job, "--csv", form, *BY)
    text_of(capsys, 0, "record", job, "--correct", 2, "--found", "43.95", "--note", "read again")
    text_of(capsys, 0, "record", job, "--withdraw", 1)
    book = job.parent / "shop-book.sqlite"
    for named in (job, job.parent / "shop.toml", book):
        told = text_of(capsys, 0, "book", named)
        assert f"{book}: 2 entries count (1 of sizes cut, 1 of minutes)." in told
        assert "3 more were corrected or withdrawn" in told
        assert (
            "4  " in told
            and 'knob 1.over the lobes (outline): 43.95 mm, asked 44.00 mm [replaces 2] "read again"' in told
        )
        assert "43.90 mm, asked 44.00 mm [replaced by 4]" in told
        assert "knob 1.head recess (recess): withdrawn [replaces 1]" in told
        assert "the whole job: 14 min 30 s" in told
    told = json.loads(text_of(capsys, 0, "book", job, "--json"))
    assert [(one["id"], one["counts"], one["replaced_by"]) for one in told["entries"]] == [
        (1, False, 5),
        (2, False, 4),
        (3, True, None),
        (4, True, None),
        (5, False, None),
    ]


def test_listing_a_book_that_is_not_begun_makes_no_file(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Said with the way to begin, and no fault."""
    assert "nothing has been recorded yet" in text_of(capsys, 0, "book", job)
    assert json.loads(text_of(capsys, 0, "book", job, "--json"))["begun"] is False
    assert not (job.parent / "shop-book.sqlite").exists()


def test_the_whole_book_is_written_as_csv(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every field of every entry; never over a file; and a name that a spreadsheet would run is only text."""
    text_of(capsys, 0, "record", job, "--stock", "11.82", "--by", "=1+1")
    out = tmp_path / "book.csv"
    text_of(capsys, 0, "book", job, "--csv", out)
    (row,) = csv.DictReader(io.StringIO(out.read_text(encoding="utf-8-sig")))
    assert (row["id"], row["found"], row["material"], row["who"]) == ("1", "11.82", "birch plywood", "'=1+1")
    assert "is there already" in text_of(capsys, 2, "book", job, "--csv", out)
