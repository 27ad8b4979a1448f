"""The card's answers, without a browser: edits, numbers, proof, pack, readings, and what is refused."""

import io
import json
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from card_bench import ORIGIN, Card, copied, opened, set_to, until
from proveout.card.form import Form
from proveout.card.job_form import Asked, bench_forms, job_forms
from proveout.job.table import fields_of
from test_job_docs import SECTIONS


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Card]:
    """The inch knobs on the desk: the quickest of the examples."""
    folder = tmp_path_factory.mktemp("card")
    patch = pytest.MonkeyPatch()
    patch.setenv("PROVEOUT_STATE", str(folder / "state"))
    with opened(copied("inch-knobs", folder)) as found:
        yield found
    patch.undo()


@pytest.fixture(autouse=True)
def restored(card: Card) -> Iterator[None]:
    """Each test leaves the files as it found them."""
    path, shop = card.desk.job.path, card.desk.job.path.parent / "shop.toml"
    before = path.read_bytes(), shop.read_bytes()
    yield
    path.write_bytes(before[0])
    shop.write_bytes(before[1])
    card.desk.wake()
    card.look()


def values(card: Card) -> dict[str, Any]:
    return tomllib.loads(card.desk.job.path.read_text())


def proved(card: Card) -> bool:
    return bool(card.desk.now.is_proved and not card.desk.now.stage)


# --- what is shown


def named(asked: tuple[Asked, ...]) -> set[tuple[str, str]]:
    """Every field that has a box, by the table's name in the file and its own."""
    found: set[tuple[str, str]] = set()

    def take(form: Form) -> None:
        for question in (*form.questions, *form.more):
            table = ".".join(str(key) for key in question.keys[:-1] if isinstance(key, str))
            found.add((table, str(question.keys[-1])))
        for inner in form.inner:
            take(inner)

    for one in asked:
        for form in one.forms:
            take(form)
    return found


TABLES = {
    "## The job file": "",
    "#### A rule of a drawn part": "parts.rules",
    "## The shop file": "",
    "### [[clamps]] of the job": "clamps",
    "### [[clamps]] of the shop": "clamps",
}


@pytest.mark.parametrize("heading", SECTIONS)
def test_everything_that_the_files_can_state_has_a_box(heading: str) -> None:
    """Every field of the reference is on the card, for a job that has every table."""
    patterns = ("lobed knob", "slotted strap", "stop block", "drawn part", "coupon")
    job: dict[str, Any] = {
        "parts": [{"name": one, "pattern": one, "rules": [{}]} for one in patterns],
        **{name: [{}] for name in ("clamps", "stops", "dowels", "tape", "screws", "flaws", "places")},
        "vacuum": {},
    }
    bench: dict[str, Any] = {"cutters": [{}], "clamps": [{}]}
    have = named(job_forms(job, bench)) | {("shop", "")} | named(bench_forms(bench))
    table = TABLES.get(heading, "parts" if heading.startswith("####") else heading.strip("# []"))
    missing = {one.name for one in fields_of(SECTIONS[heading]) if (table, one.name) not in have}
    assert not missing


def test_the_page_shows_what_stands_in_the_file(card: Card) -> None:
    page = card.get("").text
    for part in values(card)["parts"]:
        assert f'value="{part["name"]}"' in page
    assert "<script>" not in page and " style=" not in page  # nothing that the content policy would refuse


def test_numbers_come_in_the_units_that_a_window_asks_for(card: Card) -> None:
    def both() -> Any:
        mm, inch = (card.numbers(units)["pieces"].get("stock", "") for units in ("mm", "in"))
        return (mm, inch) if mm and inch else None

    mm, inch = until(both)
    assert " mm</b>" in mm and " in</b>" not in mm
    assert " in</b>" in inch and " mm</b>" not in inch


def test_every_number_opens_into_its_reason(card: Card) -> None:
    figures = until(lambda: card.desk.now.figures)
    for figure in figures:
        told = card.client.get(f"/job/{card.job}/why", params={"name": figure.name})
        assert told.status_code == 200, figure.name
        assert figure.source.split("<")[0][:20] in told.text.replace("&#39;", "'").replace("&#34;", '"')
    assert card.get("why?name=no such number").status_code == 404


