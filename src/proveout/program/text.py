"""Program: a text for a controller, and what a person needs to know to run it."""

from dataclasses import dataclass

from proveout.job.records import DialectName
from proveout.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """One program file."""

    file: str  # "1-3mm-two-flute.nc"
    text: str
    cutters: tuple[int, ...]  # numbers, in order of use; empty where the spindle stays off
    dialect: DialectName
    units: System
