"""Programs that others wrote, proved as a whole on a bench that suits each, as their index describes them.

A program that its index calls sound gives no stop but for what is said of it below; one that is unsound stops
at the line that its index or its own text is about. The collection stands beside the repository where there
is one; without it nothing is tested here.
"""

import math
import re
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pytest
from shapely import box

from proof_bench import CUTTER, clamp, setup
from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.program.text import Program
from proveout.proof.grouped import flat
from proveout.proof.prove import prove
from proveout.proof.verdict import Verdict
from proveout.setup import Setup

SHARED = Path(__file__).parent.parent.parent / "shared" / "programs"
if not SHARED.exists():
    pytest.skip(f"the collection of programs is not here: {SHARED}", allow_module_level=True)

LONG = replace(CUTTER, flute_length=60.0, stick_out=65.0)


@dataclass(frozen=True, kw_only=True)
class Suits:
    """A bench for one program: the sheet, where the program's zero lies on it, and the cutter."""

    size: tuple[float, float, float]
    zero: tuple[float, float, float]
    cutter: Cutter = CUTTER
    before: str = ""  # the line that a person would add
    into_the_bed: float = 0.3


QUARTER = replace(CUTTER, diameter=6.35, shank_diameter=6.35, flute_length=25.0, stick_out=40.0)
SHEET = (90.0, 60.0, 12.0)
BENCHES = {
    "fw_helix_g17.ngc": Suits(size=(100, 60, 48), zero=(20, 10, 0), cutter=QUARTER),
    "fw_m2_then_code.ngc": Suits(size=SHEET, zero=(40, 0, 12)),
    "fw_modal_conflict.ngc": Suits(size=SHEET, zero=(14, 15, 12), cutter=replace(CUTTER, number=201)),
    "nist_c1_hello.ngc": Suits(size=(120, 40, 12), zero=(20, 15, 12), cutter=replace(CUTTER, kind="ball")),
    "nist_c2_expressions.ngc": Suits(size=(120, 60, 12), zero=(14, 15, 30)),
    "nist_c3_cycles.ngc": Suits(
        size=(340, 340, 60),
        zero=(5, 5, 60),
        cutter=replace(LONG, kind="drill", point_deg=118.0),
        before="G20 G90 G0 X0 Y0 Z0.5",
    ),
    "nist_cds_two_percent.ngc": Suits(size=(120, 120, 50.8), zero=(10, 10, 0)),
    "panel_slot.nc": Suits(size=(280, 110, 6), zero=(10.02, 20.03, 6)),
    # "Aluminium stock is assumed to be 1050 grade, 1.6mm thick", and cut down to -2.6
    "plate_window.nc": Suits(
        size=(90, 50, 1.6),
        zero=(14.02, 15.03, 1.6),
        cutter=replace(CUTTER, diameter=2.0),
        before="G21 G17",
        into_the_bed=1.0,
    ),
    "rotary_subprograms.nc": Suits(size=SHEET, zero=(34, 15, 40)),
    "spoilboard_pocket.nc": Suits(
        size=(90, 60, 12), zero=(14.02, 15.03, 12), cutter=replace(CUTTER, diameter=3.175), before="G21 G17"
    ),
    "sub_pocket.ngc": Suits(size=SHEET, zero=(14, 15, 12)),
}


def bench(suits: Suits) -> Setup:
    """Clamped at both ends, on a machine whose controller takes whatever is standard."""
    width, depth, thick = suits.size
    ends = box(0, 0, 8, depth), box(width - 8, 0, width, depth)
    clamps = [clamp(name, end, thick, thick + 8) for name, end in zip(("A1", "C1"), ends, strict=True)]
    made = setup(suits.size, clamps=clamps, cutters=(suits.cutter,))
    machine = replace(
        made.machine, dialect="full", spindle=replace(made.machine.spindle, min_rpm=1000.0, power=800.0)
    )
    return replace(made, zero=suits.zero, machine=machine, bed_allowance=suits.into_the_bed)


@cache
def proved(name: str) -> Verdict:
    """One program on its bench; its lines keep their numbers, for what is added stands before its first."""
    suits = BENCHES[name]
    text = (SHARED / name).read_bytes().decode("latin-1")
    program = Program(
        file=name,
        text=f"{suits.before}\n{text}" if suits.before else text,
        cutters=(suits.cutter.number,),
        dialect="full",
        units="mm",
    )
    return prove([program], bench(suits), cell=0.1)


def stops(name: str) -> list[Finding]:
    return [one for one in flat(proved(name).findings) if one.level is Level.STOP]


def line_of(name: str, words: str) -> int:
    """The line of the text that was proved on which the words first stand, from 1."""
    text = (SHARED / name).read_bytes().decode("latin-1").splitlines()
    return next(n for n, line in enumerate(text, 1) if words in line) + bool(BENCHES[name].before)


def test_every_program_of_the_collection_has_a_bench() -> None:
    """A program that joins the collection is proved too, or this test says that it isn't."""
    collected = {file.name for file in SHARED.iterdir() if file.suffix != ".csv"}
    assert collected == set(BENCHES)


