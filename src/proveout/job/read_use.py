"""What finished parts are used on, and what is wiped on them."""

from collections.abc import Sequence
from typing import Literal

from proveout.job import defaults
from proveout.job.fields import JobFields, KnobFields
from proveout.job.records import Finish, KnobWanted, Shop, StrapWanted, Use, Wanted
from proveout.job.table import Table, Values
from proveout.shelf.tables import thread


def read_use(table: Table, found: Values, *, own_nut: bool) -> Use | None:
    """What a part's bolt clamps; None where the file doesn't say.

    Args:
        table: the part's, at which faults are noted
        own_nut: whether the part itself holds the nut
    """
    grips, into = found[KnobFields.grips], found[KnobFields.into]
    if grips is None:
        if into is not None:
            table.wrong(
                "into says where a bolt ends; how long it must be depends on what it clamps as well. Write "
                'grips = ["6 mm", "25 mm"], the least and the greatest thickness.',
                "into",
            )
        return None
    if own_nut and into == "insert":
        table.wrong(
            "this part holds a nut of its own, in which its bolt ends. Leave into out, or let the part hold "
            'the head: holds = "head".',
            "into",
        )
        return None
    ends: Literal["insert", "nut"] = "nut" if own_nut else into or "insert"
    return Use(least=min(grips), greatest=max(grips), into=ends)


def check_uses(table: Table, shop: Shop, parts: Sequence[Wanted | None]) -> None:
    """A bolt that shall end in one of the plate's inserts must have their thread."""
    inserts = shop.plate.inserts.thread
    for index, part in enumerate(parts):
        bolt = bolt_into_insert(part) if part else None
        if bolt and thread(bolt).size != thread(inserts).size:
            table.wrong(
                f"an {bolt} bolt doesn't go into the plate's inserts, which are {inserts}. Where it ends in "
                'a nut, write into = "nut".',
                "parts",
                index,
                "grips",
            )


def bolt_into_insert(wanted: Wanted) -> str | None:
    """The size of the bolt that a part sends into the plate's inserts; None where it sends none."""
    match wanted.pattern:
        case KnobWanted(use=Use(into="insert")) as knob:
            return knob.hardware.size
        case StrapWanted(use=Use(into="insert")) as strap:
            return strap.bolt
        case _:
            return None


def read_finish(table: Table, head: Values | None) -> Finish | None:
    """What the parts are finished with; None where they stay bare."""
    if head is None:
        return None
    kind, coats = head[JobFields.finish], head[JobFields.coats]
    if kind == "none":
        if coats is not None:
            table.wrong(
                'coats of what? Write finish = "oil", "wipe-on varnish" or "water-based", or leave coats '
                "out.",
                "coats",
            )
        return None
    return Finish(kind=kind, coats=coats or defaults.COATS)
