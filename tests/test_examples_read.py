"""The examples and the starter as a person at the bench finds them: they read, they fit, the clamps hold."""

import re
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest
from shapely import Polygon, box

from proveout.curve import is_circle, polygon
from proveout.draft import laid_out
from proveout.finding import InputError
from proveout.job.read import read_job
from proveout.job.records import Job, KnobWanted, StopWanted
from proveout.job.starter import NAMES, starter_files, write_starter
from proveout.parts.part import PlacedPart, lies
from proveout.reckon import Reckoned, reckon

EXAMPLES = Path(__file__).parent.parent / "examples"
INCH = Fraction(254, 10)


@pytest.fixture(scope="module", params=["clamp-kit", "inch-knobs", "starter"])
def job(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Job:
    """Each of the jobs that come with the project."""
    if request.param == "starter":
        return read_job(write_starter(tmp_path_factory.mktemp("new"))[-1])
    return read_job(EXAMPLES / request.param / "job.toml")


@pytest.fixture(scope="module")
def reckoned(job: Job) -> Reckoned:
    """The job's parts and clamps, sized."""
    return reckon(job)


@pytest.fixture(scope="module")
def placed(job: Job, reckoned: Reckoned) -> tuple[PlacedPart, ...]:
    """The job's parts on its sheet."""
    return laid_out(job, reckoned.shaped, reckoned.held)


def outlines(placed: tuple[PlacedPart, ...]) -> list[Polygon]:
    """The parts from above, where they lie on the sheet."""
    return [polygon([lies(one).outline]) for one in placed]


def test_all_parts_lie_on_the_sheet(job: Job, placed: tuple[PlacedPart, ...]) -> None:
    """Every copy that is asked for has its place, within the margin that is kept clear along the edges."""
    assert len(placed) == sum(wanted.count for wanted in job.wanted)
    room = box(0, 0, *job.stock.size).buffer(-job.stock.edge_margin, join_style="mitre")
    for outline in outlines(placed):
        assert room.buffer(1e-6).contains(outline)


def test_parts_keep_their_distance(job: Job, placed: tuple[PlacedPart, ...]) -> None:
    """Between any two parts there is room for the cutters that cut them out."""
    diameters = {cutter.number: cutter.diameter for cutter in job.shop.cutters}
    for (one, a), (other, b) in combinations(zip(placed, outlines(placed), strict=True), 2):
        assert a.distance(b) > max(diameters[one.part.cutter], diameters[other.part.cutter])


def test_no_part_lies_under_a_clamp(reckoned: Reckoned, placed: tuple[PlacedPart, ...]) -> None:
    """Clamps press on waste, and the outline's cutter doesn't reach their bars."""
    for outline in outlines(placed):
        for clamp in reckoned.held.clamps:
            assert outline.distance(clamp.bar.footprint) > 3


def test_clamps_hold_the_sheet_by_opposite_edges(job: Job, reckoned: Reckoned) -> None:
    """Each nose lies 6 to 30 mm over the sheet from one of two facing edges; bolts stand beside the sheet."""
    sheet = box(0, 0, *job.stock.size)
    plate = box(
        *(-at for at in job.stock.at),
        *(s - a for s, a in zip(job.shop.plate.size, job.stock.at, strict=True)),
    )
    assert {clamp.towards for clamp in job.clamps} == {"left", "right"}
    for clamp in reckoned.held.clamps:
        left, _, right, _ = clamp.pressing.bounds
        assert 6 <= right - left <= 30
        assert left == 0 or right == job.stock.size[0]
        assert all(
            not sheet.intersects(solid.footprint) for solid in clamp.bolt if solid.bottom < job.stock.thinnest
        )
        assert plate.contains(clamp.bar.footprint)


def test_through_cuts_stay_above_the_inserts_and_within_the_plates_allowance(job: Job) -> None:
    """The metal lies deeper than the cutters go, and the plate's face may be marked that deep."""
    assert job.through_allowance < job.shop.plate.inserts.depth_below_face
    assert job.through_allowance <= job.shop.plate.cut_allowance


def test_the_flutes_reach_through_the_thickest_place(job: Job, placed: tuple[PlacedPart, ...]) -> None:
    """Every cutter that cuts a part out has flutes for the sheet and the allowance below it."""
    flutes = {cutter.number: cutter.flute_length for cutter in job.shop.cutters}
    for one in placed:
        assert flutes[one.part.cutter] >= job.stock.thickest + job.through_allowance


def test_the_class_can_cut_its_dowel_holes_with_what_it_has() -> None:
    """The holes for 6 mm dowels are cut by a flat cutter that is no wider than they are, never by the vee."""
    job = read_job(EXAMPLES / "clamp-kit" / "job.toml")
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}
    blocks = [i for i, wanted in enumerate(job.wanted) if isinstance(wanted.pattern, StopWanted)]
    parts = reckon(job).shaped.parts
    assert blocks
    for block in blocks:
        for hole in parts[block][0].features:
            assert cutters[hole.cutter].kind == "flat"
            round_hole = is_circle(hole.curves[0])
            assert round_hole is not None
            assert cutters[hole.cutter].diameter <= round_hole[1] < 6.2


