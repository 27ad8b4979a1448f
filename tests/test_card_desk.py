"""A job on the desk while things go wrong: the page is told, and no proof is of other files than it says."""

import os
import signal
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from card_bench import Card, copied, opened, set_to, until
from proveout.card.document import Document
from proveout.card.history import History, Step
from proveout.card.prover import News, Prover
from proveout.finding import Edit, InputError


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Card]:
    """The drawn bracket on the desk: it names a drawing, beside job and shop."""
    folder = tmp_path_factory.mktemp("desk")
    patch = pytest.MonkeyPatch()
    patch.setenv("PROVEOUT_STATE", str(folder / "state"))
    with opened(copied("drawn-bracket", folder)) as found:
        yield found
    patch.undo()


@pytest.fixture(autouse=True)
def restored(card: Card) -> Iterator[None]:
    """Each test leaves the files as it found them."""
    paths = [one for one in card.desk.job.path.parent.iterdir() if one.is_file()]
    before = {one: one.read_bytes() for one in paths}
    yield
    for path, content in before.items():
        if not path.is_file() or path.read_bytes() != content:
            path.write_bytes(content)
    card.desk.wake()
    until(lambda: not card.numbers()["errors"])
    card.look()


def proved(card: Card) -> bool:
    return bool(card.desk.now.is_proved and not card.desk.now.stage)


def failing(*_: object, **__: object) -> Any:
    raise ZeroDivisionError("nobody thought of this")


