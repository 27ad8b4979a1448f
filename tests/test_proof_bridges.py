"""Pieces that hang by bridges: what the bridges stand, and cuts that ask more of them."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from proof_bench import CUTTER, clamp, setup
from proveout.finding import Finding, Level
from proveout.hold.slip import slip_force
from proveout.program.text import Program
from proveout.proof import bridges as bridges_module
from proveout.proof.bridges import hanging_pieces
from proveout.proof.loads import DULL
from proveout.proof.prove import prove
from proveout.setup import Setup
from proveout.shelf.tables import material

SHEAR = material("birch plywood").planar_shear / 1.5
CLAMPS = (clamp("A1", box(0, 0, 8, 60), 12, 24), clamp("C1", box(92, 0, 100, 60), 12, 24))
BENCH = setup((100.0, 60.0, 12.0), clamps=CLAMPS, cutters=(replace(CUTTER, flute_length=20.0),))


def square(waists: tuple[float, float], height: float, depth: float = 2.0, feed: float = 1200.0) -> str:
    """A square of 30 mm cut round with a 3 mm cutter, with a bridge in its front and in its back side."""
    lines = ["G21 G90 G17 G94", "M3 S18000", "G4 P3", "G0 Z30", "G0 X33.5 Y13.5"]
    z = 12.0
    while z > -0.3:
        z = max(z - depth, -0.3)
        lines += [f"G1 Z{z:.3f} F200"]
        lines += _side(33.5, 66.5, 13.5, z, waists[0], height, feed)
        lines += [f"G1 X66.5 Y46.5 F{feed}"]
        lines += _side(66.5, 33.5, 46.5, z, waists[1], height, feed)
        lines += [f"G1 X33.5 Y13.5 F{feed}"]
    return "\n".join([*lines, "G0 Z30", "M5", "M30", ""])


def _side(
    first: float, last: float, y: float, z: float, waist: float, height: float, feed: float
) -> list[str]:
    if z >= height or waist == 0:
        return [f"G1 X{last} Y{y} F{feed}"]
    half = (waist + 3.0) / 2 * (1 if last > first else -1)
    return [
        f"G1 X{50 - half} Y{y} F{feed}",
        f"G1 Z{height} F200",
        f"G1 X{50 + half} F{feed}",
        f"G1 Z{z:.3f} F200",
        f"G1 X{last} F{feed}",
    ]


def proved(text: str, bench: Setup = BENCH) -> tuple[list[Finding], float, int]:
    """What is found, and of the one hanging piece what its bridges stand and how many there are."""
    program = Program(file="square.nc", text=text, cutters=(1,), dialect="plain", units="mm")
    verdict = prove([program], bench, cell=0.2)
    assert verdict.loads is not None
    hanging = list(hanging_pieces(bench, verdict.loads))
    assert len(hanging) == 1
    return list(verdict.findings), float(hanging[0].necks.friction.sum()), hanging[0].bridges


@pytest.mark.parametrize(("waists", "height"), [((6.0, 6.0), 3.0), ((8.0, 5.0), 2.0), ((4.0, 9.0), 2.4)])
def test_a_neck_is_the_waist_that_was_programmed(waists: tuple[float, float], height: float) -> None:
    """A cutter that stays up for waist + D leaves the waist; shear is tau w h / 1.5 (statics)."""
    _, stands, bridges = proved(square(waists, height))
    assert bridges == 2
    assert stands == pytest.approx(SHEAR * sum(waists) * height, rel=0.08)


def test_an_onion_skin_counts_as_one_bridge_all_round() -> None:
    """0.5 mm left under the whole outline: the neck runs round the piece, 4 x 30 mm and its corners."""
    text = square((0, 0), 0).replace("Z-0.300", "Z0.500").replace("Z0.000", "Z0.500")
    _, stands, bridges = proved(text)
    assert bridges == 1
    assert stands == pytest.approx(SHEAR * 0.5 * 4 * 30, rel=0.12)


def test_bridges_that_stand_the_cut_are_silent() -> None:
    """Two of 8 by 3 mm, passes of 2 mm."""
    findings, _, _ = proved(square((8.0, 8.0), 3.0))
    assert [one.kind for one in findings if one.kind == "tab-weak"] == []


def test_thin_bridges_are_told_with_the_line_and_what_would_do() -> None:
    """Two of 2 by 0.8 mm stand about a twentieth of that; made as much wider as the remedy says, they do."""
    findings, _, _ = proved(square((2.0, 2.0), 0.8))
    weak = [one for one in findings if one.kind == "tab-weak"]
    assert len(weak) == 1 and weak[0].program == "square.nc" and weak[0].line
    times = float(weak[0].remedy.split("bridges ")[1].split(" ")[0])
    wider, _, _ = proved(square((2.0 * times * 1.05, 2.0 * times * 1.05), 0.8))
    assert [one for one in wider if one.kind == "tab-weak"] == []


def test_a_piece_on_one_bridge_turns_about_it() -> None:
    """One bridge of 6 by 3 mm: far from it the piece is held by no more than the neck's own breadth."""
    both = [one.kind for one in proved(square((6.0, 6.0), 3.0))[0]]
    alone = [one for one in proved(square((6.0, 0), 3.0))[0] if one.kind == "tab-weak"]
    assert "tab-weak" not in both
    assert len(alone) == 1


