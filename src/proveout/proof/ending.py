"""How programs end: the cutter high, the spindle still."""

from collections.abc import Iterator

from proveout.finding import Finding, Level
from proveout.program.events import Event
from proveout.proof.trial import Trial, end_of, length
from proveout.setup import cutter_by_number


def ends_badly(run: Trial) -> Iterator[Finding]:
    """Programs that end with the cutter below the stock's top, or with the spindle turning."""
    for number, (file, events) in enumerate(zip(run.files, run.events, strict=False)):
        last = events[-1] if events else None
        if last is None or last.what != "end":
            continue
        if last.before > 0 and run.program[last.before - 1] == number:
            low = list(_low(run, file, last))
            yield from low
            if low:
                continue
        if last.turning and last.word:
            yield _turning(file, last)


def _low(run: Trial, file: str, last: Event) -> Iterator[Finding]:
    at = end_of(run.motion, last.before - 1)
    cutter = cutter_by_number(run.setup, int(run.motion.cutter[last.before - 1]))
    reach = cutter.radius if cutter else 0.0
    over = all(
        -reach < place < size + reach for place, size in zip(at[:2], run.setup.stock.size, strict=True)
    )
    deep = run.setup.stock.thickest - at[2]
    if over and deep > 0.01:
        yield Finding(
            level=Level.CAUTION,
            kind="ends-low",
            text=(
                f"Line {last.line}: the program ends with the cutter {length(run.setup, deep)} below the "
                "stock's top: the first way across afterwards, by hand or by a program, drags it through."
                f"{' It still turns there, and burns.' if last.turning else ''}"
            ),
            remedy=f"Raise it {length(run.setup, deep + 1)} before the end, better to the safe height.",
            program=file,
            line=last.line or None,
            at=at,
        )


def _turning(file: str, last: Event) -> Finding:
    by_standard = last.word != "%"  # RS274/NGC (NISTIR 6556, 3.6.1): M2 and M30 stop the spindle
    how = (
        f"{last.word} stops it by the standard, which not every controller follows"
        if by_standard
        else "a closing % alone stops nothing"
    )
    return Finding(
        level=Level.NOTE if by_standard else Level.CAUTION,
        kind="ends-turning",
        text=f"Line {last.line}: the program ends with the spindle turning; {how}.",
        remedy=f"Write M5 on a line of its own, 1 line before {last.word}.",
        program=file,
        line=last.line or None,
    )
