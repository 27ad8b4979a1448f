"""What of a clamp a hand may break, and what a learner does about it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from proveout.finding import Finding, Level
from proveout.fit.torque import hand_torque as torque_of_hand
from proveout.hold.chain import Link, first_to_give, high_of, low_of
from proveout.hold.preload import Pulls, hand_pulls
from proveout.job.records import ClampKind
from proveout.shelf.tables import hand_torque, nut_factor

REMEDIES: Final = {
    "insert": "Tighten gently, bed a longer or wider insert in epoxy, or put nut and washer under the plate.",
    "thread": "Use a longer bolt that still doesn't bottom, so that more of it stands in the thread.",
    "bolt": "Use bolts of class 8.8, or a smaller knob.",
    "bar": "Use a thicker or wider bar, let the nose reach further over the work, or take a smaller knob.",
    "layers": "Use a thicker bar, one of metal or of solid wood with the grain along it, or a smaller knob.",
    "head": "Bond the head in with epoxy and then leave knob_material out, or use a nut in its place.",
}
# Whose hand brings a link to its low end: on a rough thread, on a slippery one, with all its strength, none.
Reach = Literal["any hand", "a hand at ease", "a strong hand", "no hand"]
DAILY: Final = 0.5  # of wood's strength that it stands loaded again and again; project default after EN 1995


@dataclass(frozen=True, slots=True, kw_only=True)
class Strain:
    """A clamp's links, what a hand brings to them, and what then is between nose and work; N."""

    kind: ClampKind
    links: tuple[Link, ...]
    hand: Pulls  # of the bolt
    force: tuple[float, float]  # on the work: what is really there, what a strong hand may reach


def slick_pull(kind: ClampKind) -> float:
    """What a hand at ease pulls the bolt with on a slippery thread, N: the most that is usual."""
    factor = nut_factor("zinc plated dry")
    return hand_pulls(kind).low * factor.high / factor.low


def reached(kind: ClampKind, link: Link, pull: float) -> bool:
    """Whether a hand at ease may bring a link to its low end; a torque counts whatever the thread."""
    if link.turns is not None:
        return _ease(kind) > low_of(link.turns)
    return pull > low_of(link.gives)


def _ease(kind: ClampKind) -> float:
    return torque_of_hand(kind.knob_diameter, hand_torque("knob").comfortable)


def first_of(strain: Strain) -> tuple[Link, Reach]:
    """What gives first, and whose hand may bring it to its low end."""
    link = first_to_give(strain.links)
    if link.turns is not None:
        ease, utmost, least = _ease(strain.kind), _utmost(strain.kind), low_of(link.turns)
        hands = (ease, ease, utmost)
    else:
        hands, least = (strain.hand.low, slick_pull(strain.kind), strain.hand.high), low_of(link.gives)
    reaches: tuple[Reach, ...] = ("any hand", "a hand at ease", "a strong hand")
    return link, next((who for who, pull in zip(reaches, hands, strict=True) if pull > least), "no hand")


def _utmost(kind: ClampKind) -> float:
    return torque_of_hand(kind.knob_diameter, hand_torque("knob").upper)


def chain_findings(strain: Strain) -> Iterator[Finding]:
    """Links that a hand at ease may break: a stop where it likely does so even on a rough thread."""
    for link in _worth_a_word(strain.links):
        if reached(strain.kind, link, slick_pull(strain.kind)):
            yield _may_give(strain, link)
        elif link.tires and strain.hand.usual > DAILY * low_of(link.gives):
            yield _tires(strain, link)
    yield from _sinks(strain)
    yield from _unstated(strain)


def _worth_a_word(links: Sequence[Link]) -> tuple[Link, ...]:
    """Breaking links of stated material; of the bar's two ways to break, the nearer."""
    known = [link for link in links if link.breaks and not link.assumed]
    bars = [link for link in known if link.name in ("bar", "layers")]
    nearer = min(bars, key=lambda link: low_of(link.gives), default=None)
    return tuple(link for link in known if link not in bars or link is nearer)


def _may_give(strain: Strain, link: Link) -> Finding:
    kind = strain.kind
    if link.turns is not None:
        surely = _ease(kind) > high_of(link.turns)
        said = (
            f"A hand at ease turns the {kind.name}'s knob with {_ease(kind) / 1000:.1f} N m; {link.what} "
            f"holds against {low_of(link.turns) / 1000:.1f} to {high_of(link.turns) / 1000:.1f} N m."
        )
    else:
        surely = strain.hand.low > link.gives.value
        said = (
            f"A hand at ease pulls the {kind.name}'s bolt with {strain.hand.low:.0f} to "
            f"{slick_pull(kind):.0f} N; {link.what} gives from {range_text(link)} N on."
        )
    return Finding(
        level=Level.STOP if surely else Level.CAUTION,
        kind="clamp-gives",
        text=said,
        remedy=REMEDIES[link.name],
        name=kind.name,
    )


def _tires(strain: Strain, link: Link) -> Finding:
    return Finding(
        level=Level.NOTE,
        kind="clamp-gives",
        text=f"A hand at ease loads the {strain.kind.name}'s bar to more than half of what it stands "
        f"({strain.hand.usual:.0f} of {low_of(link.gives):.0f} N of the bolt's pull): in time it tires.",
        remedy="Look at it for cracks beside the slot before each use, or make it thicker.",
        name=strain.kind.name,
    )


def _sinks(strain: Strain) -> Iterator[Finding]:
    """Whether the washer sinks into the bar under even the lightest hand that counts."""
    for link in strain.links:
        if link.name == "washer" and not link.assumed and strain.hand.low > low_of(link.gives):
            yield Finding(
                level=Level.NOTE,
                kind="clamp-gives",
                text=f"The {strain.kind.name}'s washer bears on little more than its slot's edges: it sinks "
                f"in from {range_text(link)} N of the bolt's pull on, and a hand at ease pulls "
                f"{strain.hand.low:.0f} N or more.",
                remedy="Put a wide washer or a strip of metal under it; tighten again after the first cut.",
                name=strain.kind.name,
            )


def _unstated(strain: Strain) -> Iterator[Finding]:
    """One word for all that was counted without being stated."""
    counted = [link for link in strain.links if link.breaks and link.assumed]
    if not counted:
        return
    weakest = min(counted, key=lambda link: low_of(link.gives))
    where = [
        *(["under its [[clamps]]"] if any(link.name != "insert" for link in counted) else []),
        *(["under [plate]"] if any(link.name == "insert" for link in counted) else []),
    ]
    most = slick_pull(strain.kind)
    yield Finding(
        level=Level.CAUTION if most > low_of(weakest.gives) else Level.NOTE,
        kind="estimate",
        text=f"Not all that the {strain.kind.name} is made of or screwed into was stated. As "
        f"{weakest.assumed}, {weakest.what} would give from {range_text(weakest)} N on; a hand at ease "
        f"pulls up to {most:.0f} N.",
        remedy=f"Write its material {' and '.join(where)} in the shop file.",
        name=strain.kind.name,
    )


def range_text(link: Link) -> str:
    """The bolt's pull at which a link gives, N."""
    low, high = low_of(link.gives), high_of(link.gives)
    return f"{low:.0f}" if high - low < 1 else f"{low:.0f} to {high:.0f}"
