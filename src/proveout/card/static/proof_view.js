/** The proof to look at: the sheet at any moment, what happens then, how hard it is, and the line that does it. */

import { Balloons } from "./balloons.js";
import { button, clockTime, feedIn, lengthIn, made } from "./build.js";
import { Listing } from "./listing.js";
import { Plots } from "./plots.js";
import { Replay } from "./removal.js";
import { arcNumbers, pieceAt, readScene, shareOf, tipAt } from "./scene.js";
import { Sheet3d } from "./sheet3d.js";
import { Transport } from "./transport.js";

const LEVELS = { stop: "Stop: do not cut", caution: "Caution: cut only if you accept it", note: "Note" };
const NO_PICTURE =
  "This browser draws no pictures in three dimensions (it lacks WebGL 2). The finished sheet is drawn in result.png of the pack. Moments, plots and program text work here all the same.";
const HELP = "Drag to turn, shift and drag or two fingers to move, wheel or pinch for nearer. Keys: arrows turn, shift and arrows move, + and - zoom, 0 shows all.";
const READOUT = ["time", "program", "line", "X", "Y", "Z", "feed", "cutter"];

/**
 * Build the view inside an element.
 * @param {HTMLElement} root
 * @param {object} given
 * @param {ArrayBuffer} given.scene as src/proveout/card/scene.py packs it
 * @param {{number: number, level: string, text: string, remedy: string, program: string, line: ?number, at: ?number[]}[]} given.findings
 * @param {Object<string, string>} given.programs text by file
 * @param {"mm"|"in"} given.units in which places and feeds are shown
 * @param {(seconds: number) => void} [given.onTime] told of every new moment
 * @returns {{goTo(number: number): void, setTime(seconds: number): void, time(): number, destroy(): void}}
 */
export function mountProof(root, { scene, findings, programs, units, onTime = () => {} }) {
  const view = new ProofView(root, readScene(scene), { findings, programs, units, onTime });
  return {
    goTo: (number) => view.goTo(number),
    setTime: (seconds) => view.setTime(seconds),
    time: () => view.time,
    destroy: () => view.destroy(),
  };
}

class ProofView {
  constructor(root, scene, { findings, programs, units, onTime }) {
    Object.assign(this, { scene, findings, units, onTime });
    this.total = scene.header.total;
    this.arcs = arcNumbers(scene.arrays);
    this.root = made("div", { class: "proof" });
    root.append(this.root);
    const [left, right] = [made("div", { class: "proof-main" }), made("div", { class: "proof-plots" })];
    this.root.append(left, right);
    this.stage = made("div", { class: "stage" });
    this.chosen = made("div", { class: "chosen-finding", "aria-live": "polite" });
    const [transport, readout, listing] = ["transport", "readout", "program-text"].map((name) => made("div", { class: name }));
    left.append(this.stage);
    left.append(...this.#picture(), this.chosen, transport, readout, listing);
    const moved = (seconds) => this.setTime(seconds);
    this.transport = new Transport(transport, scene, moved);
    this.plots = new Plots(right, scene, moved);
    this.listing = new Listing(listing, programs, (file, line) => this.#goToLine(file, line), (way) => this.transport.step(way));
    this.cells = readoutCells(readout);
    this.setTime(this.total);
  }

  /** The picture in its stage; returns the controls that stand under it. */
  #picture() {
    const canvas = made("canvas", { class: "sheet", tabindex: 0, role: "application", "aria-label": `The sheet in three dimensions. ${HELP}` });
    this.stage.append(canvas);
    try {
      const replay = new Replay(this.scene);
      this.view = new Sheet3d(canvas, this.scene, replay, (project) => this.balloons?.place(project));
    } catch {
      this.stage.replaceChildren(made("p", { class: "no-picture" }, NO_PICTURE));
      this.stage.classList.add("without");
      return [];
    }
    this.balloons = new Balloons(this.stage, this.scene.header, this.findings, this.view.arrow, (number) => this.goTo(number));
    this.dark = matchMedia("(prefers-color-scheme: dark)");
    this.retone = () => this.view.retone();
    this.dark.addEventListener("change", this.retone);
    this.themed = new MutationObserver(this.retone);
    this.themed.observe(document.documentElement, { attributes: true, attributeFilter: ["data-dark", "data-light"] });
    return [this.#looks(), made("p", { class: "how" }, HELP)];
  }

  /** From where to look, nearer and further, and whether names are shown. */
  #looks() {
    const { eye } = this.view;
    const names = made("input", { type: "checkbox" });
    names.addEventListener("change", () => this.balloons.showNames(names.checked));
    this.balloons.showNames(false);
    return made(
      "div",
      { class: "looks", role: "group", "aria-label": "Look at the sheet" },
      button("From above", () => eye.look("above")),
      button("From the front", () => eye.look("front")),
      button("From the left front", () => eye.look("corner")),
      button("+", () => eye.zoom(1 / 1.25), { "aria-label": "Nearer", class: "sign" }),
      button("−", () => eye.zoom(1.25), { "aria-label": "Further away", class: "sign" }),
      made("label", { class: "names" }, names, "Names"),
    );
  }

  get time() {
    return this.transport.time;
  }

  /** @param {number} seconds */
  setTime(seconds) {
    const time = Math.min(this.total, Math.max(0, Number(seconds) || 0));
    this.transport.show(time);
    this.plots.show(time);
    this.view?.show(time);
    this.#read(time);
    this.onTime(time);
  }

  /** What the cutter does at a moment, in the cells of the readout. */
  #read(time) {
    const { header, arrays } = this.scene;
    if (!arrays.begin.length) return;
    const piece = pieceAt(arrays.begin, time);
    const share = shareOf(arrays, piece, time);
    const tip = tipAt(arrays, piece, this.arcs[piece], share).map((value, axis) => value - header.zero[axis]);
    const program = header.programs[arrays.program[piece]];
    const cutter = header.cutters.find((one) => one.number === arrays.cutter[piece]);
    const { cells, units } = this;
    cells.time.textContent = `${clockTime(time)} of ${clockTime(this.total)}`;
    cells.program.textContent = program.file;
    cells.line.textContent = arrays.line[piece] || "–";
    ["X", "Y", "Z"].forEach((axis, number) => { cells[axis].textContent = `${lengthIn(units, tip[number])} ${units}`; });
    cells.feed.textContent = this.#feed(piece, time);
    cells.cutter.textContent = cutter ? `${cutter.number}: ${cutter.name}` : "none";
    this.listing.show(program.file, arrays.line[piece]);
  }

