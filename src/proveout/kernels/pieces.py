"""Which cells hang together, and when they part: arrays in, arrays out.

Cells hang together along their edges; two cells that meet at a corner don't hold each other. The cuts are
put back from the last to the first: the move at which two pieces meet in that order is the move at which
they part in the true one.
"""

from typing import Any, Final

import numpy as np
from numba import njit

# Flags of a piece, kept at its root.
HELD: Final = 1
STAYS: Final = 2  # has cells that are never cut
SEEN: Final = 4  # beside a cell of the move that is being put back

ABSENT: Final = 0  # in `parent`: no cell there. A root holds minus its size, any other cell 1 + its parent


@njit(cache=True, nogil=True)
def parted(
    through: Any, inside: Any, held: Any, moves: int, least: int
) -> tuple[Any, Any, Any, Any, Any, Any]:
    """Pieces that no held cell is part of: those that stay, and those that are cut away after they parted.

    Args:
        through: (rows, columns) int32, the move that cuts each cell through; -1 for none
        inside: (rows, columns) bool, where there is stock
        held: (rows, columns) bool, cells that can't come loose while they are there
        moves: count of moves
        least: cells below which a piece that is cut away is not reported
    Returns:
        labels: (rows, columns) int32, from 1 for the pieces that stay, 0 elsewhere
        freed: (pieces,) int64, the move at which each parted from the last held cell; -1 for never joined
        cut: (pieces,) int64, the first move after that which cuts through what had parted; -1 for none
        size: (pieces,) int64, cells that stay
        seeds: (pieces,) int64, a cell of each
        gone: (k, 4) int64, of each piece that is cut away: freed, cut, size when it parted, a cell of it
    """
    columns = through.shape[1]
    parent = np.zeros(through.size, dtype=np.int32)
    flags = np.zeros(through.size, dtype=np.uint8)
    last = np.full(through.size, -1, dtype=np.int32)  # at a root: the move put back into the piece last
    _stand(through.ravel(), inside.ravel(), held.ravel(), parent, flags, columns)
    labels, seeds = _labelled(parent, flags)
    size = np.zeros(len(seeds), dtype=np.int64)
    for number in range(len(seeds)):
        size[number] = -parent[seeds[number]]
    freed, cut = np.full(len(seeds), -1, dtype=np.int64), np.full(len(seeds), -1, dtype=np.int64)
    gone = [(np.int64(0), np.int64(0), np.int64(0), np.int64(0)) for _ in range(0)]
    order, begins = _by_move(through.ravel(), inside.ravel(), moves)
    for move in range(moves - 1, -1, -1):
        cells = order[begins[move] : begins[move + 1]]
        if len(cells) == 0:
            continue
        loose = _loose_beside(cells, parent, flags, columns)
        waiting = _seeds_among(seeds, freed, parent, flags, loose)
        sizes = [-np.int64(parent[root]) for root in loose]
        before = [np.int64(last[root]) for root in loose]
        seeds_before = [np.int64(last[_root(parent, seeds[number])]) for number in waiting]
        stays = [flags[root] & STAYS for root in loose]
        _put_back(cells, move, held.ravel(), parent, flags, last, columns)
        for k in range(len(loose)):
            now = _root(parent, loose[k])
            flags[now] &= ~np.uint8(SEEN)
            if flags[now] & HELD and not stays[k] and sizes[k] >= least:
                gone.append((np.int64(move), before[k], sizes[k], np.int64(loose[k])))
        for k in range(len(waiting)):
            if flags[_root(parent, seeds[waiting[k]])] & HELD:
                freed[waiting[k]], cut[waiting[k]] = move, seeds_before[k]
    return labels.reshape(through.shape), freed, cut, size, seeds, _table(gone)


@njit(cache=True, nogil=True)
def _stand(whole: Any, there: Any, firm: Any, parent: Any, flags: Any, columns: int) -> None:
    """Set up the cells that are never cut, joined with their neighbours."""
    for cell in range(len(parent)):
        if there[cell] and whole[cell] < 0:
            parent[cell] = -1
            flags[cell] = STAYS | HELD if firm[cell] else STAYS
            if cell % columns and parent[cell - 1]:
                _join(parent, flags, cell, cell - 1)
            if cell >= columns and parent[cell - columns]:
                _join(parent, flags, cell, cell - columns)


@njit(cache=True, nogil=True)
def _labelled(parent: Any, flags: Any) -> tuple[Any, Any]:
    """A number from 1 for each piece that is not held, in order of its first cell."""
    labels = np.zeros(len(parent), dtype=np.int32)
    seeds = [np.int64(0) for _ in range(0)]
    for cell in range(len(parent)):
        if parent[cell] != ABSENT:
            root = _root(parent, cell)
            if flags[root] & HELD:
                continue
            if labels[root] == 0:
                seeds.append(np.int64(root))
                labels[root] = len(seeds)
            labels[cell] = labels[root]
    out = np.zeros(len(seeds), dtype=np.int64)
    for number in range(len(seeds)):
        out[number] = seeds[number]
    return labels, out