# --- edits


def test_an_edit_is_saved_with_the_comments_kept_and_reckoned_anew(card: Card) -> None:
    before = card.desk.job.path.read_text()
    first = until(lambda: card.desk.now.draft and card.desk.now.revision)
    assert card.edit(set_to("stock", "edge_margin", value="5/16 in")).status_code == 200
    after = card.desk.job.path.read_text()
    assert [line.partition("#")[2] for line in after.splitlines() if "#" in line] == [
        line.partition("#")[2] for line in before.splitlines() if "#" in line
    ]
    until(lambda: card.desk.now.revision != first and card.desk.now.draft)


NONSENSE = (
    "what?",
    "-3 mm",
    "1/0 in",
    "1e999",
    "9" * 50 + " mm",
    "12 rpm mm",
    "\u202e5 mm",
    "<b>1</b>",
    "nan",
)


@pytest.mark.parametrize("nonsense", NONSENSE)
def test_nonsense_in_any_field_is_refused_there_and_the_file_stays(card: Card, nonsense: str) -> None:
    """In words, at the field that it was typed into; names may be anything that can be shown."""
    text = card.desk.job.path.read_text()
    fields = [("stock", "edge_margin"), ("stock", "size"), ("zero", "level"), ("clamps", 0, "hole")]
    fields += [("parts", 0, "diameter"), ("parts", 0, "count"), ("parts", 0, "bolt"), ("safe_above",)]
    for keys in fields:
        value = [nonsense, nonsense] if keys[-1] == "size" else nonsense
        answer = card.edit(set_to(*keys, value=value))
        assert answer.status_code == 422, keys
        errors = answer.json()["errors"]
        assert errors and all(len(one["text"]) > 10 for one in errors)
        if nonsense.isprintable():
            assert {one["field"].split("[")[0].split(".")[0] for one in errors} == {str(keys[0])}
    assert card.desk.job.path.read_text() == text


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"null",
        b"[]",
        b'{"edits": 5}',
        b'{"edits": []}',
        b'{"edits": [{"what": "burn", "keys": ["a"]}]}',
        b'{"edits": [{"what": "set", "keys": []}]}',
        b'{"edits": [{"what": "set", "keys": [-1], "value": 1}]}',
        b'{"edits": [{"what": "set", "keys": ["__class__", "x"], "value": {"a": {"b": {}}}}]}',
        b'{"edits": [{"what": "set", "keys": ["name"], "value": "a\\u0000b"}]}',
        b"[" * 100_000,
        json.dumps({"edits": [{"what": "set", "keys": ["name"], "value": "x" * 100_000}]}).encode(),
    ],
)
def test_a_change_that_nobody_understands_is_refused_in_words(card: Card, body: bytes) -> None:
    text = card.desk.job.path.read_text()
    answer = card.client.post(f"/job/{card.job}/edit", content=body, headers=ORIGIN)
    assert answer.status_code in (409, 422)
    assert "Traceback" not in answer.text
    assert card.desk.job.path.read_text() == text


def test_a_fault_that_stood_there_before_stands_in_nobodys_way(card: Card) -> None:
    """A file with two faults can be put right one by one, and changed elsewhere meanwhile."""
    path = card.desk.job.path
    stated = str(values(card)["stock"]["edge_margin"])
    path.write_text(path.read_text().replace(f'edge_margin = "{stated}"', f'edge_margin = "-{stated}"'))
    card.desk.wake()
    card.look()
    until(lambda: any("edge_margin" in one["field"] for one in card.numbers()["errors"]))
    assert card.edit(set_to("safe_above", value="20 mm")).status_code == 200
    assert card.edit(set_to("stock", "edge_margin", value="8 mm")).status_code == 200
    until(lambda: not card.numbers()["errors"])


