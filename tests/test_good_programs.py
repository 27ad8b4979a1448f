"""A short run of the good programs; `python tests/good_programs.py --jobs 200` is the long one."""

from good_programs import tried


def test_the_prover_has_nothing_against_good_programs() -> None:
    """Six varied jobs, made and proved: neither stop nor caution."""
    done = list(tried(6, seed=5))
    assert sum(one.against is not None for one in done) >= 5
    assert [one for one in done if one.against] == []
