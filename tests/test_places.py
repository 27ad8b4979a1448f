"""Parts where a person put them: they lie exactly there, the rest around them, and what is wrong is told."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest

from proveout.curve import polygon
from proveout.draft import laid_out
from proveout.finding import Edit, Finding, InputError, Level
from proveout.fit.shape import shape
from proveout.fit.shaped import Shaped
from proveout.job.read import read_job, read_job_text
from proveout.job.records import Flaw, Job, PlaceAt
from proveout.job.rewrite import rewritten
from proveout.job.starter import starter_files
from proveout.layout.keepouts import standoff
from proveout.layout.lay import CLEARANCE, WEB
from proveout.layout.place_findings import place_findings
from proveout.layout.settled import corner_of, flaw_outline
from proveout.parts.part import PlacedPart, lies
from proveout.plan import make
from proveout.reckon import hold
from proveout.ways import ways_out

ROOT = Path(__file__).parent.parent
KNOT = Flaw(at=(60.0, 40.0), size=(30.0, 12.0), diameter=None, what="knot")


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The starter's job file, only read here: two knobs on a small sheet between two clamps."""
    folder = tmp_path_factory.mktemp("starter")
    for name, text in starter_files().items():
        (folder / name).write_text(text)
    return folder / "job.toml"


@cache
def sized(job: Job) -> Shaped:
    return shape(job)


def laid(job: Job) -> tuple[PlacedPart, ...]:
    return laid_out(job, sized(replace(job, places=(), flaws=(), clamps=())), hold(job))


def told(job: Job) -> tuple[Finding, ...]:
    return place_findings(job, laid(job), hold(job))


def put(job: Job, *places: tuple[str, float, float], turn: float = 0.0) -> Job:
    """The job with parts put somewhere."""
    return replace(job, places=tuple(PlaceAt(part=part, at=(x, y), turn_deg=turn) for part, x, y in places))


def pinned(job: Job, placed: tuple[PlacedPart, ...]) -> Job:
    """The job with a place for every part, where it lies."""
    corners = [corner_of(one.part, one.turn_deg) for one in placed]
    places = [
        PlaceAt(part=one.name, at=(round(one.x + left, 2), round(one.y + front, 2)), turn_deg=one.turn_deg)
        for one, (left, front) in zip(placed, corners, strict=True)
    ]
    return replace(job, places=tuple(places))


@pytest.mark.parametrize("example", ["clamp-kit", "inch-knobs", "drawn-bracket"])
def test_what_the_layout_chose_can_be_settled_and_has_no_fault(example: str) -> None:
    """Parts pinned where they were laid lie there still, under their names, and nothing is said of them."""
    job = read_job(ROOT / "examples" / example / "job.toml")
    placed = laid(job)
    again = pinned(job, placed)
    for one, other in zip(placed, laid(again), strict=True):
        assert (one.name, one.turn_deg) == (other.name, other.turn_deg)
        assert (one.x, one.y) == pytest.approx((other.x, other.y), abs=0.011)
    assert told(again) == ()


def test_the_rest_is_laid_around_a_part_that_has_a_place(file: Path) -> None:
    """Wherever one knob is put, even turned, it lies there, and the layout gives the other no fault."""
    dice = Random(7)
    job = read_job(file)
    for _ in range(12):
        x, y, turn = dice.uniform(30, 120), dice.uniform(8, 85), dice.uniform(0, 360)
        asked = put(job, ("knob 2", x, y), turn=turn)
        try:
            placed = {one.name: one for one in laid(asked)}
        except InputError as error:
            assert "settled parts" in str(error)
            continue
        assert list(placed) == ["knob 1", "knob 2"]
        bounds = polygon((lies(placed["knob 2"]).outline,)).bounds
        assert bounds[:2] == pytest.approx((x, y), abs=0.02)
        every = pinned(job, tuple(placed.values()))
        assert not [one for one in told(every) if one.name == "knob 1" and "knob 2" not in one.text]
        gap = polygon((lies(placed["knob 1"]).outline,)).distance(polygon((lies(placed["knob 2"]).outline,)))
        assert gap >= 2 * 3.0 + WEB - 0.02


def test_the_copies_left_take_the_numbers_left_from_the_left(file: Path) -> None:
    """Knob 1 is where it was put, at the right; the other stays knob 2, wherever it lies."""
    placed = laid(put(read_job(file), ("knob 1", 110, 50)))
    assert [one.name for one in placed] == ["knob 1", "knob 2"]
    assert placed[0].x > placed[1].x


