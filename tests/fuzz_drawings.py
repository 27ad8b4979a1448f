"""Throws spoiled drawings at their reader: python tests/fuzz_drawings.py --cases 20000 [--seed 1] [--jobs 2].

Real drawings from ../shared, or a few made here, have bytes flipped, blocks lost, repeated and moved, numbers
made odd, ends cut off, and are spliced with each other. Whatever comes of it is read, or refused with an
InputError in words that can be printed, within 10 seconds and 1 GB: each case runs in a child process that
could not take more. Prints the worst of time and memory; where a case shows otherwise it is kept as a file,
and the run exits with 1.
"""

import argparse
import logging
import math
import multiprocessing
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Final

from proveout.drawing.look import Look, look, look_picture, look_record, look_text
from proveout.finding import InputError
from proveout.quantity import System

DRAWINGS: Final = Path(__file__).resolve().parents[2] / "shared" / "drawings"
SECONDS: Final = 10.0  # for one drawing, on a busy machine
MEMORY: Final = 1 << 30  # bytes on top of what the libraries take
WORDY: Final = 20_000  # characters of a message that nobody would read to its end
BLOCK: Final = 400  # bytes of the longest block that is lost, repeated or moved
NUMBER: Final = re.compile(rb"[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?")
ODD: Final = (
    *(b"NaN", b"nan", b"inf", b"-Infinity", b"1e12", b"-1e12", b"1e308", b"1e-320", b"1e999", b"-0", b"-0.0"),
    *(b"0", b"1", b"-1", b"0.5", b"1e-9", b"2147483648", b"-2147483649", b"99999999999999999999", b"9" * 400),
    *(b"0x10", b"1_000", b"1,5", b"", b" ", b"--1", b"1e", b"\xd9\xa3", b"360", b"1e6", b"70", b"100000"),
)
TOKENS: Final = (
    *(b"<", b">", b"/>", b'"', b"<g>", b"</g>", b"</svg>", b"<svg", b"<!--", b"&amp;", b"&#0;", b"&#xD800;"),
    *(b"\x00", b"\xff", b"\xef\xbb\xbf", b"\n", b"\r", b" ", b"e", b"%", b"in", b"px", b"-", b".", b"1e"),
    *(b'transform="scale(0)" ', b'transform="rotate(1e9)" ', b'transform="matrix(1 2 2 4 0 0)" '),
    *(b"<use href='#a'/>", b"<path d='M0 0h9v9z'/>", b"<svg width='0'>", b"<rect width='9' height='9'/>"),
    *(b"M0 0", b"z", b"Z", b"A1 1 0 0 1 2 2", b"a0 0 0 1 1 1e-9 0", b"C", b"q 1 1", b"t1 1", b"m", b"h1e9"),
    *(b"  0\nLINE\n", b"  0\nLWPOLYLINE\n", b"  0\nINSERT\n", b"  0\nSEQEND\n", b"  0\nSPLINE\n"),
    *(b"  0\nENDSEC\n", b"  0\nEOF\n", b"  2\nENTITIES\n", b" 70\n1\n", b" 42\n1e9\n", b" 42\n-1\n"),
    *(b"230\n-1.0\n", b" 40\n0\n", b" 10\n1e12\n", b"999\nx\n", b" 62\n-7\n", b" 60\n1\n"),
)

