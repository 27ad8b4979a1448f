"""Every kind of finding that the docs explain can be said, and something in the tests brings it about."""

import ast
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

import test_clamp_chain as chained
import test_drawn_part as drawn
import test_eased as eased
import test_fit_shares as shares
import test_fit_sizes as sizes
import test_hold as hold
import test_holding as holds
import test_job_book as job_book
import test_layout as layout
import test_other_means as means
import test_paths as paths
import test_places as places
import test_pressing as pressing
import test_program_abilities as abilities
import test_program_read as reading
import test_proof_bridges as bridges
import test_proof_chips as chips
import test_proof_habits as habits
import test_proof_limits as limits
import test_proof_loads as loads
import test_proof_material as material
import test_proof_strikes as strikes
import test_proof_walls as walls
import test_spirals as spirals
from proof_bench import read_case
from proveout.finding import KINDS, Finding
from proveout.proof.prove import prove

HERE = Path(__file__).parent
SOURCES = HERE.parent / "src" / "proveout"


def case(name: str, old: str = "", new: str = "", *, aside: float = 0.0) -> object:
    """A case file proved coarsely, with something of its program replaced, or its zero set aside, mm."""
    told = read_case(HERE / "cases" / f"{name}.txt")
    assert old in told.program.text
    program = replace(told.program, text=told.program.text.replace(old, new, 1))
    x, y, z = told.bench.zero
    return prove([program], replace(told.bench, zero=(x + aside, y, z)), cell=0.3)


