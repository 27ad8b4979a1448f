/** Draws the plan: the bed from above, as paperwork. Heavy line: the sheet; hatched: clamps; dotted: recesses;
 * crossed: cut through; broken line: where no cutter comes. The sheet's frame is mm with Y away, so that shapes
 * are drawn in a group that is turned over; lettering is kept in CSS pixels by --px, mm to a pixel.
 */

import { boxAt, clampTransform, holeAt, middle, partTransform, QUARTERS } from "./plan_change.js";
import { boxOf, ringsOf, shifted, turned } from "./plan_shapes.js";
import { flawName, label, length } from "./plan_words.js";

const SVG = "http://www.w3.org/2000/svg";
const GUTTER = { left: 30, right: 14, back: 14, front: 50 }; // px round the bed, for the names of its holes
export const SMALL = 0.9; // mm to a pixel, beyond which the picture is small: finer lines, fewer letters
const LETTER = 0.58; // width of a letter in its own size, about

/** An SVG element with attributes and children. */
export function el(name, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children.filter(Boolean));
  return made;
}

const over = (attributes, ...children) => el("g", { transform: "scale(1 -1)", ...attributes }, ...children);
const text = (x, y, words, attributes = {}) => {
  const made = el("text", { x, y: -y, ...attributes });
  made.textContent = words;
  return made;
};
const rect = ([left, front, right, back], attributes) =>
  el("rect", { x: left, y: front, width: Math.max(0, right - left), height: Math.max(0, back - front), ...attributes });

/** The part of the bed that is shown: the sheet, and the clamps in every hole in which they may stand. */
export function shown(plan) {
  const points = [[0, 0], plan.sheet.size];
  for (const { bar, may } of plan.clamps) {
    for (const [name, ways] of Object.entries(may)) {
      for (const way of ways) points.push(...shifted(turned(ringsOf(bar)[0], QUARTERS[way], [0, 0]), ...holeAt(plan, name)));
    }
  }
  const [left, front, right, back] = boxOf(points);
  const spare = plan.plate.pitch * 0.6;
  const bed = plan.plate.box;
  return [
    Math.min(0, Math.max(left - spare, bed[0])), Math.min(0, Math.max(front - spare, bed[1])),
    Math.max(plan.sheet.size[0], Math.min(right + spare, bed[2])),
    Math.max(plan.sheet.size[1], Math.min(back + spare, bed[3])),
  ];
}

/** mm to a pixel where the bed fits into so many pixels. */
export function scaleFor(box, wide, high) {
  const across = Math.max(60, wide - GUTTER.left - GUTTER.right);
  const up = Math.max(60, high - GUTTER.front - GUTTER.back);
  return Math.max((box[2] - box[0]) / across, (box[3] - box[1]) / up);
}

/** Sets the picture's own measure; returns its size in pixels. */
export function measure(svg, box, one) {
  const [left, front, right, back] = box;
  const wide = right - left + (GUTTER.left + GUTTER.right) * one;
  const high = back - front + (GUTTER.front + GUTTER.back) * one;
  svg.setAttribute("viewBox", `${left - GUTTER.left * one} ${-back - GUTTER.back * one} ${wide} ${high}`);
  svg.style.setProperty("--px", one);
  return [wide / one, high / one];
}

/** What never moves: the plate with its holes, the sheet, what else holds it, and the zero. */
export function ground(plan, box, one, marks) {
  const [left, front, right, back] = box;
  const { margin, size } = plan.sheet;
  const seen = plan.plate.holes.filter(({ at: [x, y] }) => x > left && x < right && y > front && y < back);
  return el("g", { class: "plan-ground", "aria-hidden": "true" },
    patterns(one, marks),
    over({}, rect(box, { class: "plan-plate" }),
      ...seen.map(({ at: [cx, cy], free }) => el("circle", { cx, cy, r: plan.plate.hole / 2, class: free ? "plan-hole" : "plan-hole plan-taken" })),
      rect([0, 0, ...size], { class: "plan-sheet" })),
    ...edgeNames(plan, seen, box, one),
    text((left + right) / 2, front - 41 * one, "FRONT: you stand here", { class: "plan-front" }),
    over({}, rect([margin, margin, size[0] - margin, size[1] - margin], { class: "plan-margin" })),
  );
}

function patterns(one, marks) {
  const [step, dot] = [5 * one, 4 * one];
  const made = (name, size, turn, child) => el("pattern",
    { id: `${marks}-${name}`, width: size, height: size, patternUnits: "userSpaceOnUse", patternTransform: `rotate(${turn})` }, child);
  return el("defs", {},
    made("hatch", step, 45, el("path", { d: `M0 0V${step}`, class: "plan-hatching" })),
    made("cross", step, 45, el("path", { d: `M0 0V${step}M0 0H${step}`, class: "plan-hatching" })),
    made("dots", dot, 0, el("circle", { cx: dot / 2, cy: dot / 2, r: 0.75 * one, class: "plan-dot" })));
}

