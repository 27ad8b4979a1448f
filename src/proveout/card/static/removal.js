/** The cut, run again on a grid of heights: any moment of it, forwards from the nearest state that was kept. */

import { arcNumbers, pieceAt, shareOf } from "./scene.js";
import { cutArc, cutStraight, toolOf } from "./sweep.js";

const FINE = 0.4; // mm, side of a cell that is fine enough to see
const FEWEST = 400; // cells along the longer side
const MOST = 700;
const PIECE_COST = 30; // of a piece that cuts, in cells looked at
const IDLE_COST = 1; // of one that passes over the stock
const KEPT_COST = 300000; // in cells looked at, from one kept state to the next: a few milliseconds
const MOST_KEPT = 32;

/**
 * The grid for a sheet: whole cells on its longer side.
 * @param {[number, number]} size mm
 * @param {number} [cells] along the longer side
 * @returns {{columns: number, rows: number, cell: number}}
 */
export function gridFor(size, cells) {
  const longer = Math.max(...size);
  const count = cells ?? Math.min(MOST, Math.max(FEWEST, Math.round(longer / FINE)));
  const cell = longer / count;
  const [columns, rows] = size.map((length) => Math.max(1, Math.ceil(length / cell - 1e-6)));
  return { columns, rows, cell };
}

/** The heights before the first cut: a cell whose centre lies over the sheet stands at its thickness. */
function fresh({ columns, rows, cell }, size, thickness) {
  const heights = new Float32Array(columns * rows).fill(thickness);
  const wide = Math.min(columns, Math.ceil(size[0] / cell - 0.5 + 1e-6));
  const deep = Math.min(rows, Math.ceil(size[1] / cell - 0.5 + 1e-6));
  for (let row = 0; row < rows; row += 1) {
    if (row >= deep) heights.fill(0, row * columns, (row + 1) * columns);
    else heights.fill(0, row * columns + wide, (row + 1) * columns);
  }
  return heights;
}

/** The cut of a scene. `heights` (mm above the bed, front row first) is the present state; look, don't write. */
export class Replay {
  /**
   * @param {object} [how]
   * @param {number} [how.cells] along the sheet's longer side
   * @param {number} [how.keptCost] work from one kept state to the next, in cells looked at
   */
  constructor({ header, arrays }, { cells, keptCost = KEPT_COST } = {}) {
    const { size, thickness } = header.sheet;
    this.arrays = arrays;
    this.thickness = thickness;
    this.grid = { ...gridFor(size, cells), heights: null };
    this.grid.heights = fresh(this.grid, size, thickness);
    this.arcs = arcNumbers(arrays);
    this.tools = new Map(header.cutters.map((cutter) => [cutter.number, toolOf(cutter)]));
    this.next = 0; // the first piece that is not wholly cut
    this.part = 0; // how much of it is
    this.#plan(keptCost);
    this.kept = [{ piece: 0, heights: this.grid.heights.slice() }];
  }

  get heights() {
    return this.grid.heights;
  }

  /** Where states are kept: after pieces that lie about as much work apart. */
  #plan(keptCost) {
    const count = this.arrays.begin.length;
    const cost = new Float64Array(count + 1);
    for (let piece = 0; piece < count; piece += 1) cost[piece + 1] = cost[piece] + this.#cost(piece);
    const states = Math.min(MOST_KEPT, Math.ceil(cost[count] / keptCost));
    this.edges = [];
    for (let piece = 1, state = 1; piece <= count && state < states; piece += 1) {
      if (cost[piece] < (cost[count] * state) / states) continue;
      this.edges.push(piece);
      state += 1;
    }
  }

  #cost(piece) {
    const { start, end } = this.arrays;
    const tool = this.#tool(piece);
    if (!tool || Math.min(start[3 * piece + 2], end[3 * piece + 2]) >= this.thickness) return IDLE_COST;
    const arc = this.arcs[piece];
    let way = Math.hypot(end[3 * piece] - start[3 * piece], end[3 * piece + 1] - start[3 * piece + 1]);
    if (arc >= 0) way = Math.abs(this.arrays.arc_sweep[arc]) * Math.hypot(...this.#arm(piece, arc));
    return PIECE_COST + ((way + 2 * tool.reach) * 2 * tool.reach) / this.grid.cell ** 2;
  }

  #tool(piece) {
    return this.tools.get(this.arrays.cutter[piece]);
  }

  #arm(piece, arc) {
    const { start, arc_centre: centre } = this.arrays;
    return [start[3 * piece] - centre[2 * arc], start[3 * piece + 1] - centre[2 * arc + 1]];
  }

  /**
   * Bring the heights to a moment.
   * @param {number} time s
   * @returns {boolean} whether anything may have changed
   */
  goTo(time) {
    const { begin } = this.arrays;
    if (!begin.length) return false;
    const piece = time < begin[0] ? 0 : pieceAt(begin, time);
    const share = time < begin[0] ? 0 : shareOf(this.arrays, piece, time);
    return this.goToPiece(piece, share);
  }

  /** Bring the heights to where so much of a piece is cut, and all before it. */
  goToPiece(piece, share) {
    if (piece === this.next && share === this.part) return false;
    this.#recall(piece, share);
    while (this.next < piece) {
      this.#cut(this.next, 1);
      this.next += 1;
      if (this.next === this.edges[this.kept.length - 1]) this.#keep();
    }
    if (share > 0) this.#cut(piece, share);
    this.part = share;
    return true;
  }

  #keep() {
    this.kept.push({ piece: this.next, heights: this.grid.heights.slice() });
  }

  /** Take up the nearest kept state where the present one is later, or further back than that. */
  #recall(piece, share) {
    let state = this.kept.length - 1;
    while (this.kept[state].piece > piece) state -= 1;
    const back = piece < this.next || (piece === this.next && share < this.part);
    if (!back && this.kept[state].piece <= this.next) return;
    this.grid.heights.set(this.kept[state].heights);
    this.next = this.kept[state].piece;
    this.part = 0;
  }

  #cut(piece, share) {
    const { start, end } = this.arrays;
    const at = 3 * piece;
    const tool = this.#tool(piece);
    if (!tool || Math.min(start[at + 2], end[at + 2]) >= this.thickness) return;
    const arc = this.arcs[piece];
    if (arc >= 0) {
      const [dx, dy] = this.#arm(piece, arc);
      const { arc_centre: centre, arc_sweep: sweep } = this.arrays;
      cutArc(this.grid, tool, centre[2 * arc], centre[2 * arc + 1], start[at + 2], dx, dy, sweep[arc] * share);
      return;
    }
    const [x, y, z] = [start[at], start[at + 1], start[at + 2]];
    cutStraight(
      this.grid, tool, x, y, z,
      x + (end[at] - x) * share, y + (end[at + 1] - y) * share, z + (end[at + 2] - z) * share,
    );
  }
}
