/** Shapes of the plan as rings of points: what a path bounds, how far it reaches, what comes too near. mm. */

const ARC_STEP = Math.PI / 60; // of an arc between two points: 3 degrees leave 0.03 % of its radius
const known = new Map();

/**
 * The rings that path data of lines and arcs bounds; kept, since the same path is asked for at every step.
 * @param {string} path absolute M, L, A and Z, numbers between spaces
 * @returns {number[][][]} rings of [x, y]
 */
export function ringsOf(path) {
  if (!known.has(path)) {
    if (known.size > 4000) known.clear();
    known.set(path, read(path));
  }
  return known.get(path);
}

function read(path) {
  const rings = [];
  for (const [, letter, rest] of path.matchAll(/([MLAZ])([^MLAZ]*)/g)) {
    const numbers = rest.trim().split(/[\s,]+/).filter(Boolean).map(Number);
    if (letter === "M") rings.push([numbers]);
    if (letter === "L") rings.at(-1).push(numbers);
    if (letter === "A") rings.at(-1).push(...arc(rings.at(-1).at(-1), numbers));
  }
  return rings;
}

/** Points on an arc after its start, its end the last. */
function arc([x0, y0], [radius, , , large, sweep, x1, y1]) {
  const chord = Math.hypot(x1 - x0, y1 - y0);
  if (chord === 0) return [[x1, y1]];
  const rise = Math.sqrt(Math.max(0, radius * radius - (chord * chord) / 4)) * (large === sweep ? -1 : 1);
  const cx = (x0 + x1) / 2 - (rise * (y1 - y0)) / chord;
  const cy = (y0 + y1) / 2 + (rise * (x1 - x0)) / chord;
  const first = Math.atan2(y0 - cy, x0 - cx);
  let turn = Math.atan2(y1 - cy, x1 - cx) - first;
  if (sweep && turn < 0) turn += 2 * Math.PI;
  if (!sweep && turn > 0) turn -= 2 * Math.PI;
  const count = Math.max(1, Math.ceil(Math.abs(turn) / ARC_STEP));
  return Array.from({ length: count }, (_, k) => {
    const angle = first + (turn * (k + 1)) / count;
    return k + 1 === count ? [x1, y1] : [cx + radius * Math.cos(angle), cy + radius * Math.sin(angle)];
  });
}

/** [left, front, right, back] of a ring. */
export function boxOf(ring) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of ring) {
    box[0] = Math.min(box[0], x);
    box[1] = Math.min(box[1], y);
    box[2] = Math.max(box[2], x);
    box[3] = Math.max(box[3], y);
  }
  return box;
}

/** A ring turned about a point by degrees, anticlockwise. */
export function turned(ring, degrees, [cx, cy]) {
  const cos = Math.cos((degrees * Math.PI) / 180);
  const sin = Math.sin((degrees * Math.PI) / 180);
  return ring.map(([x, y]) => [
    cx + (x - cx) * cos - (y - cy) * sin,
    cy + (x - cx) * sin + (y - cy) * cos,
  ]);
}

export const shifted = (ring, dx, dy) => ring.map(([x, y]) => [x + dx, y + dy]);

export const boxRing = ([left, front, right, back]) => [
  [left, front], [right, front], [right, back], [left, back],
];

/**
 * Whether two rings lie on each other, or come nearer than a gap.
 * @param {number[][]} one
 * @param {number[][]} other
 * @param {number} gap mm
 */
export function near(one, other, gap) {
  const a = boxOf(one);
  const b = boxOf(other);
  if (a[0] - gap >= b[2] || b[0] - gap >= a[2] || a[1] - gap >= b[3] || b[1] - gap >= a[3]) return false;
  if (inside(one[0], other) || inside(other[0], one)) return true;
  const theirs = edges(other);
  return edges(one).some(([p, q]) => theirs.some(([r, s]) => apart(p, q, r, s) < Math.max(gap, 1e-9)));
}

function inside([x, y], ring) {
  return edges(ring).reduce((odd, [[x0, y0], [x1, y1]]) => {
    const crosses = y0 > y !== y1 > y && x < x0 + ((y - y0) / (y1 - y0)) * (x1 - x0);
    return crosses ? !odd : odd;
  }, false);
}

const edges = (ring) => ring.map((point, k) => [point, ring[(k + 1) % ring.length]]);

/** Distance between two straight pieces; 0 where they cross. */
function apart(p, q, r, s) {
  const side = (a, b, c) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
  if (side(p, q, r) * side(p, q, s) < 0 && side(r, s, p) * side(r, s, q) < 0) return 0;
  return Math.min(toPiece(p, r, s), toPiece(q, r, s), toPiece(r, p, q), toPiece(s, p, q));
}

function toPiece([x, y], [x0, y0], [x1, y1]) {
  const [dx, dy] = [x1 - x0, y1 - y0];
  const long = dx * dx + dy * dy;
  const share = long ? Math.min(1, Math.max(0, ((x - x0) * dx + (y - y0) * dy) / long)) : 0;
  return Math.hypot(x - x0 - share * dx, y - y0 - share * dy);
}