/** Letters of the columns in front of the bed, numbers of the rows on its left. */
function edgeNames(plan, seen, [left, front], one) {
  const every = Math.max(1, Math.ceil((17 * one) / plan.plate.pitch));
  const columns = new Map(seen.map(({ name, at }) => [name.replace(/\d+/, ""), at[0]]));
  const rows = new Map(seen.map(({ name, at }) => [name.replace(/\D+/, ""), at[1]]));
  const names = (map, draw) => [...map].filter((_, k) => k % every === 0).map(draw);
  return [
    ...names(columns, ([name, x]) => text(x, front - 18 * one, name, { class: "plan-edge" })),
    ...names(rows, ([name, y]) => text(left - 8 * one, y - 4 * one, name, { class: "plan-edge plan-row" })),
  ];
}

/** Tabs, other means and the zero: over the parts, under the clamps. */
export function fixed(plan, one, marks) {
  const [x, y] = plan.zero.at;
  const r = 7 * one;
  return el("g", { class: "plan-fixed", "aria-hidden": "true" },
    over({}, ...plan.others.map(({ kind, path }) => {
      const under = kind === "tape" || kind === "vacuum";
      return el("path", { d: path, class: under ? "plan-under" : "plan-solid", fill: under ? "none" : `url(#${marks}-hatch)` });
    })),
    ...plan.others.map(({ name, path }) => text(...middle(boxOf(ringsOf(path).flat())), name, { class: "plan-name" })),
    over({ class: "plan-zero" }, el("circle", { cx: x, cy: y, r }),
      el("path", { class: "plan-quarter", d: `M${x} ${y}L${x + r} ${y}A${r} ${r} 0 0 1 ${x} ${y + r}ZM${x} ${y}L${x - r} ${y}A${r} ${r} 0 0 1 ${x} ${y - r}Z` }),
      el("path", { d: `M${x + r} ${y}H${x + 24 * one}M${x} ${y + r}V${y + 24 * one}` })),
    text(x + 29 * one, y - 4 * one, "X", { class: "plan-axis" }),
    text(x, y + 27 * one, "Y", { class: "plan-axis" }),
  );
}

/** The element of a thing: a button that `fill` draws, and room for its corners. */
export function button(thing, hint) {
  const held = el("g", { class: "plan-hold", "data-key": thing.key, tabindex: 0, role: "button", "aria-describedby": hint });
  return el("g", { class: `plan-thing plan-${thing.kind}` }, held);
}

/** (Re)draws a thing in its element as it stands in a pose. */
export function fill(element, plan, thing, pose, one, look) {
  const draw = { part: drawPart, clamp: drawClamp, flaw: drawFlaw }[thing.kind];
  const [left, , right, back] = boxAt(plan, thing, pose);
  const note = waits(thing, look) && text((left + right) / 2, back + 4 * one, "waiting", { class: "plan-note" });
  element.firstElementChild.replaceChildren(...[...draw(plan, thing, pose, one, look), note].filter(Boolean));
  dress(element, plan, thing, pose, one, look);
}

/** Shows whether a thing is chosen, moving or waiting; what a finger may be on stays the element that it is. */
export function dress(element, plan, thing, pose, one, look) {
  const held = element.firstElementChild;
  element.classList.toggle("plan-selected", look.selected);
  element.classList.toggle("plan-moving", look.moving);
  element.classList.toggle("plan-waiting", waits(thing, look));
  held.setAttribute("aria-label", label(thing, pose, plan.units) + (waits(thing, look) ? ", waiting for the plan" : ""));
  if (look.selected) held.setAttribute("aria-current", "true");
  else held.removeAttribute("aria-current");
  for (const grip of element.querySelectorAll(".plan-grip")) grip.remove();
  if (thing.kind === "flaw" && look.selected) element.append(...grips(plan, thing, pose, one));
}

const waits = ({ data }, { moving }) => Boolean(data.waiting) && !moving;

function drawPart(plan, thing, pose, one, { marks }) {
  const { data } = thing;
  const pin = data.placed ? pinMark(boxAt(plan, thing, pose), one) : null;
  const tabs = plan.tabs.filter((tab) => tab.part === thing.name && pose.turn === data.turn);
  return [
    over({}, el("g", { transform: partTransform(thing, pose) },
      el("path", { d: data.path, class: "plan-outline" }),
      ...data.features.flatMap(({ path, through }) => [
        el("path", { d: path, class: through ? "plan-through" : "plan-recess", "fill-rule": "evenodd", fill: through ? "" : `url(#${marks}-dots)` }),
        through && crossAt(path, one),
      ]),
      ...tabs.map(({ path }) => el("path", { d: path, class: "plan-tab" })))),
    partName(thing.name, boxAt(plan, thing, pose), one),
    pin,
  ];
}

