"""Remedies are true: each spoiled case is set right with the number that its remedy names, and is good again.

The bench and the program are those of cases/good.txt, where heights in the program are heights above the bed;
clamps are moved on the clamp-kit example, whose plate has a grid of holes.
"""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from shapely import box
from shapely.affinity import translate

from proof_bench import Case, read_case
from proveout.finding import Finding, Level
from proveout.proof.prove import prove
from proveout.setup import PlacedClamp, Setup
from test_spoiled import findings, good

NUMBER = r"(-?\d+(?:\.\d+)?)"
Bench = tuple[str, Setup]


@cache
def case() -> Case:
    """A knob with a recess and a hole, three bridges, two clamps; nothing is wrong with it."""
    return read_case(Path(__file__).parent / "cases" / "good.txt")


def found(bench: Bench, kind: str) -> list[Finding]:
    """What of a kind is a stop or a caution."""
    text, setup = bench
    verdict = prove([replace(case().program, text=text)], setup, cell=0.2)
    return [one for one in verdict.findings if one.kind == kind and one.level is not Level.NOTE]


def text() -> str:
    """The good program."""
    return case().program.text


def stated(remedy: str, pattern: str) -> float:
    """The number that a remedy names where the pattern has a #."""
    match = re.search(pattern.replace("#", NUMBER), remedy)
    assert match, f"{pattern!r} is not in {remedy!r}"
    return float(match[1])


def cutter(setup: Setup, **change: object) -> Setup:
    """The bench with its cutter changed."""
    return replace(setup, cutters=(replace(setup.cutters[0], **change),))  # type: ignore[arg-type]  # by name


def heights(program: str, change: Callable[[float], float], word: str = "Z") -> str:
    """The program with every number of a word changed."""
    return re.sub(rf"(?<=\b{word}){NUMBER}", lambda match: f"{change(float(match[1])):.4f}", program)


# --- one row a kind: how it is spoiled, and how its remedy is followed


def low_rapids() -> Bench:
    """A safe height of 16 mm, and a way across a clamp whose top is at 20 mm and whose bolt is at 28 mm."""
    return text().replace("G0 Z30\n", "G0 Z16\nG0 X-10 Y20\n", 1).replace("G0 Z30", "G0 Z16"), case().bench


def raised(bench: Bench, remedy: str) -> Bench:
    """Rapids across at the height named."""
    safe = stated(remedy, "safe height to at least # mm above the bed")
    return bench[0].replace("G0 Z16", f"G0 Z{safe}"), bench[1]


def thick() -> Bench:
    """A sheet of 14 mm where 12 was stated."""
    setup = case().bench
    stock = replace(setup.stock, thickest=14.0)
    lifted = tuple(replace(one, bar=replace(one.bar, bottom=14.0, top=22.0)) for one in setup.clamps)
    return text(), replace(setup, stock=stock, clamps=lifted)


def rapids_ended_higher(bench: Bench, remedy: str) -> Bench:
    """Rapids down only as far as said, and a feed from there."""
    low = stated(remedy, "no lower than # mm above the bed")
    down = re.sub(
        rf"G0 Z{NUMBER}",
        lambda match: match[0] if float(match[1]) >= low else f"G0 Z{low}\nG1 Z{match[1]} F300",
        bench[0],
    )
    return down, bench[1]


def short_flutes() -> Bench:
    """Flutes of 1.5 mm for passes of 2 mm."""
    return text(), cutter(case().bench, flute_length=1.5)


def with_flutes(bench: Bench, remedy: str) -> Bench:
    """A cutter with the flutes named."""
    return bench[0], cutter(bench[1], flute_length=stated(remedy, "at least # mm of flute"))


def thick_shank() -> Bench:
    """A shank of 6 mm above flutes of 3 mm."""
    return text(), cutter(case().bench, flute_length=3.0, shank_diameter=6.0)


def short_stick_out() -> Bench:
    """A collet nut 10 mm above the tip, for a cut of 12 mm."""
    return text(), cutter(case().bench, flute_length=9.9, stick_out=10.0)


