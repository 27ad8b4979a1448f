"""The exact sweep of a cutter over the cells of a height field: arrays in, arrays out.

A motion comes as a table of pieces, straight ones and level arcs. For every cell whose centre the cutter
covers, the lowest point of the cutter over that centre follows in closed form: the cutter's underside over
a cell is convex along a straight move, so the free minimum, clamped to the stretch in which the cutter
covers the cell, is the true one.
"""

import math
from typing import Any, Final

import numpy as np
from numba import njit

STRAIGHT: Final = 0
LEVEL_ARC: Final = 1

FLAT: Final = 0
BALL: Final = 1
CONE: Final = 2  # a vee, a drill's point
BULL: Final = 3  # flat with a rounded corner

SURELY: Final = 1e-5  # mm, more than rounding can do to a height; a quick look that is less sure looks again

HAIR: Final = 1e-4  # cells, more than rounding can do to where a row of cells begins

# One piece of a move. Lengths in mm; u is the unit direction of a straight piece seen from above.
PIECE: Final = np.dtype(
    [
        ("form", np.int32),  # STRAIGHT or LEVEL_ARC
        ("shape", np.int32),  # of the cutter: FLAT, BALL, CONE or BULL
        ("move", np.int64),  # that the piece belongs to
        ("reach", np.float64),  # radius of the cutter
        ("slope", np.float64),  # of a cone: rise per mm of radius
        ("corner", np.float64),  # radius of a bull nose's corner, less than the reach
        ("x", np.float64),  # where a straight piece begins; the centre of an arc
        ("y", np.float64),
        ("z", np.float64),  # of the tip where the piece begins
        ("low", np.float64),  # lowest height of the tip
        ("ux", np.float64),
        ("uy", np.float64),
        ("run", np.float64),  # length of a straight piece seen from above; radius of an arc
        ("rise", np.float64),  # of the tip per mm of run
        ("turn", np.float64),  # of an arc, rad, anticlockwise from its first arm to its last
        ("first_x", np.float64),  # arm of an arc from its centre to the end from which it runs anticlockwise
        ("first_y", np.float64),
        ("last_x", np.float64),
        ("last_y", np.float64),
        ("front", np.float64),  # box that the cutter covers
        ("back", np.float64),
        ("left", np.float64),
        ("right", np.float64),
    ],
    align=True,
)

# What one move did.
TALLY: Final = np.dtype(
    [
        ("removed", np.float64),  # sum of heights taken, mm over all cells
        ("moment", np.float64),  # sum of heights taken, each times the material's height above the tip
        ("depth", np.float64),  # greatest height of material above the tip
        ("breach", np.float64),  # deepest cut below what is allowed
        ("row", np.int64),  # of that deepest cut
        ("column", np.int64),
    ],
    align=True,
)


@njit(cache=True, nogil=True)
def cut_rows(
    pieces: Any,
    which: Any,
    heights: Any,
    frame: Any,
    first_row: int,
    end_row: int,
    ceiling: float,
    allowed: Any,
    through: Any,
    level: Any,
    tally: Any,
) -> None:
    """Make the moves of some pieces in order on the rows from first_row up to end_row, in place.

    Args:
        pieces: (m,) PIECE, by move
        which: (k,) int64, the pieces that come near these rows
        heights: (rows, columns) float32, lowered in place
        frame: (x, y, cell) of the left front corner of cell (0, 0)
        ceiling: height at or above which nothing stands
        allowed: (rows, columns) float32, floor that a cut may not go below; (0, 0) for none
        through: (rows, columns) int32, set to 1 + the move where a cell first comes down to `level`
        level: float32
        tally: (n_moves,) TALLY, added to in place
    """
    for index in which:
        piece = pieces[index]
        if piece["low"] < ceiling:
            first, end = rows_between(piece["front"], piece["back"], frame, first_row, end_row)
            mine = tally[piece["move"]]
            if piece["form"] == STRAIGHT and piece["shape"] == FLAT and piece["rise"] == 0.0:
                _cut_flat(piece, heights, frame, first, end, allowed, through, level, mine)
            elif piece["form"] == STRAIGHT:
                _cut_straight(piece, heights, frame, first, end, allowed, through, level, mine)
            else:
                _cut_arc(piece, heights, frame, first, end, allowed, through, level, mine)


@njit(cache=True, nogil=True)
def rows_between(front: float, back: float, frame: Any, first_row: int, end_row: int) -> tuple[int, int]:
    """The rows, first and end, whose centres lie between two lines, give or take one."""
    first = math.floor((front - frame[1]) / frame[2] - 0.5)
    end = math.ceil((back - frame[1]) / frame[2] - 0.5) + 1
    return max(first_row, first), min(end_row, end)


