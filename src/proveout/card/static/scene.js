/** The scene of a made job, as src/proveout/card/scene.py packs it: a header and arrays that lie where they came. */

const MAGIC = "PVS1";
const TYPES = { f4: Float32Array, u2: Uint16Array, u4: Uint32Array };

/**
 * @param {ArrayBuffer} buffer
 * @returns {{header: object, arrays: Object<string, Float32Array|Uint16Array|Uint32Array>}} mm and s, internal frame
 * @throws {Error} bytes that are not a scene of this version
 */
export function readScene(buffer) {
  const bytes = new Uint8Array(buffer, 0, Math.min(8, buffer.byteLength));
  if (String.fromCharCode(...bytes.subarray(0, 4)) !== MAGIC) {
    throw new Error("These bytes are not a scene that this page can read. Load the page anew.");
  }
  const length = new DataView(buffer).getUint32(4, true);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 8, length)));
  const arrays = {};
  for (const [name, { type, offset, count }] of Object.entries(header.arrays)) {
    arrays[name] = new TYPES[type](buffer, 8 + length + offset, count);
  }
  return { header, arrays };
}

/**
 * The last piece that has begun at a time; 0 before the first.
 * @param {Float32Array} begin s, of each piece, in order
 * @param {number} time s
 */
export function pieceAt(begin, time) {
  let low = 0;
  let high = begin.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (begin[middle] <= time) low = middle + 1;
    else high = middle;
  }
  return Math.max(0, low - 1);
}

/**
 * How far along a piece the cutter is at a time, from 0 to 1.
 * @param {{begin: Float32Array, done: Float32Array}} arrays
 */
export function shareOf(arrays, piece, time) {
  const took = arrays.done[piece] - arrays.begin[piece];
  return took > 0 ? Math.min(1, Math.max(0, (time - arrays.begin[piece]) / took)) : time >= arrays.done[piece] ? 1 : 0;
}

/** For each piece the number of its arc, or -1. @returns {Int32Array} */
export function arcNumbers(arrays) {
  const numbers = new Int32Array(arrays.begin.length).fill(-1);
  arrays.arcs.forEach((piece, number) => { numbers[piece] = number; });
  return numbers;
}

/**
 * Where the cutter's tip is after a share of a piece.
 * @param {number} arc the piece's number among the arcs, or -1
 * @returns {[number, number, number]} mm
 */
export function tipAt(arrays, piece, arc, share) {
  const { start, end } = arrays;
  const from = [start[3 * piece], start[3 * piece + 1], start[3 * piece + 2]];
  if (arc < 0) return from.map((value, axis) => value + (end[3 * piece + axis] - value) * share);
  const x = arrays.arc_centre[2 * arc];
  const y = arrays.arc_centre[2 * arc + 1];
  const turn = arrays.arc_sweep[arc] * share;
  const [dx, dy] = [from[0] - x, from[1] - y];
  return [x + dx * Math.cos(turn) - dy * Math.sin(turn), y + dx * Math.sin(turn) + dy * Math.cos(turn), from[2]];
}
