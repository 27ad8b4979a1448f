"""The page's HTML: templates filled with what is known, every text escaped."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from proveout import __version__
from proveout.quantity import show_time


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("proveout.card", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["version"] = __version__
    made.filters["time"] = show_time
    return made


def page(template: str, /, **values: Any) -> str:
    """A template's HTML."""
    text = _environment().get_template(template).render(**values)
    return text.encode("utf-8", "replace").decode()  # the names of some files are no text
