"""A file that several windows edit: merged or refused, saved whole or not at all, every step taken back."""

import os
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest

from proveout.card.document import Conflict, Document, Gone
from proveout.card.follow import followed
from proveout.card.history import History, Step
from proveout.finding import Edit
from proveout.job.rewrite import rewritten

TEXT = """# a job
name = "kit"            # its name
[stock]
size = [340, 240]       # X and Y
[[clamps]]
clamp = "low strap"
hole = "C5"
[[clamps]]
clamp = "low strap"
hole = "Q5"
"""


def sets(*keys: str | int, value: object) -> Edit:
    return Edit(what="set", keys=keys, value=value)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def change(document: Document, seen: str, *edits: Edit, of: str = "", history: History | None = None) -> str:
    """Save some edits as a window would; the new revision."""
    before, after = document.edited(edits, seen)
    step = Step(file=document, says="a change", before=before, after=after, of=of)
    return (history or History()).take(step)


def test_an_edit_is_in_the_file_and_nothing_else_is_changed(file: Path) -> None:
    document = Document(file)
    _, seen = document.read()
    change(document, seen, sets("stock", "size", value=[300, 240]))
    assert file.read_text() == TEXT.replace("[340, 240]", "[300, 240]")


def test_what_another_window_changed_elsewhere_is_kept(file: Path) -> None:
    """Two windows that change different fields: both changes stand in the file."""
    document = Document(file)
    _, seen = document.read()
    change(document, seen, sets("name", value="first window"))
    change(document, seen, sets("stock", "size", value=[1, 2]))
    assert tomllib.loads(file.read_text())["name"] == "first window"
    assert tomllib.loads(file.read_text())["stock"]["size"] == [1, 2]


def test_the_same_field_in_two_windows_is_refused(file: Path) -> None:
    document = Document(file)
    _, seen = document.read()
    change(document, seen, sets("name", value="first window"))
    with pytest.raises(Conflict):
        document.edited([sets("name", value="second window")], seen)
    assert "first window" in file.read_text()


def test_an_item_of_a_list_that_lost_another_one_is_refused(file: Path) -> None:
    """The second clamp of the window is not the second of the file any more."""
    document = Document(file)
    _, seen = document.read()
    change(document, seen, Edit(what="drop", keys=("clamps", 0)))
    with pytest.raises(Conflict):
        document.edited([sets("clamps", 0, "hole", value="D7")], seen)


def test_what_an_editor_wrote_is_merged_too(file: Path) -> None:
    document = Document(file)
    _, seen = document.read()
    file.write_text(TEXT.replace("# a job", "# a job, as the editor has it"))
    change(document, seen, sets("name", value="mine"))
    assert file.read_text().startswith("# a job, as the editor has it")


def test_a_window_from_before_the_card_was_started_is_refused(file: Path) -> None:
    with pytest.raises(Conflict):
        Document(file).edited([sets("name", value="x")], "0123456789abcdef")


def test_undo_and_redo_give_the_bytes_back(file: Path) -> None:
    document, history = Document(file), History()
    _, seen = document.read()
    seen = change(document, seen, sets("name", value="one"), history=history)
    change(document, seen, Edit(what="drop", keys=("clamps", 1)), history=history)
    after = file.read_text()
    assert (history.undo(), history.undo(), history.undo()) == ("a change", "a change", "")
    assert file.read_text() == TEXT
    history.redo()
    history.redo()
    assert file.read_text() == after


def test_typing_on_in_one_field_is_one_step(file: Path) -> None:
    document, history = Document(file), History()
    _, seen = document.read()
    for text in ("k", "kn", "knobs"):
        seen = change(document, seen, sets("name", value=text), of="name", history=history)
    history.undo()
    assert file.read_text() == TEXT


def test_undo_never_overwrites_what_an_editor_wrote(file: Path) -> None:
    document, history = Document(file), History()
    _, seen = document.read()
    change(document, seen, sets("name", value="one"), history=history)
    file.write_text("# all new\n")
    with pytest.raises(Conflict):
        history.undo()
    assert file.read_text() == "# all new\n"


