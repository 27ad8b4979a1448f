/** What stands round the plan: its buttons, the box it lies in, the panel, and the words that are read aloud. */

import { el } from "./plan_picture.js";
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
  ["plan-sheet", "sheet"], ["hatch plan-clamp-bar", "clamp"], ["dots plan-recess", "recess"], ["plan-through", "through"],
  ["plan-tab", "tab"], ["plan-keepout", "no cutter here"], ["plan-margin", "edge kept clear"], ["cross plan-flaw-area", "flaw"],
  ["plan-pin", "placed by hand"],
];

/** Builds it all in `root`; the picture itself is left empty. */
export function frame(root, marks, { onUndo, onRedo }) {
  const acts = {};
  const press = (name, act, label) => {
    const made = html("button", { type: "button", "aria-label": label ?? false }, name);
    made.addEventListener("click", () => acts[act]?.());
    return made;
  };
  Object.assign(acts, { undo: onUndo, redo: onRedo });
  const limits = html("input", { type: "checkbox", checked: true });
  const svg = el("svg", { class: "plan-svg", role: "group", tabindex: -1, "aria-label": "The bed from above; the front is where you stand" });
  const bed = html("div", { class: "plan-bed" }, svg);
  const panel = html("section", { class: "plan-panel", "aria-label": "What is chosen on the plan" });
  const live = html("p", { class: "plan-live", "aria-live": "polite" });
  const doubts = html("p", { class: "plan-warn", hidden: true });
  const whole = html("div", { class: "plan" },
    html("div", { class: "plan-bar", role: "group", "aria-label": "Plan" },
      press("Add a flaw", "flaw"), onUndo && press("Undo", "undo"), onRedo && press("Do again", "redo"),
      html("span", { class: "plan-zooms" }, press("+", "larger", "Larger"), press("\u2212", "smaller", "Smaller"), press("Whole bed", "fit")),
      html("label", { class: "plan-switch" }, limits, "Show what stays clear of the cutter")),
    html("div", { class: "plan-both" }, html("div", { class: "plan-left" }, bed, doubts, live, legend(marks), keys()), panel),
    html("p", { id: `${marks}-hint`, hidden: true }, HINT));
  limits.addEventListener("change", () => whole.classList.toggle("plan-quiet", !limits.checked));
  root.replaceChildren(whole);
  return {
    root: whole, svg, bed, panel, over: null,
    does: (given) => Object.assign(acts, given),
    say: (words) => { live.textContent = words; },
    warn: (found) => {
      doubts.hidden = found.length === 0;
      doubts.textContent = found.length ? `Look: ${found.join(" ")}` : "";
    },
  };
}

function legend(marks) {
  const sign = ([style, name]) => {
    const [pattern] = style.split(" ");
    const fill = style.includes(" ") ? `url(#${marks}-${pattern})` : "";
    const kind = style.split(" ").at(-1);
    const shape = kind === "plan-pin" ? el("path", { class: kind, d: "M4 7a4 4 0 1 1 8 0a4 4 0 1 1 -8 0M8 7L3 14" })
      : kind === "plan-tab" ? el("path", { class: kind, d: "M4 8H22" })
      : el("rect", { class: kind, x: 2, y: 2, width: 22, height: 12, fill });
    return html("li", {}, el("svg", { viewBox: "0 0 26 16", width: 26, height: 16, "aria-hidden": "true", class: "plan-sign" }, shape), name);
  };
  return html("ul", { class: "plan-legend", "aria-label": "What the signs mean" }, ...SIGNS.map(sign));
}

const keys = () => html("details", { class: "plan-keys" }, html("summary", {}, "Keys"),
  html("dl", {}, ...KEYS.flatMap(([name, does]) => [html("dt", {}, name), html("dd", {}, does)])));
