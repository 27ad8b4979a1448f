/**
 * The loads along the machine's time: one plot under the other, all with one cursor. Up is always worse; limits are
 * dashed and named, the usual chip is a band with dotted edges, the worst place is a triangle: nothing hangs on colour.
 */

import { button, made, spokenTime } from "./build.js";

const LEFT = 46; // px, room for the names of heights
const RIGHT = 10;
const HIGH = 74; // px, of a plot
const OVER = 14; // px above it, for the triangle
const STRIP = 46; // px, of the row of programs: high enough to press
const LEAST = 240; // px
const LETTER = 7.2; // px, about the width of one
const STEPS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 18000, 36000, 86400];
const JUMP = 0.01; // of the time, a key

/** The plots of a scene. */
export class Plots {
  /** @param {(seconds: number) => void} setTime called when somebody picks a moment */
  constructor(root, { header, arrays }, setTime) {
    Object.assign(this, { root, header, arrays, setTime, time: 0, cursors: [], now: [] });
    this.total = Math.max(header.total, 1e-6);
    this.sized = new ResizeObserver(() => this.#draw());
    this.sized.observe(root);
  }

  destroy() {
    this.sized.disconnect();
  }

  /** Move the cursor. @param {number} seconds */
  show(seconds) {
    this.time = seconds;
    for (const cursor of this.cursors) cursor.setAttribute("transform", `translate(${this.#x(seconds).toFixed(1)} 0)`);
    for (const { record, place } of this.now) place.textContent = `now ${this.#said(record, seconds)}`;
    this.strip?.setAttribute("aria-valuenow", seconds.toFixed(1));
    this.strip?.setAttribute("aria-valuetext", `${spokenTime(seconds)}, ${this.#program(seconds)}`);
  }

  #program(seconds) {
    const named = this.header.programs.find((program) => seconds >= program.begin && seconds <= program.end);
    return named?.file ?? "between two programs";
  }

