/**
 * The exact sweep of a cutter over the centres of a grid's cells: straight pieces and level arcs, in closed form.
 * The cutter's underside over a cell is convex along a straight piece, so its free minimum, clamped to the stretch in
 * which the cutter covers the cell, is the true one. Lengths in mm; heights are lowered in place.
 *
 * @typedef {{columns: number, rows: number, cell: number, heights: Float32Array}} Grid its left front corner at (0, 0)
 * @typedef {{shape: number, reach: number, slope: number, corner: number}} Tool slope of a cone, mm a mm of radius
 */

const FLAT = 0, BALL = 1, CONE = 2, BULL = 3;
const RIM = 1e-4; // mm; a cell so near to a wall stands, whatever single precision makes of the wall's place
const UPRIGHT = 1e-6; // mm aside, up to which a piece goes straight down

/** @returns {Tool} what of a cutter matters here */
export function toolOf(cutter) {
  const reach = cutter.diameter / 2;
  const shape = { flat: FLAT, ball: BALL, "bull nose": BULL }[cutter.kind] ?? CONE;
  const half = ((cutter.point_deg ?? 180) / 2) * (Math.PI / 180);
  return { shape, reach, slope: shape === CONE ? 1 / Math.tan(half) : 0, corner: cutter.corner_radius ?? 0 };
}

/** Height of the cutter's underside above its tip, the root of away2 from its axis. */
function underside(tool, away2) {
  const { shape, reach } = tool;
  if (shape === FLAT) return 0;
  if (shape === BALL) return reach - Math.sqrt(Math.max(0, reach * reach - away2));
  if (shape === CONE) return tool.slope * Math.sqrt(away2);
  const out = Math.sqrt(away2) - (reach - tool.corner);
  return out > 0 ? tool.corner - Math.sqrt(Math.max(0, tool.corner * tool.corner - out * out)) : 0;
}

/** How far past a cell's foot the tip stands when the cutter is lowest over the cell, on an endless line. */
function freeAhead(tool, rise, aside2) {
  const { shape, reach, slope } = tool;
  const half = Math.sqrt(Math.max(0, reach * reach - aside2));
  const down = rise >= 0 ? -1 : 1;
  if (shape === BALL) return (-rise * half) / Math.sqrt(1 + rise * rise);
  if (shape === CONE && slope > Math.abs(rise)) {
    const want = (-rise * Math.sqrt(aside2)) / Math.sqrt(slope * slope - rise * rise);
    return Math.min(Math.max(want, -half), half);
  }
  if (shape === BULL) return down * Math.min(half, matchingSlope(tool, rise * rise, aside2));
  return down * half;
}

/**
 * How far from a cell's foot a bull nose's corner rises just as fast along the line as the line itself.
 * With t how far out in the corner: t2 (d2 - a2) = m2 (r2 - t2) d2, d = flat + t; halved until it is found.
 */
function matchingSlope(tool, rise2, aside2) {
  const { corner } = tool;
  const flat = tool.reach - corner;
  let low = Math.max(Math.sqrt(aside2) - flat, corner * Math.sqrt(rise2 / (1 + rise2)));
  let high = corner;
  for (let turn = 0; turn < 40 && high - low > 1e-9; turn += 1) {
    const out = (low + high) / 2;
    const away2 = (flat + out) ** 2;
    if (out * out * (away2 - aside2) > rise2 * (corner * corner - out * out) * away2) high = out;
    else low = out;
  }
  const out = Math.min(low, corner);
  return Math.sqrt(Math.max(0, (flat + out) ** 2 - aside2));
}

/** The rows, first and end, whose centres lie between two lines, give or take one. */
function rowsBetween(grid, front, back) {
  return [
    Math.max(0, Math.floor(front / grid.cell - 0.5)),
    Math.min(grid.rows, Math.ceil(back / grid.cell - 0.5) + 1),
  ];
}

/** Lower the cells under a straight piece from (x, y, z) to (x2, y2, z2). */
export function cutStraight(grid, tool, x, y, z, x2, y2, z2) {
  let [ux, uy, rise] = [1, 0, 0];
  let run = Math.hypot(x2 - x, y2 - y);
  const lowest = Math.min(z, z2);
  if (run < UPRIGHT) [run, z] = [0, lowest];
  else [ux, uy, rise] = [(x2 - x) / run, (y2 - y) / run, (z2 - z) / run];
  const reach = tool.reach - RIM;
  const [first, end] = rowsBetween(grid, Math.min(y, y2) - reach, Math.max(y, y2) + reach);
  const plain = tool.shape === FLAT && rise === 0;
  for (let row = first; row < end; row += 1) {
    const off = (row + 0.5) * grid.cell - y;
    const [left, right] = spanOf(off, reach, run, ux, uy);
    const begin = Math.max(0, Math.ceil((left + x) / grid.cell - 0.5 - 1e-4));
    const stop = Math.min(grid.columns, Math.floor((right + x) / grid.cell - 0.5 + 1e-4) + 1);
    const base = row * grid.columns;
    if (plain) lowerLevel(grid, base, begin, stop, x, off, ux, uy, run, reach, lowest);
    else lowerSloped(grid, tool, base, begin, stop, x, off, ux, uy, run, reach, z, rise, lowest);
  }
}

