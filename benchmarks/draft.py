"""`python -m benchmarks.draft`: what comes before the paths, alone and after a change, beside all of `make`.

All in one process, warm, each the quickest of some runs. Nothing here asserts a time.
"""

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

from proveout.draft import draft
from proveout.job.read import read_job
from proveout.job.records import Job, KnobWanted, Wanted
from proveout.plan import make

EXAMPLES: Final = Path(__file__).parent.parent / "examples"
NAMES: Final = ("clamp-kit", "inch-knobs", "drawn-bracket")
REPEATS: Final = 7


def main() -> None:
    """Print the table."""
    print(f"import proveout.draft, whole process: {_imported():.2f} s")
    for name in NAMES:
        job = read_job(EXAMPLES / name / "job.toml")
        stages = _stages(job)
        whole, made = sum(stages.values()), _quickest(lambda job=job: make(job), 2)  # type: ignore[misc]
        print(f"\n{name}: draft {whole * 1000:.0f} ms, {whole / made:.0%} of make's {made:.2f} s")
        for stage, seconds in stages.items():
            print(f"  {stage:30s} {seconds * 1000:5.0f} ms")
        for what, change in CHANGES.items():
            print(f"  {what:30s} {_again(job, change(job)) * 1000:5.0f} ms")


def _stages(job: Job) -> dict[str, float]:
    """The seconds that each stage of a draft takes, all of the same run."""
    runs = []
    for _ in range(REPEATS):
        begun: list[tuple[str, float]] = []
        draft(job, say=lambda stage, begun=begun: begun.append((stage, time.perf_counter())))  # type: ignore[misc]
        ends = [*(at for _, at in begun[1:]), time.perf_counter()]
        runs.append({stage: end - at for (stage, at), end in zip(begun, ends, strict=True)})
    return min(runs, key=lambda run: sum(run.values()))


def _again(job: Job, changed: Job) -> float:
    before = draft(job)
    return _quickest(lambda: draft(changed, before=before), REPEATS)


def _quickest(run: Callable[[], object], times: int) -> float:
    seconds = []
    for _ in range(times):
        begun = time.perf_counter()
        run()
        seconds.append(time.perf_counter() - begun)
    return min(seconds)


def _imported() -> float:
    return _quickest(lambda: subprocess.run([sys.executable, "-c", "import proveout.draft"], check=True), 4)


def _another_fit(job: Job) -> Job:
    def fitted(one: Wanted) -> Wanted:
        pattern = one.pattern
        return (
            replace(one, pattern=replace(pattern, fit="slides")) if isinstance(pattern, KnobWanted) else one
        )

    return replace(job, wanted=tuple(fitted(one) for one in job.wanted))


def _thicker(job: Job) -> Job:
    return replace(job, stock=replace(job.stock, readings=tuple(one + 0.05 for one in job.stock.readings)))


def _one_less(job: Job) -> Job:
    first, *others = job.wanted
    return replace(job, wanted=(replace(first, count=max(1, first.count - 1)), *others))


CHANGES: Final[dict[str, Callable[[Job], Job]]] = {
    "after another name": lambda job: replace(job, name="another"),
    "after another fit of knobs": _another_fit,
    "after one part less": _one_less,
    "after a thicker sheet": _thicker,
}


if __name__ == "__main__":
    main()
