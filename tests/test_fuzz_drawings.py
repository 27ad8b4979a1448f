"""Spoiled drawings are read or refused: no crash, hang or flood of memory; fuzz_drawings.py runs longer."""

import time
from pathlib import Path

import pytest

from fuzz_drawings import MADE, Case, case_of, fault_of, run
from proveout.drawing.look import look


def test_spoiled_drawings_are_read_or_refused() -> None:
    """A short run of what python tests/fuzz_drawings.py does at length."""
    worst = run(range(1, 121), seed=20, jobs=1)
    assert worst.faults == {}
    assert worst.read > 5  # not all so far gone that only the first lines of the reader were tried


@pytest.mark.parametrize(("name", "parts"), [("frame.svg", 1), ("strokes.svg", 2), ("plate.dxf", 1)])
def test_the_drawings_made_for_it_are_sound(name: str, parts: int, tmp_path: Path) -> None:
    """What is spoiled was a drawing before."""
    file = tmp_path / name
    file.write_bytes(MADE[name])
    assert len(look(file, units="mm").drawn) == parts


def test_a_case_can_be_made_again() -> None:
    """A fault that is reported by its number can be looked into."""
    assert case_of(7, 1) == case_of(7, 1)
    assert case_of(7, 1) != case_of(7, 2)


def test_a_crash_and_a_hang_are_seen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The run itself finds a reader that raises, one that never comes back, and one that takes all memory."""

    def broken(case: Case, file: Path) -> tuple[str | None, bool]:
        if case == case_of(2, 1):
            time.sleep(60)
        if case == case_of(4, 1):
            bytearray(1 << 31)
        return None, True

    monkeypatch.setattr("fuzz_drawings.SECONDS", 0.3)
    monkeypatch.setattr("fuzz_drawings.fault_of", broken)
    worst = run(range(1, 7), seed=1, jobs=1)
    assert sorted(worst.faults) == [2, 4]
    assert worst.read == 4
    monkeypatch.undo()
    monkeypatch.setattr("fuzz_drawings.look", lambda *_, **__: 1 // 0)
    fault, _ = fault_of(case_of(1, 1), tmp_path / "a.svg")
    assert fault is not None and fault.startswith("raised ZeroDivisionError")
