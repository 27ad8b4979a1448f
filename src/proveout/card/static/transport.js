/** What moves the moment: the slider, play and pause, move by move, program by program. */

import { button, made, spokenTime } from "./build.js";
import { pieceAt } from "./scene.js";

const SPEEDS = [1, 4, 16, 64, 256];
const USUAL = 16; // times as fast as on the machine
const STEPS = 2000; // of the slider

/** The controls under the picture. */
export class Transport {
  /** @param {(seconds: number) => void} setTime called with every new moment */
  constructor(root, { header, arrays }, setTime) {
    Object.assign(this, { arrays, header, setTime, time: 0, total: header.total, playing: false });
    this.slider = made("input", { type: "range", min: 0, max: this.total, step: this.total / STEPS || "any", value: 0, class: "moment" });
    this.slider.addEventListener("input", () => this.#by(Number(this.slider.value)));
    this.play = button("Play", () => this.toggle(), { class: "play" });
    const choices = SPEEDS.map((speed) => made("option", { value: speed, selected: speed === USUAL }, speed === 1 ? "as on the machine" : `${speed} times`));
    this.speed = made("select", {}, ...choices);
    const buttons = made(
      "div",
      { class: "transport-buttons" },
      this.play,
      button("‹ Move", () => this.step(-1), { "aria-label": "One move back" }),
      button("Move ›", () => this.step(1), { "aria-label": "One move on" }),
      button("‹ Program", () => this.program(-1), { "aria-label": "To the program before" }),
      button("Program ›", () => this.program(1), { "aria-label": "To the next program" }),
      made("label", { class: "speed" }, "Speed ", this.speed),
    );
    root.append(made("label", { class: "moment-label" }, made("span", {}, "Moment"), this.slider), buttons);
  }

  destroy() {
    this.#halt();
  }

  /** Show a moment. */
  show(seconds) {
    this.time = seconds;
    this.slider.value = String(seconds);
    this.slider.setAttribute("aria-valuetext", `${spokenTime(seconds)} of ${spokenTime(this.total)}`);
  }

  #by(seconds) {
    this.#halt();
    this.setTime(seconds);
  }

  /** Play on, or stop playing; from the end, from the start again. */
  toggle() {
    if (this.playing) {
      this.#halt();
      return;
    }
    if (this.time >= this.total) this.setTime(0);
    this.playing = true;
    this.play.textContent = "Pause";
    this.before = performance.now();
    this.frame = requestAnimationFrame(() => this.#tick());
  }

  #tick() {
    const now = performance.now();
    const next = this.time + ((now - this.before) / 1000) * Number(this.speed.value);
    this.before = now;
    this.setTime(Math.min(this.total, next));
    if (next >= this.total) this.#halt();
    else this.frame = requestAnimationFrame(() => this.#tick());
  }

  #halt() {
    cancelAnimationFrame(this.frame);
    this.playing = false;
    this.play.textContent = "Play";
  }

  /** To the end of the move that is run or of the next one, or to the end of the one before. */
  step(way) {
    const { begin, done, line, program } = this.arrays;
    if (!begin.length) return;
    const here = pieceAt(begin, this.time);
    const same = (one, other) => line[one] === line[other] && program[one] === program[other];
    let piece = here;
    if (way > 0 && this.time >= done[here] && here + 1 < begin.length) piece += 1;
    if (way < 0) while (piece > 0 && same(piece, here)) piece -= 1;
    if (way < 0 && piece === 0 && same(0, here)) {
      this.#by(0);
      return;
    }
    while (way > 0 && piece + 1 < begin.length && same(piece + 1, piece)) piece += 1;
    this.#by(done[piece]);
  }

  /** To the begin of the next program, or of this one, or of the one before. */
  program(way) {
    const begins = this.header.programs.map((one) => one.begin);
    const found = way > 0 ? begins.find((begin) => begin > this.time + 1e-3) : begins.findLast((begin) => begin < this.time - 1e-3);
    this.#by(found ?? (way > 0 ? this.total : 0));
  }
}
