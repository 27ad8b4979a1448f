"""How a figure names the shelf row it rests on."""

from typing import Final, Protocol

from proveout.shelf.tables import Basis, sources

# The shelf's words for how far a row can be trusted, as a person reads them.
TRUST: Final[dict[Basis, str]] = {
    "read": "read",
    "memory": "from memory",
    "practice": "common practice",
    "derived": "derived",
    "default": "project default",
}


class Sourced(Protocol):
    """Any row of the shelf."""

    @property
    def source(self) -> str: ...

    @property
    def basis(self) -> Basis: ...


def cited(row: Sourced) -> str:
    """The title of a row's source, and whether it was read."""
    return f"{sources()[row.source].title} ({TRUST[row.basis]})"
