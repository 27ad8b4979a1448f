/** The colours of the picture: read from the page's look, and painted on the top of the sheet cell by cell. */

import { colour } from "./relief.js";

const NAMES = { wood: "--wood", cut: "--wood-cut", metal: "--metal", paper: "--paper", ink: "--ink", pencil: "--pencil" };
const UNCUT = 0.002; // mm below its face, down to which the sheet counts as untouched
const WALL = 1.4; // rise a mm of way, from which on a step is a wall and no slope
const SHADOW = 0.8; // of its light is left to a cell at the foot of a wall
const SHADES = 31; // of the grain
const GRAIN = 0.05; // of its light, by which the grain of the face varies

/** @typedef {[number, number, number]} Tone red, green, blue, 0 to 255 */

/** The tones of the page as it looks now. @returns {Object<string, Tone>} */
export function tonesOf(element) {
  const style = getComputedStyle(element);
  const read = (name) => {
    const [, ...pairs] = /^#(..)(..)(..)$/.exec(style.getPropertyValue(name).trim()) ?? [0, "88", "88", "88"];
    return pairs.map((pair) => parseInt(pair, 16));
  };
  const tones = Object.fromEntries(Object.entries(NAMES).map(([key, name]) => [key, read(name)]));
  return { ...tones, plate: mixed(tones.paper, tones.metal, 0.45) };
}

/** One tone with a share of another. @returns {Tone} */
export function mixed(one, other, share) {
  return one.map((value, part) => value + (other[part] - value) * share);
}

/** A tone in so much light, as a vertex has it. */
export function lit(tone, light) {
  return colour(...tone.map((value) => Math.max(0, Math.min(255, Math.round(value * light)))));
}

/** What colour a wall of the sheet has. @returns {(light: number, low: boolean) => number} */
export function wallTone(tones) {
  return (light, low) => lit(tones.cut, (0.5 + 0.42 * light) * (low ? 0.74 : 1));
}

/**
 * The uncut face, a colour for each cell, with a grain of long waves along X, by which nobody shall be fooled.
 * @returns {Uint32Array}
 */
export function faceTones({ columns, rows, cell }, tones) {
  const face = new Uint32Array(columns * rows);
  const shades = Array.from({ length: SHADES + 1 }, (_, shade) => lit(tones.wood, 1 + GRAIN * ((2 * shade) / SHADES - 1)));
  const across = Float32Array.from({ length: columns }, (_, column) => 1.7 * Math.sin(column * cell * 0.021));
  for (let row = 0; row < rows; row += 1) {
    const y = row * cell;
    const wave = y * 0.9 + 2.1 * Math.sin(y * 0.23);
    for (let column = 0; column < columns; column += 1) {
      const shade = ((Math.sin(wave + across[column]) + 1) / 2) * SHADES;
      face[row * columns + column] = shades[Math.round(shade)];
    }
  }
  return face;
}

/**
 * Paint the top of the sheet: its face with grain, floors darker the deeper they lie, the plate where it is cut through.
 * A cell that is cut is painted half opaque: the face is open there.
 * @param {Uint32Array} pixels (rows, columns), painted in place
 * @param {number} thickness mm
 * @param {number} quantum mm, to which the surface under it rounds heights
 * @param {Uint32Array} uncut what `faceTones` says
 */
export function paintTop(pixels, grid, thickness, quantum, uncut, tones) {
  const { columns, rows, cell, heights } = grid;
  const steep = WALL * cell;
  const face = Math.round(thickness / quantum);
  const bed = tones.plate.map((value) => value * 0.82);
  for (let row = 0; row < rows; row += 1) {
    const [front, back] = [Math.max(0, row - 1) * columns, Math.min(rows - 1, row + 1) * columns];
    for (let column = 0; column < columns; column += 1) {
      const place = row * columns + column;
      const height = heights[place];
      if (height >= thickness - UNCUT) {
        pixels[place] = uncut[place];
        continue;
      }
      const left = heights[column > 0 ? place - 1 : place] - height;
      const right = heights[column < columns - 1 ? place + 1 : place] - height;
      const before = heights[front + column] - height;
      const behind = heights[back + column] - height;
      let light = height > 0.001 ? 1 - 0.32 * (1 - height / thickness) : 1;
      const walled = left > steep || right > steep || before > steep || behind > steep;
      light *= walled ? SHADOW : slopeLight(left, right, before, behind, steep, cell);
      const tone = height > 0.001 ? tones.cut : bed;
      const opacity = Math.round(height / quantum) === face ? 255 : 128;
      pixels[place] = colour(tone[0] * light, tone[1] * light, tone[2] * light, opacity);
    }
  }
}

/** Light on a slope, 1 on the level: from the front left; steps that are walls don't count. */
function slopeLight(left, right, before, behind, steep, cell) {
  if (left === 0 && right === 0 && before === 0 && behind === 0) return 1;
  const across = (right > -steep ? right : 0) - (left > -steep ? left : 0);
  const away = (behind > -steep ? behind : 0) - (before > -steep ? before : 0);
  const light = 1 + 0.3 * ((across * 0.55 + away * 0.84) / (2 * cell));
  return Math.max(0.55, Math.min(1.2, light));
}