function crossAt(path, one) {
  const box = boxOf(ringsOf(path)[0]);
  const [x, y] = middle(box);
  const arm = Math.min(box[2] - box[0], box[3] - box[1]) / 2 + 2.5 * one;
  return el("path", { d: `M${x - arm} ${y}H${x + arm}M${x} ${y - arm}V${y + arm}`, class: "plan-crossing" });
}

/** A part that a person placed has a drawing pin at its left front corner. */
function pinMark([left, front], one) {
  const [x, y, r] = [left + 7 * one, -front - 7 * one, 4 * one];
  return el("path", { class: "plan-pin", d: `M${x - r} ${y}a${r} ${r} 0 1 1 ${2 * r} 0a${r} ${r} 0 1 1 ${-2 * r} 0M${x} ${y}L${left} ${-front}` });
}

/** The name beside the part's middle, along its longer side, as large as there is room; else its number only. */
function partName(name, [left, front, right, back], one) {
  const [wide, high] = [(right - left) / one, (back - front) / one];
  const upright = high > 1.4 * wide;
  const room = (upright ? high : wide) * 0.86;
  const fits = Math.min(13, room / (LETTER * name.length));
  const whole = fits >= (one > SMALL ? 10.5 : 8.5);
  const words = whole ? name : (name.match(/\d+$/)?.[0] ?? "");
  const size = whole ? fits : 11;
  const [x, y] = upright ? [left + 0.26 * (right - left), (front + back) / 2] : [(left + right) / 2, back - 0.25 * (back - front)];
  const turn = upright ? `translate(${x} ${-y}) rotate(-90)` : `translate(${x} ${-y})`;
  const made = el("text", { transform: turn, y: 0.35 * size * one, class: "plan-name" });
  made.style.fontSize = `${size * one}px`;
  made.textContent = words;
  return made;
}

function drawClamp(plan, thing, pose, one, { marks, moving }) {
  const { data } = thing;
  const [x, y] = holeAt(plan, pose.hole);
  return [
    over({}, el("g", { transform: clampTransform(plan, pose) },
      data.keepOut && el("path", { d: data.keepOut, class: "plan-keepout" }),
      el("path", { d: data.bar, class: "plan-bar-ground" }),
      el("path", { d: data.bar, class: "plan-clamp-bar", fill: `url(#${marks}-hatch)` }),
      el("circle", { r: data.knob / 2, class: "plan-knob" }),
      el("circle", { r: data.bolt / 2, class: "plan-bolt" }))),
    moving ? null : text(x, y + data.bolt / 2 + 4 * one, pose.hole, { class: "plan-hole-name" }),
  ];
}

function drawFlaw(plan, thing, pose, one, { marks }) {
  const box = boxAt(plan, thing, pose);
  const [x, y] = middle(box);
  return [
    over({}, patch(thing, box, { class: "plan-flaw-ground" }), patch(thing, box, { class: "plan-flaw-area", fill: `url(#${marks}-cross)` })),
    text(x, y - 4 * one, flawName(thing), { class: "plan-name" }),
  ];
}

function patch({ data }, box, attributes) {
  if (!data.round) return rect(box, attributes);
  const [cx, cy] = middle(box);
  return el("circle", { cx, cy, r: (box[2] - box[0]) / 2, ...attributes });
}

/** The corners by which a flaw is made larger or smaller. */
function grips(plan, thing, pose, one) {
  const [left, front, right, back] = boxAt(plan, thing, pose);
  const size = pose.size.map((side) => length(side, plan.units)).join(" by ");
  return [["low", "left front", left, -front], ["high", "right back", right, -back]].map(([corner, name, cx, cy]) =>
    el("g", { class: "plan-grip", "data-key": thing.key, "data-corner": corner, tabindex: 0, role: "button",
      "aria-label": `${name} corner of the ${flawName(thing)}, ${size}: arrow keys make it larger or smaller` },
      el("circle", { cx, cy, r: 22 * one, class: "plan-reach" }),
      el("rect", { x: cx - 6 * one, y: cy - 6 * one, width: 12 * one, height: 12 * one })));
}

