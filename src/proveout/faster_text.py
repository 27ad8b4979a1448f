"""What limits a job and what would loosen it, in words and as JSON."""

import json
import textwrap
from collections.abc import Iterator
from typing import Any

from proveout.faster import Faster, Limited, Outcome, Tried
from proveout.quantity import System, show_length, show_speed, show_time

HELPS = 0.005  # of the minutes; what saves less is not worth a change


def faster_text(found: Faster) -> str:
    """What a person reads."""
    return "\n".join(_lines(found))


def _lines(found: Faster) -> Iterator[str]:
    now, units = found.now, found.job.units
    yield f"{found.job.name}: {_said(now)}"
    yield "what limits each cut:"
    for cut in now.cuts:
        yield from _limited(cut, units)
    if not found.tried:
        yield "nothing on hand that could be tried would loosen that."
        return
    yield "tried, each planned and proved anew:"
    for one in found.tried:
        yield from textwrap.wrap(
            _told(one, found.now), 100, initial_indent="  ", subsequent_indent="        "
        )
    yield "Change one thing at a time, and make the job again: only its own proof counts."


def _said(one: Outcome) -> str:
    verdict = "ready" if one.ready else "NOT ready"
    return f"{show_time(one.minutes * 60)}, {verdict}, hardest load {one.hardest:.0%} of its limit"


def _limited(cut: Limited, units: System) -> Iterator[str]:
    data = cut.data
    yield (
        f"  {cut.cutter.name}, {cut.kind}: {show_length(data.depth_of_cut, units)} deep at "
        f"{show_speed(data.feed, units)}, {data.speed_rpm:.0f} rpm"
    )
    for what, reason in data.limits:
        if what in ("depth of cut", "feed"):
            words = f"{what.removesuffix(' of cut')} {reason}"
            yield from textwrap.wrap(words, 100, initial_indent="    ", subsequent_indent="      ")


def _told(one: Tried, now: Outcome) -> str:
    what = f"{one.what} (to buy)" if one.to_buy else one.what
    if one.outcome is None:
        return f"can't be done: {what}. {one.why_not}"
    saves = one.saves(now)
    change = f"{saves:.0%} less time" if saves >= HELPS else "no less time"
    if not one.outcome.ready:
        return f"NOT READY, {change}: {what}. {one.outcome.worst}"
    deeper = _deeper(one.outcome, now)
    load = f"hardest load {one.outcome.hardest:.0%}"
    return f"{change} ({show_time(one.outcome.minutes * 60)}, {load}): {what}{deeper}"


def _deeper(one: Outcome, now: Outcome) -> str:
    """Where it lets a cutter go deeper."""
    before = {(cut.cutter.number, cut.kind): cut.data.depth_of_cut for cut in now.cuts}
    said = [
        f"{cut.cutter.name}, {cut.kind}, {show_length(cut.data.depth_of_cut)} deep instead of "
        f"{show_length(before[cut.cutter.number, cut.kind])}"
        for cut in one.cuts
        if cut.data.depth_of_cut > 1.01 * before.get((cut.cutter.number, cut.kind), 1e9)
    ]
    return f"; {'; '.join(said)}" if said else ""


def faster_json(found: Faster) -> str:
    """The same for another program to read; minutes, mm, mm/s, shares."""
    return json.dumps(
        {
            "name": found.job.name,
            "now": _record(found.now),
            "tried": [
                {
                    "what": one.what,
                    "to_buy": one.to_buy,
                    "saves": one.saves(found.now) if one.outcome else None,
                    "why_not": one.why_not,
                    "outcome": _record(one.outcome) if one.outcome else None,
                }
                for one in found.tried
            ],
        },
        indent=2,
    )


def _record(one: Outcome) -> dict[str, Any]:
    return {
        "minutes": one.minutes,
        "ready": one.ready,
        "hardest": one.hardest,
        "worst": one.worst,
        "cuts": [
            {
                "cutter": cut.cutter.number,
                "kind": cut.kind,
                "depth_of_cut": cut.data.depth_of_cut,
                "feed": cut.data.feed,
                "speed_rpm": cut.data.speed_rpm,
                "limits": dict(cut.data.limits),
            }
            for cut in one.cuts
        ],
    }