  #feed(piece, time) {
    const { header, arrays } = this.scene;
    const { begin, done, feed, program } = arrays;
    const waits = time > done[piece] + 1e-3 && piece + 1 < begin.length;
    if (time < begin[0]) return "waits";
    if (!waits) return feedIn(this.units, feed[piece]);
    const changes = program[piece + 1] !== program[piece] && time < header.programs[program[piece + 1]].begin;
    return changes ? "change of cutter" : "waits";
  }

  #goToLine(file, line) {
    const { header, arrays } = this.scene;
    const number = header.programs.findIndex((program) => program.file === file);
    let best = -1;
    for (let piece = 0; piece < arrays.line.length; piece += 1) {
      if (arrays.program[piece] !== number || arrays.line[piece] < line) continue;
      if (best < 0 || arrays.line[piece] < arrays.line[best]) best = piece;
      if (arrays.line[best] === line) break;
    }
    if (best >= 0) this.setTime(arrays.begin[best]);
  }

  /** Show a finding: its moment, its place, its line. */
  goTo(number) {
    const finding = this.findings.find((one) => one.number === number);
    const told = this.scene.header.findings.find((one) => one.number === number);
    if (!finding || !told) return;
    const at = finding.at ?? told.marks[0]?.at;
    if (told.time !== null) this.setTime(told.time);
    else if (at) this.setTime(this.total);
    if (at) this.view?.eye.attend(at);
    this.balloons?.choose(number);
    if (finding.line && finding.program) this.listing.show(finding.program, finding.line);
    this.#tell(finding, told.time !== null || Boolean(at));
  }

  #tell(finding, placed) {
    const line = finding.line ? `Line ${finding.line} of ${finding.program}. ` : "";
    const words = placed ? "" : "It is of the whole job, not of one moment or place.";
    this.chosen.replaceChildren(
      made("span", { class: `shape ${finding.level}`, "aria-hidden": true }, String(finding.number)),
      made("div", {}, made("strong", {}, LEVELS[finding.level]), made("p", {}, `${line}${finding.text}`), made("p", {}, finding.remedy || words)),
    );
  }

  destroy() {
    this.transport.destroy();
    this.plots.destroy();
    this.listing.destroy();
    this.view?.destroy();
    this.themed?.disconnect();
    this.dark?.removeEventListener("change", this.retone);
    this.root.remove();
  }
}

/** Ruled cells, each with its caption. @returns {Object<string, HTMLElement>} by name */
function readoutCells(root) {
  const cells = {};
  const list = made("dl", {});
  for (const name of READOUT) {
    cells[name] = made("dd", {}, "–");
    list.append(made("div", { class: `cell ${name}` }, made("dt", {}, name), cells[name]));
  }
  root.append(list);
  return cells;
}
