"""The form to fill in: written as CSV for any spreadsheet, and the columns that it is read back by."""

import csv
import io
from typing import Final

from proveout.book.cut import Cut
from proveout.book.said import caliper
from proveout.quantity import System, show_time

# What each column's head may be; those that hold sizes are followed by their unit: "found (mm)".
COLUMNS: Final = (
    "number",
    "piece",
    "what",
    "asked",
    "found",
    "fitted",
    "hardware",
    "date",
    "who",
    "instrument",
    "resolution",
    "note",
    "sure",
)
SIZES: Final = ("asked", "found", "hardware", "resolution")
MINUTES: Final = "minutes"  # the number of the row that asks for the time it took


def form_text(cut: Cut) -> str:
    """A form for one pack: a row for each article and one for the minutes, to be filled in."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow([f"{name} ({cut.units})" if name in SIZES else name for name in COLUMNS])
    for article in cut.articles:
        hardware = article.hardware
        cells = {
            "number": str(article.number),
            "piece": "1",
            "what": article.words,
            "asked": bare(article.asked, cut.units),
            "hardware": bare(hardware, cut.units) if hardware and article.takes else "",
        }
        rows.writerow([cells.get(name, "") for name in COLUMNS])
    last = {"number": MINUTES, "what": "minutes that the whole job took", "asked": show_time(cut.seconds)}
    rows.writerow([last.get(name, "") for name in COLUMNS])
    return text.getvalue()


def bare(value: float, units: System) -> str:
    """A size as the form prints it, without its unit."""
    return caliper(value, units).split()[0]
