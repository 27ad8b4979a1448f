"""What happens between cutter and material: found just beyond the threshold, silent just within."""

import math
from collections.abc import Callable, Iterable
from dataclasses import replace

import pytest
from shapely import Polygon, box

from proof_bench import CUTTER, builder, clamp, disc, hole, part, recess, setup, trial
from proveout.finding import Finding, Level
from proveout.motion import Motion, MotionBuilder
from proveout.proof.allowed import allowed_heights
from proveout.proof.loose import SKIN, blank_not_held, loose_pieces
from proveout.proof.material import (
    cuts_too_deep,
    drills_sideways,
    material_left,
    rapids_in_material,
    spindle_off,
    steep_plunges,
)
from proveout.proof.removal import Removal, fresh_field, remove
from proveout.proof.shank import beyond_flutes, shank_rubs
from proveout.proof.trial import Trial, judged
from proveout.setup import Setup, Tab

CELL = 0.2


def run_on(
    bench: Setup, check: Callable[[Trial, Removal], Iterable[Finding]], motion: Motion
) -> list[Finding]:
    """What one check says of a motion on a bench."""
    field = fresh_field(bench.stock.size, bench.stock.thickest, cell=CELL, margin=4.0)
    allowed = allowed_heights(bench, field)
    removal = remove(field, motion, judged(bench.cutters), allowed=allowed, through_level=SKIN)
    return list(check(trial(bench, motion), removal))


def slot(z: float, moves: MotionBuilder | None = None) -> Motion:
    """A slot across the middle of the sheet, entered and left outside it."""
    moves = builder((-5, 20, z)) if moves is None else moves
    moves.line = 6
    moves.line_to((65, 20, z))
    return moves.motion()


def test_a_rapid_through_standing_material_is_found_and_one_over_it_is_not() -> None:
    """A rapid 0.1 mm below the stock's top hits material; along a slot already cut it does not."""
    for z, count in ((12.0, 0), (11.9, 1)):
        moves = builder((-5, 20, z))
        moves.line = 3
        moves.rapid((65, 20, z))
        findings = run_on(setup(), rapids_in_material, moves.motion())
        assert len(findings) == count
    assert findings[0].text == "Line 3: a rapid runs into material that stands 0.1 mm above the cutter's tip."
    moves = builder((-5, 20, 9.0))
    moves.line_to((65, 20, 9.0))
    moves.rapid((-5, 20, 9.0))
    assert run_on(setup(), rapids_in_material, moves.motion()) == []


@pytest.mark.parametrize(("z", "seen"), [(11.9, 0.1), (9.0, 3.0)])
def test_a_rapid_of_a_bull_nose_in_material_is_found(z: float, seen: float) -> None:
    """Its flat meets material at the tip, its edge above the corner; in its own slot it meets none."""
    bull = replace(CUTTER, kind="bull nose", corner_radius=0.5)
    moves = builder((-5, 20, z))
    moves.rapid((65, 20, z))
    (finding,) = run_on(setup(cutters=[bull]), rapids_in_material, moves.motion())
    assert f"stands {seen:g} mm above the cutter's tip" in finding.text
    moves = builder((-5, 20, z))
    moves.line_to((65, 20, z))
    moves.rapid((-5, 20.001, z))
    assert run_on(setup(cutters=[bull]), rapids_in_material, moves.motion()) == []


def test_a_bull_nose_that_slices_a_wall_with_its_edge_alone_is_found() -> None:
    """A rapid 0.2 mm beside its slot, less than the corner's 0.5 mm, meets the wall above the corner."""
    bull = replace(CUTTER, kind="bull nose", corner_radius=0.5)
    moves = builder((-5, 20, 9.0))
    moves.line_to((65, 20, 9.0))
    moves.line_to((65, 20.25, 9.0))
    moves.rapid((-5, 20.25, 9.0))
    (finding,) = run_on(setup(cutters=[bull]), rapids_in_material, moves.motion())
    assert "stands 3 mm above the cutter's tip" in finding.text


