"""The loads of a scene: the plots of the report, on the same scales and in the same words, as plain data."""

from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.job.records import Job
from proveout.pack.load_plot import sampled, scale_of
from proveout.pack.load_words import TITLES, amount, how_to_read, limit_words, loads_of
from proveout.proof.load_checks import HOLD_WANTED, POWER_SHARE, PUSH_OFF
from proveout.proof.load_clock import Clock, clock
from proveout.proof.load_shares import Load, peak
from proveout.proof.verdict import Loads, Verdict
from proveout.quantity import show, show_fine

COLUMNS: Final = 1500  # moments that a plot tells apart; the worst of each is shown

Record = dict[str, object]
Levels = dict[str, npt.NDArray[np.generic]]


def loads_records(job: Job, verdict: Verdict) -> tuple[list[Record], Levels]:
    """Each load's plot, and its heights by the name of their array; none where no loads are known."""
    loads, every = verdict.loads, loads_of(job, verdict)
    if loads is None:
        return [], {}
    when = clock(verdict, loads, job.shop.machine)
    records: list[Record] = []
    levels: Levels = {}
    for load in every:
        if not load.shares.any():
            continue  # no hold-down where there is no clamp
        heights = scale_of(job, loads, load, when).heights
        level = sampled(when.begin, when.end, heights, total=when.total, bins=COLUMNS)
        levels[f"load_{load.name}"] = level.astype("<f4")
        records.append(_record(job, verdict, loads, load, when))
    return records, levels


def _record(job: Job, verdict: Verdict, loads: Loads, load: Load, when: Clock) -> Record:
    """One plot; heights are as drawn, so that up is always worse."""
    scale = scale_of(job, loads, load, when)
    worst = peak(verdict, loads, load)
    if worst is None:
        raise ValueError(f"{load.name} asks for something, and nowhere most")
    return {
        "name": load.name,
        "title": TITLES[load.name],
        "unit": scale.unit,
        "how": how_to_read(load.name, job),
        "inverse": load.name == "margin",
        "top": _short(scale.top),
        "ticks": [[_short(height), name] for height, name in scale.ticks],
        "limits": [
            {
                "begin": _short(begin),
                "end": _short(end),
                "height": _short(height),
                "words": _words(load, height, job),
            }
            for begin, end, height in scale.limits
        ],
        "bands": [[_short(value) for value in band] for band in scale.bands],
        "worst": {
            "time": _short(float(when.begin[worst.row] + when.end[worst.row]) / 2),
            "height": _short(float(scale.heights[worst.row])),
            "share": _short(worst.share),
            "said": amount(load, worst.value, worst.limit, job),
            "limit": limit_words(load, worst, job, loads),
            "program": worst.file,
            "line": worst.line,
        },
    }


def _words(load: Load, height: float, job: Job) -> str:
    """What stands at a dashed line."""
    match load.name:
        case "force":
            return f"limit {show(height, 'N')}"
        case "power":
            return f"limit {100 * POWER_SHARE:.0f} %"
        case "margin":
            return f"{HOLD_WANTED:g} times is wanted"
        case _:
            return f"limit {show_fine(PUSH_OFF, job.units)}"


def _short(value: float) -> float:
    """Six figures: far more than a plot shows."""
    return float(f"{value:.6g}")
