"""Sources: where the shelf's values come from, each told once in full."""

import tomllib
from dataclasses import dataclass

from proveout.shelf.rows import text


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A reference that rows name by its key."""

    key: str
    title: str  # as a figure shows it
    note: str  # what was really read, what agrees with it, misprints met


def read_sources() -> dict[str, Source]:
    """Every source by its key, in the order of the file."""
    told = tomllib.loads(text("sources.toml"))
    return {key: Source(key=key, title=said["title"], note=said["note"]) for key, said in told.items()}
