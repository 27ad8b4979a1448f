"""The scene that the page cuts again: what it holds, when, and how much of it there may be."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from proof_bench import MACHINE
from proveout.card.scene import MAGIC, scene
from proveout.card.scene_moves import arrays_of, pieces_of
from proveout.finding import Finding, Level
from proveout.job.read import read_job
from proveout.motion import ARC, Motion, MotionBuilder, lengths
from proveout.pack.load_words import TITLES
from proveout.pack.made import Made
from proveout.plan import make
from proveout.proof.load_clock import moments
from scene_reader import Scene, read_scene

BRACKET = Path(__file__).parents[1] / "examples" / "drawn-bracket" / "job.toml"


@pytest.fixture(scope="module")
def bracket() -> Made:
    return make(read_job(BRACKET))


@pytest.fixture(scope="module")
def told(bracket: Made) -> Scene:
    return read_scene(scene(bracket))


def test_equal_jobs_give_equal_bytes(bracket: Made) -> None:
    assert scene(bracket) == scene(bracket)


def test_the_arrays_lie_where_the_header_says_each_on_its_own_border(bracket: Made) -> None:
    """A browser reads numbers of four bytes only from places that are a multiple of four."""
    binary = scene(bracket)
    length = int.from_bytes(binary[4:8], "little")
    header = json.loads(binary[8 : 8 + length])
    assert binary[:4] == MAGIC
    assert length % 8 == 0
    sizes = {"f4": 4, "u4": 4, "u2": 2}
    ends = [one["offset"] + one["count"] * sizes[one["type"]] for one in header["arrays"].values()]
    assert all(one["offset"] % 8 == 0 for one in header["arrays"].values())
    assert 0 <= 8 + length + max(ends) - len(binary) + 7 < 8


def test_the_clock_ends_with_the_proofs_minutes_changes_of_cutter_counted(bracket: Made, told: Scene) -> None:
    header, arrays = told
    assert header["total"] == pytest.approx(60 * bracket.verdict.minutes.total, abs=0.01)
    assert arrays["done"][-1] == pytest.approx(header["total"], abs=0.01)
    second, third = header["programs"][1:]
    assert third["begin"] - second["end"] == pytest.approx(120)


def test_pieces_lie_end_to_end_in_time_and_are_as_long_as_the_way(bracket: Made, told: Scene) -> None:
    _, arrays = told
    start, end = (arrays[name].reshape(-1, 3).astype(float) for name in ("start", "end"))
    same = np.diff(arrays["program"]) == 0
    assert np.abs(start[1:] - end[:-1])[same].max() < 1e-4
    assert (arrays["begin"][1:] >= arrays["done"][:-1] - 1e-3).all()
    way = np.linalg.norm(end - start, axis=1)
    arm = start[arrays["arcs"], :2] - arrays["arc_centre"].reshape(-1, 2)
    way[arrays["arcs"]] = np.hypot(arm[:, 0], arm[:, 1]) * np.abs(arrays["arc_sweep"])
    whole = sum(lengths(program.motion).sum() for program in bracket.verdict.programs)
    assert way.sum() == pytest.approx(whole, rel=1e-4)


def test_what_stands_on_the_bed_is_in_the_scene(bracket: Made, told: Scene) -> None:
    header, _ = told
    names = {solid["name"] for solid in header["solids"]}
    assert {clamp.bar.name for clamp in bracket.setup.clamps} < names
    assert not any("insert" in name for name in names)
    assert header["sheet"]["thickness"] == pytest.approx(bracket.setup.stock.thickest)
    assert [part["name"] for part in header["parts"]] == [part.name for part in bracket.setup.parts]


def test_plots_show_no_less_than_the_worst_and_reckon_up_as_worse(told: Scene) -> None:
    header, arrays = told
    assert [plot["title"] for plot in header["loads"]] == list(TITLES.values())
    for plot in header["loads"]:
        level = arrays[f"load_{plot['name']}"]
        column = int(plot["worst"]["time"] / header["total"] * len(level))
        assert level[column] >= plot["worst"]["height"] * (1 - 1e-6)
        assert level.max() <= plot["top"]
        assert len(level) <= 1500
    margin = next(plot for plot in header["loads"] if plot["name"] == "margin")
    assert margin["limits"][0]["words"] == "3 times is wanted"
    assert margin["limits"][0]["height"] == pytest.approx(1 / 3, rel=1e-5)


def finding(made: Made, *, line: int | None, at: tuple[float, float, float] | None = None) -> Finding:
    file = made.verdict.programs[1].file if line else ""
    return Finding(level=Level.STOP, kind="estimate", text="Something.", program=file, line=line, at=at)


def moment_of(made: Made, one: Finding) -> float | None:
    header, _ = read_scene(scene(replace(made, findings=(one,))))
    time: float | None = header["findings"][0]["time"]
    return time


def test_a_finding_has_the_moment_in_which_its_line_comes_nearest_to_its_place(bracket: Made) -> None:
    motion = bracket.verdict.programs[1].motion
    when = moments([one.motion for one in bracket.verdict.programs], bracket.job.shop.machine)
    first = len(bracket.verdict.programs[0].motion)
    row = int(np.argmax(np.where(motion.kind == ARC, 0.0, lengths(motion) * (motion.feed > 0))))
    x, y, z = (0.25 * motion.start[row] + 0.75 * motion.end[row]).tolist()
    begin, end = when.begin[first + row], when.end[first + row]
    told = moment_of(bracket, finding(bracket, line=int(motion.line[row]), at=(x, y, z + 3)))
    assert told == pytest.approx(begin + 0.75 * (end - begin), abs=1e-3)


def test_a_finding_at_the_end_of_its_move_is_still_within_its_line(bracket: Made) -> None:
    motion = bracket.verdict.programs[1].motion
    _, arrays = read_scene(scene(bracket))
    rows = [row for row in range(40, 80) if (motion.line == motion.line[row]).sum() == 1]
    found = []
    for row in rows:
        x, y, z = motion.end[row].tolist()
        found.append(finding(bracket, line=int(motion.line[row]), at=(x, y, z)))
    header, _ = read_scene(scene(replace(bracket, findings=tuple(found))))
    times = np.array([one["time"] for one in header["findings"]], dtype=np.float32)
    pieces = np.searchsorted(arrays["begin"], times, side="right") - 1
    assert arrays["line"][pieces].tolist() == motion.line[rows].tolist()


def test_a_line_that_moves_nothing_has_the_moment_of_the_next_move(bracket: Made) -> None:
    program = bracket.verdict.programs[1]
    assert 1 not in program.motion.line
    when = moments([one.motion for one in bracket.verdict.programs], bracket.job.shop.machine)
    first = len(bracket.verdict.programs[0].motion)
    assert moment_of(bracket, finding(bracket, line=1)) == pytest.approx(when.begin[first], abs=1e-3)


def test_a_finding_of_no_line_has_no_moment(bracket: Made) -> None:
    assert moment_of(bracket, finding(bracket, line=None)) is None


def coiled(count: int) -> Motion:
    """Helices of a turn each, one above the other."""
    builder = MotionBuilder((20.0, 0.0, 0.0))
    builder.feed = 20.0
    for number in range(count):
        builder.line = number + 1
        builder.arc_to((20.0, 0.0, -0.001 * (number + 1)), (0.0, 0.0), 2 * np.pi)
    return builder.motion()


def test_many_helices_are_chopped_more_coarsely_rather_than_into_too_many_pieces() -> None:
    motion = coiled(200)
    when = moments([motion], MACHINE)
    fine, coarse = pieces_of(motion, when), pieces_of(motion, when, most=12_000)
    assert len(fine.move) > 12_000 >= len(coarse.move)
    assert fine.tolerance < coarse.tolerance <= 0.2
    assert coarse.done[-1] == pytest.approx(fine.done[-1])


def test_the_moves_of_a_full_sheet_take_less_than_20_mb() -> None:
    """200,000 moves, every hundredth of them a helix."""
    builder = MotionBuilder((0.0, 0.0, 0.0))
    builder.feed = 20.0
    for number in range(200_000):
        builder.line = number + 1
        x = float(number % 2400)
        if number % 100:
            builder.line_to((x, number / 200, 5.0))
        else:
            builder.arc_to(
                (builder.at[0], builder.at[1], 4.0), (builder.at[0] - 20, builder.at[1]), 2 * np.pi
            )
    motion = builder.motion()
    pieces = pieces_of(motion, moments([motion], MACHINE))
    arrays = arrays_of([motion], pieces)
    assert sum(array.nbytes for array in arrays.values()) < 20_000_000
    assert len(pieces.move) <= 300_000
