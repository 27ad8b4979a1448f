/**
 * The grid of heights as a surface of few quads: level floors merged into rectangles, upright walls between them.
 * The sheet's uncut face is left to a single rectangle that is open where it was cut, and the bed to the plate.
 * Each vertex is x, y, z (mm, 32-bit floats) and a colour of four bytes; no opacity means "as the picture of the top
 * has it there". The quads' outer sides run anticlockwise.
 */

const LOW_STEP = 0.35; // mm; a lower step between two cells is part of a slope, and toned like it
const OVERLAP = 0.03; // of a cell, by which faces overlap, so that nothing shines through between them
const ROUND = 16; // directions in which the neighbourhood of a wall is felt for the way it faces
const FEEL = 2.6; // cells, how far
const LIGHT = [-0.55, -0.84]; // the way towards the light, seen from above: from the front, a little left

/** Collects quads into one buffer that grows and is used again. */
export class Quads {
  constructor() {
    this.#room(1 << 14);
    this.count = 0;
  }

  #room(quads) {
    const old = this.bytes;
    this.bytes = new ArrayBuffer(quads * 64);
    if (old) new Uint8Array(this.bytes).set(new Uint8Array(old));
    this.floats = new Float32Array(this.bytes);
    this.colours = new Uint32Array(this.bytes);
  }

  /** Add a quad by its four corners, with one colour for the lower two and one for the upper two. */
  add(x0, y0, z0, x1, y1, z1, x2, y2, z2, x3, y3, z3, low, high) {
    if ((this.count + 1) * 64 > this.bytes.byteLength) this.#room(2 * this.count);
    const { floats, colours } = this;
    const at = 16 * this.count;
    floats[at] = x0; floats[at + 1] = y0; floats[at + 2] = z0; colours[at + 3] = low;
    floats[at + 4] = x1; floats[at + 5] = y1; floats[at + 6] = z1; colours[at + 7] = low;
    floats[at + 8] = x2; floats[at + 9] = y2; floats[at + 10] = z2; colours[at + 11] = high;
    floats[at + 12] = x3; floats[at + 13] = y3; floats[at + 14] = z3; colours[at + 15] = high;
    this.count += 1;
    return this.count - 1;
  }

  /** Move the y of two of a quad's corners. */
  stretch(quad, one, other, y) {
    this.floats[16 * quad + 4 * one + 1] = y;
    this.floats[16 * quad + 4 * other + 1] = y;
  }
}

/** A colour of four bytes as one number, as the page's processor lays it out. */
export function colour(red, green, blue, opacity = 255) {
  return ((opacity << 24) | (blue << 16) | (green << 8) | red) >>> 0;
}

/** Builds the surface of a grid; its buffers are used again and again. */
export class Relief {
  /** @param {[number, number]} size of the sheet, mm: no face reaches beyond it */
  constructor(grid, size, thickness) {
    this.thickness = thickness;
    this.grid = grid;
    this.size = size;
    this.quads = new Quads();
    this.feelers = Float64Array.from({ length: 2 * ROUND }, (_, number) => {
      const angle = ((number >> 1) * 2 * Math.PI) / ROUND;
      return number % 2 ? Math.sin(angle) : Math.cos(angle);
    });
  }

  /**
   * The surface as it stands.
   * @param {object} how
   * @param {number} how.step cells along and across that are drawn as one
   * @param {number} how.quantum mm, to which heights are rounded
   * @param {number} how.most quads; with more, nothing is made
   * @param {(light: number, low: boolean) => number} how.wall colour of a wall in so much light, 0 to 1
   * @returns {boolean} whether the surface took no more
   */
  build({ step, quantum, most, wall }) {
    this.#level(step, quantum);
    this.quads.count = 0;
    this.wall = wall;
    for (let row = 0; row <= this.deep; row += 1) {
      if (row < this.deep) this.#floors(row);
      this.#across(row);
      if (row < this.deep) this.#along(row);
      if (this.quads.count > most) return false;
    }
    return true;
  }

