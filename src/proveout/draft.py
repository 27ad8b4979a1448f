from dataclasses import dataclass
from typing import Any

from proveout import plan as P
from proveout.choosing import Sheet
from proveout.cutting.eased import AS_CHOSEN
from proveout.paths.lying import lying_outlines
from proveout.quickest import quickest
from proveout.reckon import reckon


@dataclass(frozen=True)
class Draft:
    job: Any
    reckoned: Any
    placed: Any
    held: Any
    values: Any
    figures: Any
    findings: Any
    seconds: float


def draft(job, *, before=None):
    r = reckon(job)
    placed = P.laid_out(job, r.shaped, r.held)
    order = P.trace_order(job, placed, r.held, r.bridges)
    best = quickest(
        job, Sheet(order=order, lying=lying_outlines(order), held=r.held, bridges=r.bridges), AS_CHOSEN, None
    )
    return Draft(
        job,
        r,
        best.sheet.order.placed,
        r.held,
        best.values,
        (*r.figures, *best.values.figures),
        r.shaped.findings,
        sum(best.values.seconds.values()),
    )