def test_the_metric_kit_holds_low_clamps_over_measured_plywood() -> None:
    """The sheet was measured; its readings differ by less than 0.3 mm, as birch plywood's do (practice)."""
    stock = read_job(EXAMPLES / "clamp-kit" / "job.toml").stock
    assert stock.measured
    assert len(stock.readings) >= 4
    assert 0 < stock.thickest - stock.thinnest < 0.3


@pytest.mark.parametrize("name", NAMES)
def test_the_inch_example_speaks_inches_only(name: str) -> None:
    """Nowhere in the inch shop's files is there a millimetre."""
    text = (EXAMPLES / "inch-knobs" / name).read_text()
    assert not re.search(r"\bmm\b|\bm/min\b|\bN\b", text)
    assert 'units = "in"' in text


def test_inch_fractions_are_exact() -> None:
    """A fraction of an inch is that fraction of 25.4 mm, to the last digit that a double has."""
    job = read_job(EXAMPLES / "inch-knobs" / "job.toml")
    knob = job.wanted[0].pattern
    assert isinstance(knob, KnobWanted)
    assert knob.diameter == float(Fraction(3, 2) * INCH)
    assert knob.scallop_depth == float(Fraction(3, 32) * INCH)
    assert knob.hardware.height == float(Fraction(5, 32) * INCH)
    assert job.stock.size == (float(9 * INCH), float(Fraction(13, 2) * INCH))
    assert job.through_allowance == float(INCH / 64)
    assert job.shop.plate.inserts.depth_below_face == float(INCH / 16)
    assert [cutter.diameter for cutter in job.shop.cutters] == [
        float(INCH / 8),
        float(INCH / 4),
        float(INCH * Fraction(3, 16)),
    ]
    assert job.shop.machine.max_feed[0] == pytest.approx(150 * 25.4 / 60, rel=1e-15)


def test_the_starter_comes_as_it_is_shown(tmp_path: Path) -> None:
    """A new folder is made, with its parents, and holds both texts byte for byte; the job is named last."""
    written = write_starter(tmp_path / "a" / "b")
    assert [path.name for path in written] == ["shop.toml", "job.toml"]
    for path in written:
        assert path.read_bytes() == starter_files()[path.name].encode()


@pytest.mark.parametrize("name", NAMES)
def test_the_starter_overwrites_nothing_and_leaves_nothing_half(tmp_path: Path, name: str) -> None:
    """Where one of the files is there already, both it and the folder stay as they were."""
    mine = tmp_path / name
    mine.write_text("mine")
    with pytest.raises(
        InputError, match=r"This is there already, and is not overwritten\. Name another folder\."
    ):
        write_starter(tmp_path)
    assert mine.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [mine]


def test_the_starter_says_what_is_wrong_with_a_folder(tmp_path: Path) -> None:
    """A file in the folder's place, a folder below a file, a name too long: told, each with its place."""
    (tmp_path / "file").write_text("")
    for folder, said in (
        (tmp_path / "file", "This is not a folder. Name another one."),
        (tmp_path / "file" / "below", "The starter files can't be written here: Not a directory."),
        (tmp_path / ("n" * 300), "The starter files can't be written here: File name too long."),
        (tmp_path / "a\0b", "The starter files can't be written here: embedded null byte."),
    ):
        with pytest.raises(InputError) as error:
            write_starter(folder)
        assert error.value.text == said
        assert error.value.place is not None
        assert error.value.place.file == folder


def test_a_link_that_leads_nowhere_is_in_the_way_too(tmp_path: Path) -> None:
    """The starter is not written through a link to somewhere else."""
    (tmp_path / "job.toml").symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(InputError, match="not overwritten"):
        write_starter(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]


def test_a_full_disk_leaves_no_half_starter(tmp_path: Path) -> None:
    """Where the second file can't be written whole, the first is taken away again."""
    resource = pytest.importorskip("resource", reason="this system can't bound a file's size")
    room = max(len(text) for text in starter_files().values()) - 1
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, hard))
    try:
        with pytest.raises(InputError, match=r"can't be written here: File too large\."):
            write_starter(tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert not list(tmp_path.iterdir())
