"""What a file is, told by its content, soon and whatever it holds."""

import signal
from collections.abc import Iterator

import pytest

from proveout.filekind import DRAWING, JOB, PROGRAM, file_kind


@pytest.fixture(autouse=True)
def soon() -> Iterator[None]:
    """An alarm that ends a search without end; what it guards takes milliseconds."""

    def late(*_: object) -> None:
        raise TimeoutError("longer than 5 s")

    signal.signal(signal.SIGALRM, late)
    signal.alarm(5)
    yield
    signal.alarm(0)


@pytest.mark.parametrize(
    "content",
    [
        b"9" * 4000,
        b"  " + b"9" * 300,
        b"999\n" * 900,
        b"\n" * 900_000,
        b" \n" * 400_000,
        b" " * 900_000,
        b"a" * 900_000,
    ],
    ids=["nines", "spaced nines", "comments", "empty lines", "blank lines", "spaces", "one word"],
)
def test_a_file_of_one_thing_is_soon_told_to_be_nothing(content: bytes) -> None:
    """No content keeps the search going: nines or empty lines and nothing else are no known file."""
    assert file_kind(content) == ""


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_a_drawing_may_begin_with_comments(end: bytes) -> None:
    """Group 999 is a comment in the DXF reference, and may stand before the first section."""
    lines = [b"999", b"drawn by hand", b" 999", b"", b"  0", b"SECTION", b"  2", b"HEADER", b""]
    assert file_kind(end.join(lines)) == DRAWING


def test_programs_and_job_files_are_known_behind_empty_lines() -> None:
    """Empty lines, indents and block numbers in front change nothing."""
    assert file_kind(b"\n\n  /N10 G21\nG0 X1\n") == PROGRAM
    assert file_kind(b"\n\r\n  [[parts]]\nname = 'a'\n") == JOB
    assert file_kind(b"parts = []\n") == JOB