@pytest.mark.parametrize(
    "place", ["proveout.draft.draft", "proveout.reckon.reckon", "proveout.card.desk.parse_source"]
)
def test_what_should_never_happen_is_said_and_the_next_edit_is_reckoned(
    card: Card, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    until(lambda: card.desk.now.draft)
    with monkeypatch.context() as broken:
        broken.setattr(place, failing)
        card.edit(set_to("safe_above", value="23 mm"))
        errors = until(lambda: card.numbers()["errors"])
        assert (
            "nobody thought of this" in errors[0]["text"] and "take the last change back" in errors[0]["text"]
        )
        if place.endswith("reckon"):
            assert not card.desk.now.figures  # numbers of the text before are none of this one
    card.look()
    assert card.edit(set_to("safe_above", value="24 mm")).status_code == 200
    until(lambda: card.desk.now.draft and not card.numbers()["errors"])


def test_a_proof_that_no_process_can_be_had_for_is_said(card: Card, monkeypatch: pytest.MonkeyPatch) -> None:
    until(lambda: card.desk.now.draft)
    card.post("stop")
    with monkeypatch.context() as broken:
        broken.setattr("proveout.card.prover.Prover.ask", failing)
        card.post("prove")
        assert "can't be begun" in card.desk.now.failed
        assert not card.desk.now.stage
    card.post("prove")
    until(lambda: card.desk.now.stage and not card.desk.now.failed)


def test_a_proof_whose_process_is_killed_is_said_and_can_be_begun_again(card: Card) -> None:
    """Killed at work, and killed asleep."""
    until(lambda: card.desk.now.draft)
    card.post("prove")
    until(lambda: card.desk.now.stage not in ("", "beginning"))
    os.kill(card.desk._prover._process.pid, signal.SIGKILL)
    until(lambda: "ended by itself" in card.desk.now.failed)
    card.post("prove")
    until(lambda: proved(card))
    asleep = card.desk._prover._process
    os.kill(asleep.pid, signal.SIGKILL)
    asleep.join()
    card.post("prove")
    until(lambda: card.desk.now.stage not in ("", "beginning"))


def test_a_drawing_that_is_saved_anew_is_reckoned_anew(card: Card) -> None:
    until(lambda: card.desk.now.draft)
    first = card.desk.now.revision
    drawing = card.desk.job.path.parent / "bracket.dxf"
    drawing.write_bytes(drawing.read_bytes())
    until(lambda: card.desk.now.revision != first and card.desk.now.draft)
    assert not card.desk.now.is_proved


@pytest.mark.parametrize("added", ["\n# another\n", "\nnot TOML"])
def test_no_proof_is_of_another_text_than_it_says(card: Card, added: str) -> None:
    """The file is changed when the question is on its way, and changed back before anybody looks."""
    path = card.desk.job.path
    heard: list[News] = []
    prover = Prover(path, heard.append)
    revision = until(lambda: card.desk.now.draft and card.desk.now.revision)
    path.write_text(path.read_text() + added)
    try:
        prover.ask(revision)
        until(lambda: any(not one.stage for one in heard))
    finally:
        prover.close()
    assert [one.changed for one in heard if not one.stage] == [True]


def test_what_was_wrong_with_an_older_text_is_not_said_of_the_one_that_stands(card: Card) -> None:
    until(lambda: card.desk.now.draft)
    wrong = (InputError("too large for the sheet"),)
    card.desk._news(News(ticket=1, of="an older one", errors=wrong))
    assert not card.desk.now.errors
    card.desk._news(News(ticket=1, of=card.desk.now.revision, errors=wrong))
    assert card.desk.now.errors == wrong
    card.edit(set_to("safe_above", value="26 mm"))
    until(lambda: card.desk.now.draft and not card.desk.now.errors)


def test_a_shop_file_that_is_taken_away_is_said_and_written_again(card: Card) -> None:
    shop = card.desk.shop.path
    text = shop.read_bytes()
    shop.unlink()
    card.desk.wake()
    gone = until(lambda: card.numbers()["gone"])
    assert "shop.toml" in gone
    assert card.post("write-again").status_code == 200
    assert shop.read_bytes() == text
    until(lambda: not card.numbers()["gone"])


def test_files_outside_the_folder_are_not_named_by_a_roundabout_way_either(card: Card) -> None:
    part = {"name": "b", "count": 1, "pattern": "drawn part", "drawing": "/etc/passwd"}
    adds = {"what": "add", "keys": ["parts"], "value": {**part, "rules": [{"drawing": "../x"}]}}
    for edit in (
        adds,
        set_to("parts", value=[part]),
        set_to("parts", 0, value=part),
        set_to("shop", 0, value="../x"),
    ):
        answer = card.edit(edit)
        assert answer.status_code == 422
        assert "outside the job's folder" in answer.json()["errors"][0]["text"]


def test_links_that_lead_round_in_a_circle_are_refused(card: Card) -> None:
    loop = card.desk.job.path.parent / "loop"
    loop.symlink_to("loop")
    try:
        assert card.edit(set_to("shop", value="loop/shop.toml")).status_code == 422
    finally:
        loop.unlink()


def test_a_shop_file_of_a_name_that_none_can_have_is_said(card: Card) -> None:
    path = card.desk.job.path
    path.write_text(path.read_text().replace('shop = "', 'shop = "' + "x" * 5000))
    errors = until(lambda: card.numbers()["errors"])
    assert errors[0]["field"] == "shop"


def test_half_a_character_is_refused(card: Card) -> None:
    content = (
        b'{"file": "job", "edits": [{"what": "drop", "keys": ["units"]}], "says": "\\ud800", "seen": "x"}'
    )
    headers = {"origin": "http://127.0.0.1:8765"}
    answer = card.client.post(f"/job/{card.job}/edit", content=content, headers=headers)
    assert answer.status_code == 422
    assert (
        card.client.post("/new/pattern", content=b'{"name": "\\ud800"}', headers=headers).status_code == 422
    )


# --- one file


def change(document: Document, name: str) -> None:
    _, seen = document.read()
    before, after = document.edited([Edit(what="set", keys=("name",), value=name)], seen)
    document.swap(before, after)


def test_a_file_that_is_locked_stays(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('name = "kit"\n')
    path.chmod(0o444)
    with pytest.raises(InputError, match="locked"):
        change(Document(path), "one")
    assert path.read_text() == 'name = "kit"\n'
    assert stat.S_IMODE(path.stat().st_mode) == 0o444
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_what_an_editor_saves_at_the_last_moment_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the card's reading and its writing: the disk may take a while."""
    path = tmp_path / "job.toml"
    path.write_text('name = "kit"\n')
    monkeypatch.setattr(os, "fsync", lambda _: path.write_text('name = "theirs"\n'))
    with pytest.raises(Exception, match="changed by something else"):
        change(Document(path), "ours")
    assert path.read_text() == 'name = "theirs"\n'
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_what_can_be_undone_of_a_huge_file_is_bounded(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('name = "kit"\n' + "# filler\n" * 100_000)
    document, history = Document(path), History()
    for number in range(40):
        before = document.read()[0]
        after = before.replace(before.splitlines()[0], f'name = "{number}"', 1)
        history.take(Step(file=document, says="x", before=before, after=after))
    assert len(document._texts) < 30 and len(history._done) < 30
    assert history.ends() == ("x", "")
