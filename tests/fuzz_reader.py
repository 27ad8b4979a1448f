"""Throws spoiled programs at the reader: python tests/fuzz_reader.py --cases 100000 [--seed 1].

Whatever the text, the reader must come back without an exception, soon, with findings that lie inside the
text and with a motion that hangs together. Prints the first text that shows otherwise, and exits with 1.
"""

import argparse
import random
import re
import sys
import time
from collections.abc import Iterator

import numpy as np

from proveout.program.branches import BRANCH
from proveout.program.cycles import MOST_STEPS
from proveout.program.read import ReadLimits, ReadProgram, read_program

SECONDS = 2.0  # for one small text, on a busy machine

SEEDS = (
    """%
(a slot)
G21 G17 G90 G94 G54
T1 M6
G43 H1
S18000 M3
G4 P2
G0 X0 Y0 Z5
G1 Z-1 F300
X40 F1200
G0 Z5
M5
M30
%
""",
    """G20 G90 G17
G0 X1 Y1 Z.5
M3 S9000
G1 Z-.1 F10
G2 X1 Y1 I.25 J0 Z-.2
G3 X1.5 Y1.5 R.5
G0 Z1
M2
""",
    """g21g90g17
g0x0y0z5
f100 s1000 m3
g81x3y4r1z-3
x5
g91 g99 g83 x2 z-4 r-1 q.7 l3
g80
g90g0z9
m30
""",
    """G21 G90
#1=3 #2=[#1*2+SQRT[9]]
G0 X#1 Y[#2-1] Z[5 MOD 3]
G1 X[ATAN[1]/[1]] F[10**2]
M30
""",
    """G21 G90
G10 L2 P1 X10 Y0 Z0
G10 L2 P2 X30 Y0 Z0
G54 G0 X0 Y0 Z5
G55 X0
G92 X7
X8
G92.1
G53 G0 Z0
G28 X0 Y0 Z0
G10 L20 P0 Z1
M30
""",
    """G21 G90 G18
G0 X0 Y0 Z0
G93 G2 X2 Z0 I1 F4
G19 G3 Y2 Z0 J1 F2
G94 F100 G17 G90.1 G2 X4 Y2 I3 J2
M30
""",
    """o100 sub
o110 if [#1 LE 0]
o100 return
o110 elseif [#1 GT 9]
G1 X#1
o110 else
G1 X[#1+1] Y#2
o110 endif
o100 call [#1-1] [#2+.5]
o100 endsub
G21 G90 G0 X0 Y0 Z5 F300
#31=0
o<row> while [#31 LT 4]
#31=[#31+1]
o2 if [#31 EQ 3]
o<row> continue
o2 endif
o3 repeat [2]
o100 call [#31] [2]
o3 endrepeat
o4 do
G1 Z-#31
#32=[#31*2]
o4 while [#32 LT #31]
o<row> endwhile
M2
""",
)
TOKENS = (
    *"GMXYZIJKRFSTPQLHDNOABC#[]()%/;=*+-.,0123456789 \t\n\r",
    *(
        "G0",
        "G1",
        "G2",
        "G3",
        "G17",
        "G18",
        "G20",
        "G21",
        "G28",
        "G41",
        "G43",
        "G53",
        "G55",
        "G81",
        "G83",
        "G90",
    ),
    *(
        "G91",
        "G92",
        "G93",
        "G99",
        "M0",
        "M3",
        "M6",
        "M30",
        "1e12",
        "NaN",
        "-0.0001",
        "999999999999",
        "#1=",
        "##",
    ),
    *(
        "[[[[[[",
        "ATAN",
        "SQRT",
        "LN[0]",
        "/[0]",
        "**",
        "L999999",
        "Q0.000001",
        "\x00",
        "\ufeff",
        "é",
        "\ud800",
    ),
    *(
        "o1 ",
        "o<row> ",
        "\no100 call [1]\n",
        "\no1 while [1]\n",
        "\no1 endwhile\n",
        "\no1 do\n",
        " LT ",
        "GE",
    ),
    *("\no1 sub\n", "\no1 endsub\n", " return", " break", " continue", "endif", "elseif [0]", "else", "\x1a"),
    *("\no1 repeat [99999]\n", "\no1 endrepeat\n", "#31", "#1", "if [#1 EQ #2]", "EQ", "\nM30\n"),
)
# Small enough for SECONDS: a spoiled loop often has no end.
LIMITS = ReadLimits(steps=20_000, moves=20_000)