def more_stick_out(bench: Bench, remedy: str) -> Bench:
    """The stick-out made longer by what is named."""
    before = bench[1].cutters[0].stick_out
    return bench[0], cutter(bench[1], stick_out=before + stated(remedy, "# mm more stick-out"))


def deep_in_the_bed() -> Bench:
    """Through cuts 0.9 mm into a bed that may be cut 0.3 mm."""
    return text().replace("Z-0.2", "Z-0.9"), case().bench


def raised_cut(bench: Bench, remedy: str) -> Bench:
    """Through cuts raised by what is named."""
    by = stated(remedy, "Raise the cut by at least # mm")
    return heights(bench[0], lambda z: z + by if z < 0 else z), bench[1]


def short_travel() -> Bench:
    """A gantry that ends 20 mm before the sheet's right edge."""
    setup = case().bench
    high = (35.0, *setup.reach.high[1:])
    return text(), replace(setup, reach=replace(setup.reach, high=high))


def work_moved(bench: Bench, remedy: str) -> Bench:
    """All the work moved to the left: the travel's box moves to the right in the work's frame."""
    by = stated(remedy, "at least # mm to the left")
    reach = bench[1].reach
    low, high = ((x + by, y, z) for x, y, z in (reach.low, reach.high))
    return bench[0], replace(bench[1], reach=replace(reach, low=low, high=high))


def low_ceiling() -> Bench:
    """A tip that reaches no higher than 25 mm, where the program goes to 30."""
    setup = case().bench
    return text(), replace(setup, reach=replace(setup.reach, high=(*setup.reach.high[:2], 25.0)))


def lowered(bench: Bench, remedy: str) -> Bench:
    """The way across lower by what is named."""
    return bench[0].replace("G0 Z30", f"G0 Z{30 - stated(remedy, 'Lower the move by # mm')}"), bench[1]


def fast() -> Bench:
    """Feeds of 6000 mm/min across and 3000 mm/min down, where the machine can do 4000 and 1500."""
    return text().replace("F1200", "F6000").replace("F300", "F3000"), case().bench


def slower(bench: Bench, remedy: str) -> Bench:
    """Feeds no faster than named, across or up and down, whichever it is."""
    most = stated(remedy, "at most # mm/min")
    if "across" in remedy:
        return bench[0].replace("F6000", f"F{most:g}"), bench[1]
    return re.sub(r"^(G1 Z\S+)( F\d+)?$", rf"\1 F{most:g}", bench[0], flags=re.M), bench[1]


def slow_spindle() -> Bench:
    """A spindle asked for 3000 rpm that turns at 8000 at least."""
    return text().replace("S18000", "S3000"), case().bench


def speeded(bench: Bench, remedy: str) -> Bench:
    """The speed named."""
    return bench[0].replace("S3000", f"S{stated(remedy, 'at least # rpm'):g}"), bench[1]


def never_started() -> Bench:
    """A program that never starts its spindle."""
    return text().replace("M3 S18000\nG4 P3\n", ""), case().bench


def started(bench: Bench, remedy: str) -> Bench:
    """The start and the wait, as named, in the place of the old ones."""
    speed, wait = stated(remedy, "M3 with S from #"), stated(remedy, "G4 P#")
    assert wait == bench[1].machine.spindle.spin_up
    return bench[0].replace("(recess)\n", f"M3 S{speed:g}\nG4 P{wait:g}\n", 1), bench[1]


def not_waited() -> Bench:
    """A cut that follows the spindle's start at once."""
    return text().replace("G4 P3\n", "").replace("M3 S18000\n", "").replace(
        "G0 Z13\n", "G0 Z13\nM3 S18000\n", 1
    ), case().bench


def waited(bench: Bench, remedy: str) -> Bench:
    """The wait as named, after the start."""
    return bench[0].replace("M3 S18000\n", f"M3 S18000\nG4 P{stated(remedy, 'G4 P#')}\n"), bench[1]


def unsaid() -> Bench:
    """A first way across before any height."""
    return text().replace("G0 Z30\n", "G0 X10 Y10\nG0 Z30\n", 1), case().bench


