"""A short run of the seeded faults; `python tests/seeded_faults.py --breaks 2000` is the long one."""

from proveout.finding import Level
from seeded_faults import SETUP_BREAKS, TEXT_BREAKS, goods, table


def test_good_programs_have_neither_stop_nor_caution() -> None:
    """Both examples, unbroken, are silent."""
    for good in goods():
        assert [one for one in good.verdict.findings if one.level is not Level.NOTE] == []


def test_nearly_every_physical_break_is_caught() -> None:
    """Each kind of break once on each example: at least 98 of 100 that matter are a stop or a caution."""
    done = table(2 * (len(TEXT_BREAKS) + len(SETUP_BREAKS)), seed=7)
    physical = [one for one in done if one.physical]
    assert len(physical) > 40
    missed = [one for one in physical if not one.caught]
    assert len(missed) <= 0.02 * len(physical), missed
