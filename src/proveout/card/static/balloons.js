/** What lies over the picture: a balloon for each finding that has a place, and the names of what is seen. */

import { button, made } from "./build.js";

const WORDS = { stop: "Stop", caution: "Caution", note: "Note" };

/** Over the picture: balloons to press, small ones at a finding's further places, names. */
export class Balloons {
  /** @param {(number: number) => void} chosen a balloon was pressed */
  constructor(root, header, findings, arrow, chosen) {
    this.layer = made("div", { class: "balloons" });
    this.pinned = [];
    root.append(this.layer);
    this.#names(header, arrow);
    const places = new Map(header.findings.map((one) => [one.number, one.marks]));
    // the weightiest last, so that they lie on top
    for (const finding of [...findings].reverse()) {
      const marks = places.get(finding.number) ?? [];
      const at = finding.at ?? marks[0]?.at;
      if (!at) continue;
      for (const mark of marks) if (apart(mark.at, at)) this.#pin(small(finding), mark.at);
      this.#pin(this.#balloon(finding, chosen), at);
    }
  }

  #balloon(finding, chosen) {
    const label = `${WORDS[finding.level]} ${finding.number}: ${finding.text}`;
    const shape = made("span", { class: `shape ${finding.level}`, "aria-hidden": true }, String(finding.number));
    return button(shape, () => chosen(finding.number), { class: "balloon", "data-number": finding.number, "aria-label": label, title: label });
  }

  #names({ parts, solids, zero, sheet }, arrow) {
    for (const part of parts) this.#pin(made("span", { class: "name part", "aria-hidden": true }, part.name), [...part.at, sheet.thickness], true);
    for (const solid of solids) {
      if (solid.kind !== "clamp" && solid.kind !== "stop") continue;
      this.#pin(made("span", { class: "name", "aria-hidden": true }, solid.name), [...solid.at, solid.top], true);
    }
    ["X", "Y", "Z"].forEach((letter, axis) => {
      const tip = zero.map((value, other) => value + (other === axis ? arrow * 1.08 : 0));
      this.#pin(made("span", { class: "axis", "aria-hidden": true }, letter), tip);
    });
  }

  #pin(element, at, name = false) {
    this.layer.append(element);
    this.pinned.push({ element, at, name });
  }

  /** Names are shown or not. */
  showNames(shown) {
    for (const { element, name } of this.pinned) if (name) element.classList.toggle("unshown", !shown);
  }

  /** @param {(at: number[]) => [number, number, number]} project from mm to pixels of the picture */
  place(project) {
    const { clientWidth: wide, clientHeight: high } = this.layer;
    for (const { element, at } of this.pinned) {
      const [x, y, away] = project(at);
      const out = away <= 0 || x < 0 || y < 0 || x > wide || y > high;
      element.classList.toggle("out", out);
      if (!out) element.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px) translate(-50%, -50%)`;
    }
  }

  /** Emphasise one finding's balloon. */
  choose(number) {
    for (const { element } of this.pinned) {
      if (!element.matches(".balloon")) continue;
      const chosen = Number(element.dataset.number) === number;
      element.classList.toggle("chosen", chosen);
      if (chosen) element.setAttribute("aria-current", "true");
      else element.removeAttribute("aria-current");
    }
  }
}

function small(finding) {
  return made("span", { class: `further ${finding.level}`, "aria-hidden": true }, String(finding.number));
}

function apart(one, other) {
  return Math.hypot(one[0] - other[0], one[1] - other[1], one[2] - other[2]) > 0.01;
}