def rounds(depths: list[float]) -> Motion:
    """Rounds of 11 mm radius at several heights, each a thousandth of a millimetre aside."""
    moves = builder((41, 20, 14))
    for count, z in enumerate(depths):
        aside = 0.001 * math.cos(count), 0.001 * math.sin(count)
        moves.line = count + 1
        moves.line_to((41 + aside[0], 20 + aside[1], z))
        moves.arc_to((*moves.at[:2], z), (30 + aside[0], 20 + aside[1]), math.tau)
    return moves.motion()


def test_rounding_in_a_kerf_is_no_deep_cut() -> None:
    """Behind a slender shank, rounds 2 mm deeper each time need no more than 2.5 mm of flutes."""
    bench = setup(cutters=[replace(CUTTER, flute_length=2.5, shank_diameter=2.5)])
    assert run_on(bench, beyond_flutes, rounds([10, 8, 6, 4, 2])) == []
    assert len(run_on(bench, beyond_flutes, rounds([10, 8, 5, 4, 2]))) == 1


def test_a_rapid_that_only_shaves_its_own_kerf_is_no_hit() -> None:
    """A rapid a thousandth of a millimetre off the cut that it follows back hits nothing."""
    moves = builder((-5, 20, 8))
    moves.line_to((65, 20, 8))
    moves.line = 3
    moves.rapid((-5, 20.001, 8))
    assert run_on(setup(), rapids_in_material, moves.motion()) == []
    moves.rapid((65, 20.5, 8))
    assert [one.line for one in run_on(setup(), rapids_in_material, moves.motion())] == [3]


def test_cutting_with_the_spindle_off_is_found() -> None:
    """A slot with a standing spindle is a stop; the same path above the stock is not."""
    for z, count in ((9.0, 1), (12.5, 0)):
        moves = builder((-5, 20, z))
        moves.speed_rpm = 0.0
        findings = run_on(setup(), spindle_off, slot(z, moves))
        assert len(findings) == count
    assert run_on(setup(), spindle_off, slot(9.0)) == []


@pytest.mark.parametrize(("flutes", "count"), [(4.0, 0), (3.9, 1)])
def test_flutes_must_be_as_long_as_the_cut_is_deep(flutes: float, count: int) -> None:
    """A 4 mm deep slot asks for 4 mm of flutes."""
    bench = setup(cutters=[replace(CUTTER, flute_length=flutes)])
    findings = run_on(bench, beyond_flutes, slot(8.0))
    assert [finding.line for finding in findings] == [6] * count
    assert all("the cut is 4 mm deep, but the flutes" in finding.text for finding in findings)


@pytest.mark.parametrize(("shank", "count"), [(2.5, 0), (3.0, 1)])
def test_a_slot_cut_deeper_in_steps_needs_long_flutes_or_a_slender_shank(shank: float, count: int) -> None:
    """Flutes of 4 mm make an 8 mm deep slot in two passes only where the shank clears the kerf's walls."""
    bench = setup(cutters=[replace(CUTTER, flute_length=4.0, shank_diameter=shank)])
    moves = builder((-5, 20, 8.0))
    moves.line_to((65, 20, 8.0))
    moves.line_to((65, 20, 4.0))
    moves.line = 3
    moves.line_to((-5, 20, 4.0))
    found = run_on(bench, beyond_flutes, moves.motion())
    assert len(found) == count
    assert all("the cut is 8 mm deep" in one.text for one in found)


@pytest.mark.parametrize(("run", "count"), [(4.0, 0), (3.0, 1)])
def test_a_cutter_with_a_dead_centre_ramps_at_thirty_degrees_at_most(run: float, count: int) -> None:
    """2 mm down over 4 mm (26.6 degrees) is a ramp, over 3 mm (33.7 degrees) a plunge."""
    bench = setup(cutters=[replace(CUTTER, centre_cutting=False)])
    moves = builder((20, 20, 12.0))
    moves.line_to((20 + run, 20, 10.0))
    assert len(run_on(bench, steep_plunges, moves.motion())) == count
    assert run_on(setup(), steep_plunges, moves.motion()) == []


