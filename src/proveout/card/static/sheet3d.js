/**
 * The sheet in three dimensions, at any moment of the cut. It draws only when something changed: coarsely and at once
 * while it is turned or played, finely when it comes to rest.
 */

import { Eye, letTurn, project } from "./orbit.js";
import { Painter } from "./painter.js";
import { Relief } from "./relief.js";
import { arcNumbers, pieceAt, shareOf, tipAt } from "./scene.js";
import { arrowFaces, bodyFaces, cutterFaces, faceOf, plateFaces, solidFaces } from "./solids.js";
import { faceTones, lit, paintTop, tonesOf, wallTone } from "./tones.js";

const FINE = { step: 1, quantum: 0.05, most: 120000 };
const QUICK = 25000; // quads, up to which the fine surface is quick enough while something moves
const COARSER = [{ step: 1, quantum: 0.2 }, { step: 2, quantum: 0.3 }, { step: 3, quantum: 0.4 }];
const COARSEST = { step: 4, quantum: 0.5, most: Infinity };
const REST = 180; // ms without a change, after which it is drawn finely
const SLOW = 42; // ms a picture, above which fewer pixels are drawn while turning
const FEWEST = 0.5; // of the pixels of a side
const SHARP = 2; // pixels drawn for one that is seen, when at rest
const MOST_PIXELS = 3e6; // of a picture at rest
const LIFT = 0.0004; // of the sheet's size, by which lines stand off faces
const GHOST = 0.28; // opacity of the spindle's body

/** @throws {Error} a browser without WebGL 2 */
export class Sheet3d {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {{header: object, arrays: object}} scene
   * @param {import("./removal.js").Replay} replay
   * @param {(project: (at: number[]) => [number, number, number]) => void} drawn told where places come, in pixels
   */
  constructor(canvas, scene, replay, drawn = () => {}) {
    Object.assign(this, { canvas, scene, replay, drawn });
    this.painter = new Painter(canvas);
    this.relief = new Relief(replay.grid, scene.header.sheet.size, replay.thickness);
    this.pixels = new Uint32Array(replay.grid.columns * replay.grid.rows);
    this.arcs = arcNumbers(scene.arrays);
    this.eye = new Eye(boxOf(scene.header));
    this.letGo = letTurn(canvas, this.eye);
    this.time = 0;
    this.stale = true; // whether the surface has yet to be made anew
    this.scale = 1;
    this.pictures = 0;
    this.#bodies();
    this.retone();
    this.eye.changed = () => this.ask();
    this.sized = new ResizeObserver(() => this.#resized());
    this.sized.observe(canvas);
  }

  destroy() {
    this.letGo();
    this.sized.disconnect();
    cancelAnimationFrame(this.asked);
    clearTimeout(this.rest);
    this.painter.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }

  #bodies() {
    const { painter } = this;
    const names = ["plate", "face", "sheet", "solids", "lines", "arrows", "way"];
    this.bodies = Object.fromEntries(names.map((name) => [name, painter.body()]));
    this.cutters = new Map(
      this.scene.header.cutters.map((cutter) => [cutter.number, { cutter, tool: painter.body(), spindle: painter.body() }]),
    );
  }

  /** Take the page's colours anew. */
  retone() {
    const { painter, bodies } = this;
    const { header } = this.scene;
    this.tones = tonesOf(this.canvas);
    this.uncut = faceTones(this.replay.grid, this.tones);
    const fill = (body, faces) => painter.fill(body, faces.bytes, faces.count);
    fill(bodies.plate, plateFaces(header.plate, header.sheet.size, this.tones));
    fill(bodies.face, faceOf(header.sheet));
    fill(bodies.solids, solidFaces(header.solids, (ring) => this.#ring(ring), this.tones));
    fill(bodies.arrows, arrowFaces(header.zero, this.arrow, this.tones));
    for (const { cutter, tool, spindle } of this.cutters.values()) {
      fill(tool, cutterFaces(cutter, header.spindle, this.tones));
      fill(spindle, bodyFaces(cutter, header.spindle, this.tones));
    }
    this.#lines();
    this.stale = true;
    this.ask();
  }

  /** How long the arrows of the zero are, mm. */
  get arrow() {
    return 0.13 * Math.max(...this.scene.header.sheet.size);
  }

  #ring([first, count]) {
    const { points } = this.scene.arrays;
    return Array.from({ length: count }, (_, number) => [points[2 * (first + number)], points[2 * (first + number) + 1]]);
  }

  /** Outlines of the parts and of their features, on the sheet's face. */
  #lines() {
    const { parts, sheet } = this.scene.header;
    const lift = LIFT * Math.max(...sheet.size);
    const ends = [];
    for (const part of parts) {
      for (const ring of [...part.outline, ...part.features.flatMap((feature) => feature.rings)]) {
        const points = this.#ring(ring);
        points.forEach((point, number) => ends.push(point, points[(number + 1) % points.length]));
      }
    }
    this.#fillLine(this.bodies.lines, ends.map(([x, y]) => [x, y, sheet.thickness + lift]), lit(this.tones.ink, 1));
  }

