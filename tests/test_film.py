"""The film of a finish: what it takes from a hole, and that it lies among what others lead one to expect."""

from dataclasses import replace

import pytest

from fit_bench import a_job, a_knob, want
from proveout.fit.film import COAT, film, film_figure
from proveout.job.records import Finish, FinishKind
from proveout.reckon import reckon


def test_bare_parts_have_no_film() -> None:
    """Without a finish nothing is taken from any hole, and there is no figure to ask for."""
    assert film(a_job()) == (0.0, 0.0)
    assert film_figure(a_job()) is None


@pytest.mark.parametrize("kind", COAT)
@pytest.mark.parametrize("coats", [1, 2, 5])
def test_a_hole_loses_twice_the_film_of_all_coats(kind: FinishKind, coats: int) -> None:
    """Both walls are coated; at its thickest the finish has gathered to twice a coat's film."""
    job = replace(a_job(want(a_knob(), "knob")), finish=Finish(kind=kind, coats=coats))
    low, high = film(job)
    assert low == pytest.approx(coats * COAT[kind][0])
    assert high == pytest.approx(coats * COAT[kind][1] * 2)
    figure = next(one for one in reckon(job).figures if one.name == "finish.narrows")
    assert figure.low is not None and figure.high is not None
    assert figure.low == pytest.approx(2 * low)
    assert figure.high == pytest.approx(2 * high)
    assert figure.low <= figure.value <= figure.high


def test_a_wiped_coat_is_as_thick_as_its_coverage_leads_one_to_expect() -> None:
    """A home magazine's coverages (read): 400 ft2 a US gallon of oil-based and 600 of water-based varnish,
    brushed. Two fifths and a third of that stay when dry (from memory); a wiped coat is a third to a quarter
    of a brushed one (two woodworking pages, read)."""
    gallon, foot = 3.785411784e6, 304.8**2  # mm3, mm2
    for kind, coverage, solids in (("wipe-on varnish", 400, 0.4), ("water-based", 600, 1 / 3)):
        brushed = gallon / (coverage * foot) * solids
        low, high = COAT[kind]  # type: ignore[index]  # one of the kinds
        assert low <= brushed / 4
        assert brushed / 3 <= high