def test_a_drill_goes_straight_down_and_not_aside() -> None:
    """A slot cut with a drill is a stop, a hole drilled with it is not, nor a slot with a milling cutter."""
    bench = setup(cutters=[replace(CUTTER, kind="drill", point_deg=118.0)])
    moves = builder((20, 20, 13.0))
    moves.line_to((20, 20, 6.0))
    moves.line_to((20, 20, 13.0))
    moves.line_to((30, 20, 13.0))
    assert run_on(bench, drills_sideways, moves.motion()) == []
    moves.line_to((30, 20, 9.0))
    moves.line = 7
    moves.line_to((40, 20, 9.0))
    found = run_on(bench, drills_sideways, moves.motion())
    assert [(one.line, one.level) for one in found] == [(7, Level.STOP)]
    assert "3 mm deep" in found[0].text
    assert run_on(setup(), drills_sideways, moves.motion()) == []


def test_a_cutter_with_a_dead_centre_may_drop_beside_the_sheet() -> None:
    """Going straight down in the air beside the stock needs no centre."""
    bench = setup(cutters=[replace(CUTTER, centre_cutting=False)])
    moves = builder((-5, 20, 20.0))
    moves.line_to((-5, 20, 6.0))
    moves.line_to((65, 20, 6.0))
    assert run_on(bench, steep_plunges, moves.motion()) == []


# --- floors

POCKET = part(box(10, 5, 50, 35), recess(box(20, 10, 40, 30), 7.0, tolerance=0.05))


def pocket(z: float) -> Motion:
    """The recess of 20 x 20 mm cleared at one height in lanes of 1 mm."""
    moves = builder((21.5, 11.5, 14.0))
    moves.line_to((21.5, 11.5, z))
    for lane in range(18):
        y = 11.5 + lane
        moves.line = 10 + lane
        moves.line_to((moves.at[0], y, z))
        moves.line_to((38.5 if lane % 2 == 0 else 21.5, y, z))
    return moves.motion()


@pytest.mark.parametrize(("z", "count"), [(7.0, 0), (6.95, 0), (6.93, 1)])
def test_a_floor_may_be_cut_as_deep_as_its_tolerance(z: float, count: int) -> None:
    """A floor with 0.05 mm allowed, cut 0.07 mm too deep, is found, with its first line."""
    findings = run_on(setup(parts=[POCKET]), cuts_too_deep, pocket(z))
    assert len(findings) == count
    assert all("into the floor of knob's head recess" in finding.text for finding in findings)


def test_a_cut_across_a_part_is_named_after_the_part() -> None:
    """A slot 3 mm deep across a part goes 3 mm too deep into it; its first line is the slot's."""
    bench = setup(parts=[part(box(10, 5, 50, 35))])
    (finding,) = run_on(bench, cuts_too_deep, slot(9.0))
    assert finding.line == 6
    assert finding.text.startswith("Line 6: the cut goes 3 mm too deep into knob.")


def test_a_bridge_cut_too_low_is_found() -> None:
    """A bridge of 3 mm that is cut down to 2 mm is named; at 3 mm nothing is said."""
    bench = setup(
        parts=[part(box(10, 21.5, 50, 35))], tabs=[Tab(part="knob", at=(30, 21.5), length=6, height=3)]
    )
    for z, count in ((3.0, 0), (2.0, 1)):
        findings = run_on(bench, cuts_too_deep, slot(z))
        assert ["a bridge of knob" in finding.text for finding in findings] == [True] * count


@pytest.mark.parametrize("radius", [4.0, 10.0, 40.0])
def test_a_bridge_made_by_lifting_the_cutter_is_whole_on_any_curve(radius: float) -> None:
    """A cutter that stays up for the waist and its own diameter leaves the bridge that was meant.

    Waist = programmed length - cutter diameter, on the middle of the kerf: derived.
    """
    waist, path = 4.0, radius + 1.5
    turn = (waist + 3.0) / 2 / path
    bench = setup(
        (2 * radius + 10, 2 * radius + 10, 12.0),
        parts=[part(disc(radius + 5, radius + 5, radius))],
        tabs=[Tab(part="knob", at=(2 * radius + 5, radius + 5), length=waist, height=3.0)],
    )
    middle = radius + 5
    ends = [(middle + path * math.cos(at), middle + path * math.sin(at)) for at in (turn, -turn)]
    moves = builder((*ends[0], 14))
    moves.line_to((*ends[0], -0.2))
    moves.arc_to((*ends[1], -0.2), (middle, middle), math.tau - 2 * turn)
    moves.line_to((*ends[1], 3.0))
    moves.arc_to((*ends[0], 3.0), (middle, middle), 2 * turn)
    assert run_on(bench, cuts_too_deep, moves.motion()) == []