def test_a_second_window_does_not_lose_the_first_ones_edits(card: Card) -> None:
    card.look()
    stale = dict(card.seen)
    assert card.edit(set_to("stock", "edge_margin", value="7 mm")).status_code == 200
    card.seen = dict(stale)
    merged = card.edit(set_to("safe_above", value="15 mm"))
    assert merged.status_code == 200
    card.seen = dict(stale)
    refused = card.edit(set_to("stock", "edge_margin", value="9 mm"))
    assert refused.status_code == 409
    assert "another window" in refused.json()["conflict"]
    stock = values(card)["stock"]
    assert (stock["edge_margin"], values(card)["safe_above"]) == ("7 mm", "15 mm")


def test_every_kind_of_table_can_be_added_and_taken_out(card: Card) -> None:
    """Each button's own edits are read without a fault, or say what is wrong; none breaks the file."""
    for asked in job_forms(
        values(card), tomllib.loads((card.desk.job.path.parent / "shop.toml").read_text())
    ):
        for add in asked.adds:
            card.look()
            answer = card.edit(*add.edits, says=add.says)
            assert answer.status_code == 200, (add.says, answer.text)
            assert card.post("undo", file="job").json()["says"] == add.says


@pytest.mark.parametrize("pattern", ["slotted strap", "stop block", "coupon", "lobed knob"])
def test_a_part_can_become_another_pattern(card: Card, pattern: str) -> None:
    """It keeps its name and count; the fields that the new pattern must have are there to be written over."""
    part = values(card)["parts"][0]
    assert card.edit(set_to("parts", 0, "pattern", value=pattern)).status_code == 200
    now = values(card)["parts"][0]
    assert (now["name"], now["count"], now["pattern"]) == (part["name"], part["count"], pattern)


def test_files_outside_the_jobs_folder_are_not_named_from_the_page(card: Card) -> None:
    for named in ("../../etc/passwd", "/etc/passwd", "..", "a/../../shop.toml"):
        answer = card.edit(set_to("shop", value=named))
        assert answer.status_code == 422
        assert "outside the job's folder" in answer.json()["errors"][0]["text"]


def test_the_shop_file_is_edited_on_the_same_page(card: Card) -> None:
    card.look()
    assert card.edit(set_to("plate", "cut_allowance", value="0.9 mm"), file="shop").status_code == 200
    shop = card.desk.job.path.parent / "shop.toml"
    assert '"0.9 mm"' in shop.read_text()
    assert card.edit(set_to("safe_above", value="14 mm"), says="job").status_code == 200
    assert [card.post("undo").json()["says"] for _ in range(2)] == ["job", "a change"]
    assert '"0.9 mm"' not in shop.read_text()
    assert [card.post("redo").json()["says"] for _ in range(2)] == ["a change", "job"]
    assert '"0.9 mm"' in shop.read_text()


# --- what may go wrong around it


def test_a_file_that_is_deleted_underneath_is_said_and_written_again(card: Card) -> None:
    path = card.desk.job.path
    text = path.read_text()
    card.look()
    path.unlink()
    card.desk.wake()
    until(lambda: "no longer there" in card.numbers()["gone"])
    assert card.get("").status_code == 200
    assert card.edit(set_to("name", value="x")).status_code == 422
    assert card.post("write-again").status_code == 200
    assert path.read_text() == text
    until(lambda: not card.numbers()["gone"])


def test_a_file_that_is_spoiled_by_an_editor_is_said_with_its_line(card: Card) -> None:
    card.desk.job.path.write_text('name = "kit\n')
    card.desk.wake()
    errors = until(lambda: card.numbers()["errors"])
    assert errors[0]["line"] == 1
    assert card.get("").status_code == 200


@pytest.mark.parametrize("address", ["nojob/", "nojob/edit", "%2e%2e/", "nojob/pack/../../../etc/passwd"])
def test_what_is_not_on_the_card_is_not_there(card: Card, address: str) -> None:
    assert card.client.get(f"/job/{address}").status_code in (404, 405)