@njit(cache=True, nogil=True)
def _cut_flat(
    piece: Any,
    heights: Any,
    frame: Any,
    first: int,
    end: int,
    allowed: Any,
    through: Any,
    level: Any,
    mine: Any,
) -> None:
    """A level straight piece of a flat cutter: every cell that it covers comes down to the same height."""
    low = np.float32(piece["low"])
    number = np.int32(piece["move"] + 1)
    goes_through = low <= level
    guarded = allowed.shape[0] > 0
    taken, moment, highest = 0.0, 0.0, low
    for i in range(first, end):
        y = frame[1] + (i + 0.5) * frame[2] - piece["y"]
        start, stop = span(piece, y, frame, heights.shape[1])
        row = heights[i, start:stop]
        # what stands is mostly a strip on the far side; the rest is passed over here at a glance
        begin, finish = 0, len(row)
        while begin < finish and row[begin] <= low:
            begin += 1
        while begin < finish and row[finish - 1] <= low:
            finish -= 1
        if begin == finish:
            continue
        strip = row[begin:finish]
        if guarded:
            _guard(strip, allowed[i, start + begin : start + finish], low, i, start + begin, mine)
        if goes_through:
            _mark(strip, level, through[i, start + begin : start + finish], number)
        for k in range(len(strip)):
            was = strip[k]
            if was > low:
                strip[k] = low
                gone = np.float64(was) - np.float64(low)
                taken += gone
                moment += gone * gone
                highest = was if was > highest else highest
    mine["removed"] += taken
    mine["moment"] += moment
    if highest > low:
        mine["depth"] = max(mine["depth"], np.float64(highest) - piece["low"])


@njit(cache=True, nogil=True)
def _guard(row: Any, allowed: Any, low: Any, i: int, start: int, mine: Any) -> None:
    """Note where a row that comes down to `low` goes below what is allowed."""
    below = False
    for k in range(len(row)):
        below |= (row[k] > low) & (allowed[k] > low)
    if not below:
        return
    for k in range(len(row)):
        if row[k] > low and allowed[k] > low:
            _note_breach(i, start + k, np.float64(allowed[k]) - np.float64(low), mine)


@njit(cache=True, nogil=True)
def _mark(row: Any, level: Any, through: Any, number: Any) -> None:
    """Mark the cells of a row that are still above the level."""
    for k in range(len(row)):
        through[k] = number if row[k] > level else through[k]


@njit(cache=True, nogil=True)
def _cut_straight(
    piece: Any,
    heights: Any,
    frame: Any,
    first: int,
    end: int,
    allowed: Any,
    through: Any,
    level: Any,
    mine: Any,
) -> None:
    low, lowest, z = np.float32(piece["low"]), piece["low"], piece["z"]
    # the cells are written between two looks at the piece, so the compiler would fetch it anew each time
    tool, ux, uy, run, rise = _tool(piece), piece["ux"], piece["uy"], piece["run"], piece["rise"]
    start_x, number = piece["x"], np.int32(piece["move"] + 1)
    guarded = allowed.shape[0] > 0
    taken, moment, depth = 0.0, 0.0, 0.0
    for i in range(first, end):
        y = frame[1] + (i + 0.5) * frame[2] - piece["y"]
        start, stop = span(piece, y, frame, heights.shape[1])
        for j in range(start, stop):
            was = heights[i, j]
            if was <= low:
                continue
            x = frame[0] + (j + 0.5) * frame[2] - start_x
            along, aside = x * ux + y * uy, y * ux - x * uy
            aside2 = aside * aside
            ahead = min(max(0.0, -along), run - along)  # where the axis is nearest
            if _passes_over(tool, np.float64(was) - lowest, ahead * ahead + aside2):
                continue
            if rise != 0.0:
                if _slopes_over(tool, rise, np.float64(was) - z - rise * along, aside2):
                    continue
                ahead = lowest_ahead(tool, run, rise, along, aside2)
            tip = max(lowest, z + rise * (along + ahead))
            under = np.float32(tip + _underside(tool, ahead * ahead + aside2))
            if under < was:
                heights[i, j] = under
                gone = np.float64(was) - np.float64(under)
                taken += gone
                moment += gone * (np.float64(was) - tip)
                depth = max(depth, np.float64(was) - tip)
                if under <= level and was > level:
                    through[i, j] = number
                if guarded and under < allowed[i, j]:
                    _note_breach(i, j, np.float64(allowed[i, j]) - np.float64(under), mine)
    mine["removed"] += taken
    mine["moment"] += moment
    mine["depth"] = max(mine["depth"], depth)


