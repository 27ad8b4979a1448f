"""The examples take far less time than with the usual constants, and ask no more of anything."""

from functools import cache

import pytest

from practice import DEEP, EXAMPLES, MIDDLE, Outcome, by_choice, by_practice
from proveout.job.read import read_job

LESS = 0.65  # of the minutes: at least 35 % below


@cache
def as_chosen(name: str) -> Outcome:
    """An example cut as proveout chooses."""
    return by_choice(read_job(EXAMPLES / name / "job.toml"))


@pytest.mark.parametrize("depth", [MIDDLE, DEEP])
@pytest.mark.parametrize("name", ["clamp-kit", "inch-knobs", "drawn-bracket"])
def test_the_chosen_values_take_a_third_less_time_at_no_more_load(name: str, depth: float) -> None:
    """Common practice, no source, beside the chooser's: both proved, timed by one model, same cutters.

    Where the chooser's hardest load is the higher, it is asked for no more than practice's, and still wins.
    """
    job = read_job(EXAMPLES / name / "job.toml")
    usual, chosen = by_practice(job, depth), as_chosen(name)
    assert chosen.stops == chosen.cautions == usual.stops == 0
    assert chosen.minutes <= LESS * usual.minutes
    if chosen.hardest > usual.hardest:
        gentle = by_choice(job, usual.hardest)
        assert gentle.hardest <= usual.hardest * 1.001
        assert gentle.minutes <= LESS * usual.minutes