@pytest.mark.parametrize(("z", "count"), [(7.0, 0), (7.04, 0), (7.1, 1)])
def test_a_floor_must_be_reached(z: float, count: int) -> None:
    """A recess with 0.05 mm allowed that is left 0.1 mm too shallow is found."""
    bench = setup(
        parts=[
            part(
                box(10, 5, 50, 35), recess(box(20, 10, 40, 30).buffer(-1.5).buffer(1.5), 7.0, tolerance=0.05)
            )
        ]
    )
    findings = run_on(bench, material_left, pocket(z))
    assert len(findings) == count
    assert all(finding.level is Level.STOP and "above its floor" in finding.text for finding in findings)


def test_a_lane_that_was_left_out_is_found_with_its_area() -> None:
    """Skipping a lane leaves a rib; its area and height are said."""
    bench = setup(parts=[part(box(10, 5, 50, 35), recess(box(20, 10, 40, 16), 7.0))])
    moves = builder((21.5, 11.5, 7.0))
    moves.line_to((38.5, 11.5, 7.0))
    moves.line_to((38.5, 14.5, 7.0))
    moves.line_to((38.5, 14.5, 20.0))
    (finding,) = run_on(bench, material_left, moves.motion())
    assert finding.text.startswith("Material is left in knob's head recess over 4")
    assert "up to 5 mm above its floor" in finding.text


def test_a_hole_that_ends_in_the_sheet_is_not_through() -> None:
    """A hole bored to 0.1 mm above the bed is found; one that goes 0.2 mm into the bed is through."""
    bench = setup(parts=[part(box(10, 5, 50, 35), hole(disc(30, 20, 1.5)))])
    for z, count in ((-0.2, 0), (0.1, 1)):
        moves = builder((30, 20, 14))
        moves.line_to((30, 20, z))
        findings = run_on(bench, material_left, moves.motion())
        assert len(findings) == count
    assert "above the bed: not through" in findings[0].text


def test_the_taper_of_a_drill_is_a_caution() -> None:
    """A drill of 118 degrees that just breaks through leaves a rim, which is said as a caution."""
    drill = replace(CUTTER, kind="drill", point_deg=118.0, diameter=6.0)
    bench = setup(parts=[part(box(10, 5, 50, 35), hole(disc(30, 20, 3)))], cutters=[drill])
    moves = builder((30, 20, 14))
    moves.line_to((30, 20, -0.3))
    (finding,) = run_on(bench, material_left, moves.motion())
    assert finding.level is Level.CAUTION
    assert finding.text.endswith("The point of the cutter leaves it so.")


# --- shank and nut


def test_a_thick_shank_rubs_where_the_cutter_went_deep() -> None:
    """A 6 mm shank above 5 mm of flutes rubs in a slot cut 6 mm deep in two passes, and not at 5 mm."""
    for z, count in ((7.0, 0), (6.0, 1)):
        bench = setup(cutters=[replace(CUTTER, flute_length=5.0, shank_diameter=6.0)])
        moves = builder((-5, 20, 9.0))
        moves.line_to((65, 20, 9.0))
        moves.line_to((65, 20, z))
        moves.line = 8
        moves.line_to((-5, 20, z))
        findings = run_on(bench, shank_rubs, moves.motion())
        assert len(findings) == count
    assert findings[0].text.startswith(
        "Line 8: the shank of 3 mm two-flute rubs on material that stands 1 mm above its lower end."
    )


def test_a_collet_nut_rubs_where_the_stick_out_is_short() -> None:
    """With 10 mm of stick-out the nut comes down on a 12 mm sheet when the tip goes below 2 mm."""
    bench = setup(cutters=[replace(CUTTER, flute_length=10.0, stick_out=10.0)])
    for z, count in ((2.0, 0), (1.8, 1)):
        findings = run_on(bench, shank_rubs, slot(z))
        assert ["the collet nut of" in finding.text for finding in findings] == [True] * count
    beside = builder((90, 20, 20))
    beside.line_to((90, 20, 1.0))
    assert run_on(bench, shank_rubs, beside.motion()) == []


