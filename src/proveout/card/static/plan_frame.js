/** What stands round the plan: its buttons, the box it lies in, the panel, and the words that are read aloud. */

import { el, mark } from "./plan_picture.js";
import { html } from "./plan_panel.js";

const HINT = "Arrow keys move it, with Shift in fine steps. R turns it. Enter puts it there, Escape puts it back.";
const KEYS = [
  ["Tab", "to the next part, clamp, flaw or finding"],
  ["Arrow keys", "move it; a clamp goes to the next hole"],
  ["Shift + arrow keys", "move it in fine steps"],
  ["R", "turns a part as it may be cut, or a clamp's nose; Shift + R turns a part by 5 degrees"],
  ["Enter", "puts it there; where nothing is being moved, goes to its fields"],
  ["Escape", "puts it back"],
  ["N", "adds a flaw"],
  ["Delete", "removes a flaw, lets a part be laid out again"],
  ["Ctrl + Z, Ctrl + Shift + Z", "undo, and do again"],
];
const SIGNS = [
  ["plan-sheet", "sheet"], ["plan-clamp-bar hatch", "clamp"], ["plan-recess dots", "recess"], ["plan-through", "through"],
  ["plan-tab", "tab"], ["plan-keepout", "no cutter here"], ["plan-margin", "edge kept clear"], ["plan-flaw-area cross", "flaw"],
  ["plan-pin", "placed by hand"], ["plan-at-stop", "finding: stop"], ["plan-at-caution", "caution"], ["plan-at-note", "note"],
];

/** Builds it all in `root`; the picture itself is left empty. */
export function frame(root, marks, { onUndo, onRedo }) {
  const acts = { undo: onUndo, redo: onRedo }; // what the buttons do; whoever moves things adds theirs
  const press = (name, act, label) => {
    const made = html("button", { type: "button", "aria-label": label ?? false }, name);
    made.addEventListener("click", () => acts[act]?.());
    return made;
  };
  const limits = html("input", { type: "checkbox", checked: true });
  const svg = el("svg", { class: "plan-svg", role: "group", tabindex: -1, "aria-label": "The bed from above; the front is where you stand" });
  const bed = html("div", { class: "plan-bed" }, svg);
  const panel = html("section", { class: "plan-panel", "aria-label": "What is chosen on the plan" });
  const live = html("p", { class: "plan-live", "aria-live": "polite" });
  const doubts = html("p", { class: "plan-warn", role: "status", hidden: true });
  const whole = html("div", { class: "plan" },
    html("div", { class: "plan-bar", role: "group", "aria-label": "Plan" },
      press("Add a flaw", "flaw"), onUndo && press("Undo", "undo"), onRedo && press("Redo", "redo"),
      html("span", { class: "plan-zooms" }, press("+", "larger", "Larger"), press("\u2212", "smaller", "Smaller"), press("Whole bed", "fit")),
      html("label", { class: "plan-switch" }, limits, "Show what stays clear of the cutter")),
    html("div", { class: "plan-both" }, bed, html("div", { class: "plan-beside" }, doubts, live, panel)), legend(marks), keys(),
    html("p", { id: `${marks}-hint`, hidden: true }, HINT));
  limits.addEventListener("change", () => whole.classList.toggle("plan-quiet", !limits.checked));
  root.replaceChildren(whole);
  return {
    root: whole, svg, bed, panel, acts,
    say: (words) => { live.textContent = words; },
    warn: (found) => {
      const words = found.length ? `Look: ${found.join(" ")}` : "";
      if (doubts.textContent !== words) doubts.textContent = words;
      doubts.hidden = words === "";
    },
  };
}

function legend(marks) {
  const sign = ([style, name]) => html("li", {}, el("svg", { viewBox: "0 0 26 16", width: 26, height: 16, "aria-hidden": "true", class: "plan-sign" },
    ...drawnSign(style.split(" "), marks)), name);
  return html("ul", { class: "plan-legend", "aria-label": "What the signs mean" }, ...SIGNS.map(sign));
}

function drawnSign([kind, pattern], marks) {
  const ground = (more) => el("rect", { class: kind, x: 2, y: 2, width: 22, height: 12, ...more });
  switch (kind) {
    case "plan-pin": return [el("path", { class: kind, d: "M4 7a4 4 0 1 1 8 0a4 4 0 1 1 -8 0M8 7L3 14" })];
    case "plan-tab": return [el("path", { class: kind, d: "M4 8H22" })];
    case "plan-through": return [ground({}), el("path", { class: "plan-crossing", d: "M8 8H18M13 3V13" })];
    case "plan-at-stop": return [el("g", { class: kind }, mark("stop", 13, 8, 7))];
    case "plan-at-caution": return [el("g", { class: kind }, mark("caution", 13, 10, 5))];
    case "plan-at-note": return [el("g", { class: kind }, mark("note", 13, 8, 6))];
    default: return [ground(pattern ? { fill: `url(#${marks}-${pattern})` } : {})];
  }
}

const keys = () => html("details", { class: "plan-keys" }, html("summary", {}, "Keys"),
  html("dl", {}, ...KEYS.flatMap(([name, does]) => [html("dt", {}, name), html("dd", {}, does)])));