def said_first(bench: Bench, remedy: str) -> Bench:
    """The height as named, on a line of its own."""
    return bench[0].replace("G0 X10 Y10\n", f"G0 Z{stated(remedy, 'G0 Z#')}\nG0 X10 Y10\n"), bench[1]


def thick_chips() -> Bench:
    """Three millimetres a turn."""
    return text().replace("F1200", "F3900").replace("S18000", "S9000"), case().bench


def thinner_chips(bench: Bench, remedy: str) -> Bench:
    """The feed as named."""
    return bench[0].replace("F3900", f"F{stated(remedy, 'no more than # mm/min'):g}"), bench[1]


def thin_chips() -> Bench:
    """Feeds of 100 mm/min at 18,000 rpm."""
    return text().replace("F1200", "F100").replace("F600", "F100"), case().bench


def thicker_chips(bench: Bench, remedy: str) -> Bench:
    """The feed as named."""
    return bench[0].replace("F100", f"F{stated(remedy, 'about # mm/min'):g}"), bench[1]


def fast_plunge() -> Bench:
    """Straight down at 1400 mm/min."""
    return text().replace("F300", "F1400"), case().bench


def slower_plunge(bench: Bench, remedy: str) -> Bench:
    """The feed down as named."""
    return bench[0].replace("F1400", f"F{stated(remedy, 'no more than # mm/min'):g}"), bench[1]


def deep_recess() -> Bench:
    """A recess 1.5 mm below its floor of 7 mm."""
    return text().replace("Z7 I-1", "Z5.5 I-1"), case().bench


def higher_recess(bench: Bench, remedy: str) -> Bench:
    """The floor as much higher as named."""
    return bench[0].replace("Z5.5 I-1", f"Z{5.5 + stated(remedy, 'tip # mm higher')} I-1"), bench[1]


def wide() -> Bench:
    """A cutter of 3.6 mm for paths of a 3 mm one."""
    return text(), cutter(case().bench, diameter=3.6, shank_diameter=3.6)


def further_off(bench: Bench, remedy: str) -> Bench:
    """A path further from the wall is a cutter that much slimmer on the same path."""
    by = stated(remedy, "path # mm further")
    return bench[0], cutter(bench[1], diameter=3.6 - 2 * by)


def thin() -> Bench:
    """A cutter of 2.6 mm for paths of a 3 mm one."""
    return text(), cutter(case().bench, diameter=2.6)


def closer(bench: Bench, remedy: str) -> Bench:
    """A path closer to the wall is a cutter that much wider on the same path."""
    return bench[0], cutter(bench[1], diameter=2.6 + 2 * stated(remedy, "Cut # mm closer"))


def shallow() -> Bench:
    """A zero 0.8 mm too high: nothing is cut deep enough."""
    return text(), replace(case().bench, zero=(0.0, 0.0, 0.8))


def deeper(bench: Bench, remedy: str) -> Bench:
    """Everything deeper by what is named."""
    by = stated(remedy, "Cut # mm deeper")
    return heights(bench[0], lambda z: z - by), bench[1]


def tabs_gone() -> Bench:
    """An outline that goes down over its bridges as well."""
    before, after = text().split("G1 Z-0.2 F300", 1)
    return f"{before}G1 Z-0.2 F300{after.replace('G1 Z3', 'G1 Z-0.2')}", case().bench


def tabs_gone_and_touched() -> Bench:
    """The same, and a cut into the part that is loose by then."""
    program, setup = tabs_gone()
    return program.replace("M5", "G0 X30 Y27\nG1 Z11 F300\nG0 Z30\nM5"), setup


def tabs_left(bench: Bench, remedy: str) -> Bench:
    """The bridges as named: three of them, and so high."""
    assert "its 3 bridges" in remedy
    high = stated(remedy, "bridges standing, # mm high")
    before, after = bench[0].split("G1 Z-0.2 F300", 1)
    return f"{before}G1 Z-0.2 F300{re.sub(r'G1 Z-0.2$', f'G1 Z{high}', after, flags=re.M)}", bench[1]