FAULTS = [
    (
        (("knob 2", 4, 50),),
        Level.STOP,
        "part-under-clamp",
        "knob 2 lies under the clamp at D6.",
    ),
    (
        (("knob 2", 100, -12),),
        Level.STOP,
        "part-off-sheet",
        "knob 2 reaches 12 mm off the sheet at the front.",
    ),
    (
        (("knob 2", 100, 5),),
        Level.CAUTION,
        "part-off-sheet",
        "The cut round knob 2 comes 4 mm into the margin of 6 mm that is kept along the sheet's front edge.",
    ),
    (
        (("knob 1", 60, 40), ("knob 2", 100, 50)),
        Level.STOP,
        "parts-too-close",
        "knob 1 and knob 2 lie over each other.",
    ),
    (
        (("knob 1", 60, 50), ("knob 2", 105.5, 50)),
        Level.STOP,
        "parts-too-close",
        "The cuts round knob 1 and knob 2 overlap by",
    ),
    (
        (("knob 1", 55, 50), ("knob 2", 107, 50)),
        Level.CAUTION,
        "parts-too-close",
        "of wood would stand between the cuts round knob 1 and knob 2; 4 mm are wanted.",
    ),
]


def fault_of(kind: str) -> None:
    """Brings about one kind of fault, for whoever has no folder at hand."""
    with TemporaryDirectory() as folder:
        for name, text in starter_files().items():
            (Path(folder) / name).write_text(text)
        job = read_job(Path(folder) / "job.toml")
        plate = job.shop.plate
        flush = replace(plate, inserts=replace(plate.inserts, depth_below_face=0.0))
        job = replace(put(job, ("knob 1", 4, 50), ("knob 2", 40, 30)), flaws=(KNOT,))
        job = replace(job, shop=replace(job.shop, plate=flush))
        assert kind in [one.kind for one in told(job)]


@pytest.mark.parametrize(("places", "level", "kind", "text"), FAULTS, ids=lambda value: str(value)[:24])
def test_what_stands_in_the_way_is_told_with_ways_that_lead_out(
    file: Path, places: tuple[tuple[str, float, float], ...], level: Level, kind: str, text: str
) -> None:
    """Level, kind and words of each; every way can be written into the file, and ends that fault."""
    tables = "".join(f'\n[[places]]\npart = "{part}"\nat = [{x}, {y}]\n' for part, x, y in places)
    text_of_file = file.read_text() + tables
    job = read_job_text(text_of_file, file)
    found = [one for one in told(job) if one.kind == kind]
    assert [one.level for one in found] == [level]
    assert text in found[0].text
    assert found[0].name == places[0][0]
    assert found[0].ways[-1 if kind != "part-under-clamp" else -2].says == "Let it be laid out again"
    assert len(found[0].ways) >= 2
    for way in found[0].ways:
        after = read_job_text(rewritten(text_of_file, way.edits), file)
        assert not [one for one in told(after) if one.kind == kind and one.name == places[0][0]], way.says


def test_a_part_is_told_of_as_soon_as_the_layout_would_not_lay_it_there(file: Path) -> None:
    """Brought nearer to the clamps by quarters, a knob is told of when less than the clearance is left."""
    job = read_job(file)
    job = replace(job, wanted=(replace(job.wanted[0], count=1),))
    clamp, spindle, cutter = hold(job).clamps[0], job.shop.machine.spindle, job.shop.cutters[0]
    for quarter in range(240, 0, -1):
        asked = put(job, ("knob", quarter / 4, 50))
        if told(asked):
            break
    (knob,) = laid(asked)
    assert knob.part.cutter == cutter.number
    outline = polygon((lies(knob).outline,), 0.001)
    gaps = [
        outline.distance(solid.footprint) - cutter.radius - standoff(solid, cutter, spindle, -0.3)
        for solid in (clamp.bar, *clamp.bolt)
    ]
    assert CLEARANCE - 0.3 < min(gaps) < CLEARANCE


def test_the_place_that_a_remedy_names_has_no_fault_at_all(file: Path) -> None:
    """Moved to the nearest free place, a part has no fault left, neither the one told nor another."""
    text = file.read_text() + '\n[[places]]\npart = "knob 2"\nat = [100, -12]\n'
    found = told(read_job_text(text, file))
    move = found[0].ways[0]
    assert move.says == "Move it to the nearest free place"
    assert "Put it at (" in found[0].remedy
    assert told(read_job_text(rewritten(text, move.edits), file)) == ()


