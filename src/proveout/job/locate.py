"""Lines for errors that a later stage found: it knows the field, the file knows where the field stands."""

from collections.abc import Iterable

from proveout.finding import InputError, Place
from proveout.job.lines import spelled
from proveout.job.source import Source, read_source


def located(errors: Iterable[InputError]) -> tuple[InputError, ...]:
    """The errors with line and column wherever their field can be found in their file again."""
    sources: dict[str, Source | None] = {}
    return tuple(_located(error, sources) for error in errors)


def _located(error: InputError, sources: dict[str, Source | None]) -> InputError:
    place = error.place
    if place is None or place.line is not None or not place.field:
        return error
    name = str(place.file)
    if name not in sources:
        sources[name] = _source(place)
    source = sources[name]
    spots = {spelled(keys): spot for keys, spot in source.spots.items()} if source else {}
    spot = spots.get(place.field)
    if spot is None:
        return error
    return InputError(
        error.text, Place(file=place.file, line=spot.line, column=spot.column, field=place.field)
    )


def _source(place: Place) -> Source | None:
    try:
        return read_source(place.file)
    except InputError:
        return None