def no_clamps() -> Bench:
    """Nothing that holds the blank."""
    return text(), replace(case().bench, clamps=())


def clamps_set(bench: Bench, remedy: str) -> Bench:
    """As many clamps as named."""
    count = int(stated(remedy, "at least # clamps"))
    return bench[0], replace(bench[1], clamps=case().bench.clamps[:count])


def another_cutter() -> Bench:
    """A program for cutter 7."""
    return text().replace("M3 S18000", "T7 M6\nM3 S18000"), case().bench


def one_on_hand(bench: Bench, remedy: str) -> Bench:
    """The cutter that is named as on hand."""
    return bench[0].replace("T7", f"T{stated(remedy, 'on hand: #'):g}"), bench[1]


def blunt() -> Bench:
    """A cutter that doesn't cut at its centre, sent straight down."""
    return text(), cutter(case().bench, centre_cutting=False)


def centre_cutting(bench: Bench, remedy: str) -> Bench:
    """The other cutter that is named."""
    assert "a centre-cutting cutter" in remedy
    return bench[0], cutter(bench[1], centre_cutting=True)


def metal_near() -> Bench:
    """An insert flush with the bed's face under the hole."""
    setup = case().bench
    insert = setup.inserts[0]
    x, y = 30 - insert.footprint.centroid.x, 20 - insert.footprint.centroid.y
    under = replace(insert, footprint=translate(insert.footprint, x, y), top=0.0)
    return text(), replace(setup, inserts=(under,))


def less_deep(bench: Bench, remedy: str) -> Bench:
    """Through cuts less deep by what is named."""
    by = stated(remedy, "at least # mm less deep")
    return heights(bench[0], lambda z: z + by if z < 0 else z), bench[1]


ROWS: dict[str, tuple[str, Callable[[], Bench], Callable[[Bench, str], Bench]]] = {
    "low safe height at the clamp": ("clamp-struck", low_rapids, raised),
    "low safe height at the bolt": ("bolt-struck", low_rapids, raised),
    "insert in the way": ("insert-struck", metal_near, less_deep),
    "sheet thicker than stated": ("rapid-hits-material", thick, rapids_ended_higher),
    "flutes too short": ("beyond-flutes", short_flutes, with_flutes),
    "shank too thick": ("shank-rubs", thick_shank, with_flutes),
    "nut too low": ("shank-rubs", short_stick_out, more_stick_out),
    "too deep in the bed": ("bed-cut", deep_in_the_bed, raised_cut),
    "travel too short": ("beyond-travel", short_travel, work_moved),
    "travel too low": ("beyond-travel", low_ceiling, lowered),
    "feed too fast": ("feed-too-fast", fast, slower),
    "spindle too slow": ("speed-out-of-range", slow_spindle, speeded),
    "spindle not started": ("spindle-off", never_started, started),
    "spindle not waited for": ("spindle-not-up", not_waited, waited),
    "height unsaid": ("height-unsaid", unsaid, said_first),
    "chips too thick": ("chip-too-thick", thick_chips, thinner_chips),
    "chips too thin": ("chip-too-thin", thin_chips, thicker_chips),
    "plunge too fast": ("plunge-too-fast", fast_plunge, slower_plunge),
    "recess too deep": ("cut-too-deep", deep_recess, higher_recess),
    "cutter too wide": ("wall-overcut", wide, further_off),
    "cutter too thin": ("wall-undercut", thin, closer),
    "wall not deep enough": ("wall-undercut", shallow, deeper),
    "floor not deep enough": ("material-left", shallow, deeper),
    "part loose": ("piece-loose", tabs_gone, tabs_left),
    "part touched": ("piece-touched", tabs_gone_and_touched, tabs_left),
    "no clamps": ("blank-not-held", no_clamps, clamps_set),
    "cutter unknown": ("cutter-unknown", another_cutter, one_on_hand),
    "cutter that can't plunge": ("plunge-not-centre-cutting", blunt, centre_cutting),
}


