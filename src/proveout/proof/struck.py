"""What is struck on the bed: one finding for each obstacle and program, and what to do about it."""

from collections.abc import Iterator, Sequence
from functools import cache, partial
from itertools import groupby
from typing import Final

import numpy as np

from proveout.finding import Finding, Level
from proveout.proof.out_of_the_way import Elsewhere, Struck, other_place, remedy_for
from proveout.proof.strikes import Boxes, Strike, boxes_of, strikes_of
from proveout.proof.trial import Seen, Trial, again, length, opening, seen
from proveout.setup import Obstacle, obstacles

KIND_OF_FINDING: Final = {
    "clamp": "clamp-struck",
    "bolt": "bolt-struck",
    "insert": "insert-struck",
    "stop": "stop-struck",
}


def strike_findings(run: Trial) -> list[Finding]:
    """Everything on the bed that is struck: one finding for each obstacle and program."""
    boxes = boxes_of(run)
    elsewhere = cache(partial(other_place, run, boxes))
    found: list[Finding] = []
    for (kind, name), solids in groupby(
        _in_order(obstacles(run.setup)), key=lambda one: (one.kind, one.name)
    ):
        struck = [(solid, strike) for solid in solids for strike in strikes_of(run, boxes, solid)]
        found.extend(_told(run, boxes, kind, name, struck, elsewhere))
    return found


def _in_order(solids: Sequence[Obstacle]) -> list[Obstacle]:
    return sorted(solids, key=lambda one: (one.kind, one.name, one.bottom))


def _told(
    run: Trial, boxes: list[Boxes], kind: str, name: str, struck: Struck, elsewhere: Elsewhere
) -> Iterator[Finding]:
    """One finding for each program that strikes an obstacle of one name."""
    if not struck:
        return
    moves = np.concatenate([strike.moves for _, strike in struck])
    inside = np.concatenate([strike.inside for _, strike in struck])
    for sight in seen(run, moves, inside):
        worst_solid, worst, row = _at_move(struck, sight.worst)
        _, first, _ = _at_move(struck, sight.first)
        at = worst.at[row]
        tip = float(worst.tip[row])
        remedy, amount = remedy_for(run, boxes, _of_program(run, struck, sight), elsewhere)
        yield Finding(
            level=Level.STOP,
            kind=KIND_OF_FINDING[kind],
            text=(
                f"{opening(run, sight.first)} the {first.cylinder.name} strikes {_called(kind, name)}: "
                f"{_how(run, kind, worst_solid, worst, row, same=first is worst)}{_others(struck, first)}"
                f"{again(run, sight)}"
            ),
            remedy=remedy,
            program=sight.file,
            line=sight.line(run.motion),
            at=(float(at[0]), float(at[1]), tip),
            name=_called(kind, name),
            amount=amount,
        )


def _of_program(run: Trial, struck: Struck, sight: Seen) -> Struck:
    """The strikes of one program."""
    number = run.files.index(sight.file)
    mine = []
    for solid, strike in struck:
        rows = np.flatnonzero(run.program[strike.moves] == number)
        if rows.size:
            arrays = (strike.moves[rows], strike.inside[rows], strike.tip[rows], strike.at[rows])
            mine.append((solid, Strike(strike.cylinder, *arrays)))
    return mine


def _at_move(struck: Struck, move: int) -> tuple[Obstacle, Strike, int]:
    """What strikes deepest at a move."""
    found = [
        (float(strike.inside[row]), -order, solid, strike, int(row))
        for order, (solid, strike) in enumerate(struck)
        for row in np.flatnonzero(strike.moves == move)
    ]
    _, _, solid, strike, row = max(found, key=lambda one: one[:2])
    return solid, strike, row


def _called(kind: str, name: str) -> str:
    return f"the bolt of the {name}" if kind == "bolt" and name.startswith("clamp") else f"the {name}"


def _how(run: Trial, kind: str, solid: Obstacle, strike: Strike, row: int, *, same: bool) -> str:
    """How deep: "it passes 3.1 mm inside the clamp's bar, 4 mm below its top"."""
    what = {"clamp": "the clamp's bar", "bolt": "its outline", "insert": "the metal", "stop": "its outline"}[
        kind
    ]
    subject = "it passes" if same else f"at worst the {strike.cylinder.name} passes"
    below = solid.top - (float(strike.tip[row]) + strike.cylinder.bottom)
    inside = length(run.setup, float(strike.inside[row]))
    return f"{subject} {inside} inside {what}, {length(run.setup, below)} below its top."


def _others(struck: Struck, first: Strike) -> str:
    names = dict.fromkeys(
        strike.cylinder.name for _, strike in struck if strike.cylinder.name != first.cylinder.name
    )
    *more, last = names or [""]
    listed = f"{', the '.join(more)} and the {last}" if more else last
    return f" So {'do' if more else 'does'} the {listed}." if names else ""
