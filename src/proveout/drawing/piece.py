"""What a drawing holds once it has been read: runs of exact lines and arcs, and what could not be read."""

from dataclasses import dataclass
from pathlib import Path

from proveout.curve import Segment


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What one entity draws: segments end to end, open or closed."""

    layer: str
    entity: str  # "ARC 2F": its type and handle
    segments: tuple[Segment, ...]
    closed: bool  # the last segment ends where the first begins, because the entity says so


@dataclass(frozen=True, slots=True, kw_only=True)
class Stray:
    """An entity that is no line or arc; a fault as soon as its layer is used."""

    layer: str
    entity: str
    why: str  # "is neither line, arc, circle nor polyline"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A drawing from above, lengths in mm."""

    file: Path
    pieces: tuple[Piece, ...]
    strays: tuple[Stray, ...]
    notes: tuple[str, ...]  # what was settled in reading it

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers that hold anything, in the file's order."""
        drawn, strayed = (one.layer for one in self.pieces), (one.layer for one in self.strays)
        return tuple(dict.fromkeys((*drawn, *strayed)))