SOUND = [
    "fw_helix_g17.ngc",
    "nist_c1_hello.ngc",
    "nist_c2_expressions.ngc",
    "panel_slot.nc",
    "spoilboard_pocket.nc",
]


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_program_may_be_cut_on_a_bench_that_suits_it(name: str) -> None:
    """No stop at all; what it takes is told by its own geometry below."""
    assert stops(name) == []
    assert proved(name).ready


def test_what_the_sound_programs_take() -> None:
    """Volumes from the programs' own numbers, by closed forms.

    A slot round 204.6 by 0.1 mm, 2.5 deep, by a cutter of 3. A pocket whose cutter of 3.175 goes round 60.32
    by 26.82, 1.5 deep. Two helical turns of 6.35 radius by a cutter of 6.35, from 47.625 down to 38.1 in a
    sheet of 48: no closed form, but between rings as deep as the helix in the mean and as deep as its end.
    """
    slot = 2.5 * (204.6 * 3.1 + 2 * 0.1 * 1.5 + math.pi * 1.5**2)
    assert proved("panel_slot.nc").removed == pytest.approx(slot, rel=0.01)
    floor = (61.91 - 1.59 + 3.175) * (28.41 - 1.59 + 3.175) - (4 - math.pi) * 1.5875**2
    assert proved("spoilboard_pocket.nc").removed == pytest.approx(1.5 * floor, rel=0.01)
    ring = 2 * 4 * math.pi * 6.35 * 3.175
    assert ring * (48 - (47.625 + 38.1) / 2) < proved("fw_helix_g17.ngc").removed < ring * (48 - 38.1)
    assert proved("nist_c2_expressions.ngc").removed == 0.0


def test_a_window_without_bridges_lets_its_slug_go() -> None:
    """plate_window: the pass that goes through frees what lies inside, and the next one touches it.

    The plate is 1.6 thick; the pass at -1.5 ends with X30.5 and leaves a tenth, which holds nothing. The
    rapid down to -2.0 runs in an earlier kerf, but below the plate, where no kerf is modelled: a stop.
    """
    name = "plate_window.nc"
    found = [(one.kind, one.line) for one in stops(name)]
    lines = (SHARED / name).read_text().splitlines()
    closed = next(
        n for n, line in enumerate(lines, 1) if "Z-1.7500" in line
    )  # the line before, and one added
    assert lines[closed - 2].split() == ["G01", "X30.5000"]
    assert ("piece-loose", closed) in found
    assert [line for kind, line in found if kind == "piece-touched"] == [closed + 1]
    assert {kind for kind, _ in found} == {"piece-loose", "piece-touched", "bed-cut"}
    inside = (51.06 - 12.44 - 2.0) * (18.05 - 10.95 - 2.0)
    (loose,) = (one for one in stops(name) if one.kind == "piece-loose")
    said = re.search(r"of about ([0-9.]+) mm by", loose.text)
    assert said and float(said[1]) ** 2 == pytest.approx(inside, rel=0.03)


UNSOUND = [
    ("fw_m2_then_code.ngc", "A.5", '"A.5"'),
    ("fw_modal_conflict.ngc", "G17 G18", '"G18"'),
    ("rotary_subprograms.nc", "O100 call", '"O100 call'),
    ("sub_pocket.ngc", "sub", '"o<gclib_pocket> sub"'),
]


@pytest.mark.parametrize(("name", "words", "named"), UNSOUND, ids=lambda value: str(value)[:12])
def test_an_unsound_program_stops_at_the_line_that_its_index_names(name: str, words: str, named: str) -> None:
    """One stop, at the line that can't be read, naming the word; and not a chip is cut on the way."""
    (stop,) = stops(name)
    assert (stop.kind, stop.line) == ("program-word", line_of(name, words))
    assert named in stop.text
    assert not proved(name).ready
    assert proved(name).removed == 0.0


def test_nothing_stands_after_the_second_percent() -> None:
    """nist_cds_two_percent: a feed before any unit is the stop; the part behind the % is never cut."""
    name = "nist_cds_two_percent.ngc"
    assert [(one.kind, one.line) for one in stops(name)] == [("units-unstated", line_of(name, "F16.0"))]
    assert ("program-end", line_of(name, "n0090")) in [(f.kind, f.line) for f in flat(proved(name).findings)]
    assert proved(name).removed == 0.0


def test_every_cycle_that_is_not_read_is_a_stop_at_its_line() -> None:
    """nist_c3_cycles: tapping and boring by hand, in three planes, are refused at their own lines."""
    name = "nist_c3_cycles.ngc"
    lines = (SHARED / name).read_text().lower().splitlines()
    refused = {n + 1 for n, line in enumerate(lines, 1) if any(f" g8{k} " in line for k in (4, 6, 7, 8))}
    told = {one.line for one in stops(name) if "not read here" in one.text}
    assert len(refused) >= 15
    assert told == refused
    assert not proved(name).ready