/** Where a thing came from and where a hand holds it, broken; its own line over all else; what it is measured by. */
export function overlay(plan, thing, { from, pose, free }, one) {
  const held = free && traced(thing, "plan-ghost", `translate(${free.at[0]} ${free.at[1]}) rotate(${QUARTERS[free.towards]})`);
  return [
    over({}, ghost(plan, thing, from, "plan-ghost"), held, ghost(plan, thing, pose, "plan-lead")),
    ...(thing.kind === "clamp" ? holeNames(plan, thing, pose, one) : distances(plan, boxAt(plan, thing, pose), one)),
  ];
}

function ghost(plan, thing, pose, style) {
  if (thing.kind === "part") return traced(thing, style, partTransform(thing, pose));
  if (thing.kind === "clamp") return traced(thing, style, clampTransform(plan, pose));
  return patch(thing, boxAt(plan, thing, pose), { class: style });
}

const traced = ({ data }, style, transform) => el("path", { d: data.bar ?? data.path, transform, class: style });

/** Every hole that the clamp may stand in with its name; the one that it would stand in large, on the bar's tail. */
function holeNames(plan, { data }, pose, one) {
  const ringAt = (name, wide, style) => {
    const [cx, y] = holeAt(plan, name);
    return el("circle", { cx, cy: -y, r: plan.plate.hole / 2 + wide * one, class: style });
  };
  const others = Object.keys(data.may).filter((name) => name !== pose.hole).flatMap((name) => {
    const [x, y] = holeAt(plan, name);
    return [ringAt(name, 2, "plan-may"), text(x, y - 4 * one, name, { class: "plan-may-name" })];
  });
  const [x, y] = holeAt(plan, pose.hole);
  const away = data.knob / 2 + 16 * one;
  const turn = (QUARTERS[pose.towards] * Math.PI) / 180;
  const name = text(x - away * Math.cos(turn), y - away * Math.sin(turn) - 5 * one, pose.hole, { class: "plan-hole-name" });
  return [...others, ringAt(pose.hole, 4, "plan-here"), name];
}

function distances(plan, [left, front, right, back], one) {
  const [x, y] = [(left + right) / 2, (front + back) / 2];
  const lines = [
    [left, y, 0, y, left], [right, y, plan.sheet.size[0], y, plan.sheet.size[0] - right],
    [x, front, x, 0, front], [x, back, x, plan.sheet.size[1], plan.sheet.size[1] - back],
  ];
  return lines.flatMap(([x0, y0, x1, y1, far]) => [
    el("path", { d: `M${x0} ${-y0}L${x1} ${-y1}`, class: "plan-dimension" }),
    text((x0 + x1) / 2, (y0 + y1) / 2 - 4 * one, length(far, plan.units), { class: "plan-dimension-name" }),
  ]);
}

/** The findings as numbered balloons beside their places: a shape for each level, none over another. */
export function balloons(plan, one) {
  const taken = [];
  return plan.findings.map((finding) => {
    const [x, y] = clear(finding.at, taken, one);
    taken.push([x, y]);
    const r = (one > SMALL ? 9 : 12) * one;
    return el("g", { class: `plan-balloon plan-at-${finding.level}`, "data-number": finding.number, tabindex: 0, role: "button",
      "aria-label": `finding ${finding.number}, ${finding.level}: ${finding.text}` },
      el("path", { d: `M${finding.at[0]} ${-finding.at[1]}L${x} ${-y}`, class: "plan-leader" }),
      el("circle", { cx: x, cy: -y, r: 22 * one, class: "plan-reach" }),
      mark(finding.level, x, -y, r),
      text(x, y - (finding.level === "caution" ? 6 : 4) * one, String(finding.number)));
  });
}

/** A place for a balloon near its point, clear of those that are drawn already. */
function clear([x, y], taken, one) {
  for (let far = 26; far < 120; far += 26) {
    for (const angle of [45, 135, 315, 225, 90, 0, 180, 270]) {
      const spot = [x + far * one * Math.cos((angle * Math.PI) / 180), y + far * one * Math.sin((angle * Math.PI) / 180)];
      if (taken.every((other) => Math.hypot(other[0] - spot[0], other[1] - spot[1]) > 27 * one)) return spot;
    }
  }
  return [x, y];
}

/** The sign of a level round a point: a stop's has eight corners, a caution's three, a note's none. */
export function mark(level, x, y, r) {
  if (level === "note") return el("circle", { cx: x, cy: y, r, class: "plan-mark" });
  const [count, first, large] = level === "stop" ? [8, Math.PI / 8, 1.08 * r] : [3, -Math.PI / 2, 1.4 * r];
  const points = Array.from({ length: count }, (_, k) => first + (2 * Math.PI * k) / count)
    .map((angle) => `${x + large * Math.cos(angle)},${y + large * Math.sin(angle)}`);
  return el("polygon", { class: "plan-mark", points: points.join(" ") });
}
