"""Which cells hang together, and when they part: arrays in, arrays out.

Cells hang together along their edges; two cells that meet at a corner don't hold each other. Cells side by
side in a row that the same move cuts through - or none - stand and go together: they are one run, and what
follows is reckoned on runs. The cuts are put back from the last to the first: the move at which two pieces
meet in that order is the move at which they part in the true one.
"""

from typing import Any, Final

import numpy as np
from numba import njit

# One stretch of a row that stands and goes together.
RUN: Final = np.dtype(
    [
        ("move", np.int32),  # that cuts it through; -1 for none
        ("row", np.int32),
        ("begin", np.int32),  # its first column
        ("end", np.int32),  # the column after its last
        ("parent", np.int32),  # 0: not there. A root holds minus its piece's cells, any other 1 + its parent
        ("last", np.int32),  # at a root: the move put back into the piece last; -1 for none
        ("flags", np.int32),  # of a piece, at its root; of a run that is not there yet: what it brings
    ],
    align=True,
)

HELD: Final = 1
STAYS: Final = 2  # has cells that are never cut
SEEN: Final = 4  # beside a cell of the move that is being put back


@njit(cache=True, nogil=True)
def parted(
    through: Any, inside: Any, held: Any, moves: int, least: int, labels: Any
) -> tuple[Any, Any, Any, Any, Any]:
    """Pieces that no held cell is part of: those that stay, and those that are cut away after they parted.

    Args:
        through: (rows, columns) int32, 1 + the move that cuts each cell through; 0 for none
        inside: (rows, columns) bool, where there is stock
        held: (rows, columns) bool, cells that can't come loose while they are there
        moves: count of moves
        least: cells below which a piece that is cut away is not reported
        labels: (rows, columns) int32, zeros; comes to hold a number from 1 for each piece that stays
    Returns:
        freed: (pieces,) int64, the move at which each parted from the last held cell; -1 for never joined
        cut: (pieces,) int64, the first move after that which cuts through what had parted; -1 for none
        size: (pieces,) int64, cells that stay
        inner: (pieces, 2) int64, row and column of a cell well inside: the middle of the longest run
        gone: (k, 5) int64, of each piece that is cut away: freed, cut, size when it parted, row and column
    """
    rows = _rows_of(through, inside)
    runs = np.zeros(rows[-1], dtype=RUN)
    _find(through, inside, held, rows, runs)
    _stand(runs, rows)
    seeds, inner = _labelled(runs, labels)
    size = np.zeros(len(seeds), dtype=np.int64)
    for number in range(len(seeds)):
        size[number] = -runs[seeds[number]]["parent"]
    freed, cut = np.full(len(seeds), -1, dtype=np.int64), np.full(len(seeds), -1, dtype=np.int64)
    gone = [(np.int64(0), np.int64(0), np.int64(0), np.int64(0), np.int64(0)) for _ in range(0)]
    order, begins = _by_move(runs, moves)
    beside = np.zeros(2 * through.shape[1] + 2, dtype=np.int64)
    for move in range(moves - 1, -1, -1):
        mine = order[begins[move] : begins[move + 1]]
        if len(mine) == 0:
            continue
        loose = _loose_beside(mine, runs, rows, beside)
        waiting = _seeds_among(seeds, freed, runs, loose)
        sizes = [-np.int64(runs[root]["parent"]) for root in loose]
        before = [np.int64(runs[root]["last"]) for root in loose]
        seeds_before = [np.int64(runs[_root(runs, seeds[number])]["last"]) for number in waiting]
        stays = [runs[root]["flags"] & STAYS for root in loose]
        _put_back(mine, move, runs, rows, beside)
        for k in range(len(loose)):
            root = _root(runs, loose[k])
            runs[root]["flags"] &= ~SEEN
            if runs[root]["flags"] & HELD and not stays[k] and sizes[k] >= least:
                one = runs[loose[k]]
                middle = np.int64((one["begin"] + one["end"] - 1) // 2)
                gone.append((np.int64(move), before[k], sizes[k], np.int64(one["row"]), middle))
        for k in range(len(waiting)):
            if runs[_root(runs, seeds[waiting[k]])]["flags"] & HELD:
                freed[waiting[k]], cut[waiting[k]] = move, seeds_before[k]
    return freed, cut, size, inner, _table(gone)


@njit(cache=True, nogil=True)
def _rows_of(through: Any, inside: Any) -> Any:
    """The number of the first run in each row, and of the one after the last: (rows + 1,) int64."""
    out = np.zeros(through.shape[0] + 1, dtype=np.int64)
    for i in range(through.shape[0]):
        count = 0
        was, there = np.int32(0), False
        for j in range(through.shape[1]):
            count += inside[i, j] and not (there and through[i, j] == was)
            was, there = through[i, j], inside[i, j]
        out[i + 1] = out[i] + count
    return out


@njit(cache=True, nogil=True)
def _find(through: Any, inside: Any, held: Any, rows: Any, runs: Any) -> None:
    """Fill in where each run lies, which move takes it, and whether it is held."""
    for i in range(through.shape[0]):
        number = rows[i] - 1
        there = False
        for j in range(through.shape[1]):
            if inside[i, j]:
                if not (there and through[i, j] - 1 == runs[number]["move"]):
                    number += 1
                    runs[number]["move"], runs[number]["row"] = through[i, j] - 1, i
                    runs[number]["begin"], runs[number]["last"] = j, -1
                runs[number]["end"] = j + 1
                if held[i, j]:
                    runs[number]["flags"] = HELD
            there = inside[i, j]


@njit(cache=True, nogil=True)
def _stand(runs: Any, rows: Any) -> None:
    """Set up the runs that are never cut, joined with those of the row before."""
    for i in range(len(rows) - 1):
        above = rows[i - 1] if i else 0
        for run in range(rows[i], rows[i + 1]):
            if runs[run]["move"] >= 0:
                continue
            runs[run]["parent"] = runs[run]["begin"] - runs[run]["end"]
            runs[run]["flags"] |= STAYS
            while i and above < rows[i] and runs[above]["end"] <= runs[run]["begin"]:
                above += 1
            other = above
            while i and other < rows[i] and runs[other]["begin"] < runs[run]["end"]:
                if runs[other]["parent"]:
                    _join(runs, run, other)
                other += 1


@njit(cache=True, nogil=True)
def _labelled(runs: Any, labels: Any) -> tuple[Any, Any]:
    """The root of each piece that is not held, in order of its first cell, and a cell well inside it.

    The pieces' cells are written into `labels`, from 1.
    """
    number_of = np.zeros(len(runs), dtype=np.int32)
    longest = np.zeros(len(runs), dtype=np.int32)  # of each piece, at its root
    seeds = [np.int64(0) for _ in range(0)]
    middle = [np.int64(0) for _ in range(0)]  # number of the longest run
    for run in range(len(runs)):
        if runs[run]["parent"] == 0:
            continue
        root = _root(runs, run)
        if runs[root]["flags"] & HELD:
            continue
        if number_of[root] == 0:
            seeds.append(np.int64(root))
            middle.append(np.int64(run))
            number_of[root] = len(seeds)
        number = number_of[root]
        one = runs[run]
        labels[one["row"], one["begin"] : one["end"]] = number
        if one["end"] - one["begin"] > longest[root]:
            longest[root] = one["end"] - one["begin"]
            middle[number - 1] = np.int64(run)
    roots = np.zeros(len(seeds), dtype=np.int64)
    inner = np.zeros((len(seeds), 2), dtype=np.int64)
    for number in range(len(seeds)):
        roots[number] = seeds[number]
        one = runs[middle[number]]
        inner[number, 0], inner[number, 1] = one["row"], (one["begin"] + one["end"] - 1) // 2
    return roots, inner


@njit(cache=True, nogil=True)
def _by_move(runs: Any, moves: int) -> tuple[Any, Any]:
    """The runs that are cut through, by the move that does it; and where each move's begin."""
    begins = np.zeros(moves + 1, dtype=np.int64)
    for run in range(len(runs)):
        if runs[run]["move"] >= 0:
            begins[runs[run]["move"] + 1] += 1
    for move in range(moves):
        begins[move + 1] += begins[move]
    order = np.zeros(begins[moves], dtype=np.int64)
    free = begins.copy()
    for run in range(len(runs)):
        if runs[run]["move"] >= 0:
            order[free[runs[run]["move"]]] = run
            free[runs[run]["move"]] += 1
    return order, begins


@njit(cache=True, nogil=True)
def _loose_beside(mine: Any, runs: Any, rows: Any, beside: Any) -> Any:
    """The roots of the pieces beside some runs that are not held, each once; they are flagged as seen."""
    loose = [np.int64(0) for _ in range(0)]
    for run in mine:
        for k in range(_around(run, runs, rows, beside)):
            if runs[beside[k]]["parent"]:
                root = _root(runs, beside[k])
                if not runs[root]["flags"] & (HELD | SEEN):
                    runs[root]["flags"] |= SEEN
                    loose.append(np.int64(root))
    return loose


@njit(cache=True, nogil=True)
def _seeds_among(seeds: Any, freed: Any, runs: Any, loose: Any) -> Any:
    """Which of the pieces that stay, and have not met a held cell yet, belong to the loose ones."""
    waiting = [np.int64(0) for _ in range(0)]
    for root in loose:
        if runs[root]["flags"] & STAYS:
            for number in range(len(seeds)):
                if freed[number] < 0 and _root(runs, seeds[number]) == root:
                    waiting.append(np.int64(number))
    return waiting


@njit(cache=True, nogil=True)
def _put_back(mine: Any, move: int, runs: Any, rows: Any, beside: Any) -> None:
    for run in mine:
        runs[run]["parent"] = runs[run]["begin"] - runs[run]["end"]
        for k in range(_around(run, runs, rows, beside)):
            if runs[beside[k]]["parent"]:
                _join(runs, run, beside[k])
        runs[_root(runs, run)]["last"] = move


@njit(cache=True, nogil=True)
def _around(run: int, runs: Any, rows: Any, beside: Any) -> int:
    """Write the runs that share an edge with a run into `beside`; how many they are."""
    begin, end, row = runs[run]["begin"], runs[run]["end"], runs[run]["row"]
    count = 0
    if run > rows[row] and runs[run - 1]["end"] == begin:
        beside[count] = run - 1
        count += 1
    if run + 1 < rows[row + 1] and runs[run + 1]["begin"] == end:
        beside[count] = run + 1
        count += 1
    for next_row in (row - 1, row + 1):
        if next_row < 0 or next_row + 1 >= len(rows):
            continue
        other = _first_past(runs, rows[next_row], rows[next_row + 1], begin)
        while other < rows[next_row + 1] and runs[other]["begin"] < end:
            beside[count] = other
            count += 1
            other += 1
    return count


@njit(cache=True, nogil=True)
def _first_past(runs: Any, low: int, high: int, column: int) -> int:
    """The first run among some of one row that ends past a column."""
    while low < high:
        middle = (low + high) // 2
        if runs[middle]["end"] <= column:
            low = middle + 1
        else:
            high = middle
    return low


@njit(cache=True, nogil=True)
def _root(runs: Any, run: int) -> int:
    while runs[run]["parent"] > 0:
        up = runs[run]["parent"] - 1
        if runs[up]["parent"] > 0:
            runs[run]["parent"] = runs[up]["parent"]
        run = up
    return run


@njit(cache=True, nogil=True)
def _join(runs: Any, one: int, other: int) -> None:
    """Make one piece of two; the larger one's root stays root."""
    big, small = _root(runs, one), _root(runs, other)
    if big == small:
        return
    if runs[small]["parent"] < runs[big]["parent"]:
        big, small = small, big
    runs[big]["parent"] += runs[small]["parent"]
    runs[small]["parent"] = big + 1
    runs[big]["flags"] |= runs[small]["flags"]


@njit(cache=True, nogil=True)
def _table(rows: Any) -> Any:
    out = np.zeros((len(rows), 5), dtype=np.int64)
    for number in range(len(rows)):
        row = rows[number]
        out[number, 0], out[number, 1], out[number, 2] = row[0], row[1], row[2]
        out[number, 3], out[number, 4] = row[3], row[4]
    return out
