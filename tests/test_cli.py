"""The command line as a person meets it: whole processes, exit statuses, messages, nothing half-written."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import printed

WHOLE = 15  # files and folders of the clamp-kit pack
EXAMPLES = Path(__file__).parent.parent / "examples"


def run(*arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """One command, as a process of its own."""
    command = [sys.executable, "-m", "proveout.cli", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, check=False)


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clamp-kit example, made once."""
    folder = tmp_path_factory.mktemp("made") / "pack"
    done = run("make", EXAMPLES / "clamp-kit" / "job.toml", "--out", folder)
    assert done.returncode == 0, done.stderr + done.stdout
    return folder


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A copy of the example that a test may spoil."""
    folder = tmp_path / "job"
    shutil.copytree(EXAMPLES / "clamp-kit", folder, ignore=shutil.ignore_patterns("*-pack"))
    return folder / "job.toml"


def spoil(file: Path, old: str, new: str) -> None:
    """Replace a text that must be there."""
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new, 1))


def test_make_writes_every_file_of_the_pack(pack: Path) -> None:
    """Programs, result, sheet, report, pictures and drawings are all there."""
    names = {str(path.relative_to(pack)) for path in pack.rglob("*") if path.is_file()}
    assert {
        "result.json",
        "0-outline-check.nc",
        "setup-sheet.pdf",
        "setup-sheet-letter.pdf",
        "report.html",
        "plan.svg",
        "result.png",
    } <= names
    assert any(name.startswith("1-") and name.endswith(".nc") for name in names)
    assert {"parts/knob.dxf", "parts/knob.svg"} <= names
    assert len(list(pack.rglob("*"))) == WHOLE


@pytest.mark.parametrize("name", ["setup-sheet.pdf", "setup-sheet-letter.pdf"])
def test_the_kit_is_run_from_one_page_of_either_paper(pack: Path, name: str, tmp_path: Path) -> None:
    """All operations, the last program and the first caution stand on page 1."""
    first = printed.text((pack / name).read_bytes(), tmp_path)[0]
    assert "90 Extraction on" in first
    assert "not against the real bench." in first


def test_the_inch_example_is_ready_too(tmp_path: Path) -> None:
    """The second example, wholly in inch fractions, is ready and its programs are in inches."""
    done = run("make", EXAMPLES / "inch-knobs" / "job.toml", "--out", tmp_path / "pack")
    assert done.returncode == 0, done.stderr + done.stdout
    assert "READY" in done.stdout
    programs = sorted((tmp_path / "pack").glob("[1-9]*.nc"))
    assert programs
    assert all("G20" in program.read_text() for program in programs)


def test_two_runs_on_two_folders_give_the_same_bytes(pack: Path, tmp_path: Path) -> None:
    """Same input, same bytes, PDF included."""
    run("make", EXAMPLES / "clamp-kit" / "job.toml", "--out", tmp_path / "again")
    for path in sorted(pack.rglob("*")):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / "again" / path.relative_to(pack)).read_bytes(), path.name


def test_make_as_json_tells_the_verdict_and_where_the_pack_is(tmp_path: Path) -> None:
    """Another program can read the verdict, the minutes and the findings."""
    done = run("make", EXAMPLES / "clamp-kit" / "job.toml", "--out", tmp_path / "pack", "--json")
    told = json.loads(done.stdout)
    assert told["verdict"] == "ready"
    assert told["minutes"]["total"] > told["minutes"]["cutting"] > 0
    assert told["pack"] == str(tmp_path / "pack")


def test_prove_takes_the_pack_s_own_programs(pack: Path) -> None:
    """What make wrote, prove finds ready, in a process of its own."""
    done = run("prove", *sorted(pack.glob("*.nc")), "--setup", EXAMPLES / "clamp-kit" / "job.toml")
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.startswith("clamp kit: READY")


def test_prove_finds_a_program_edited_by_hand(pack: Path, tmp_path: Path) -> None:
    """A retract lost in an editor: not ready, exit status 1, the program and line named."""
    program = next(path for path in sorted(pack.glob("[1-9]*.nc")))
    text = program.read_text().replace("M3", "M5", 1)
    (tmp_path / program.name).write_text(text)
    done = run("prove", tmp_path / program.name, "--setup", EXAMPLES / "clamp-kit" / "job.toml")
    assert done.returncode == 1
    assert "NOT READY" in done.stdout
    assert f"{program.name}:" in done.stdout


def test_one_edited_program_is_proved_among_the_job_s_others(pack: Path) -> None:
    """A program proved alone is not blamed for what the others cut: they are run too, and that is said."""
    last = sorted(pack.glob("[1-9]*.nc"))[-1]
    done = run("prove", last, "--setup", EXAMPLES / "clamp-kit" / "job.toml")
    assert done.returncode == 0, done.stdout
    assert "0-outline-check.nc was not given; it was run as planned." in done.stdout


def test_a_program_from_elsewhere_names_its_cutter(tmp_path: Path) -> None:
    """A program that isn't the job's and names no cutter is a stop until --cutter tells which it is."""
    text = "G21 G90 G17 G94\nG0 Z60\nG0 X200 Y120\nS18000 M3\nG4 P4\nG0 Z20\nG1 Z11 F200\nG0 Z60\nM5\nM30\n"
    (tmp_path / "mine.nc").write_text(text)
    job = EXAMPLES / "clamp-kit" / "job.toml"
    untold = run("prove", tmp_path / "mine.nc", "--setup", job, "--json")
    assert "cutter-unknown" in [one["kind"] for one in json.loads(untold.stdout)["findings"]]
    told = run("prove", tmp_path / "mine.nc", "--setup", job, "--cutter", "1", "--json")
    assert "cutter-unknown" not in [one["kind"] for one in json.loads(told.stdout)["findings"]]


def test_a_bench_without_parts_proves_anybody_s_program(job: Path, tmp_path: Path) -> None:
    """With no parts stated, a harmless slot is ready and one through a clamp is not."""
    text = job.read_text()
    job.write_text(text[: text.index("[[parts]]")])
    slot = (
        "G21 G90 G17 G94\nS18000 M3\nG4 P4\nG0 Z60\nG0 X100 Y120\nG0 Z13\nG1 Z10.5 F200\nG1 X200 F1200\n"
        "G0 Z60\nM30\n"
    )
    (tmp_path / "slot.nc").write_text(slot)
    good = run("prove", tmp_path / "slot.nc", "--setup", job, "--cutter", "1")
    assert good.returncode == 0, good.stdout
    assert "No parts were stated" in good.stdout
    (tmp_path / "slot.nc").write_text(slot.replace("X100 Y120", "X100 Y57").replace("X200", "X-5"))
    bad = run("prove", tmp_path / "slot.nc", "--setup", job, "--cutter", "1", "--json")
    assert bad.returncode == 1
    assert "clamp-struck" in [one["kind"] for one in json.loads(bad.stdout)["findings"]]
    assert run("make", job).returncode == 2


def test_why_gives_a_number_its_reasons() -> None:
    """The tree has the value, the rule and the source, down to the readings."""
    done = run("why", EXAMPLES / "clamp-kit" / "job.toml", "safe height")
    assert done.returncode == 0
    assert done.stdout.startswith("safe height: ")
    assert "clamps.top" in done.stdout


def test_why_lists_every_number_and_knows_near_misses() -> None:
    """Without a name all numbers are listed; a wrong name is answered with near ones."""
    listed = run("why", EXAMPLES / "inch-knobs" / "job.toml").stdout.splitlines()
    assert any(line.startswith("tabs.waist: ") for line in listed)
    assert any(line.startswith("minutes: ") for line in listed)
    assert any(line.startswith("hold.clamp at C4.force: ") for line in listed)
    wrong = run("why", EXAMPLES / "inch-knobs" / "job.toml", "tabs.waste")
    assert wrong.returncode == 2
    assert "tabs.waist" in wrong.stderr


def test_why_does_not_pay_for_the_compiler() -> None:
    """A number that needs no layout is answered without importing the compiler."""
    code = (
        "import sys; from proveout.cli import main; "
        f"main(['why', {str(EXAMPLES / 'clamp-kit' / 'job.toml')!r}, 'safe height']); "
        "sys.exit('numba' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0


def test_help_imports_nothing_heavy() -> None:
    """The command list costs neither numpy nor shapely nor the compiler."""
    code = (
        "import sys; from proveout.cli import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "sys.exit(bool({'numpy', 'shapely', 'numba', 'typst'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0


def test_new_writes_a_job_that_can_be_made(tmp_path: Path) -> None:
    """The starter is a whole job: make takes it as it is. A second new overwrites nothing."""
    folder = tmp_path / "mine"
    first = run("new", folder)
    assert first.returncode == 0, first.stderr
    made = run("make", folder / "job.toml")
    assert made.returncode == 0, made.stdout + made.stderr
    (folder / "job.toml").write_text("mine")
    second = run("new", folder)
    assert second.returncode == 2
    assert (folder / "job.toml").read_text() == "mine"


def test_an_existing_pack_is_refused_and_replaced_whole_when_asked(
    pack: Path, job: Path, tmp_path: Path
) -> None:
    """A pack that is there stays as it is; with --replace nothing of the old one is left."""
    folder = tmp_path / "pack"
    shutil.copytree(pack, folder)
    (folder / "stray.txt").write_text("old")
    refused = run("make", job, "--out", folder)
    assert refused.returncode == 2
    assert "--replace" in refused.stderr
    assert (folder / "stray.txt").exists()
    assert run("make", job, "--out", folder, "--replace").returncode == 0
    assert not (folder / "stray.txt").exists()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[stock]", "[stock", "job.toml"),
        ('shop = "shop.toml"', 'shop = "absent.toml"', "absent.toml"),
        ('"M6"', '"M7"', "M7"),
        ("count = 8", "count = 80", "did not fit"),
    ],
    ids=["does not parse", "no shop file", "unknown bolt", "parts that cannot fit"],
)
def test_input_that_cannot_be_used_is_told_with_its_place(job: Path, old: str, new: str, said: str) -> None:
    """Exit status 2, the file named, no traceback, no pack."""
    spoil(job, old, new)
    done = run("make", job)
    assert done.returncode == 2
    assert said in done.stderr
    assert re.search(r"\.toml:\d+:\d+: ", done.stderr), "file, line and column"
    assert "job.toml" in done.stderr or "absent.toml" in done.stderr
    assert "Traceback" not in done.stderr
    assert not [path for path in job.parent.iterdir() if "pack" in path.name]


def test_stock_thinner_than_the_head_is_refused(job: Path) -> None:
    """A head that doesn't fit into the sheet is told of at its part."""
    text = job.read_text()
    start = text.index("thickness")
    end = text.index("]", start)
    job.write_text(text[:start] + 'thickness = ["4.1 mm"' + text[end:])
    done = run("make", job)
    assert done.returncode == 2
    assert re.search(r"job\.toml:\d+:\d+: parts\[1\]", done.stderr)
    assert "Traceback" not in done.stderr


