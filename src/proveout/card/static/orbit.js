/** The eye that goes round the sheet: where it stands, what it sees, and how mouse, fingers and keys move it. */

const FIELD = 26 * (Math.PI / 180); // rad, height of the picture
const RAD = Math.PI / 180;
const TURN = 0.35; // degrees a pixel
const KEY_TURN = 6; // degrees a key
const ZOOM = 1.2; // a step
const LOW = 4; // degrees above the bed

/** Named places to look from: degrees round from the front (left is negative), degrees above the bed. */
export const PLACES = { above: [0, 90], front: [0, 18], corner: [-32, 42] };

/** Where the eye stands: round and above in degrees, `away` and `target` in mm. */
export class Eye {
  /**
   * @param {{low: number[], high: number[], wide: number}} box mm: what shall be seen when all is shown, and how far
   *   from its middle anything stands at the most
   */
  constructor(box) {
    this.box = box;
    this.wide = box.wide ?? Math.hypot(...box.low.map((value, axis) => box.high[axis] - value));
    this.aspect = 1.5;
    this.changed = () => {};
    this.look("corner");
  }

  /** Look from a named place, at all of it. */
  look(name) {
    [this.round, this.above] = PLACES[name];
    this.whole();
  }

  /** Show all of it from where the eye is. */
  whole() {
    const { low, high } = this.box;
    this.middle = low.map((value, axis) => (value + high[axis]) / 2);
    this.target = [...this.middle];
    let [near, far] = [1, 1e5];
    for (let turn = 0; turn < 40; turn += 1) {
      this.away = (near + far) / 2;
      if (this.#sees()) far = this.away;
      else near = this.away;
    }
    this.away = this.furthest = far;
    this.changed();
  }

  #sees() {
    const matrix = this.matrix();
    const { low, high } = this.box;
    for (let corner = 0; corner < 8; corner += 1) {
      const at = low.map((value, axis) => ((corner >> axis) & 1 ? high[axis] : value));
      const [x, y, w] = project(matrix, at);
      if (w <= 0 || Math.abs(x) > 0.95 || Math.abs(y) > 0.93) return false;
    }
    return true;
  }

  turn(round, above) {
    this.round = (this.round + round) % 360;
    this.above = Math.min(90, Math.max(LOW, this.above + above));
    this.changed();
  }

  zoom(factor) {
    this.away = Math.min(3 * this.furthest, Math.max(this.furthest / 60, this.away * factor));
    this.changed();
  }

  /** Move what is looked at by so many pixels of a picture so many pixels high. */
  pan(across, down, high) {
    const scale = (2 * this.away * Math.tan(FIELD / 2)) / high;
    const { right, up } = this.#axes();
    this.target = this.target.map((value, axis) => value + scale * (down * up[axis] - across * right[axis]));
    this.changed();
  }

  /** Bring a place to the middle, nearer than the whole. */
  attend(at) {
    this.target = [...at];
    this.away = Math.min(this.away, this.furthest * 0.45);
    this.changed();
  }

  #axes() {
    const [c, s] = [Math.cos(this.round * RAD), Math.sin(this.round * RAD)];
    const [ct, st] = [Math.cos(this.above * RAD), Math.sin(this.above * RAD)];
    return { right: [c, s, 0], up: [-s * st, c * st, ct], ahead: [-s * ct, c * ct, -st] };
  }

  /** From mm to the picture, column by column. */
  matrix() {
    const { right, up, ahead } = this.#axes();
    const { target, away, aspect } = this;
    const dot = (axis) => axis[0] * target[0] + axis[1] * target[1] + axis[2] * target[2];
    const high = 1 / Math.tan(FIELD / 2);
    const wide = high / aspect;
    const off = Math.hypot(...this.middle.map((value, axis) => value - target[axis]));
    const [near, far] = [Math.max(away * 0.03, away - off - this.wide), away + off + this.wide];
    const [deep, shift] = [(far + near) / (far - near), (-2 * far * near) / (far - near)];
    const out = new Float32Array(16);
    for (let axis = 0; axis < 3; axis += 1) {
      out[4 * axis] = wide * right[axis];
      out[4 * axis + 1] = high * up[axis];
      out[4 * axis + 2] = deep * ahead[axis];
      out[4 * axis + 3] = ahead[axis];
    }
    out.set([-wide * dot(right), -high * dot(up), deep * (away - dot(ahead)) + shift, away - dot(ahead)], 12);
    return out;
  }
}

/** Where a place comes in the picture: x and y from -1 to 1, and how far away it is, mm. */
export function project(matrix, [x, y, z]) {
  const row = (number) => matrix[number] * x + matrix[4 + number] * y + matrix[8 + number] * z + matrix[12 + number];
  const w = row(3);
  return [row(0) / w, row(1) / w, w];
}

/**
 * Let mouse, fingers, wheel and keys move the eye.
 * @returns {() => void} that lets go
 */
export function letTurn(canvas, eye) {
  const fingers = new Map();
  const letGo = new AbortController();
  const on = (name, act) => canvas.addEventListener(name, act, { signal: letGo.signal, passive: false });
  on("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
  });
  on("pointermove", (event) => {
    if (fingers.has(event.pointerId)) moved(eye, canvas, fingers, event);
  });
  for (const name of ["pointerup", "pointercancel"]) on(name, (event) => fingers.delete(event.pointerId));
  on("contextmenu", (event) => event.preventDefault());
  on("wheel", (event) => {
    event.preventDefault();
    eye.zoom(Math.exp(Math.max(-120, Math.min(120, event.deltaY)) * 0.0016));
  });
  on("keydown", (event) => {
    if (!event.ctrlKey && !event.metaKey && !event.altKey && pressed(eye, event)) event.preventDefault();
  });
  return () => letGo.abort();
}

function moved(eye, canvas, fingers, event) {
  const before = fingers.get(event.pointerId);
  const now = [event.clientX, event.clientY];
  const [across, down] = [now[0] - before[0], now[1] - before[1]];
  const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
  fingers.set(event.pointerId, now);
  if (other) {
    const apart = (point) => Math.max(10, Math.hypot(point[0] - other[0], point[1] - other[1]));
    eye.zoom(apart(before) / apart(now));
    eye.pan(across / 2, down / 2, canvas.clientHeight);
  } else if (event.shiftKey || event.buttons > 1) eye.pan(across, down, canvas.clientHeight);
  else eye.turn(-TURN * across, TURN * down);
}

/** @returns {boolean} whether the key means something here */
function pressed(eye, { key, shiftKey }) {
  const ways = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  if (key in ways) {
    const [across, down] = ways[key];
    if (shiftKey) eye.pan(40 * across, 40 * down, 600);
    else eye.turn(KEY_TURN * across, KEY_TURN * down);
  } else if (key === "+" || key === "=") eye.zoom(1 / ZOOM);
  else if (key === "-" || key === "_") eye.zoom(ZOOM);
  else if (key === "0") eye.look("corner");
  else return false;
  return true;
}
