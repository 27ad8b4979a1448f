"""`python -m benchmarks`: the figures that proveout is held to, as one table. Nothing here asserts a time."""

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from benchmarks import closed_forms, removal
from proveout.job.read import read_job
from proveout.motion import joined, shifted
from proveout.plan import plan
from proveout.program.read import read_program
from proveout.proof.prove import prove
from proveout.proof.walls import path_pieces, reached, wall_points

ROOT = Path(__file__).parent.parent
EXAMPLE = ROOT / "examples" / "clamp-kit" / "job.toml"


def main() -> None:
    """Print the table."""
    rows = [
        ("proveout --help, whole process", _whole(["--help"]), "at most 0.35 s"),
        ("proveout why, one number", _whole(["why", str(EXAMPLE), "safe height"]), "without the compiler"),
        *_make_rows(),
        *_proof_rows(),
        _wall_row(),
        *closed_forms.rows(),
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
    print()
    removal.show([*removal.blank_rows(), *removal.boolean_rows()])


def _make_rows() -> list[tuple[str, str, str]]:
    """The main command, warm, and whether two runs on two folders give the same bytes."""
    with tempfile.TemporaryDirectory() as scratch:
        folders = [Path(scratch) / name for name in ("one", "two")]
        for folder in folders:
            _run(["make", str(EXAMPLE), "--out", str(folder)])
        same = _content(folders[0]) == _content(folders[1])
        seconds = _whole(["make", str(EXAMPLE), "--out", str(folders[0]), "--replace"])
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return [
        ("proveout make clamp-kit, whole process", f"{seconds}, {peak:.0f} MB", "at most 3 s and 400 MB"),
        ("two packs, byte for byte", "the same" if same else "DIFFERENT", "the same, PDF included"),
    ]


def _content(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def _proof_rows() -> list[tuple[str, str, str]]:
    """How much faster than the machine the proof is, at 0.1 mm."""
    planned = plan(read_job(EXAMPLE))
    prove(planned.programs, planned.setup, cell=0.1)
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        verdict = prove(planned.programs, planned.setup, cell=0.1)
        times.append(time.perf_counter() - begun)
    seconds, machine = statistics.median(times), verdict.minutes.total * 60
    return [
        (
            "proof of clamp-kit at 0.1 mm",
            f"{seconds:.2f} s for {machine / 60:.1f} min of cutting: {machine / seconds:,.0f} times faster",
            "at least 1,000 times",
        )
    ]


def _wall_row() -> tuple[str, str, str]:
    """How far the written programs' walls lie from the intended curves, worst of all points on all walls."""
    planned = plan(read_job(EXAMPLE))
    setup = planned.setup
    read = [
        read_program(program.text, file=program.file, cutter=program.cutters[0])
        for program in planned.programs[1:]
    ]
    motion = shifted(joined(one.motion for one in read), setup.zero)
    points = wall_points(setup, setup.cutters)
    pieces = path_pieces(motion, setup.cutters, below=setup.stock.thickest)
    past = reached(points, points.top, pieces).past
    worst = float(np.abs(past).max())
    return "walls of clamp-kit, worst of all points", f"{worst:.4f} mm", "within 0.01 mm"


def _whole(arguments: Sequence[str], runs: int = 5) -> str:
    """Median wall time of a whole process, warm."""
    times = [_run(arguments) for _ in range(runs + 1)][1:]
    return f"{statistics.median(times):.2f} s"


def _run(arguments: Sequence[str]) -> float:
    begun = time.perf_counter()
    subprocess.run([sys.executable, "-m", "proveout.cli", *arguments], check=False, capture_output=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