@pytest.mark.parametrize("name", ["..%2f..%2fjob.toml", "../job.toml", "/etc/passwd", "%2fetc%2fpasswd", "."])
def test_no_path_leads_out_of_the_pack_or_the_scripts(card: Card, name: str) -> None:
    assert card.get(f"pack/{name}").status_code == 404
    assert card.client.get(f"/static/{name}").status_code == 404


# --- the proof, the pack, after the cut


def test_the_proof_follows_and_its_pack_is_the_command_lines_own(card: Card, tmp_path: Path) -> None:
    from proveout.job.read import read_job
    from proveout.pack.pack import pack_files
    from proveout.plan import make

    until(lambda: proved(card))
    answer = card.get("pack.zip")
    assert "attachment" in answer.headers["content-disposition"]
    archive = zipfile.ZipFile(io.BytesIO(answer.content))
    assert archive.testzip() is None
    assert sum(one.compress_size for one in archive.infolist()) < 0.7 * sum(
        one.file_size for one in archive.infolist()
    )
    folder = archive.namelist()[0].split("/")[0]
    files = {name.removeprefix(f"{folder}/"): archive.read(name) for name in archive.namelist()}
    assert files == pack_files(make(read_job(card.desk.job.path)))
    report = card.get("pack/report.html")
    assert "sandbox" in report.headers["content-security-policy"]


def test_a_proof_can_be_stopped_and_begun_again(card: Card) -> None:
    until(lambda: proved(card))
    card.edit(set_to("safe_above", value="21 mm"))
    until(lambda: card.desk.now.stage)
    assert card.post("stop").status_code == 200
    assert not card.desk.now.stage
    assert "stopped" in card.desk.now.failed
    assert not proved(card)
    assert card.get("pack.zip").status_code == 409
    assert card.get("pack/setup-sheet.pdf").status_code == 409  # nobody takes what is of another text
    card.post("prove")
    until(lambda: proved(card))


def test_what_was_proved_already_holds_after_an_undo(card: Card) -> None:
    """The text that stands there again is the one that the proof is of: no second one is made."""
    until(lambda: proved(card))
    first = card.desk.now.proved
    card.edit(set_to("safe_above", value="23 mm"))
    until(lambda: not card.desk.now.is_proved)
    card.post("undo")
    until(lambda: proved(card))
    assert card.desk.now.proved is first


def test_a_page_that_goes_away_in_the_midst_of_a_proof_loses_nothing(card: Card) -> None:
    """A window is only one that watches: the proof goes on, and the next window sees it."""
    card.edit(set_to("safe_above", value="22 mm"))
    heard: list[dict[str, object]] = []
    card.desk.subscribe(heard.append)
    until(lambda: card.desk.now.stage)
    card.desk.unsubscribe(heard.append)
    until(lambda: proved(card))
    assert heard and '"22 mm"' in card.desk.job.path.read_text()


def test_readings_go_into_the_shop_book_and_change_the_sizes(card: Card) -> None:
    """Three recesses that came out a tenth too small: the next are cut larger, and the number says why."""
    until(lambda: proved(card))
    sheet = card.get("after").text
    assert "head recess, across flats" in sheet
    articles = json.loads(card.desk.now.proved.pack["result.json"])["articles"]
    recess = next(one for one in articles if one["what"] == "across flats")
    flats = next(one for one in card.desk.now.figures if one.name.endswith("head recess.flats"))
    found = f"{recess['asked'] - 0.1:.2f} mm"
    rows = [
        {"number": str(recess["number"]), "piece": str(piece), "found": found, "sure": "yes"}
        for piece in (1, 2, 3)
    ]
    head = {"who": "Mo", "date": "", "instrument": "caliper", "resolution": "0.01 mm"}
    said = card.post("record", head=head, rows=rows)
    assert said.status_code == 200, said.text
    assert len(said.json()["says"]) == 3

    def larger() -> Any:
        now = next((one for one in card.desk.now.figures if one.name == flats.name), None)
        return now and now.value > flats.value + 0.02 and now

    until(larger)
    learned = card.get("after").text.partition("What the shop book has taught")[2]
    assert "recess" in learned and "offset -0.00" in learned


