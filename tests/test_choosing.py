"""The chooser on a real sheet: no denser search over its own variables finds values that cut it quicker."""

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from proveout.choosing import Sheet, bench_of
from proveout.cutting.choose import Task, choose
from proveout.cutting.data import CuttingData
from proveout.cutting.force import chip_load
from proveout.cutting.limits import RUBBING, Bench, Way, chip_window, limits_of
from proveout.draft import laid_out, trace_order
from proveout.hold.stands import held_blank
from proveout.job.read import read_job
from proveout.paths.lying import lying_outlines
from proveout.paths.tasks import works
from proveout.reckon import reckon
from proveout.shelf.tables import material

BRACKET = Path(__file__).parents[1] / "examples" / "drawn-bracket" / "job.toml"


def tasks() -> list[tuple[Task, Bench]]:
    """Everything that is milled on the bracket's sheet, with what limits it."""
    job = read_job(BRACKET)
    reckoned = reckon(job)
    held = reckoned.held
    order = trace_order(job, laid_out(job, reckoned.shaped, held), held, reckoned.bridges)
    sheet = Sheet(order=order, lying=lying_outlines(order), held=held, bridges=reckoned.bridges)
    blank = held_blank(held.clamps, material(job.stock.material), job.stock.size)
    found = works(order, sheet.lying, job.shop.machine)
    return [(work.task, bench_of(job, sheet, work, blank)) for work in found if work.task.kind != "drill"]


@pytest.mark.parametrize(("task", "bench"), tasks(), ids=lambda one: getattr(one, "kind", ""))
def test_a_dense_grid_is_at_most_two_per_cent_quicker(task: Task, bench: Bench) -> None:
    """Depth by passes, stepover, feed and speed on a grid, all limits kept, timed on the very cuts."""
    chosen = choose(task, bench)
    seconds = [task.seconds(values) for values in grid(task, bench, chosen)]
    assert len(seconds) > 10
    assert task.seconds(chosen) <= 1.02 * min(seconds)


def grid(task: Task, bench: Bench, chosen: CuttingData) -> Iterator[CuttingData]:
    """Values that keep every limit and keep chips from rubbing; ramps and finishing as they were chosen."""
    cutter, machine = task.cutter, bench.machine
    limits = limits_of(cutter, bench, tabs=task.kind == "outline")
    thin = max(chip_window(bench.material, cutter).load.min, RUBBING)
    steps = (0.4,) if task.kind == "outline" else (0.4, 0.55, 0.7)
    for passes in range(1, 11):
        depth = math.ceil(max(task.heights) / passes * 1e6) / 1e6
        for share in range(4, 21, 2):
            for turns in (0.6, 0.8, 1.0):
                way = Way(
                    depth,
                    cutter.diameter,
                    share / 20 * min(machine.max_feed[:2]),
                    turns * machine.spindle.max_rpm,
                )
                if chip_load(way.feed, cutter.flutes, way.speed_rpm) < thin:
                    continue
                if all(limit.share(way) <= 1 for limit in limits):
                    yield from (_with(chosen, way, step * cutter.diameter) for step in steps)


def _with(chosen: CuttingData, way: Way, step: float) -> CuttingData:
    return CuttingData(
        cutter=chosen.cutter,
        depth_of_cut=way.depth,
        stepover=step,
        feed=way.feed,
        plunge_feed=chosen.plunge_feed,
        ramp_deg=chosen.ramp_deg,
        speed_rpm=way.speed_rpm,
        finish_allowance=chosen.finish_allowance,
        finish_feed=chosen.finish_feed,
        finish_depth=chosen.finish_depth,
        limits=(),
        figures=(),
    )