/** Left and right end, from the piece's start, of what a piece covers on a line `off` behind its start. */
function spanOf(off, reach, run, ux, uy) {
  let left = Infinity;
  let right = -Infinity;
  const widen = (low, high) => {
    if (low < left) left = low;
    if (high > right) right = high;
  };
  const near = reach * reach - off * off;
  if (near >= 0) widen(-Math.sqrt(near), Math.sqrt(near));
  const beyond = reach * reach - (off - uy * run) ** 2;
  if (beyond >= 0) widen(ux * run - Math.sqrt(beyond), ux * run + Math.sqrt(beyond));
  const [low, high] = band(-uy, off * ux, -reach, reach);
  const [from, to] = band(ux, off * uy, 0, run);
  if (Math.max(low, from) <= Math.min(high, to)) widen(Math.max(low, from), Math.min(high, to));
  return [left, right];
}

/** The x for which low <= factor x + offset <= high. */
function band(factor, offset, low, high) {
  if (factor === 0) return low <= offset && offset <= high ? [-Infinity, Infinity] : [Infinity, -Infinity];
  const one = (low - offset) / factor;
  const other = (high - offset) / factor;
  return one < other ? [one, other] : [other, one];
}

function lowerLevel(grid, base, begin, stop, x, off, ux, uy, run, reach, low) {
  const { heights, cell } = grid;
  for (let column = begin; column < stop; column += 1) {
    if (heights[base + column] <= low) continue;
    const right = (column + 0.5) * cell - x;
    const along = right * ux + off * uy;
    const aside = off * ux - right * uy;
    const past = along - Math.min(Math.max(along, 0), run);
    if (past * past + aside * aside <= reach * reach) heights[base + column] = low;
  }
}

function lowerSloped(grid, tool, base, begin, stop, x, off, ux, uy, run, reach, z, rise, lowest) {
  const { heights, cell } = grid;
  for (let column = begin; column < stop; column += 1) {
    if (heights[base + column] <= lowest) continue;
    const right = (column + 0.5) * cell - x;
    const along = right * ux + off * uy;
    const aside = off * ux - right * uy;
    const aside2 = aside * aside;
    const past = along - Math.min(Math.max(along, 0), run);
    if (past * past + aside2 > reach * reach) continue;
    const want = rise === 0 ? 0 : freeAhead(tool, rise, aside2);
    const ahead = Math.min(Math.max(want, -along), run - along);
    const tip = Math.max(lowest, z + rise * (along + ahead));
    const under = tip + underside(tool, ahead * ahead + aside2);
    if (under < heights[base + column]) heights[base + column] = under;
  }
}

/**
 * Lower the cells under a level arc about (x, y) at height z.
 * @param {number} dx arm from the centre to the arc's start; dy too
 * @param {number} sweep rad, positive anticlockwise from above
 */
export function cutArc(grid, tool, x, y, z, dx, dy, sweep) {
  const radius = Math.hypot(dx, dy);
  const [cos, sin] = [Math.cos(sweep), Math.sin(sweep)];
  let [firstX, firstY] = [dx, dy];
  let [lastX, lastY] = [dx * cos - dy * sin, dx * sin + dy * cos];
  if (sweep < 0) [firstX, firstY, lastX, lastY] = [lastX, lastY, firstX, firstY];
  const turn = Math.abs(sweep);
  const reach = tool.reach - RIM;
  const [outer, inner] = [radius + reach, Math.max(0, radius - reach)];
  const { heights, cell } = grid;
  const [front, back] = rowsBetween(grid, y - outer, y + outer);
  for (let row = front; row < back; row += 1) {
    const off = (row + 0.5) * cell - y;
    if (Math.abs(off) > outer) continue;
    const half = Math.sqrt(outer * outer - off * off);
    const hole = Math.abs(off) < inner ? Math.sqrt(inner * inner - off * off) : 0;
    const begin = Math.max(0, Math.floor((x - half) / cell - 0.5));
    const stop = Math.min(grid.columns, Math.ceil((x + half) / cell - 0.5) + 1);
    const skip = hole > 2 * cell ? Math.ceil((x - hole) / cell + 0.5) : stop;
    const resume = hole > 2 * cell ? Math.floor((x + hole) / cell - 1.5) : stop;
    for (let column = begin; column < stop; column += 1) {
      if (column === skip && resume > column) column = resume;
      const place = row * grid.columns + column;
      if (column >= stop || heights[place] <= z) continue;
      const right = (column + 0.5) * cell - x;
      const away2 = offArc2(right, off, radius, turn, firstX, firstY, lastX, lastY);
      if (away2 > reach * reach) continue;
      const under = z + underside(tool, away2);
      if (under < heights[place]) heights[place] = under;
    }
  }
}

/** Squared distance from an arc of a point given from its centre. */
function offArc2(x, y, radius, turn, firstX, firstY, lastX, lastY) {
  const after = firstX * y - firstY * x >= 0;
  const before = x * lastY - y * lastX >= 0;
  const inside = turn >= 2 * Math.PI - 1e-6 || (turn <= Math.PI ? after && before : after || before);
  if (inside) return (Math.sqrt(x * x + y * y) - radius) ** 2;
  return Math.min((x - firstX) ** 2 + (y - firstY) ** 2, (x - lastX) ** 2 + (y - lastY) ** 2);
}
