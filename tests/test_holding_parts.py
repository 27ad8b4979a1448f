"""Clamps for parts that are laid out: put into the job file they hold, and nothing runs into them."""

import json
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from proveout.cli import main
from proveout.draft import laid_out
from proveout.finding import Level
from proveout.hold.choose_clamps import choose_clamps, contacts_of, spread_clamps
from proveout.hold.friction import is_spread
from proveout.hold.places import Place, places
from proveout.hold.slip import slip_force
from proveout.holding import holding
from proveout.holding_parts import hold_job
from proveout.job.read import read_job
from proveout.job.records import Cutter, Job, StopWanted
from proveout.layout.clear_places import clear_places, cut_corners, cut_round
from proveout.motion import RAPID, Motion, joined
from proveout.pack.margin_picture import held_picture
from proveout.parts.part import PlacedPart
from proveout.plan import plan
from proveout.proof.prove import prove
from proveout.reckon import hold, reckon
from proveout.shelf.tables import material, thread

EXAMPLES = Path(__file__).parents[1] / "examples"
WITH_PARTS = ("clamp-kit", "inch-knobs", "drawn-bracket")
WOOD = material("birch plywood")


def bare(name: str = "clamp-kit") -> Job:
    """An example without its clamps; or the clamp kit with short cutters on a plate full of holes."""
    if name == "short cutters":
        given = bare()
        short = tuple(replace(one, flute_length=14.0, stick_out=15.0) for one in given.shop.cutters)
        plate = replace(given.shop.plate, pitch=17.3, columns=26, rows=20)
        return replace(given, shop=replace(given.shop, cutters=short, plate=plate))
    return replace(read_job(EXAMPLES / name / "job.toml"), clamps=())


@cache
def laid(name: str) -> tuple[PlacedPart, ...]:
    job = bare(name)
    return laid_out(job, reckon(job).shaped, hold(job))


@cache
def planned_motion(name: str) -> Motion:
    """What the programs of an example without clamps do, as the proof reads them back."""
    planned = plan(bare(name))
    verdict = prove(planned.programs, planned.setup)
    return joined([program.motion for program in verdict.programs])


def clear(job: Job, placed: tuple[PlacedPart, ...]) -> tuple[Place, ...]:
    return clear_places(
        places(job.shop.plate, job.stock, job.shop.clamps),
        placed,
        job.shop.cutters,
        job.shop.machine.spindle,
        thickest=job.stock.thickest,
        lowest_tip=-job.through_allowance,
    )


def block(length: float, width: float, blank: tuple[float, float]) -> Job:
    """One block to be cut out of a blank on the clamp kit's bench."""
    given = bare()
    one = next(one for one in given.wanted if one.name == "stop block")
    assert isinstance(one.pattern, StopWanted)
    sized = replace(one, count=1, pattern=replace(one.pattern, length=length, width=width))
    return replace(given, wanted=(sized,), stock=replace(given.stock, size=blank))


