/** The text of the programs around the line that is run: only what is in sight is in the page. */

import { made } from "./build.js";

const HIGH = 24; // px, of a line
const MORE = 6; // lines above and below what is in sight
const MOST = 650000; // lines, beyond which a page can't be that high; later ones are not shown

/** The programs' text. */
export class Listing {
  /**
   * @param {Object<string, string>} programs text by file
   * @param {(file: string, line: number) => void} picked somebody wants to go to a line
   * @param {(way: number) => void} stepped somebody wants the next move (1) or the one before (-1)
   */
  constructor(root, programs, picked, stepped) {
    Object.assign(this, { programs, picked, file: "", line: 0, lines: [] });
    this.title = made("p", { class: "listing-title" });
    this.rows = made("div", { class: "listing-rows" });
    this.window = made("div", { class: "listing", tabindex: 0, role: "group", "aria-label": "Program text. Arrow up and down go move by move." }, this.rows);
    this.window.addEventListener("scroll", () => this.#draw());
    this.window.addEventListener("click", (event) => this.#clicked(event));
    this.window.addEventListener("keydown", (event) => {
      const way = { ArrowUp: -1, ArrowDown: 1 }[event.key];
      if (!way) return;
      event.preventDefault();
      stepped(way);
    });
    this.sized = new ResizeObserver(() => this.#draw());
    this.sized.observe(this.window);
    root.append(this.title, this.window);
  }

  destroy() {
    this.sized.disconnect();
  }

  #clicked(event) {
    const row = event.target.closest("[data-line]");
    if (row && String(getSelection()) === "") this.picked(this.file, Number(row.dataset.line));
  }

  /** Show a line of a program; 0 for none. */
  show(file, line) {
    if (file === this.file && line === this.line) return;
    if (file !== this.file) {
      this.lines = (this.programs[file] ?? "").split("\n").slice(0, MOST);
      this.rows.style.height = `${HIGH * this.lines.length}px`;
      this.file = file;
    }
    this.line = line;
    this.title.textContent = line ? `${file}, line ${line} of ${this.lines.length}` : file;
    const middle = HIGH * (line - 0.5) - this.window.clientHeight / 2;
    const near = Math.abs(middle - this.window.scrollTop) < this.window.clientHeight / 4;
    if (line && !near) this.window.scrollTop = middle;
    this.#draw();
  }

  #draw() {
    const first = Math.max(0, Math.floor(this.window.scrollTop / HIGH) - MORE);
    const count = Math.ceil(this.window.clientHeight / HIGH) + 2 * MORE;
    const shown = this.lines.slice(first, first + count);
    this.rows.replaceChildren(...shown.map((text, number) => this.#row(first + number + 1, text)));
  }

  #row(number, text) {
    const here = number === this.line;
    const row = made(
      "div",
      { class: here ? "row here" : "row", "data-line": number, "aria-current": here ? "true" : null },
      made("span", { class: "number" }, `${here ? "▸ " : ""}${number}`),
      made("code", {}, text.replace(/\r$/, "")),
    );
    row.style.top = `${HIGH * (number - 1)}px`;
    return row;
  }
}
