"""Tables of the report: each cell knows its column's head, so that a narrow page can stack them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from proveout.pack.markup import escaped


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell, as HTML; words of a person must be escaped before."""

    html: str
    kind: str = ""  # a class of the page's style


def table(heads: Sequence[str], rows: Iterable[Sequence[Cell | str]]) -> Iterator[str]:
    """A table; cells that are plain text are escaped here.

    Args:
        heads: of the columns
        rows: of cells, one for each column
    """
    head = "".join(f'<th scope="col">{escaped(one)}</th>' for one in heads)
    yield f"<table><thead><tr>{head}</tr></thead><tbody>"
    for row in rows:
        yield f"<tr>{''.join(_cell(one, cell) for one, cell in zip(heads, row, strict=True))}</tr>"
    yield "</tbody></table>"


def _cell(head: str, cell: Cell | str) -> str:
    shown = cell if isinstance(cell, Cell) else Cell(escaped(cell))
    kind = f' class="{shown.kind}"' if shown.kind else ""
    return f'<td data-head="{escaped(head)}"{kind}>{shown.html}</td>'