def test_a_clamp_that_is_moved_later_is_told_of_too(file: Path) -> None:
    """A part that was put beside the clamps is in the way of one that is moved over it."""
    job = put(read_job(file), ("knob 2", 78, 88))
    assert told(job) == ()
    clamps = (replace(job.clamps[0], hole="I9", towards="front"), *job.clamps[1:])
    assert "part-under-clamp" in [one.kind for one in told(replace(job, clamps=clamps))]


def test_a_cut_right_through_over_an_insert_is_a_stop(file: Path) -> None:
    """With inserts that stand level with the plate's face, a through cut over one is not let pass."""
    job = read_job(file)
    job = put(replace(job, wanted=(replace(job.wanted[0], count=1),)), ("knob", 78, 50))
    shop = job.shop
    flush = replace(shop.plate, inserts=replace(shop.plate.inserts, depth_below_face=0.0))
    assert "part-over-insert" not in [one.kind for one in told(job)]
    found = told(replace(job, shop=replace(shop, plate=flush)))
    assert [(one.level, one.kind) for one in found] == [(Level.STOP, "part-over-insert")]


# Flaws


def test_parts_are_laid_off_the_flaws_and_kerfs_may_run_through_them(file: Path) -> None:
    """Over many places of a knot no outline holds any of it, though some kerf does."""
    dice, job, kerfs = Random(3), read_job(file), 0
    for _ in range(12):
        knot = replace(KNOT, at=(dice.uniform(0, 170), dice.uniform(0, 120)))
        round_one = Flaw(
            at=(dice.uniform(0, 200), dice.uniform(0, 140)), size=None, diameter=9.0, what="knot"
        )
        try:
            placed = laid(replace(job, flaws=(knot, round_one)))
        except InputError as error:
            assert "around the clamps and flaws" in str(error)
            continue
        for flaw in (knot, round_one):
            away = [polygon((lies(one).outline,)).distance(flaw_outline(flaw)) for one in placed]
            assert min(away) > 0
            kerfs += min(away) < 3.0
    assert kerfs > 0


def test_a_part_put_over_a_flaw_is_a_caution(file: Path) -> None:
    """What the flaw is called and where the part holds it."""
    job = replace(put(read_job(file), ("knob 2", 60, 30)), flaws=(KNOT,))
    found = told(job)
    assert [(one.level, one.kind) for one in found] == [(Level.CAUTION, "part-on-flaw")]
    assert found[0].text.startswith("knob 2 would hold the knot at (")


def test_a_refusal_says_that_flaws_are_in_the_way(file: Path) -> None:
    """Flaws all over the sheet leave no room, and the message names them."""
    everywhere = Flaw(at=(20.0, 20.0), size=(160.0, 100.0), diameter=None, what="stain")
    with pytest.raises(InputError, match=r"did not fit on the sheet of .* around the clamps and flaws"):
        laid(replace(read_job(file), flaws=(everywhere,)))


# Through the whole road


def test_a_job_with_a_part_under_a_clamp_is_planned_and_proved_and_not_ready(file: Path) -> None:
    """Plan and proof both tell of it; the clamp that is struck has a way out, and each way can be taken."""
    text = file.read_text() + '\n[[places]]\npart = "knob 2"\nat = [14, 50]\n'
    made = make(read_job_text(text, file))
    assert not made.ready
    found = ways_out(made, text)
    kinds = {one.kind: one for one in found}
    assert {"part-under-clamp", "clamp-struck"} <= set(kinds)
    says = [way.says for way in kinds["clamp-struck"].ways]
    assert [one.startswith("Move the clamp at D6 to ") for one in says] == [True]
    for one in found:
        for way in one.ways:
            read_job_text(rewritten(text, way.edits), file)
    assert [replace(one, ways=()) for one in found] == [replace(one, ways=()) for one in made.findings]
    dropped = Edit(what="drop", keys=("places", 0))
    assert dropped in [edit for way in kinds["part-under-clamp"].ways for edit in way.edits]
    without = {one.kind: one for one in ways_out(made, file.read_text())}
    assert dropped not in [edit for way in without["part-under-clamp"].ways for edit in way.edits]


def test_a_bed_without_clamps_is_offered_those_that_would_hold(file: Path) -> None:
    """The way out writes the clamps that hold the parts where they are cut; then the blank is held."""
    job = read_job(file)
    bare = rewritten(file.read_text(), [Edit(what="drop", keys=("clamps", 0))] * len(job.clamps))
    made = make(read_job_text(bare, file))
    held = next(one for one in ways_out(made, bare) if one.kind == "blank-not-held")
    assert [way.says.startswith("Put clamps at ") for way in held.ways] == [True]
    after = read_job_text(rewritten(bare, held.ways[0].edits), file)
    assert len(after.clamps) >= 2
    assert hold(after).capacity.value > 0
