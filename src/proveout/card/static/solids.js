/** What stands around the work, as faces: plate and holes, clamps and bolts, the cutter, the arrows of the zero. */

import { lit, mixed } from "./tones.js";

const ROUND = 28; // sides of what is turned
const HOLE = 10; // sides of a hole of the plate
const LIFT = 0.04; // mm by which holes are drawn above the plate's face
const BODY = 45; // mm of the spindle's body that are drawn
const PLATE = 12; // mm of the plate's edge that are drawn
const SUN = [-0.42, -0.62, 0.66]; // the way towards the light

/** Triangles: x, y, z (mm) and a colour for each corner, anticlockwise from outside. */
export class Faces {
  constructor() {
    this.places = [];
    this.tones = [];
  }

  triangle(a, b, c, tone) {
    this.places.push(...a, ...b, ...c);
    this.tones.push(tone, tone, tone);
  }

  quad(a, b, c, d, tone) {
    this.triangle(a, b, c, tone);
    this.triangle(a, c, d, tone);
  }

  /** As vertices: three floats and a colour each. @returns {{bytes: ArrayBuffer, count: number}} */
  packed() {
    const count = this.tones.length;
    const bytes = new ArrayBuffer(16 * count);
    const [floats, colours] = [new Float32Array(bytes), new Uint32Array(bytes)];
    for (let corner = 0; corner < count; corner += 1) {
      floats.set(this.places.slice(3 * corner, 3 * corner + 3), 4 * corner);
      colours[4 * corner + 3] = this.tones[corner];
    }
    return { bytes, count };
  }
}

function dimmed(tone, light) {
  return tone.map((value) => value * light);
}

/** A tone on a face that looks along a direction of length 1. */
function shaded(tone, x, y, z) {
  return lit(tone, 0.68 + 0.36 * (x * SUN[0] + y * SUN[1] + z * SUN[2]));
}

/** An upright prism over an anticlockwise ring; its top is right for footprints that bulge outwards all round. */
export function addPrism(faces, ring, bottom, top, tone) {
  const middle = [0, 1].map((axis) => ring.reduce((sum, point) => sum + point[axis], 0) / ring.length);
  ring.forEach(([x, y], number) => {
    const [x2, y2] = ring[(number + 1) % ring.length];
    const length = Math.hypot(x2 - x, y2 - y) || 1;
    const side = shaded(tone, (y2 - y) / length, (x - x2) / length, 0);
    faces.quad([x, y, bottom], [x2, y2, bottom], [x2, y2, top], [x, y, top], side);
    faces.triangle([...middle, top], [x, y, top], [x2, y2, top], shaded(tone, 0, 0, 1));
  });
}

/** A body turned about an upright axis, from its profile of [radius, height] from below. */
export function addTurned(faces, profile, tone, sides = ROUND) {
  for (let side = 0; side < sides; side += 1) {
    const [one, other] = [side, side + 1].map((number) => (2 * Math.PI * number) / sides);
    const middle = (one + other) / 2;
    for (let step = 0; step + 1 < profile.length; step += 1) {
      const [[r, z], [r2, z2]] = [profile[step], profile[step + 1]];
      const length = Math.hypot(r2 - r, z2 - z) || 1;
      const [out, up] = [(z2 - z) / length, (r - r2) / length];
      const at = (radius, angle, height) => [radius * Math.cos(angle), radius * Math.sin(angle), height];
      const face = shaded(tone, out * Math.cos(middle), out * Math.sin(middle), up);
      faces.quad(at(r, one, z), at(r, other, z), at(r2, other, z2), at(r2, one, z2), face);
    }
  }
}

/** The plate under the sheet, its holes as dark rounds on its face; those well under the sheet are left out. */
export function plateFaces(plate, size, tones) {
  const faces = new Faces();
  const [[left, front], [right, back]] = [plate.low, plate.high];
  const ring = [[left, front], [right, front], [right, back], [left, back]];
  addPrism(faces, ring, -PLATE, 0, tones.plate);
  const dark = lit(tones.plate, 0.55);
  const radius = plate.hole_diameter / 2;
  for (let column = 0; column < plate.columns; column += 1) {
    for (let row = 0; row < plate.rows; row += 1) {
      const x = plate.first_hole[0] + column * plate.pitch;
      const y = plate.first_hole[1] + row * plate.pitch;
      const covered = x > radius && y > radius && x < size[0] - radius && y < size[1] - radius;
      if (!covered) addDisc(faces, x, y, LIFT, radius, dark);
    }
  }
  return faces.packed();
}