def test_a_piece_that_can_turn_is_given_more_bridges_not_wider_ones() -> None:
    """One bridge of 0.5 mm lets the piece turn: nobody is told to make it 900 times as wide."""
    (weak,) = (one for one in proved(square((0.5, 0), 3.0))[0] if one.kind == "tab-weak")
    assert weak.remedy.startswith("Leave at least 3 bridges spread all round it")


def bar(waist: float, height: float) -> str:
    """A bar of 300 x 20 mm with two bridges by its left end; its right half is cut in passes half as deep."""
    left, right, front, back = 18.5, 321.5, 18.5, 41.5
    half = (waist + 3.0) / 2
    lines = ["G21 G90 G17 G94", "M3 S18000", "G4 P3", "G0 Z30", f"G0 X{left} Y{front}"]

    def side(first: float, last: float, y: float, z: float) -> list[str]:
        if z >= height:
            return [f"G1 X{last} Y{y} F1200"]
        step = half if last > first else -half
        over = [f"G1 X{35 - step} Y{y} F1200", f"G1 Z{height} F200", f"G1 X{35 + step} F1200"]
        return [*over, f"G1 Z{z} F200", f"G1 X{last} F1200"]

    def ring(z: float) -> list[str]:
        across = [*side(left, right, front, z), f"G1 Y{back} F1200", *side(right, left, back, z)]
        return [f"G1 Z{z} F200", *across, f"G1 Y{front} F1200"]

    between = ["G0 Z30", f"G0 X170 Y{front}", "G0 Z7", "G1 Z3 F200", f"G1 X{right} F1200", f"G1 Y{back}"]
    again = ["G1 X170", "G0 Z30", f"G0 X{left} Y{front}", "G0 Z7"]
    lines += [*ring(9.0), *ring(6.0), *between, *again, *ring(-0.3)]
    return "\n".join([*lines, "G0 Z30", "M5", "M30", ""])


def test_a_light_cut_far_from_the_bridges_counts_by_its_lever() -> None:
    """The hard cuts are beside the bridges, which stand them; a light one at the other end breaks them off.

    All of the cuts are tried here, without any choice among them, and the worst is the one that is told.
    """
    long = (clamp("A1", box(0, 0, 8, 60), 12, 24), clamp("C1", box(332, 0, 340, 60), 12, 24))
    bench = setup((340.0, 60.0, 12.0), clamps=long, cutters=BENCH.cutters)
    program = Program(file="bar.nc", text=bar(14.0, 5.5), cutters=(1,), dialect="plain", units="mm")
    verdict = prove([program], bench, cell=0.2)
    assert verdict.loads is not None
    (hanging,) = hanging_pieces(bench, verdict.loads)
    asked, rows = verdict.loads, hanging.rows
    push = DULL * np.hypot(asked.force[rows], asked.lift[rows])
    middle = (asked.motion.start[rows, :2] + asked.motion.end[rows, :2]) / 2
    margin = slip_force(hanging.necks, middle) / push
    least = int(margin.argmin())
    assert margin[least] < 1 and middle[least, 0] > 300
    assert push[least] < 0.8 * push.max()
    (weak,) = (one for one in verdict.findings if one.kind == "tab-weak")
    assert weak.level is Level.STOP
    assert weak.at is not None and weak.at[0] > 300


def test_few_stretches_at_a_time_find_what_many_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wide cutter is looked at in small batches for its memory; the cuts at the piece are the same."""
    program = Program(
        file="square.nc", text=square((6.0, 6.0), 3.0), cutters=(1,), dialect="plain", units="mm"
    )
    verdict = prove([program], BENCH, cell=0.4)
    assert verdict.loads is not None
    (many,) = hanging_pieces(BENCH, verdict.loads)
    monkeypatch.setattr(bridges_module, "MOST_LOOKED_AT", 300)
    (few,) = hanging_pieces(BENCH, verdict.loads)
    assert len(many.rows) and few.rows.tolist() == many.rows.tolist()