@pytest.mark.parametrize("name", WITH_PARTS)
def test_the_proposal_put_into_the_job_file_makes_the_job_ready(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The whole way as a person goes it: no clamps, hold, copy, make: READY, and no end left to swing."""
    packs = shutil.ignore_patterns("*-pack")  # of who ran the example first
    shutil.copytree(EXAMPLES / name, tmp_path / name, ignore=packs)
    shutil.copytree(EXAMPLES / "clamp-kit", tmp_path / "clamp-kit", ignore=packs, dirs_exist_ok=True)
    file = tmp_path / name / "job.toml"
    paragraphs = file.read_text().split("\n\n")
    text = "\n\n".join(one for one in paragraphs if "[[clamps]]" not in one)
    file.write_text(text)
    assert main(["make", str(file)]) == 1  # nothing holds the blank
    capsys.readouterr()
    assert main(["hold", str(file)]) == 0
    out = capsys.readouterr().out
    file.write_text(f"{text}\n{out[out.index('[[clamps]]') : out.index('Estimates')]}")
    assert main(["make", str(file), "--out", str(tmp_path / "pack"), "--json"]) == 0
    told = json.loads((tmp_path / "pack" / "result.json").read_text())
    assert told["verdict"] == "ready"
    assert not [one for one in told["findings"] if one["kind"] in ("hold-margin", "clamp-struck")]


def gap(cutter: Cutter, job: Job, ways: dict[float, shapely.Geometry], place: Place) -> float:
    """The least room between a turning cutter with its collet nut and spindle and a clamp, mm."""
    spindle, top = job.shop.machine.spindle, job.stock.thickest + place.kind.thickness
    bolt = shapely.Point(place.bolt)
    solids = (
        (place.bar, top),
        (bolt.buffer(thread(place.kind.bolt).diameter / 2), top),
        (bolt.buffer(place.kind.knob_diameter / 2), top + place.kind.knob_height),
    )
    turning = (
        (0.0, cutter.diameter / 2),
        (cutter.flute_length, cutter.shank_diameter / 2),
        (cutter.stick_out, spindle.nut_diameter / 2),
        (cutter.stick_out + spindle.nut_length, spindle.body_diameter / 2),
    )
    return min(
        (
            way.distance(footprint) - radius
            for depth, way in ways.items()
            for footprint, high in solids
            for above, radius in turning
            if depth + above < high
        ),
        default=np.inf,
    )


@pytest.mark.parametrize("name", (*WITH_PARTS, "short cutters"))
def test_a_place_is_clear_where_the_written_programs_come_nowhere_near(name: str) -> None:
    """Each cutting move of the programs, read back, keeps 1.5 mm from every clear place, and comes within
    8 mm of every other: cutter, shank, nut and spindle against bar, bolt and knob."""
    job = bare(name)
    every, free = places(job.shop.plate, job.stock, job.shop.clamps), clear(job, laid(name))
    motion = planned_motion(name)
    gaps = dict.fromkeys(every, np.inf)
    for cutter in job.shop.cutters:
        low = np.minimum(motion.start[:, 2], motion.end[:, 2])
        rows = (motion.cutter == cutter.number) & (motion.kind != RAPID) & (low < job.stock.thickest)
        if not rows.any():
            continue
        lines = np.stack((motion.start[rows, :2], motion.end[rows, :2]), axis=1)
        ways = {float(low[rows].min()): shapely.multilinestrings(lines)}
        for one in every:
            gaps[one] = min(gaps[one], gap(cutter, job, ways, one))
    assert 0 < len(free) < len(every)
    assert min(gaps[one] for one in free) >= 1.5
    assert max(gaps[one] for one in every if one not in free) < 8.0


@pytest.mark.parametrize("name", (*WITH_PARTS, "short cutters"))
def test_clear_clamps_leave_the_layout_as_it_is(name: str) -> None:
    """Parts laid out again with every clear clamp on the bed come to lie where they did."""
    job = bare(name)
    (one, *_) = free = clear(job, laid(name))
    for some in ((one,), free[::7], free):
        again = replace(job, clamps=tuple(place.at for place in some))
        assert laid_out(again, reckon(job).shaped, hold(again)) == laid(name)


@pytest.mark.parametrize("name", WITH_PARTS)
def test_the_weakest_place_that_is_cut_is_a_corner_of_all_ways(name: str) -> None:
    """Along the whole ways of the cutters nothing is weaker than at the corners of the shape around them."""
    job = bare(name)
    corners = cut_corners(laid(name), job.shop.cutters)
    ways = np.concatenate([shapely.get_coordinates(cut_round(one, job.shop.cutters)) for one in laid(name)])
    assert len(corners) < 60
    for some in (clear(job, laid(name))[:2], clear(job, laid(name))[::9]):
        held = contacts_of(some, WOOD)
        assert slip_force(held, ways).min() >= slip_force(held, corners).min() * 0.995


def test_only_where_it_is_cut_must_it_be_held() -> None:
    """A small part in a corner of a large blank takes no more clamps than the whole blank does."""
    job = block(60.0, 32.0, (340.0, 240.0))
    placed = laid_out(job, reckon(job).shaped, hold(job))
    free = clear(job, placed)
    corners = cut_corners(placed, job.shop.cutters)
    for wanted in (60.0, 150.0, 300.0):
        there = choose_clamps(free, WOOD, job.stock.size, wanted, points=corners)
        anywhere = choose_clamps(free, WOOD, job.stock.size, wanted)
        assert there and anywhere and there.enough
        assert len(there.places) <= len(anywhere.places) or not anywhere.enough


def test_clamps_stand_near_both_ends_where_they_can() -> None:
    """Of the clear places two stand most within 98 mm of a blank of 9 in; two further apart hold as well."""
    job = bare("inch-knobs")
    free, corners = clear(job, laid("inch-knobs")), cut_corners(laid("inch-knobs"), job.shop.cutters)
    most = choose_clamps(free, WOOD, job.stock.size, 60.0, points=corners)
    apart = spread_clamps(free, WOOD, job.stock.size, 60.0, points=corners)
    assert most and apart and most.enough and apart.enough
    assert not is_spread([one.patch for one in most.places], job.stock.size)
    assert is_spread([one.patch for one in apart.places], job.stock.size)
    assert len(apart.places) == len(most.places)


def test_a_pull_that_tips_the_blank_takes_a_clamp_at_the_other_end() -> None:
    """Clamps at one end stand little of a pull at the other: 13.5/340 of what they press with."""
    job = bare()
    right = [one for one in places(job.shop.plate, job.stock, job.shop.clamps) if one.at.towards == "left"]
    corner = np.array([(0.0, 120.0)])
    flat = choose_clamps(right, WOOD, job.stock.size, 1.0, pull=10.0, points=corner)
    tipped = choose_clamps(right, WOOD, job.stock.size, 1.0, pull=400.0, points=corner)
    assert flat and flat.enough and tipped and not tipped.enough


def test_where_no_clamp_is_clear_it_is_said_why_and_what_would_help() -> None:
    """A block that leaves 15 mm all round: every nose would be cut into; a larger blank is reckoned."""
    found = hold_job(block(170.0, 70.0, (200.0, 100.0)))
    assert found.best is None and found.for_parts is not None
    (one,) = found.findings
    assert one.level is Level.STOP and one.kind == "blank-not-held"
    total = len(places(found.job.shop.plate, found.job.stock, found.job.shop.clamps))
    assert one.text == f"Of {total} places for a clamp, {total} are in a cutter's way."
    assert one.remedy.startswith("A blank of ")
    assert one.remedy.endswith("hold it with tape under it or screws through the waste, or cut shallower.")
    assert held_picture(found) is None


def test_the_blank_that_is_said_to_be_large_enough_is() -> None:
    """What the remedy says, done."""
    given = block(170.0, 70.0, (200.0, 100.0))
    (one,) = hold_job(given).findings
    wide, deep = (
        float(side)
        for side in one.remedy.split(" with ")[0][len("A blank of ") :].replace(" mm", "").split(" x ")
    )
    found = hold_job(replace(given, stock=replace(given.stock, size=(wide, deep))))
    assert found.best is not None and found.best.enough


def test_parts_that_do_not_fit_are_told_as_such() -> None:
    """Even a free bed is too small."""
    found = hold_job(block(220.0, 80.0, (200.0, 100.0)))
    assert [one.kind for one in found.findings] == ["does-not-fit"]
    assert found.best is None


def test_a_job_with_its_own_clamps_keeps_them() -> None:
    """Nothing is laid out for it."""
    given = read_job(EXAMPLES / "clamp-kit" / "job.toml")
    assert hold_job(given).for_parts is None
    assert hold_job(given).best == holding(given).stated


def test_the_picture_shows_the_parts_that_the_clamps_are_for() -> None:
    """Two brackets, and where they are cut nothing is too little."""
    found = hold_job(bare("drawn-bracket"))
    picture = held_picture(found)
    assert picture is not None and picture.count('class="part"') == 2