def test_readings_that_are_wrong_are_said_at_their_row(card: Card) -> None:
    until(lambda: proved(card))
    book = card.desk.now.job.shop.book
    before = book.read_bytes() if book.exists() else b""
    rows = [
        {"number": "1", "piece": "1", "found": "1 fathom"},
        {"number": "99", "piece": "1", "found": "1 mm"},
    ]
    answer = card.post("record", head={"who": "Mo"}, rows=rows)
    assert answer.status_code == 422
    assert [one["line"] for one in answer.json()["errors"]] == [1, 2]
    assert "csv" not in answer.text
    assert (book.read_bytes() if book.exists() else b"") == before


# --- jobs that begin


def begun(card: Card, kind: str, **given: Any) -> Any:
    return card.client.post(f"/new/{kind}", json=given, headers=ORIGIN)


@pytest.mark.parametrize("pattern", ["lobed knob", "slotted strap", "stop block"])
def test_a_job_begins_from_a_pattern(card: Card, pattern: str) -> None:
    answer = begun(card, "pattern", name=f"My {pattern}", pattern=pattern)
    assert answer.status_code == 200, answer.text
    folder = card.jobs.root / f"my-{pattern.replace(' ', '-')}"
    parts = tomllib.loads((folder / "job.toml").read_text())["parts"]
    assert [one["pattern"] for one in parts] == [pattern]
    assert card.client.get(answer.json()["open"]).status_code == 200


def test_a_name_that_is_taken_gets_a_number_and_a_name_of_nothing_is_refused(card: Card) -> None:
    for _ in range(2):
        assert begun(card, "pattern", name="Twice", pattern="lobed knob").status_code == 200
    assert (card.jobs.root / "twice-2" / "job.toml").is_file()
    assert begun(card, "pattern", name="../..", pattern="lobed knob").status_code == 422
    assert (
        begun(card, "pattern", name='1/4" knobs', pattern="lobed knob").status_code == 422
    )  # no such job's name
    assert begun(card, "pattern", name="x", pattern="../../etc").status_code == 422
    assert begun(card, "example", example="../main").status_code == 422


def drawn(card: Card, name: str, content: bytes, **query: str) -> Any:
    return card.client.post("/new/drawing", params={"name": name, **query}, content=content, headers=ORIGIN)


def test_a_drawing_whose_unit_nothing_says_asks_for_it(card: Card) -> None:
    """Refused with the way out; with the dimension that is known, a job begins."""
    content = (Path(__file__).parents[1] / "examples" / "drawn-bracket" / "bracket.dxf").read_bytes()
    refused = drawn(card, "bracket.dxf", content)
    assert refused.status_code == 422
    assert "known" in refused.text or "unit" in refused.text
    assert "/tmp" not in refused.text and ".proveout-" not in refused.text
    assert not (card.jobs.root / "bracket").exists()
    answer = drawn(card, "bracket.dxf", content, units="mm")
    assert answer.status_code == 200, answer.text
    assert (card.jobs.root / "bracket" / "bracket.dxf").read_bytes() == content


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("x.exe", b"MZ"),
        ("../../x.dxf", b"not a drawing"),
        ("x.svg", b"<svg xmlns='http://www.w3.org/2000/svg'>" + b"<g>" * 5000),
        ("x.svg", b'<!DOCTYPE a [<!ENTITY b "c">]><svg>&b;</svg>'),
        ("x.dxf", bytes(range(256)) * 50),
        ("", b""),
    ],
)
def test_an_upload_that_is_no_drawing_leaves_nothing_behind(card: Card, name: str, content: bytes) -> None:
    before = sorted(one.name for one in card.jobs.root.iterdir())
    answer = drawn(card, name, content)
    assert answer.status_code == 422
    assert "Traceback" not in answer.text
    assert sorted(one.name for one in card.jobs.root.iterdir()) == before


def test_jobs_that_were_open_lately_are_on_the_first_page(card: Card) -> None:
    page = card.client.get("/").text
    assert f"/job/{card.job}/" in page
    assert values(card)["name"] in page