def test_a_controller_with_too_short_lines_is_told(job: Path) -> None:
    """A line limit that no arc fits into is refused at its field in the shop file."""
    spoil(job.parent / "shop.toml", "[machine.spindle]", "line_limit = 40\n\n[machine.spindle]")
    done = run("make", job)
    assert done.returncode == 2
    assert re.search(r"shop\.toml:\d+:\d+: machine\.line_limit: ", done.stderr), done.stderr
    assert "Traceback" not in done.stderr


def test_two_programs_of_one_name_are_not_taken_for_one(pack: Path, tmp_path: Path) -> None:
    """Two files called alike are refused: neither is left unread without a word."""
    program = sorted(pack.glob("[1-9]*.nc"))[-1]
    (tmp_path / program.name).write_text(program.read_text())
    done = run("prove", program, tmp_path / program.name, "--setup", EXAMPLES / "clamp-kit" / "job.toml")
    assert done.returncode == 2
    assert f'Two programs are called "{program.name}"' in done.stderr


def test_a_terminal_without_the_letters_still_gets_the_verdict(job: Path) -> None:
    """A job's name that the terminal can't print is spelt out; the exit status stays."""
    spoil(job, 'name = "clamp kit"', 'name = "pinces à serrer 夹具"')
    command = [sys.executable, "-m", "proveout.cli", "make", str(job)]
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(command, capture_output=True, check=False, env=environment)
    assert done.returncode == 0, done.stderr
    assert b"READY" in done.stdout