def cases(count: int, seed: int) -> Iterator[str]:
    """Spoiled programs, the same for the same seed."""
    rng = random.Random(seed)
    for _ in range(count):
        kind = rng.random()
        if kind < 0.05:
            yield bytes(rng.randrange(256) for _ in range(rng.randrange(400))).decode("latin-1")
        elif kind < 0.15:
            yield "".join(rng.choice(TOKENS) for _ in range(rng.randrange(200)))
        else:
            yield _spoiled(rng.choice(SEEDS), rng)


def _spoiled(text: str, rng: random.Random) -> str:
    for _ in range(rng.randrange(1, 8)):
        at = rng.randrange(len(text) + 1)
        until = at + rng.randrange(6)
        match rng.randrange(4):
            case 0:
                text = text[:at] + rng.choice(TOKENS) + text[at:]
            case 1:
                text = text[:at] + text[until:]
            case 2:
                text = text[:at] + rng.choice(TOKENS) + text[until:]
            case _:
                lines = text.split("\n")
                lines.insert(rng.randrange(len(lines)), rng.choice(lines))
                text = "\n".join(lines)
    return text


def fault_of(text: str) -> str | None:
    """What is wrong with the reader's answer to a text; None where nothing is."""
    began = time.perf_counter()
    try:
        program = read_program(text, file="fuzz.nc", limits=LIMITS)
    except Exception as error:
        return f"raised {type(error).__name__}: {error}"
    took = time.perf_counter() - began
    return f"took {took:.1f} s" if took > SECONDS else _fault_in(program, text)


def _fault_in(program: ReadProgram, text: str) -> str | None:
    lines = text.count("\n") + text.count("\r") + 1
    motion = program.motion
    if len(motion) > LIMITS.moves + MOST_STEPS:
        return "more moves than the limit allows"
    if len({(finding.line, finding.text) for finding in program.findings}) < len(program.findings):
        return "the same is told of a line twice"
    if not all(1 <= (finding.line or 0) <= lines for finding in program.findings):
        return "a finding lies outside the text"
    if len(motion) and not (motion.line.min() >= 1 and motion.line.max() <= lines):
        return "a move lies outside the text"
    branches = any(BRANCH.match(line) for line in re.split(r"[\r\n]", text))
    if not branches and not (np.diff(motion.line) >= 0).all():
        return "moves are not in the order of their lines"
    numbers = (
        motion.start,
        motion.end,
        motion.centre,
        motion.sweep,
        motion.feed,
        motion.speed_rpm,
        motion.dwell,
    )
    if not all(np.isfinite(array).all() for array in numbers):
        return "a move has a number that is none"
    if not (motion.start[1:] == motion.end[:-1]).all():
        return "a move does not start where the last one ended"
    if (motion.feed[motion.kind != 0] <= 0).any():
        return "a cutting move has no feed"
    if not 0 <= program.placed_from <= len(motion):
        return "placed_from lies outside the motion"
    return None


def main() -> int:
    """Run the cases; 0 where the reader stood all of them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    for number, text in enumerate(cases(asked.cases, asked.seed), start=1):
        if fault := fault_of(text):
            print(f"case {number}: {fault}\n{text!r}")
            return 1
    print(f"{asked.cases} cases, none that the reader could not stand")
    return 0


if __name__ == "__main__":
    sys.exit(main())