@pytest.mark.parametrize("row", ROWS)
def test_a_remedy_that_is_followed_removes_its_finding(row: str) -> None:
    """Spoiled, the case has the finding; with each of its remedies followed to the letter, it has none."""
    kind, spoil, follow = ROWS[row]
    bench = spoil()
    told = found(bench, kind)
    assert told
    for finding in told:
        bench = follow(bench, finding.remedy)
    assert found(bench, kind) == []


def test_the_good_case_has_nothing_to_remedy() -> None:
    """What the rows spoil is good to begin with."""
    for kind, _, _ in ROWS.values():
        assert found((text(), case().bench), kind) == []


# --- clamps, on a plate with a grid


def at_hole(clamp: PlacedClamp, hole: str) -> PlacedClamp:
    """The clamp with its bolt in another hole of the example's plate."""
    there = next(one for one in good().setup.holes if one.name == hole)
    axis = clamp.bolt[0].footprint.centroid
    x, y = there.x - axis.x, there.y - axis.y
    solids = (clamp.bar, *clamp.bolt)
    bar, *bolt = (replace(one, footprint=translate(one.footprint, x, y)) for one in solids)
    return replace(clamp, hole=hole, bar=bar, bolt=tuple(bolt), pressing=translate(clamp.pressing, x, y))


@pytest.mark.parametrize(("clamp", "wrong"), [(0, "D5"), (1, "E10"), (2, "O5"), (3, "P10"), (3, "P9")])
def test_a_clamp_moved_to_the_hole_that_is_named_is_struck_no_more(clamp: int, wrong: str) -> None:
    """Each clamp of the example set further in is struck; the hole named instead clears it of everything."""
    setup = good().setup
    clamps = list(setup.clamps)
    clamps[clamp] = at_hole(clamps[clamp], wrong)
    told = [
        one
        for one in findings(good().programs, replace(setup, clamps=tuple(clamps)))
        if one.kind in ("clamp-struck", "bolt-struck")
    ]
    assert told
    holes = {match[1] for one in told if (match := re.search(rf"from {wrong} to (\w+)", one.remedy))}
    assert len(holes) == 1
    clamps[clamp] = at_hole(clamps[clamp], holes.pop())
    assert findings(good().programs, replace(setup, clamps=tuple(clamps))) == []


def test_the_hole_that_is_named_is_the_nearest_that_clears() -> None:
    """Every free hole that is nearer is struck, or puts the bolt through the sheet, or the nose off it."""
    setup = good().setup
    spoiled = at_hole(setup.clamps[0], "D5")
    bench = replace(setup, clamps=(spoiled, *setup.clamps[1:]))
    (remedy,) = {one.remedy for one in findings(good().programs, bench) if one.kind == "clamp-struck"}
    named = re.search(r"to (\w+)", remedy)
    assert named
    holes = {one.name: (one.x, one.y) for one in setup.holes}
    far = {name: math.dist(xy, holes["D5"]) for name, xy in holes.items()}
    for name, away in far.items():
        if away < far[named[1]] - 1e-6 and name not in {one.hole for one in bench.clamps}:
            clamp = at_hole(setup.clamps[0], name)
            on_stock = box(0, 0, *setup.stock.size)
            unfit = clamp.bolt[0].footprint.intersects(on_stock) or not clamp.bar.footprint.intersects(
                on_stock
            )
            struck = replace(setup, clamps=(clamp, *setup.clamps[1:]))
            assert unfit or findings(good().programs, struck), name


def test_where_no_hole_clears_a_clamp_it_is_said_so() -> None:
    """With one hole only, nothing is promised that wasn't tried."""
    setup = good().setup
    spoiled = at_hole(setup.clamps[0], "D5")
    bench = replace(setup, clamps=(spoiled, *setup.clamps[1:]), holes=setup.holes[:1])
    told = [one for one in findings(good().programs, bench) if one.kind == "clamp-struck"]
    assert told
    assert all("no other hole of the plate clears it" in one.remedy for one in told)
    assert all(re.search(r"\d+(\.\d+)? mm in the way", one.remedy) for one in told)