  #fillLine(body, points, tone) {
    const bytes = new ArrayBuffer(16 * points.length);
    const [floats, colours] = [new Float32Array(bytes), new Uint32Array(bytes)];
    points.forEach((point, number) => {
      floats.set(point, 4 * number);
      colours[4 * number + 3] = tone;
    });
    this.painter.fill(body, bytes, points.length);
  }

  /** Show a moment, s. */
  show(time) {
    this.time = time;
    this.ask();
  }

  /** Where the cutter is: its piece of way, how far along, its tip. */
  get cutterAt() {
    const { arrays } = this.scene;
    if (!arrays.begin.length) return null;
    const piece = pieceAt(arrays.begin, this.time);
    const share = shareOf(arrays, piece, this.time);
    return { piece, share, tip: tipAt(arrays, piece, this.arcs[piece], share) };
  }

  /** Ask for a picture: soon, and a fine one when nothing more comes. */
  ask() {
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.#picture(true), REST);
    this.asked ??= requestAnimationFrame(() => this.#picture(false));
  }

  #picture(fine) {
    this.asked = undefined;
    if (!this.canvas.clientWidth) return;
    this.#fit(fine ? Math.min(SHARP, Math.sqrt(MOST_PIXELS / this.#area())) : this.scale);
    if (this.replay.goTo(this.time)) this.stale = true;
    if (this.stale || (fine && this.coarse)) this.#surface(fine);
    this.#draw();
    if (!fine) this.#adapt();
    this.pictures += 1;
    const { clientWidth: wide, clientHeight: high } = this.canvas;
    this.drawn((at) => {
      const [x, y, away] = project(this.matrix, at);
      return [((x + 1) / 2) * wide, ((1 - y) / 2) * high, away];
    });
  }

  #area() {
    return this.canvas.clientWidth * this.canvas.clientHeight * devicePixelRatio ** 2;
  }

  /** Fewer pixels while turning, where one picture follows another slowly. */
  #adapt() {
    const now = performance.now();
    const took = now - (this.last ?? 0);
    this.last = now;
    if (took > 4 * REST) return;
    this.usual = this.usual === undefined ? took : 0.8 * this.usual + 0.2 * took;
    if (this.usual < SLOW || this.scale <= FEWEST) return;
    this.scale = Math.max(FEWEST, this.scale * 0.8);
    this.usual = undefined;
  }

  #fit(scale) {
    const side = (length) => Math.max(1, Math.round(length * devicePixelRatio * scale));
    const [wide, high] = [side(this.canvas.clientWidth), side(this.canvas.clientHeight)];
    if (this.canvas.width !== wide || this.canvas.height !== high) [this.canvas.width, this.canvas.height] = [wide, high];
  }

  #resized() {
    if (!this.canvas.clientWidth) return;
    this.eye.aspect = this.canvas.clientWidth / this.canvas.clientHeight;
    if (!this.placed) this.eye.whole();
    this.placed = true;
    this.ask();
  }

  /** Make the surface and the picture on top of it anew: fine, or coarse where that is quicker. */
  #surface(fine) {
    const { replay, relief, painter } = this;
    const { grid, thickness } = replay;
    const wall = wallTone(this.tones);
    const most = fine ? FINE.most : QUICK;
    const ways = [...[FINE, ...COARSER].map((one) => ({ ...one, most })), COARSEST];
    const way = ways.find((one) => relief.build({ ...one, wall }));
    this.coarse = way.step !== 1 && !fine;
    painter.fill(this.bodies.sheet, relief.quads.bytes, 4 * relief.quads.count);
    paintTop(this.pixels, grid, thickness, way.quantum, this.uncut, this.tones);
    painter.setTop(new Uint8Array(this.pixels.buffer), grid.columns, grid.rows, [grid.columns * grid.cell, grid.rows * grid.cell]);
    this.stale = false;
  }

  #draw() {
    const { painter, bodies, tones } = this;
    this.matrix = this.eye.matrix();
    painter.begin(this.matrix, tones.paper);
    painter.draw(bodies.plate);
    painter.drawFace(bodies.face);
    painter.drawQuads(bodies.sheet);
    painter.draw(bodies.solids);
    painter.draw(bodies.lines, painter.gl.LINES);
    painter.draw(bodies.arrows);
    painter.through(() => painter.draw(bodies.arrows));
    this.#drawCutter();
  }

  #drawCutter() {
    const at = this.cutterAt;
    const body = at && this.cutters.get(this.scene.arrays.cutter[at.piece]);
    if (!body) return;
    const { painter } = this;
    painter.shifted(at.tip);
    painter.draw(body.tool);
    painter.faintly(GHOST, () => painter.draw(body.spindle));
  }
}

/** What shall be seen when all is shown: the sheet and what stands on it; the plate may reach beyond the picture. */
function boxOf({ sheet, solids, zero, plate, spindle }) {
  const top = Math.max(sheet.thickness, ...solids.map((solid) => solid.top));
  const low = [Math.min(0, zero[0]), Math.min(0, zero[1]), 0];
  const high = [Math.max(sheet.size[0], zero[0]), Math.max(sheet.size[1], zero[1]), top];
  const far = [0, 1].map((axis) => Math.max(high[axis], plate.high[axis]) - Math.min(low[axis], plate.low[axis]));
  return { low, high, wide: Math.hypot(...far) / 1.4 + spindle.body_diameter + 100 };
}