function addDisc(faces, x, y, z, radius, tone) {
  const at = (number) => {
    const angle = (2 * Math.PI * number) / HOLE;
    return [x + radius * Math.cos(angle), y + radius * Math.sin(angle), z];
  };
  for (let side = 1; side + 1 < HOLE; side += 1) faces.triangle(at(0), at(side), at(side + 1), tone);
}

/** The sheet's face as one rectangle; the picture on it says where it is cut away. */
export function faceOf({ size, thickness }) {
  const faces = new Faces();
  faces.quad([0, 0, thickness], [size[0], 0, thickness], [...size, thickness], [0, size[1], thickness], 0);
  return faces.packed();
}

/** Clamps, bolts, knobs, stops and what else stands on the plate. */
export function solidFaces(solids, ringOf, tones) {
  const faces = new Faces();
  const kinds = { clamp: dimmed(tones.cut, 0.72), bolt: tones.metal, stop: dimmed(tones.metal, 0.75) };
  for (const solid of solids) {
    const knob = solid.kind === "bolt" && solid.bottom > 0;
    const tone = knob ? dimmed(tones.cut, 0.9) : kinds[solid.kind] ?? tones.metal;
    addPrism(faces, ringOf(solid.ring), solid.bottom, solid.top, tone);
  }
  return faces.packed();
}

/** The profile of a cutter's cutting end, from the tip up, [radius, height]. */
export function profileOf(cutter) {
  const radius = cutter.diameter / 2;
  const quarter = (flat, corner) =>
    Array.from({ length: 9 }, (_, step) => {
      const angle = (step / 8) * (Math.PI / 2);
      return [flat + corner * Math.sin(angle), corner * (1 - Math.cos(angle))];
    });
  if (cutter.kind === "ball") return quarter(0, radius);
  if (cutter.kind === "bull nose") return [[0, 0], ...quarter(radius - cutter.corner_radius, cutter.corner_radius)];
  if (cutter.kind === "flat") return [[0, 0], [radius, 0]];
  return [[0, 0], [radius, radius / Math.tan((cutter.point_deg / 2) * (Math.PI / 180))]];
}

/** A cutter with its tip at (0, 0, 0), its shank, and the collet nut. */
export function cutterFaces(cutter, spindle, tones) {
  const faces = new Faces();
  const end = profileOf(cutter);
  const [radius, shank] = [cutter.diameter / 2, cutter.shank_diameter / 2];
  const flutes = Math.max(cutter.flute_length, end.at(-1)[1]);
  const [nut, top] = [spindle.nut_diameter / 2, cutter.stick_out + spindle.nut_length];
  addTurned(faces, [...end, [radius, flutes]], mixed(tones.metal, tones.pencil, 0.35));
  addTurned(faces, [[radius, flutes], [shank, flutes], [shank, cutter.stick_out]], tones.metal);
  addTurned(faces, [[0, cutter.stick_out], [nut, cutter.stick_out], [nut, top], [0, top]], dimmed(tones.metal, 0.75), 6);
  return faces.packed();
}

/** The spindle's body above the nut. */
export function bodyFaces(cutter, spindle, tones) {
  const faces = new Faces();
  const bottom = cutter.stick_out + spindle.nut_length;
  const radius = spindle.body_diameter / 2;
  addTurned(faces, [[0, bottom], [radius, bottom], [radius, bottom + BODY], [0, bottom + BODY]], tones.metal);
  return faces.packed();
}

/** Three arrows from the zero along X, Y and Z; their letters stand at the tips. */
export function arrowFaces([x, y, z], length, tones) {
  const faces = new Faces();
  const thick = length * 0.018;
  const turns = [([a, b, c]) => [c, a, b], ([a, b, c]) => [b, c, a], (point) => point];
  for (const turn of turns) {
    const put = (point) => turn(point).map((value, axis) => value + [x, y, z][axis]);
    addPointed(faces, put, thick, length, lit(tones.pencil, 1));
  }
  return faces.packed();
}

function addPointed(faces, put, thick, length, tone) {
  const square = (size, height) => [[-size, -size], [size, -size], [size, size], [-size, size]].map((at) => [...at, height]);
  const [foot, neck, head] = [square(thick, 0), square(thick, length * 0.8), square(2.6 * thick, length * 0.8)];
  for (let side = 0; side < 4; side += 1) {
    const next = (side + 1) % 4;
    faces.quad(put(foot[side]), put(foot[next]), put(neck[next]), put(neck[side]), tone);
    faces.triangle(put(head[side]), put(head[next]), put([0, 0, length]), tone);
  }
  faces.quad(...[...head].reverse().map(put), tone);
}