@njit(cache=True, nogil=True)
def _tool(piece: Any) -> tuple[int, float, float, float]:
    """The cutter of a piece: shape, reach, slope and corner."""
    return piece["shape"], piece["reach"], piece["slope"], piece["corner"]


@njit(cache=True, nogil=True)
def _passes_over(tool: Any, above: float, away2: float) -> bool:
    """Whether a cutter that comes no nearer surely passes over a cell so far above its lowest tip."""
    shape, reach, slope, corner = tool
    passes = False
    above += SURELY
    if shape == BALL:
        passes = reach > above and (reach - above) ** 2 > reach * reach - away2
    if shape == CONE:
        passes = slope * slope * away2 > above * above
    if shape == BULL:
        # no further out in the corner than the cell truly is, and no higher than a corner is there
        flat = reach - corner
        out = (away2 - flat * flat) / (reach + flat)
        passes = out > 0.0 and out * out > 2.0 * corner * above
    return passes


@njit(cache=True, nogil=True)
def _slopes_over(tool: Any, rise: float, above: float, aside2: float) -> bool:
    """Whether a sloping cutter surely passes over a cell so far above the tip at the cell's foot.

    The bound is the free minimum of the underside along the whole line, beyond both ends of the move too; of
    a bull nose, that of a flat cutter. It takes no root.
    """
    shape, reach, slope, _ = tool
    above += SURELY
    room = reach * reach - aside2
    if shape == BALL:
        passes: bool = reach > above and (reach - above) ** 2 > (1.0 + rise * rise) * room
    elif shape == CONE and slope > abs(rise):
        passes = above < 0.0 or (slope * slope - rise * rise) * aside2 > above * above
    else:
        passes = above < 0.0 and above * above > rise * rise * room
    return passes


@njit(cache=True, nogil=True)
def _cut_arc(
    piece: Any,
    heights: Any,
    frame: Any,
    first: int,
    end: int,
    allowed: Any,
    through: Any,
    level: Any,
    mine: Any,
) -> None:
    low = np.float32(piece["low"])
    reach2, tool = piece["reach"] * piece["reach"], _tool(piece)
    guarded = allowed.shape[0] > 0
    taken, moment, depth = 0.0, 0.0, 0.0
    for i in range(first, end):
        y = frame[1] + (i + 0.5) * frame[2] - piece["y"]
        start, skip, resume, stop = _ring_columns(piece, y, frame, heights.shape[1])
        for j in range(start, stop):
            was = heights[i, j]
            if was <= low or skip <= j < resume:
                continue
            x = frame[0] + (j + 0.5) * frame[2] - piece["x"]
            away2 = _off_arc2(piece, x, y)
            under = np.float32(piece["low"] + _underside(tool, away2))
            if away2 <= reach2 and under < was:
                heights[i, j] = under
                gone = np.float64(was) - np.float64(under)
                taken += gone
                moment += gone * (np.float64(was) - piece["low"])
                depth = max(depth, np.float64(was) - piece["low"])
                if under <= level and was > level:
                    through[i, j] = piece["move"] + 1
                if guarded and under < allowed[i, j]:
                    _note_breach(i, j, np.float64(allowed[i, j]) - np.float64(under), mine)
    mine["removed"] += taken
    mine["moment"] += moment
    mine["depth"] = max(mine["depth"], depth)


@njit(cache=True, nogil=True)
def _note_breach(i: int, j: int, breach: float, mine: Any) -> None:
    if breach > mine["breach"]:
        mine["breach"] = breach
        mine["row"] = i
        mine["column"] = j


@njit(cache=True, nogil=True)
def _ring_columns(piece: Any, y: float, frame: Any, columns: int) -> tuple[int, int, int, int]:
    """Where an arc's ring starts in a row, where its hole begins and ends, and where the ring stops."""
    # an arc may end a little off the circle on which it starts
    ends = math.sqrt(piece["last_x"] ** 2 + piece["last_y"] ** 2)
    starts = math.sqrt(piece["first_x"] ** 2 + piece["first_y"] ** 2)
    far = max(starts, ends) + piece["reach"]
    near = max(0.0, min(starts, ends) - piece["reach"])
    half = math.sqrt(max(0.0, far * far - y * y))
    left, right = piece["x"] - half, piece["x"] + half
    start, stop = _columns_between(max(left, piece["left"]), min(right, piece["right"]), frame, columns)
    hole = math.sqrt(max(0.0, near * near - y * y)) - 2 * frame[2]
    if hole <= 0.0:
        return start, stop, stop, stop
    skip, resume = _columns_between(piece["x"] - hole, piece["x"] + hole, frame, columns)
    return start, skip, resume, stop