MADE: Final = {
    "frame.svg": b"""<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">
<g id="plate" transform="translate(10 5) rotate(3)"><rect width="90" height="60" rx="6"/>
<circle cx="20" cy="20" r="3.3"/><ellipse cx="60" cy="30" rx="9" ry="5"/>
<path d="M30 40h12v8l-6 4 -6-4z M70 10 a4 4 0 0 1 8 0 v6 a4 4 0 0 1 -8 0 z"/>
<polygon points="40,10 46,10 43,16"/><path d="M50 45c4 0 4 6 0 6s-4-6 0-6z" style="fill:none"/></g></svg>
""",
    "strokes.svg": b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink"
width="800" height="400">
<defs><symbol id="a"><path d="M0 0L10 0"/></symbol></defs><use x:href="#a" x="700" y="3"/>
<path d="M10 10L200 10"/><path d="M200 10L200 90"/><path d="M200.02 90L10 90"/><path d="M10 90L10 10.01"/>
<path d="M700 3V13H710"/><line x1="710" y1="13" x2="710" y2="3"/><circle cx="60" cy="50" r="12"/></svg>
""",
    "plate.dxf": b"""  0
SECTION
  2
HEADER
  9
$INSUNITS
 70
4
  0
ENDSEC
  0
SECTION
  2
ENTITIES
  0
POLYLINE
  8
outline
 66
1
 70
1
  0
VERTEX
  8
outline
 10
0.0
 20
0.0
  0
VERTEX
  8
outline
 10
90.0
 20
0.0
 42
0.414
  0
VERTEX
  8
outline
 10
100.0
 20
10.0
  0
VERTEX
  8
outline
 10
0.0
 20
50.0
  0
SEQEND
  0
CIRCLE
  8
holes
 10
30.0
 20
20.0
 40
3.3
  0
LINE
  8
holes
 10
60.0
 20
10.0
 11
70.0
 21
10.0
  0
ARC
  8
holes
 10
65.0
 20
10.0
 40
5.0
 50
0.0
 51
180.0
  0
ENDSEC
  0
EOF
""",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One spoiled drawing, and what a person states of it."""

    name: str  # of the drawing that was spoiled
    content: bytes
    known: str | None
    units: System | None


@dataclass(slots=True)
class Worst:
    """What came of a run."""

    seconds: float = 0.0
    slowest: int = 0
    megabytes: float = 0.0
    largest: int = 0
    read: int = 0  # cases that were drawings still
    faults: dict[int, str] = field(default_factory=dict)

    def add(self, number: int, seconds: float, megabytes: float, fault: str | None, was_read: bool) -> None:
        """Count one case's figures."""
        self.read += was_read
        if seconds > self.seconds:
            self.seconds, self.slowest = seconds, number
        if megabytes > self.megabytes:
            self.megabytes, self.largest = megabytes, number
        if fault:
            self.faults[number] = fault


# --- the cases


@cache
def seeds(kind: str) -> tuple[tuple[str, ...], tuple[bytes, ...], tuple[float, ...]]:
    """Names and contents of the drawings to spoil, and their weights: the larger, the rarer."""
    found = {
        one.name: one.read_bytes() for one in sorted(DRAWINGS.glob("*")) if one.suffix in (".svg", ".dxf")
    }
    every = {name: content for name, content in {**MADE, **found}.items() if name.endswith(kind)}
    return tuple(every), tuple(every.values()), tuple(1 / (4000 + len(one)) for one in every.values())


def case_of(number: int, seed: int, kind: str = "") -> Case:
    """The case of a number, the same for the same seed and kind of file: "svg", "dxf" or "" for both."""
    rng = random.Random(f"{seed} {number}")
    names, contents, weights = seeds(kind)
    chosen = rng.choices(range(len(names)), weights)[0]
    content = contents[chosen]
    if rng.random() < 0.1:
        content = _spliced(content, rng.choices(contents, weights)[0], rng)
    gently = rng.random() < 0.6  # what is still a drawing goes further into the reader
    for _ in range(rng.choice((1, 1, 2, 3, 5, 8, 13))):
        content = _bent(content, rng) if gently else _spoiled(content, rng)
    known = rng.choice(("width = 100 mm", "hole for M6", "diameter = 1 in")) if rng.random() < 0.1 else None
    units: System | None = None if known and rng.random() < 0.8 else rng.choice(("mm", "mm", "in"))
    return Case(name=names[chosen], content=content, known=known, units=units)


def _spliced(one: bytes, other: bytes, rng: random.Random) -> bytes:
    """The beginning of one and the end of another, sometimes from line to line."""
    head, tail = one[: rng.randrange(len(one))], other[rng.randrange(len(other)) :]
    if rng.random() < 0.7:
        head, tail = head.rpartition(b"\n")[0] + b"\n", tail.partition(b"\n")[2]
    return head + tail


def _bent(content: bytes, rng: random.Random) -> bytes:
    """Spoiled so that its grammar stands, as a rule."""
    at = rng.randrange(len(content) + 1)
    if rng.random() < 0.1:
        return _lines_spoiled(content, at, rng)
    found = NUMBER.search(content, at)
    if found is None:
        return content
    times = rng.choice((-1, 0, 1 + 1e-12, 1 + 1e-9, 1 + 1e-6, 1 + 1e-4, 1.01, 0.5, 3, 1e3, 1e6))
    new = b"%.12g" % (float(found[0]) * times + rng.choice((0, 0, 1e-9, 0.01, -1, 10)))
    return content[: found.start()] + new + content[found.end() :]


def _spoiled(content: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(content) + 1)
    until = at + rng.choice((1, 2, rng.randrange(BLOCK)))
    match rng.randrange(9):
        case 0:
            return content[:at] + bytes(rng.randrange(256) for _ in content[at : at + 1]) + content[at + 1 :]
        case 1:
            return content[:at] + content[until:]
        case 2:
            return content[:at] + rng.choice(TOKENS) + content[at:]
        case 3:
            return content[:at] + content[at:until] * rng.choice((2, 3, 50)) + content[until:]
        case 4 if rng.random() < 0.3:
            return content[:at]
        case 5:
            return _lines_spoiled(content, at, rng)
        case 6:
            to = rng.randrange(len(content) + 1)
            return content[:to] + content[at:until] + content[to:]
        case _:
            return _number_spoiled(content, at, rng)


def _lines_spoiled(content: bytes, at: int, rng: random.Random) -> bytes:
    """Whole lines lost, repeated or moved: single ones and pairs, as DXF's tags stand."""
    start = content.rfind(b"\n", 0, at) + 1
    end = start
    for _ in range(rng.choice((1, 2, 2, 4, 20))):
        end = content.find(b"\n", end) + 1 or len(content)
    block = content[start:end]
    match rng.randrange(3):
        case 0:
            return content[:start] + content[end:]
        case 1:
            return content[:end] + block * rng.choice((1, 1, 100)) + content[end:]
        case _:
            to = content.rfind(b"\n", 0, rng.randrange(len(content) + 1)) + 1
            return content[:to] + block + content[to:]


def _number_spoiled(content: bytes, at: int, rng: random.Random) -> bytes:
    """One number made odd."""
    found = NUMBER.search(content, at) or NUMBER.search(content)
    return content[: found.start()] + rng.choice(ODD) + content[found.end() :] if found else content


# --- one case


def fault_of(case: Case, file: Path) -> tuple[str | None, bool]:
    """What is wrong with the reader's answer to a case, None where nothing is; and whether it was read."""
    file.write_bytes(case.content)
    try:
        found = look(file, known=case.known, units=case.units)
        return _fault_in(found), True
    except InputError as error:
        return _fault_in_words(str(error).replace(str(file), "")), False
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        where = f"{Path(last.filename).name}, line {last.lineno}"
        return f"raised {type(error).__name__} at {where}: {str(error)[:200]}", False


def _fault_in_words(text: str) -> str | None:
    if not text.strip():
        return "refused without a word"
    if len(text) > WORDY:
        return f"refused with {len(text)} characters"
    if any(not (one.isprintable() or one == "\n") for one in text):
        return f"words that can't be printed: {text[:200]!r}"
    return None


def _fault_in(found: Look) -> str | None:
    """Every figure is a number, every hole lies in its part, and all of it can be shown."""
    if not found.drawn:
        return "read, and holds no part"
    figures = (
        *found.size,
        *(one for seen in found.seen for one in (*seen.shape.centre, seen.loop.region.area)),
    )
    if not all(map(math.isfinite, figures)) or not max(found.size) > 0:
        return "a size that is no number"
    for part in found.drawn:
        outside = [one for one in part.holes if one.loop.region.area > part.loop.region.area]
        if outside:
            return f"a hole larger than its part, {part.name}"
    look_picture(found)
    look_record(found)
    return _fault_in_words(look_text(found)[:WORDY])


# --- many, in children that can be stopped


def run(numbers: Sequence[int], *, seed: int, jobs: int, kind: str = "") -> Worst:
    """Every case, shared among processes; one that dies is a fault, and another goes on behind it."""
    worst = Worst()
    shares = [list(numbers[one::jobs]) for one in range(jobs)]
    going = {_child(share, seed, kind): share for share in shares if share}
    while going:
        for pipe in wait(list(going)):
            assert isinstance(pipe, Connection)
            try:
                number, seconds, megabytes, fault, was_read = pipe.recv()
            except EOFError:
                share = going.pop(pipe)
                if share:
                    worst.add(
                        share.pop(0), SECONDS, 0, f"ended its process: more than {SECONDS:.0f} s?", False
                    )
                if share:
                    going[_child(share, seed, kind)] = share
                continue
            going[pipe].remove(number)
            worst.add(number, seconds, megabytes, fault, was_read)
    return worst


def _child(share: Sequence[int], seed: int, kind: str) -> Connection:
    ours, its = multiprocessing.Pipe(duplex=False)
    multiprocessing.Process(target=_work, args=(list(share), seed, kind, its), daemon=True).start()
    its.close()
    return ours


def _work(share: Sequence[int], seed: int, kind: str, pipe: Connection) -> None:
    """Answer case by case; an alarm that nobody catches ends the process, even within a library's loop."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # it would print thousands of lines
    with tempfile.TemporaryDirectory() as folder:
        _warm(Path(folder))
        base = _peak()
        _limit()
        for number in share:
            case = case_of(number, seed, kind)
            signal.setitimer(signal.ITIMER_REAL, SECONDS)
            began = time.perf_counter()
            fault, was_read = fault_of(case, Path(folder, f"fuzz{Path(case.name).suffix}"))
            took = time.perf_counter() - began
            signal.setitimer(signal.ITIMER_REAL, 0)
            pipe.send((number, took, _peak() - base, fault, was_read))
    pipe.close()


def _warm(folder: Path) -> None:
    """Read what is sound, so that the libraries are there before memory is counted."""
    for name, content in MADE.items():
        fault_of(Case(name=name, content=content, known=None, units="mm"), folder / name)


def _limit() -> None:
    """No more memory than MEMORY on top of what the process has."""
    have = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (have + MEMORY, have + MEMORY))


def _peak() -> float:
    """Most memory that this process ever had, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _kept(number: int, seed: int, kind: str) -> Iterator[str]:
    case = case_of(number, seed, kind)
    file = Path(tempfile.gettempdir(), f"fuzz-{seed}-{number}{Path(case.name).suffix}")
    file.write_bytes(case.content)
    yield f"  from {case.name}, known = {case.known}, units = {case.units}; kept as {file}"


def main() -> int:
    """Run the cases; 0 where the reader stood all of them."""
    assert __doc__ is not None
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--kind", choices=("svg", "dxf", ""), default="", help="of drawings; both without it")
    asked = parser.parse_args()
    worst = run(range(1, asked.cases + 1), seed=asked.seed, jobs=asked.jobs, kind=asked.kind)
    for number, fault in sorted(worst.faults.items()):
        print(f"case {number}: {fault}", *_kept(number, asked.seed, asked.kind), sep="\n")
    print(f"{asked.cases} cases, {worst.read} read, {len(worst.faults)} that the reader could not stand")
    print(f"slowest {worst.seconds:.2f} s (case {worst.slowest})")
    print(f"most memory {worst.megabytes:.0f} MB more than at rest (case {worst.largest})")
    return 1 if worst.faults else 0


if __name__ == "__main__":
    sys.exit(main())