def test_changes_of_two_files_are_taken_back_in_their_order(file: Path) -> None:
    other = file.with_name("shop.toml")
    other.write_text(TEXT)
    job, shop, history = Document(file), Document(other), History()
    for document in (job, shop, job):
        _, seen = document.read()
        size = tomllib.loads(document.read()[0])["stock"]["size"]
        change(document, seen, sets("stock", "size", value=[size[0] + 1, 1]), of="size", history=history)
    history.undo()
    assert ("[341, 1]" in file.read_text(), "[341, 1]" in other.read_text()) == (True, True)
    history.undo()
    assert other.read_text() == TEXT
    history.undo()
    assert file.read_text() == TEXT
    assert history.ends() == ("", "a change")


def test_a_file_that_was_taken_away_can_be_written_again(file: Path) -> None:
    document = Document(file)
    document.read()
    file.unlink()
    with pytest.raises(Gone, match="no longer there"):
        document.read()
    document.write_again()
    assert file.read_text() == TEXT


def test_line_ends_and_marks_of_other_systems_stay(file: Path) -> None:
    file.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    document = Document(file)
    _, seen = document.read()
    change(document, seen, sets("name", value="one"))
    wanted = TEXT.replace('"kit"', '"one"').replace("\n", "\r\n").encode()
    assert file.read_bytes() == b"\xef\xbb\xbf" + wanted


def test_a_disk_that_takes_nothing_leaves_the_file(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    document = Document(file)
    _, seen = document.read()
    monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    with pytest.raises(Exception, match="No space left"):
        change(document, seen, sets("name", value="one"))
    assert file.read_text() == TEXT
    assert [one.name for one in file.parent.iterdir()] == ["job.toml"]


SAVER = """
import sys
from pathlib import Path
from proveout.card.document import Document
document = Document(Path(sys.argv[1]))
print("ready", flush=True)
for number in range(100_000):
    text, _ = document.read()
    after = f'name = "{number}"\\n' + "# filler\\n" * 2000
    document.swap(text, after)
    print(number, flush=True)
"""


@pytest.mark.parametrize("moment", range(6))
def test_a_card_that_is_killed_while_it_saves_leaves_a_whole_file(file: Path, moment: int) -> None:
    """Killed at some moment of saving over and over: the file is the last text or the one after it."""
    process = subprocess.Popen([sys.executable, "-c", SAVER, str(file)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    time.sleep(0.05 + 0.037 * moment)
    process.send_signal(signal.SIGKILL)
    said = process.stdout.read().split()
    process.stdout.close()
    process.wait()
    last = int(said[-1]) if said else -1
    text = file.read_text()
    if text != TEXT:
        assert text.endswith("# filler\n") and text.count("\n") == 2001
        assert int(tomllib.loads(text)["name"]) in (last, last + 1)


PLACED = """
[[parts]]
name = "knob"
count = 3
[[places]]
part = "knob 2"
[[places]]
part = "knob 3"
"""


def test_a_part_with_another_name_takes_its_places_along() -> None:
    edits = [sets("parts", 0, "name", value="grip")]
    after = followed(PLACED, rewritten(PLACED, edits), edits)
    assert [one["part"] for one in tomllib.loads(after)["places"]] == ["grip 2", "grip 3"]


def test_fewer_copies_lose_the_places_of_those_that_are_no_more() -> None:
    edits = [sets("parts", 0, "count", value=2)]
    after = followed(PLACED, rewritten(PLACED, edits), edits)
    assert [one["part"] for one in tomllib.loads(after)["places"]] == ["knob 2"]


def test_a_part_that_is_taken_out_takes_its_places_along() -> None:
    edits = [Edit(what="drop", keys=("parts", 0))]
    after = followed(PLACED, rewritten(PLACED, edits), edits)
    assert "places" not in tomllib.loads(after)