@njit(cache=True, nogil=True)
def _by_move(whole: Any, there: Any, moves: int) -> tuple[Any, Any]:
    """The cells that are cut through, by the move that does it; and where each move's begin."""
    begins = np.zeros(moves + 1, dtype=np.int64)
    for cell in range(len(whole)):
        if there[cell] and whole[cell] >= 0:
            begins[whole[cell] + 1] += 1
    for move in range(moves):
        begins[move + 1] += begins[move]
    order = np.zeros(begins[moves], dtype=np.int32)
    free = begins.copy()
    for cell in range(len(whole)):
        if there[cell] and whole[cell] >= 0:
            order[free[whole[cell]]] = cell
            free[whole[cell]] += 1
    return order, begins


@njit(cache=True, nogil=True)
def _loose_beside(cells: Any, parent: Any, flags: Any, columns: int) -> Any:
    """The roots of the pieces beside some cells that are not held, each once; they are flagged as seen."""
    loose = [np.int64(0) for _ in range(0)]
    for cell in cells:
        for neighbour in _around(cell, len(parent), columns):
            if neighbour >= 0 and parent[neighbour] != ABSENT:
                root = _root(parent, neighbour)
                if not flags[root] & (HELD | SEEN):
                    flags[root] |= SEEN
                    loose.append(np.int64(root))
    return loose


@njit(cache=True, nogil=True)
def _seeds_among(seeds: Any, freed: Any, parent: Any, flags: Any, loose: Any) -> Any:
    """Which of the pieces that stay, and have not met a held cell yet, belong to the loose ones."""
    waiting = [np.int64(0) for _ in range(0)]
    for root in loose:
        if flags[root] & STAYS:
            for number in range(len(seeds)):
                if freed[number] < 0 and _root(parent, seeds[number]) == root:
                    waiting.append(np.int64(number))
    return waiting


@njit(cache=True, nogil=True)
def _put_back(cells: Any, move: int, firm: Any, parent: Any, flags: Any, last: Any, columns: int) -> None:
    for cell in cells:
        parent[cell] = -1
        flags[cell] = HELD if firm[cell] else 0
        for neighbour in _around(cell, len(parent), columns):
            if neighbour >= 0 and parent[neighbour] != ABSENT:
                _join(parent, flags, cell, neighbour)
        last[_root(parent, cell)] = np.int32(move)


@njit(cache=True, nogil=True)
def _around(cell: int, count: int, columns: int) -> tuple[int, int, int, int]:
    """The four neighbours of a cell; -1 where there is none."""
    column = cell % columns
    return (
        cell - 1 if column > 0 else -1,
        cell + 1 if column + 1 < columns else -1,
        cell - columns if cell >= columns else -1,
        cell + columns if cell + columns < count else -1,
    )


@njit(cache=True, nogil=True)
def _root(parent: Any, cell: int) -> int:
    while parent[cell] > 0:
        up = parent[cell] - 1
        if parent[up] > 0:
            parent[cell] = parent[up]
        cell = up
    return cell


@njit(cache=True, nogil=True)
def _join(parent: Any, flags: Any, one: int, other: int) -> None:
    """Make one piece of two; the larger one's root stays root."""
    big, small = _root(parent, one), _root(parent, other)
    if big == small:
        return
    if parent[small] < parent[big]:
        big, small = small, big
    parent[big] += parent[small]
    parent[small] = big + 1
    flags[big] |= flags[small]


@njit(cache=True, nogil=True)
def _table(rows: Any) -> Any:
    out = np.zeros((len(rows), 4), dtype=np.int64)
    for number in range(len(rows)):
        for column in range(4):
            out[number, column] = rows[number][column]
    return out


@njit(cache=True, nogil=True)
def middles(labels: Any, count: int) -> Any:
    """The row and column of a cell well inside each label from 1: the middle of its longest run in a row."""
    out = np.zeros((count, 2), dtype=np.int64)
    longest = np.zeros(count, dtype=np.int64)
    rows, columns = labels.shape
    for i in range(rows):
        start = 0
        for j in range(1, columns + 1):
            if j == columns or labels[i, j] != labels[i, start]:
                number = labels[i, start] - 1
                if number >= 0 and j - start > longest[number]:
                    longest[number] = j - start
                    out[number, 0], out[number, 1] = i, (start + j - 1) // 2
                start = j
    return out