# --- pieces

HELD = clamp("A1", box(0, 0, 8, 40), 12.0, 24.0)


def cut_off(z: float, *, back: bool = False) -> Motion:
    """The sheet parted at x = 30 from front to back; then perhaps along the parted piece's edge again."""
    moves = builder((30, -5, 14))
    moves.line_to((30, -5, z))
    moves.line = 5
    moves.line_to((30, 45, z))
    moves.line = 6
    moves.rapid((30, 45, 40))
    if back:
        moves.rapid((30.5, 45, 40))
        moves.line = 8
        moves.line_to((30.5, 45, z))
        moves.line_to((30.5, -5, z))
    return moves.motion()


def test_half_a_sheet_parted_from_its_clamp_comes_loose() -> None:
    """Sawing a sheet in two frees the half that no clamp holds, at the line that parts it."""
    (finding,) = run_on(setup(clamps=[HELD]), loose_pieces, cut_off(-0.2))
    assert (finding.kind, finding.level, finding.line) == ("piece-loose", Level.STOP, 5)


def test_a_skin_that_holds_and_one_that_does_not() -> None:
    """A skin of 0.3 mm still holds; what is thinner than 0.2 mm counts for nothing."""
    assert run_on(setup(clamps=[HELD]), loose_pieces, cut_off(0.3)) == []
    assert len(run_on(setup(clamps=[HELD]), loose_pieces, cut_off(0.15))) == 1


def test_a_sheet_held_on_both_sides_may_be_parted() -> None:
    """With a clamp on each half nothing comes loose."""
    both = (HELD, clamp("A9", box(52, 0, 60, 40), 12.0, 24.0))
    assert run_on(setup(clamps=both), loose_pieces, cut_off(-0.2)) == []


def test_a_clamp_holds_only_where_it_presses() -> None:
    """A clamp that reaches round the sheet's corner holds the half that it lies on, not the other."""
    hooked = Polygon([(0, -10), (50, -10), (50, -5), (8, -5), (8, 40), (0, 40)])
    found = run_on(setup(clamps=[clamp("A1", hooked, 12.0, 24.0)]), loose_pieces, cut_off(-0.2))
    assert [finding.kind for finding in found] == ["piece-loose"]


def test_a_loose_piece_that_is_touched_again_is_found_at_that_line() -> None:
    """Running along the edge of a piece that has come loose is found; lifting the cutter out is not."""
    found = run_on(setup(clamps=[HELD]), loose_pieces, cut_off(-0.2, back=True))
    assert [(finding.kind, finding.line) for finding in found] == [("piece-loose", 5), ("piece-touched", 8)]
    assert "which is loose since line 5" in found[1].text


def test_a_sheet_without_clamps_is_not_held() -> None:
    """Nothing is known to hold a blank without clamps, and the finding says that pieces weren't judged."""
    (finding,) = blank_not_held(trial(setup(), slot(9.0)))
    assert finding.kind == "blank-not-held"
    assert list(blank_not_held(trial(setup(clamps=[HELD]), slot(9.0)))) == []


def test_a_small_slug_is_a_caution_and_a_large_one_a_stop() -> None:
    """A 6 mm slug left in a hole is accepted or not; one of 20 mm can jam the cutter."""
    for radius, level in ((3.0, Level.CAUTION), (10.0, Level.STOP)):
        bench = setup(clamps=[HELD], parts=[part(box(9, 2, 58, 38), hole(disc(34, 20, radius + 3)))])
        moves = builder((34 + radius + 1.5, 20, 14))
        moves.line_to((34 + radius + 1.5, 20, -0.2))
        moves.arc_to((34 + radius + 1.5, 20, -0.2), (34, 20), math.tau)
        moves.rapid((34 + radius + 1.5, 20, 40))
        (finding,) = run_on(bench, loose_pieces, moves.motion())
        assert finding.level is level
        assert "a slug of" in finding.text