  #x(seconds) {
    return LEFT + (this.wide - LEFT - RIGHT) * Math.min(1, Math.max(0, seconds / this.total));
  }

  #draw() {
    const wide = Math.max(LEAST, Math.floor(this.root.clientWidth));
    if (wide === this.wide) return;
    this.wide = wide;
    [this.cursors, this.now] = [[], []];
    const focused = document.activeElement === this.strip;
    const plots = this.header.loads.map((record) => this.#plot(record));
    this.root.replaceChildren(this.#programs(), ...plots, this.#axis(), ...(plots.length ? [key()] : [none()]));
    if (focused) this.strip.focus();
    this.show(this.time);
  }

  #drawing(high, attributes) {
    return made("svg:svg", { width: this.wide, height: high, viewBox: `0 0 ${this.wide} ${high}`, ...attributes });
  }

  #cursor(top, bottom) {
    const cursor = made("svg:path", { class: "cursor", d: `M0 ${top}V${bottom}` });
    this.cursors.push(cursor);
    return cursor;
  }

  /** The row of programs: each a named box; a moment is picked here with mouse, finger or keys. */
  #programs() {
    const drawing = this.#drawing(STRIP, {
      class: "strip", role: "slider", tabindex: 0, "aria-label": "Moment, on the row of programs",
      "aria-valuemin": 0, "aria-valuemax": this.total.toFixed(1),
    });
    this.strip = drawing;
    for (const { file, begin, end } of this.header.programs) {
      const [x, wide] = [this.#x(begin), Math.max(1, this.#x(end) - this.#x(begin))];
      drawing.append(made("svg:rect", { class: "program", x, y: 8, width: wide, height: 28 }, made("svg:title", {}, file)));
      const letters = Math.floor((wide - 8) / LETTER);
      const name = file.length <= letters ? file : `${file.slice(0, Math.max(0, letters - 1))}…`;
      if (letters >= 3) drawing.append(made("svg:text", { x: x + 4, y: 26 }, name));
    }
    drawing.append(this.#cursor(2, STRIP));
    this.#picks(drawing);
    drawing.addEventListener("keydown", (event) => this.#key(event));
    return drawing;
  }

  #key(event) {
    const step = JUMP * this.total;
    const moves = { ArrowLeft: -step, ArrowDown: -step, ArrowRight: step, ArrowUp: step, PageUp: 10 * step, PageDown: -10 * step };
    const ends = { Home: 0, End: this.total };
    if (!(event.key in moves) && !(event.key in ends)) return;
    event.preventDefault();
    this.#pick(event.key in ends ? ends[event.key] : this.time + moves[event.key]);
  }

  #pick(seconds) {
    this.setTime(Math.min(this.total, Math.max(0, seconds)));
  }

  /** Let a press or a drag on a drawing pick the moment. */
  #picks(drawing) {
    const pick = (event) => {
      const x = event.clientX - drawing.getBoundingClientRect().left;
      this.#pick((this.total * (x - LEFT)) / (this.wide - LEFT - RIGHT));
    };
    drawing.addEventListener("pointerdown", (event) => {
      drawing.setPointerCapture(event.pointerId);
      pick(event);
    });
    drawing.addEventListener("pointermove", (event) => {
      if (drawing.hasPointerCapture(event.pointerId)) pick(event);
    });
  }

  #plot(record) {
    const { worst } = record;
    const place = made("span", { class: "now" });
    this.now.push({ record, place });
    const line = worst.line ? `line ${worst.line} of ${worst.program}` : worst.program;
    const words = `▼ ${worst.said}, ${line}`;
    const label = `Nearest to its limit: ${worst.said}, ${line}. Limited by ${worst.limit}. Go there.`;
    const head = made("div", { class: "plot-head" }, made("h4", {}, `${record.title}, ${record.unit}`), place);
    const go = button(words, () => this.#pick(worst.time), { class: "worst", "aria-label": label, title: label });
    return made("section", { class: "plot", "data-load": record.name }, head, made("p", { class: "how" }, record.how), go, this.#graph(record));
  }

  #graph(record) {
    const y = (height) => OVER + HIGH * (1 - Math.min(1, height / record.top));
    const said = `${record.title} along the time: at most ${record.worst.said}.`;
    const drawing = this.#drawing(OVER + HIGH + 2, { role: "img", "aria-label": said, class: "graph" });
    const right = this.wide - RIGHT;
    for (const [begin, end, low, high] of record.bands) {
      const [x, wide] = [this.#x(begin), this.#x(end) - this.#x(begin)];
      drawing.append(made("svg:rect", { class: "band", x, y: y(high), width: wide, height: y(low) - y(high) }));
    }
    for (const [height, name] of record.ticks) {
      drawing.append(made("svg:path", { class: "faint", d: `M${LEFT} ${y(height)}H${right}` }));
      drawing.append(made("svg:text", { x: LEFT - 5, y: y(height) + 4, "text-anchor": "end" }, name));
    }
    drawing.append(made("svg:path", { class: "area", d: this.#outline(this.arrays[`load_${record.name}`], y) }));
    for (const { begin, end } of this.header.programs) {
      const ends = `M${this.#x(begin)} ${OVER}V${OVER + HIGH}H${this.#x(end)}V${OVER}`;
      drawing.append(made("svg:path", { class: "rule", d: ends }));
    }
    this.#limits(drawing, record, y);
    const [x, top] = [this.#x(record.worst.time), y(record.worst.height)];
    drawing.append(made("svg:path", { class: "mark", d: `M${x} ${top}l-6 -10h12z` }), this.#cursor(0, OVER + HIGH));
    this.#picks(drawing);
    return drawing;
  }

  /** Dashed limits; the words of the first of each kind stand at its right end. */
  #limits(drawing, { limits }, y) {
    const told = new Set();
    for (const { begin, end, height, words } of limits) {
      const at = y(height);
      drawing.append(made("svg:path", { class: "limit", d: `M${this.#x(begin)} ${at}H${this.#x(end)}` }));
      if (told.has(words)) continue;
      told.add(words);
      const under = at < OVER + 14;
      drawing.append(made("svg:text", { class: "limit-words", x: this.#x(end) - 4, y: under ? at + 13 : at - 4, "text-anchor": "end" }, words));
    }
  }

  /** A load as areas, a level for each moment; broken where nothing is asked. */
  #outline(every, y) {
    const levels = fewer(every, Math.floor((this.wide - LEFT - RIGHT) / 1.5));
    const base = y(0).toFixed(1);
    const at = (number) => this.#x((number * this.total) / levels.length).toFixed(1);
    let way = "";
    let above = false;
    levels.forEach((height, number) => {
      if (height > 0) way += `${above ? "" : `M${at(number)} ${base}`}V${y(height).toFixed(1)}H${at(number + 1)}`;
      else if (above) way += `V${base}Z`;
      above = height > 0;
    });
    return above ? `${way}V${base}Z` : way;
  }

  #axis() {
    const drawing = this.#drawing(36, { "aria-hidden": true });
    const most = Math.max(2, Math.floor(this.wide / 70));
    const step = STEPS.find((one) => this.total / one <= most) ?? Math.ceil(this.total / most);
    const unit = step >= 60 ? 60 : 1;
    for (let second = 0; second <= this.total; second += step) {
      drawing.append(made("svg:path", { class: "rule", d: `M${this.#x(second)} 0V4` }));
      drawing.append(made("svg:text", { x: this.#x(second), y: 16, "text-anchor": "middle" }, String(second / unit)));
    }
    const words = unit === 60 ? "minutes on the machine" : "seconds on the machine";
    drawing.append(made("svg:text", { x: this.wide / 2, y: 31, "text-anchor": "middle" }, words));
    return drawing;
  }

  /** The worst of a load in the column of a moment, in words. */
  #said(record, seconds) {
    const levels = this.arrays[`load_${record.name}`];
    const column = Math.min(levels.length - 1, Math.floor((seconds / this.total) * levels.length));
    const height = levels[column];
    if (!(height > 0)) return "nothing";
    const value = record.inverse ? 1 / height : height;
    const unit = { force: " N", power: " %", margin: " times" }[record.name] ?? ` ${record.unit}`;
    return `${Number(value.toPrecision(value < 1 ? 2 : 3))}${unit}`;
  }
}

/** The worst of each of so many columns. */
function fewer(levels, columns) {
  if (columns >= levels.length) return levels;
  const out = new Float32Array(columns);
  levels.forEach((level, number) => {
    const column = Math.floor((number * columns) / levels.length);
    if (level > out[column]) out[column] = level;
  });
  return out;
}

function key() {
  const words = "▼ nearest to its limit. Dashed: the limit. Dotted band: the usual chip. Up is harder on cutter, machine or clamps.";
  return made("p", { class: "how" }, words);
}

function none() {
  return made("p", { class: "how" }, "How hard the cuts are was not reckoned for this job, so there are no plots; the row above still picks a moment.");
}