# For each kind, what brings it about: a test that asserts it, or a case file.
PROVOKED: dict[str, Callable[[], object]] = {
    "one-cause": partial(case, "good", aside=1.5),
    "program-word": habits.test_a_spindle_turned_round_in_the_wood,
    "program-end": reading.test_a_program_has_an_end,
    "units-unstated": reading.test_units_are_stated_before_they_matter,
    "cutter-unknown": limits.test_a_cutter_that_nobody_has_is_a_stop,
    "spindle-off": partial(case, "spindle-off"),
    "spindle-not-up": partial(case, "good", "G4 P3\n"),
    "height-unsaid": partial(case, "good", "G0 Z30\n"),
    "speed-out-of-range": partial(case, "fast-and-slow"),
    "feed-too-fast": partial(case, "fast-and-slow"),
    "beyond-travel": partial(case, "wrong-zero"),
    "controller-lacks": abilities.test_a_program_that_must_stand_between_two_percents,
    "zeros-differ": partial(habits.zeros, "G54\nG0 Z30", "G55\nG0 Z30"),
    "never-moves": habits.test_a_program_that_never_moves,
    "check-with-spindle": habits.test_a_check_of_the_outline_with_the_spindle_on,
    "cutter-unexpected": habits.test_a_program_that_takes_another_cutter_than_the_job_has_for_it,
    "ends-low": habits.test_a_program_that_ends_in_the_wood,
    "ends-turning": partial(habits.test_a_program_that_ends_with_the_spindle_turning, "M30", "note"),
    "rapid-hits-material": partial(case, "rapid-into-sheet"),
    "rapid-close": habits.test_a_rapid_straight_down_may_end_nearer,
    "spindle-switched-in-cut": habits.test_a_spindle_turned_round_in_the_wood,
    "rests-in-cut": habits.test_a_cutter_that_only_rests_on_a_floor_rubs_too,
    "waste-cut": habits.test_a_cut_where_nothing_was_to_be_cut,
    "cut-too-deep": partial(case, "deep-recess"),
    "wall-overcut": walls.test_an_island_is_a_wall_too,
    "wall-undercut": walls.test_a_hole_in_a_recess_has_its_wall_below_the_recess_only,
    "material-left": partial(case, "missing-ring"),
    "beyond-flutes": partial(case, "short-flutes"),
    "shank-rubs": material.test_a_thick_shank_rubs_where_the_cutter_went_deep,
    "plunge-not-centre-cutting": partial(case, "dead-centre"),
    "chip-too-thick": partial(chips.test_a_chip_of_more_than_twice_the_usual_is_a_caution, 1.01, 1),
    "chip-too-thin": partial(chips.test_a_chip_thinner_than_the_edge_is_round_is_a_caution, 0.99, 1),
    "drill-sideways": material.test_a_drill_goes_straight_down_and_not_aside,
    "plunge-too-fast": partial(chips.test_a_plunge_faster_than_half_the_usual_feed_is_a_caution, 1.01, 1),
    "spindle-overloaded": partial(loads.test_the_feed_that_a_weak_spindle_is_given_cures_it, 4.0),
    "cutter-overloaded": loads.test_a_wide_cutter_bends_in_its_slim_shank,
    "wall-push-off": partial(
        loads.test_each_limit_is_told_and_the_depth_that_its_remedy_names_cures_it,
        "wall-push-off",
        replace(loads.BENCH, machine=replace(loads.BENCH.machine, stiffness=60.0)),
    ),
    "cut-outside-stock": partial(case, "wrong-zero"),
    "clamp-struck": (strikes.test_a_clamp_under_the_tool_is_found_even_when_only_the_collet_nut_reaches_it),
    "bolt-struck": strikes.test_a_bolt_beside_the_work_is_named_as_a_bolt,
    "insert-struck": strikes.test_metal_under_a_through_cut_is_found,
    "stop-struck": means.test_a_screw_in_the_way_is_struck,
    "bed-cut": partial(case, "bed-cut"),
    "piece-touched": material.test_a_loose_piece_that_is_touched_again_is_found_at_that_line,
    "piece-loose": material.test_a_loose_piece_that_is_touched_again_is_found_at_that_line,
    "frame-parted": habits.test_a_frame_cut_in_two,
    "blank-not-held": material.test_a_sheet_without_clamps_is_not_held,
    "as-drawn": drawn.test_a_sharp_inside_corner_comes_out_round_and_is_told,
    "does-not-fit": layout.test_a_refusal_says_what_did_not_fit_and_which_sheet_would_do,
    "part-under-clamp": partial(places.fault_of, "part-under-clamp"),
    "part-off-sheet": partial(places.fault_of, "part-off-sheet"),
    "parts-too-close": partial(places.fault_of, "parts-too-close"),
    "part-over-insert": partial(places.fault_of, "part-over-insert"),
    "part-on-flaw": partial(places.fault_of, "part-on-flaw"),
    "no-cutter": paths.test_a_cutter_without_a_cutting_centre_does_not_drill,
    "head-does-not-seat": sizes.test_m10_bolts_of_the_older_series_are_warned_of,
    "wood-gives-first": sizes.test_a_hand_that_is_stronger_than_the_wood_is_a_caution,
    "floor-thin": (sizes.test_quarter_inch_plywood_leaves_about_eighty_thousandths_under_a_quarter_inch_head),
    "fit-doubtful": shares.test_a_box_that_scatters_is_found_out,
    "cutter-wears": job_book.test_a_drifting_cutter_is_told,
    "fit-splits": pressing.test_a_thin_rim_of_maple_may_split_and_plywood_does_not,
    "wall-thin": sizes.test_a_pressed_head_near_the_edge_may_split_solid_wood,
    "hold-margin": hold.test_clamps_at_one_end_only_are_a_caution,
    "stock-lifts": means.test_thin_stock_is_told_to_lift_with_a_way_out_and_thick_stock_is_not,
    "means-doubt": means.test_a_wood_screw_stands_the_allowable_load_of_the_weakest_woods,
    "bolt-length": holds.test_no_bolt_on_hand_is_said_with_the_length_to_buy,
    "bolt-overdrawn": holds.test_a_strong_hand_may_stretch_a_thin_bolt,
    "clamp-gives": chained.test_a_thin_bar_is_a_stop_and_a_middling_one_a_caution,
    "work-dents": holds.test_a_strong_hand_may_dent_the_work,
    "tab-weak": bridges.test_a_piece_that_can_turn_is_given_more_bridges_not_wider_ones,
    "stock-nominal": sizes.test_a_thickness_that_was_not_measured_is_a_caution,
    "tear-out": spirals.test_an_up_cut_lifts_the_upper_face,
    "stock-uneven": sizes.test_uneven_stock_zeroed_on_its_top_is_noted,
    "remedy-applied": partial(eased.trusting, 5.0),
    "estimate": sizes.test_heads_that_were_not_measured_are_a_caution,
}


def test_the_table_has_every_kind_in_the_order_of_the_docs() -> None:
    """A kind that joins needs something that brings it about."""
    assert list(PROVOKED) == list(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_tests_bring_about_every_kind(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the table names makes a finding of the kind, in a run of its own."""
    made: set[str] = set()
    checked = Finding.__post_init__

    def noted(finding: Finding) -> None:
        checked(finding)
        made.add(finding.kind)

    monkeypatch.setattr(Finding, "__post_init__", noted)
    PROVOKED[kind]()
    assert kind in made


def words_of(file: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def test_the_code_says_every_kind_somewhere_else_than_in_the_table() -> None:
    """No kind is explained that nothing says."""
    said = {word for file in SOURCES.rglob("*.py") if file.name != "finding.py" for word in words_of(file)}
    assert set(KINDS) - said == set()
