"""All that holds a job's blank, clamps or not, as one: what it stands in every way and towards its stops."""

from dataclasses import dataclass

import numpy as np

from proveout.figure import Figure
from proveout.hold.clamps import placed_clamps
from proveout.hold.form_closure import Free
from proveout.hold.grips import grip_figures, placed_grips
from proveout.hold.slip import Contacts, contacts, push_force
from proveout.hold.stops import left_free, placed_stops, stop_figures
from proveout.job.records import Job
from proveout.shelf.tables import material


@dataclass(frozen=True, slots=True, kw_only=True)
class Others:
    """What holds a blank besides clamps."""

    figures: tuple[Figure, ...]  # what each stands, as a range
    towards: tuple[tuple[str, float], ...]  # each stop, and the push at it that the blank stands, N
    free: Free | None  # a motion that the stops alone leave; None where they close the blank in


def all_contacts(job: Job) -> Contacts:
    """Where a job's blank is held, by everything that is stated."""
    wood = material(job.stock.material)
    return contacts(placed_clamps(job), wood, placed_grips(job), placed_stops(job))


def others_of(job: Job) -> Others | None:
    """What holds a job's blank besides clamps; None where only clamps do."""
    stops, figures = placed_stops(job), (*grip_figures(job), *stop_figures(job))
    if not figures:
        return None
    held = all_contacts(job)
    towards = tuple(
        (one.name, float(push_force(held, np.array([one.at]), (-one.push[0], -one.push[1]))[0]))
        for one in stops
    )
    return Others(figures=figures, towards=towards, free=left_free(stops))
