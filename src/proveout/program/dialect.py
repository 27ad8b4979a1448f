"""Dialects: what a controller can be told, described by what it can do."""

from dataclasses import dataclass
from typing import Final

from proveout.job.records import DialectName


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """What the writer may use."""

    name: DialectName
    percent: bool  # the program stands between two % lines
    line_numbers: bool  # N words
    tool_change: bool  # T and M6 with length compensation: one program for all cutters
    modal_reset: tuple[str, ...]  # codes of the safe start, a line each


DIALECTS: Final[dict[DialectName, Dialect]] = {
    # What every small 3-axis controller takes: no tool changer, no tables, no cycles.
    "plain": Dialect(
        name="plain",
        percent=False,
        line_numbers=False,
        tool_change=False,
        modal_reset=("G17", "G90", "G94", "G54"),
    ),
    # The words of RS274/NGC (NISTIR 6556), with tool change and tool length from the controller's table.
    "full": Dialect(
        name="full",
        percent=False,
        line_numbers=False,
        tool_change=True,
        modal_reset=("G17 G40 G49 G80", "G90 G94", "G54"),
    ),
    # ISO 6983-1: program between % lines, blocks numbered.
    "iso": Dialect(
        name="iso",
        percent=True,
        line_numbers=True,
        tool_change=True,
        modal_reset=("G17 G40 G49 G80", "G90 G94", "G54"),
    ),
}