  #level(step, quantum) {
    const { columns, rows, heights } = this.grid;
    [this.step, this.quantum] = [step, quantum];
    [this.wide, this.deep] = [Math.ceil(columns / step), Math.ceil(rows / step)];
    const { wide, deep } = this;
    if (this.levels?.length !== wide * deep) this.levels = new Int16Array(wide * deep);
    const { levels } = this;
    const half = step >> 1;
    const top = Math.fround(this.thickness);
    const face = Math.round(this.thickness / quantum);
    for (let row = 0; row < deep; row += 1) {
      const base = Math.min(rows - 1, row * step + half) * columns;
      for (let column = 0; column < wide; column += 1) {
        const height = heights[base + Math.min(columns - 1, column * step + half)];
        levels[row * wide + column] = height === top ? face : height > 0 ? Math.round(height / quantum) : 0;
      }
    }
    this.begun = new Int32Array(wide).fill(-1); // the top that begins at a column in the row before
    this.ends = new Int32Array(wide);
    this.sides = new Int32Array(wide + 1).fill(-1); // the wall before a column in the row before
    this.pairs = new Int32Array(wide + 1);
  }

  #x(column) {
    return Math.min(this.size[0], column * this.step * this.grid.cell);
  }

  #y(row) {
    return Math.min(this.size[1], row * this.step * this.grid.cell);
  }

  /** The upper edge of a wall: the face's own height, not rounded. */
  #high(level) {
    return level === Math.round(this.thickness / this.quantum) ? this.thickness : level * this.quantum;
  }

  /** Level floors of a row, each joined to its like in the row before. */
  #floors(row) {
    const { levels, wide, begun, ends, quads } = this;
    const face = Math.round(this.thickness / this.quantum);
    const over = OVERLAP * this.grid.cell * this.step;
    const [front, back] = [this.#y(row) - over, this.#y(row + 1) + over];
    const base = row * wide;
    for (let column = 0; column < wide;) {
      const level = levels[base + column];
      let stop = column + 1;
      while (stop < wide && levels[base + stop] === level) stop += 1;
      const like = row > 0 && begun[column] >= 0 && ends[column] === stop && levels[base - wide + column] === level;
      if (level === face || level === 0) begun[column] = -1;
      else if (like) quads.stretch(begun[column], 2, 3, back);
      else {
        const [left, right] = [this.#x(column) - over, this.#x(stop) + over];
        const z = level * this.quantum;
        begun[column] = quads.add(left, front, z, right, front, z, right, back, z, left, back, z, 0, 0);
      }
      ends[column] = stop;
      begun.fill(-1, column + 1, stop);
      column = stop;
    }
  }

  /** Walls between a row and the one before it. */
  #across(row) {
    const { levels, wide, quads, quantum } = this;
    const [before, after] = [(row - 1) * wide, row * wide];
    const y = this.#y(row);
    const [from, to] = [row > 0, row < this.deep];
    for (let column = 0; column < wide;) {
      const one = from ? levels[before + column] : 0;
      const other = to ? levels[after + column] : 0;
      let stop = column + 1;
      if (one !== other) {
        while (
          stop < wide && (from ? levels[before + stop] : 0) === one && (to ? levels[after + stop] : 0) === other
        ) stop += 1;
        let [left, right] = [this.#x(column), this.#x(stop)];
        if (one > other) [left, right] = [right, left];
        const [low, high] = [Math.min(one, other) * quantum, this.#high(Math.max(one, other))];
        const [dim, lit] = this.#tones(high - low, (column + stop) / 2, row, 0, one > other ? 1 : -1);
        quads.add(left, y, low, right, y, low, right, y, high, left, y, high, dim, lit);
      }
      column = stop;
    }
  }

  /** Walls between the columns of a row, each joined to its like in the row before. */
  #along(row) {
    const { levels, wide, quads, quantum, sides, pairs } = this;
    const base = row * wide;
    const [front, back] = [this.#y(row), this.#y(row + 1)];
    let other = 0;
    for (let column = 0; column <= wide; column += 1) {
      const one = other;
      other = column < wide ? levels[base + column] : 0;
      if (one === other) {
        sides[column] = -1;
        continue;
      }
      const pair = (one << 16) | (other & 0xffff);
      const up = one > other; // the wall faces right
      if (sides[column] >= 0 && pairs[column] === pair) {
        quads.stretch(sides[column], up ? 1 : 0, up ? 2 : 3, back);
        continue;
      }
      const x = this.#x(column);
      const [low, high] = [Math.min(one, other) * quantum, this.#high(Math.max(one, other))];
      const [dim, lit] = this.#tones(high - low, column, row + 0.5, up ? 1 : -1, 0);
      const [first, last] = up ? [front, back] : [back, front];
      sides[column] = quads.add(x, first, low, x, last, low, x, last, high, x, first, high, dim, lit);
      pairs[column] = pair;
    }
  }

  /** Colours at the foot and the head of a wall, by the light it gets; `column` and `row` may lie between two. */
  #tones(high, column, row, faceX, faceY) {
    if (high < LOW_STEP) return [0, 0];
    const { levels, wide, deep, feelers } = this;
    let x = 0;
    let y = 0;
    for (let way = 0; way < feelers.length; way += 2) {
      const c = Math.floor(column + FEEL * feelers[way]);
      const r = Math.floor(row + FEEL * feelers[way + 1]);
      const level = c < 0 || r < 0 || c >= wide || r >= deep ? 0 : levels[r * wide + c];
      x -= feelers[way] * level;
      y -= feelers[way + 1] * level;
    }
    const length = Math.sqrt(x * x + y * y);
    const doubtful = length < 1e-6 || x * faceX + y * faceY <= 0;
    const facing = doubtful ? faceX * LIGHT[0] + faceY * LIGHT[1] : (x * LIGHT[0] + y * LIGHT[1]) / length;
    const light = (facing + 1) / 2;
    return [this.wall(light, true), this.wall(light, false)];
  }
}