def test_a_missing_program_is_told_with_its_name(job: Path) -> None:
    """A file that isn't there: exit status 2 and its name."""
    done = run("prove", "nowhere.nc", "--setup", job)
    assert done.returncode == 2
    assert "nowhere.nc" in done.stderr


@pytest.mark.parametrize("delay", [0.3, 0.8, 1.2, 1.6, 2.0])
def test_an_interrupt_at_any_moment_leaves_nothing_half_written(job: Path, delay: float) -> None:
    """Ctrl-C: exit status 2 and no pack, or the whole pack was already there."""
    command = [sys.executable, "-m", "proveout.cli", "make", str(job)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        time.sleep(delay)
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=60)
    packs = [path for path in job.parent.iterdir() if "pack" in path.name]
    assert process.returncode in {0, 2}, said
    assert "Traceback" not in said
    assert process.returncode == 2 or packs
    assert not [path for path in job.parent.iterdir() if path.name.startswith(".")]
    for pack in packs:
        assert len(list(pack.rglob("*"))) == WHOLE


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="a small file system needs root")
def test_a_full_disk_is_told_and_nothing_is_left(job: Path, tmp_path: Path) -> None:
    """On a disk with no room the pack is not begun to be seen, and the message says why."""
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(small)], check=False, capture_output=True
    )
    if mounted.returncode:
        pytest.skip("no file system can be mounted here")
    try:
        done = run("make", job, "--out", small / "pack")
        left = list(small.iterdir())
    finally:
        subprocess.run(["umount", str(small)], check=True)
    assert done.returncode == 2
    assert "space" in done.stderr
    assert "Traceback" not in done.stderr
    assert left == []


def test_a_cutter_that_the_setup_lacks_is_refused_with_those_it_has() -> None:
    """--cutter 9 on a bench without number 9 is a slip, whatever the program calls for."""
    bought = EXAMPLES / "bought-program"
    done = run("prove", bought / "latch-plate.nc", "--setup", bought / "setup.toml", "--cutter", "9")
    assert done.returncode == 2
    assert done.stderr.endswith(
        "error: --cutter 9: the setup has no cutter of that number. It has: 1 (6 mm two-flute up-cut).\n"
    )
