"""Where jobs begin and which were open lately, while others meddle with both; where the card is served."""

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from card_bench import EXAMPLES, ORIGIN, Card, copied, opened, until
from proveout.card.serve import _bound, _hosts
from proveout.card.shelf_of_jobs import MOST_AWAKE, Jobs
from proveout.finding import InputError


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PROVEOUT_STATE", str(tmp_path / "state"))
    (tmp_path / "state").mkdir()
    return tmp_path / "state" / "recent.json"


@pytest.fixture
def card(tmp_path: Path, state: Path) -> Iterator[Card]:
    with opened(copied("inch-knobs", tmp_path)) as found:
        yield found


TAMPERED = (
    b"",
    b"[" * 100_000,
    b'{"a": 1}',
    b"\xff\xfe",
    json.dumps([None, 5, ["x"], {}, "", "\0", "a\0b", "\ud800", "/dev/zero", "x" * 5000, "/"]).encode(),
)


@pytest.mark.parametrize("listed", TAMPERED)
def test_a_list_that_somebody_has_tampered_with_stops_nothing(card: Card, state: Path, listed: bytes) -> None:
    state.write_bytes(listed)
    assert card.client.get("/").status_code == 200
    assert card.client.get("/job/0123456789/").status_code == 404
    assert card.get("").status_code == 200


def test_a_job_whose_name_is_no_text_opens(card: Card) -> None:
    """File names are bytes on some systems."""
    strange = Path(os.fsdecode(os.fsencode(card.jobs.root) + b"/\xfcber/job.toml"))
    try:
        strange.parent.mkdir()
    except OSError:
        pytest.skip("this file system takes no such names")
    for one in card.desk.job.path.parent.iterdir():
        (strange.parent / one.name).write_bytes(one.read_bytes())
    job = card.jobs.open(strange)
    assert card.client.get(f"/job/{job}/").status_code == 200
    assert card.client.get("/").status_code == 200
    until(lambda: card.jobs.desk(job).now.draft)  # type: ignore[union-attr]
    for address in ("numbers", "forms", "plan.json", "after"):
        assert card.client.get(f"/job/{job}/{address}").status_code == 200


def test_drawings_of_one_name_that_are_dropped_at_once_all_begin(card: Card) -> None:
    content = (EXAMPLES / "drawn-bracket" / "bracket.dxf").read_bytes()
    told: list[str] = []
    running = [
        threading.Thread(
            target=lambda: told.append(card.jobs.from_drawing("a.dxf", content, known=None, units="mm"))
        )
        for _ in range(3)
    ]
    for one in running:
        one.start()
    for one in running:
        one.join()
    assert len(set(told)) == 3


def test_names_that_are_long_or_cannot_be_shown(card: Card) -> None:
    answer = card.client.post(
        "/new/pattern", json={"name": "x" * 300, "pattern": "lobed knob"}, headers=ORIGIN
    )
    assert answer.status_code == 200, answer.text
    for name in ("a\n\x1b[31m\u202e.txt", "\0.txt", f"{'x' * 190}\x07.dxf"):
        answer = card.client.post("/new/drawing", params={"name": name}, content=b"x", headers=ORIGIN)
        assert answer.status_code == 422
        assert all(one.isprintable() for one in answer.json()["errors"][0]["text"])


def test_a_drawing_that_is_too_big_is_told_its_own_bound(card: Card, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.card.app.MOST_DRAWING", 2_000_000)
    answer = card.client.post(
        "/new/drawing", params={"name": "a.dxf"}, content=b"0" * 2_000_001, headers=ORIGIN
    )
    assert answer.status_code == 413
    assert "2 MB" in answer.text


def test_a_thousand_jobs_of_one_name_are_enough(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os.path, "lexists", lambda _: True)
    with pytest.raises(InputError, match="another name"):
        Jobs(tmp_path).from_pattern("kit", "lobed knob")


def test_only_the_latest_jobs_keep_a_process(card: Card) -> None:
    for number in range(MOST_AWAKE + 1):
        path = card.jobs.root / f"job-{number}" / "job.toml"
        path.parent.mkdir()
        for one in card.desk.job.path.parent.iterdir():
            (path.parent / one.name).write_bytes(one.read_bytes())
        job = card.jobs.open(path)
        desk = card.jobs.desk(job)
        assert desk is not None
        until(lambda desk=desk: desk._prover._process)  # type: ignore[misc]
        desk.stop()
    until(lambda: card.desk.now.draft)
    awake = [one for one in card.jobs._desks.values() if one._prover._process is not None]
    assert len(awake) <= MOST_AWAKE + 1  # the first one's proof may be running


# --- where it is served


@pytest.mark.parametrize(
    ("host", "port"), [("127.0.0.1", 99999), ("127.0.0.1", -1), ("x" * 70, 0), ("a\0b", 0)]
)
def test_an_address_that_is_none_is_refused_in_words(host: str, port: int) -> None:
    with pytest.raises(InputError, match="can't be served"):
        _bound(host, port)


def test_the_card_answers_as_browsers_write_its_address() -> None:
    """In small letters, and without the port that they take for granted."""
    assert "127.0.0.1" in _hosts("127.0.0.1", 80)
    assert "127.0.0.1" not in _hosts("127.0.0.1", 8765)
    assert "shop-pc:8765" in _hosts("Shop-PC", 8765)
    assert "[fe80::1]:8765" in _hosts("fe80::1", 8765)


def test_the_card_is_ended_from_its_terminal_without_an_error(tmp_path: Path, state: Path) -> None:
    command = [sys.executable, "-m", "proveout.cli", "card", "--no-browser", "--port", "0"]
    with subprocess.Popen(
        command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as card:
        assert card.stdout is not None and card.stderr is not None
        address = urlsplit(card.stdout.readline().split()[-1])
        card.stdout.readline()
        with closing(HTTPConnection(address.netloc)) as browser:
            browser.request("GET", f"/?{address.query}")
            with browser.getresponse() as answer:
                assert answer.status == 303  # it is at work
        assert not state.exists()  # nothing was opened
        card.send_signal(signal.SIGINT)
        said = card.stderr.read()
    assert (card.returncode, said) == (0, "")