@njit(cache=True, nogil=True)
def lowest_ahead(tool: Any, run: float, rise: float, along: float, aside2: float) -> float:
    """How far past a cell's foot the tip stands when the cutter is lowest over that cell, mm along the move.

    The foot is the point of the move's line nearest to the cell: `along` from the start, sqrt(aside2) off.
    """
    shape, reach, slope, corner = tool
    half = math.sqrt(max(0.0, reach * reach - aside2))
    want = -half if rise >= 0.0 else half
    if shape == BALL:
        want = -rise * half / math.sqrt(1.0 + rise * rise)
    elif shape == CONE and slope > abs(rise):
        want = -rise * math.sqrt(aside2) / math.sqrt(slope * slope - rise * rise)
        want = min(max(want, -half), half)
    elif shape == BULL:
        out = min(half, _matching_slope(reach - corner, corner, rise * rise, aside2))
        want = -out if rise >= 0.0 else out
    return min(max(want, -along), run - along)


@njit(cache=True, nogil=True)
def _matching_slope(flat: float, corner: float, rise2: float, aside2: float) -> float:
    """How far along a sloping line a bull nose's corner rises just as fast as the line, from a cell's foot.

    With t how far out in the corner the cell is, the corner's slope t / sqrt(r2 - t2), seen along the line,
    equals the line's where t2 (d2 - a2) = m2 (r2 - t2) d2, d = flat + t. The root is the only one between the
    two ends; Newton's step, or half the way where that leads out.
    """
    low, high = max(math.sqrt(aside2) - flat, corner * math.sqrt(rise2 / (1.0 + rise2))), corner
    out = min(low, high)
    ahead2 = (flat + out) ** 2 - aside2
    if ahead2 > 0.0:  # as if the line's slope were that of a line through the middle, that much steeper
        steep2 = rise2 * (flat + out) ** 2 / ahead2
        out = min(max(low, corner * math.sqrt(steep2 / (1.0 + steep2))), high)
    for _ in range(60):
        away = flat + out
        ahead2, left2 = away * away - aside2, corner * corner - out * out
        value = out * out * ahead2 - rise2 * left2 * away * away
        if value > 0.0:
            high = out
        else:
            low = out
        gain = 2.0 * (out * ahead2 + out * out * away + rise2 * away * (out * away - left2))
        step = out - value / gain if gain > 0.0 else high
        if not low < step < high:
            step = 0.5 * (low + high)
        if abs(step - out) <= 1e-7 * corner:
            break
        out = step
    return math.sqrt(max(0.0, (flat + out) ** 2 - aside2))


@njit(cache=True, nogil=True)
def _underside(tool: Any, away2: float) -> float:
    """Height of the cutter's underside above its tip, sqrt(away2) from its axis."""
    shape, reach, slope, corner = tool
    up = 0.0
    if shape == BALL:
        up = reach - math.sqrt(max(0.0, reach * reach - away2))
    elif shape == CONE:
        up = slope * math.sqrt(away2)
    elif shape == BULL and away2 > (reach - corner) * (reach - corner):
        out = math.sqrt(away2) - (reach - corner)
        up = corner - math.sqrt(max(0.0, corner * corner - out * out))
    return up


@njit(cache=True, nogil=True)
def span(piece: Any, y: float, frame: Any, columns: int) -> tuple[int, int]:
    """The columns, start and stop, whose centres a straight piece covers in a row `y` from its start."""
    reach, run, ux, uy = piece["reach"], piece["run"], piece["ux"], piece["uy"]
    left, right = math.inf, -math.inf
    room = reach * reach - y * y
    if room >= 0.0:
        left, right = -math.sqrt(room), math.sqrt(room)
    room = reach * reach - (y - uy * run) ** 2
    if room >= 0.0:
        left = min(left, ux * run - math.sqrt(room))
        right = max(right, ux * run + math.sqrt(room))
    low, high = _band(-uy, y * ux, -reach, reach)
    begin, finish = _band(ux, y * uy, 0.0, run)
    low, high = max(low, begin), min(high, finish)
    if low <= high:
        left, right = min(left, low), max(right, high)
    if left > right:
        return 0, 0
    each = 1.0 / frame[2]
    off = (piece["x"] - frame[0]) * each - 0.5
    start = math.ceil(min(max(left * each + off - HAIR, 0.0), columns + 1.0))
    stop = math.floor(min(max(right * each + off + HAIR, -1.0), columns - 1.0)) + 1
    # the ends are settled by the cell's own distance; between them the shape is convex
    while start < stop and not _covers(piece, frame[0] + (start + 0.5) * frame[2] - piece["x"], y):
        start += 1
    while start < stop and not _covers(piece, frame[0] + (stop - 0.5) * frame[2] - piece["x"], y):
        stop -= 1
    return start, max(start, stop)


