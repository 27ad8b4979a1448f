"""Minutes that jobs take, against those that were predicted, learned like an offset: by their logarithm."""

import math
from collections.abc import Iterable

from proveout.book.entry import Entry
from proveout.book.learn import Reading, learn
from proveout.book.learned import LearnedMinutes
from proveout.book.priors import minutes_prior


def learned_minutes(entries: Iterable[Entry]) -> LearnedMinutes | None:
    """How many times the predicted minutes the next job will take; None where the book has no minutes."""
    readings = [
        Reading(value=math.log(one.found / one.asked), noise=0.0, sitting=str(number))
        for number, one in enumerate(entries)
        if one.kind == "minutes" and one.found and one.asked and one.found > 0 and one.asked > 0
    ]
    if not readings:
        return None
    found = learn(readings, minutes_prior())
    spread = 1.96 * found.deviation
    return LearnedMinutes(
        times=math.exp(found.offset),
        low=math.exp(found.offset - spread),
        high=math.exp(found.offset + spread),
        jobs=len(readings),
    )