@njit(cache=True, nogil=True)
def _band(factor: float, offset: float, low: float, high: float) -> tuple[float, float]:
    """The x for which low <= factor x + offset <= high."""
    if factor == 0.0:
        return (-math.inf, math.inf) if low <= offset <= high else (math.inf, -math.inf)
    each = 1.0 / factor
    one, other = (low - offset) * each, (high - offset) * each
    return min(one, other), max(one, other)


@njit(cache=True, nogil=True)
def _covers(piece: Any, x: float, y: float) -> bool:
    along = x * piece["ux"] + y * piece["uy"]
    aside = y * piece["ux"] - x * piece["uy"]
    past = along - min(max(along, 0.0), piece["run"])
    covers: bool = past * past + aside * aside <= piece["reach"] * piece["reach"]
    return covers


@njit(cache=True, nogil=True)
def _columns_between(left: float, right: float, frame: Any, columns: int) -> tuple[int, int]:
    """The columns, start and stop, whose centres lie between two places, give or take one."""
    start = math.floor(min(max((left - frame[0]) / frame[2] - 0.5, -1.0), columns + 1.0))
    stop = math.ceil(min(max((right - frame[0]) / frame[2] - 0.5, -1.0), columns + 1.0)) + 1
    return max(0, start), min(columns, stop)


@njit(cache=True, nogil=True)
def _off_arc2(piece: Any, x: float, y: float) -> float:
    """Squared distance from an arc of a point given from the arc's centre."""
    if _in_wedge(piece, x, y):
        off: float = math.sqrt(x * x + y * y) - piece["run"]
        return off * off
    first2: float = (x - piece["first_x"]) ** 2 + (y - piece["first_y"]) ** 2
    last2: float = (x - piece["last_x"]) ** 2 + (y - piece["last_y"]) ** 2
    return min(first2, last2)


@njit(cache=True, nogil=True)
def _in_wedge(piece: Any, x: float, y: float) -> bool:
    """Whether a direction from the centre lies between an arc's arms; no angles, so no rounding of angles."""
    if piece["turn"] >= math.tau - 1e-9:
        return True
    after_first: bool = piece["first_x"] * y - piece["first_y"] * x >= 0.0
    before_last: bool = x * piece["last_y"] - y * piece["last_x"] >= 0.0
    if piece["turn"] <= math.pi:
        return after_first and before_last
    return after_first or before_last


@njit(cache=True, nogil=True)
def touch_labels(
    pieces: Any, labels: Any, frame: Any, first_row: int, end_row: int, top: float, since: Any, touched: Any
) -> None:
    """For every label, the first move after `since` that comes within reach of one of its cells below `top`.

    Args:
        pieces: (m,) PIECE, straight ones only, by move; `reach` is how near counts as touching
        labels: (rows, columns) int32; 0 is nobody
        since: (labels + 1,) int64, moves up to this one don't count
        touched: (labels + 1,) int64, -1 where no move has come yet; filled in place
    """
    for index in range(len(pieces)):
        piece = pieces[index]
        if piece["low"] >= top:
            continue
        first, end = rows_between(piece["front"], piece["back"], frame, first_row, end_row)
        flat = np.int32(FLAT), piece["reach"], 0.0, 0.0
        for i in range(first, end):
            y = frame[1] + (i + 0.5) * frame[2] - piece["y"]
            start, stop = span(piece, y, frame, labels.shape[1])
            for j in range(start, stop):
                label = labels[i, j]
                if label == 0 or touched[label] >= 0 or piece["move"] <= since[label]:
                    continue
                x = frame[0] + (j + 0.5) * frame[2] - piece["x"]
                along = x * piece["ux"] + y * piece["uy"]
                aside = y * piece["ux"] - x * piece["uy"]
                ahead = lowest_ahead(flat, piece["run"], piece["rise"], along, aside * aside)
                if piece["z"] + piece["rise"] * (along + ahead) < top:
                    touched[label] = piece["move"]
