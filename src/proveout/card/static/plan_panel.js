/** The panel beside the plan: what is chosen, where it lies as typed lengths, and what can be done with it. */

import { holeAt, nextTurn, nextWay } from "./plan_change.js";
import { degrees, flawName, length, NOSE } from "./plan_words.js";

/** An HTML element with attributes and children; text only ever as text. */
export function html(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) if (value !== false) made.setAttribute(key, value === true ? "" : value);
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/**
 * @param {HTMLElement} root
 * @param {object} does what the panel calls: pick(key), typed(thing, field, index, text), hole(thing, name),
 *   way(thing, way), turn(thing), remove(thing)
 */
export function mountPanel(root, does) {
  const list = html("select", { class: "plan-pick" });
  const body = html("div", { class: "plan-chosen" });
  root.append(html("label", { class: "plan-field" }, "Chosen", list), body);
  list.addEventListener("change", () => does.pick(list.value));
  let built = "";
  let refresh = () => {};

  /** Shows a thing in its pose, or what to do where nothing is chosen; a field that is being typed in stays. */
  function show(plan, all, thing, pose, poses) {
    fillList(list, all, thing, poses);
    const key = thing ? `${thing.key} ${thing.kind === "clamp" ? [thing.name, ...Object.keys(thing.data.may)] : thing.data.round}` : "";
    if (key !== built || !body.childElementCount) {
      built = key;
      const made = thing ? BODIES[thing.kind](thing, does) : nothing();
      body.replaceChildren(...made.nodes);
      refresh = made.refresh;
    }
    if (thing) refresh(plan, thing, pose);
  }
  return { show, focus: () => (body.querySelector("input, select, button") ?? list).focus() };
}

/** All that can be chosen; made anew only when a name has changed, and not under a hand that is choosing. */
function fillList(list, all, chosen, poses) {
  const named = all.map((one) => [one.kind, one.key, one.kind === "clamp" ? `${one.name} at ${poses(one).hole}`
    : one.kind === "flaw" ? `flaw ${one.id + 1}: ${flawName(one)}` : one.name]);
  const names = JSON.stringify(named);
  if (document.activeElement !== list && list.dataset.names !== names) {
    list.dataset.names = names;
    fillOptions(list, named);
  }
  list.value = chosen?.key ?? "";
}

function fillOptions(list, named) {
  const group = (kind, name) => {
    const of = named.filter(([one]) => one === kind);
    return of.length > 0 && html("optgroup", { label: name }, ...of.map(([, value, words]) => html("option", { value }, words)));
  };
  list.replaceChildren(html("option", { value: "" }, "nothing yet"),
    ...[group("part", "Parts"), group("clamp", "Clamps"), group("flaw", "Flaws")].filter(Boolean));
}

const nothing = () => ({
  nodes: [html("p", {}, "Choose a part, a clamp or a flaw in the picture or in this list, then drag it, move it with the arrow keys, or type where it shall lie.")],
  refresh: () => {},
});

/** A text field that hands on what was typed, once, when it is left or Enter is pressed. */
function field(name, apply) {
  const input = html("input", { type: "text", autocomplete: "off", spellcheck: "false" });
  let said = "";
  const hand = () => {
    const typed = input.value.trim();
    if (typed === said || typed === "") input.value = said;
    else apply((said = typed));
  };
  input.addEventListener("blur", hand);
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") hand();
    if (event.key === "Escape") input.value = said;
  });
  const busy = () => document.activeElement === input && input.value !== said;
  return {
    node: html("label", { class: "plan-field" }, name, input),
    show: (text) => {
      if (!busy()) input.value = said = text;
    },
  };
}

function press(name, act, style = "") {
  const made = html("button", { type: "button", class: style }, name);
  made.addEventListener("click", act);
  return made;
}

const row = (...nodes) => html("div", { class: "plan-row-of" }, ...nodes);
const state = () => html("p", { class: "plan-state" });

function partBody(first, does) {
  let thing = first;
  const said = state();
  const left = field("From the left", (text) => does.typed(thing, "at", 0, text));
  const front = field("From the front", (text) => does.typed(thing, "at", 1, text));
  const turn = field("Turned by", (text) => does.typed(thing, "turn", 0, text));
  const turns = press("Turn it", () => does.turn(thing));
  const back = press("Let it be laid out again", () => does.remove(thing));
  return {
    nodes: [html("h3", {}, first.name), said, row(left.node, front.node), row(turn.node, turns), back],
    refresh: (plan, now, pose) => {
      thing = now;
      said.textContent = thing.data.waiting ? "Waiting for the plan that follows from it."
        : thing.data.placed ? "Placed by hand: it stays where it is put." : "Laid out by proveout: moving it keeps it where you put it.";
      left.show(length(pose.at[0], plan.units));
      front.show(length(pose.at[1], plan.units));
      turn.show(degrees(pose.turn));
      turns.hidden = nextTurn(thing, pose.turn) === null;
      back.hidden = !thing.data.placed;
    },
  };
}

function clampBody(first, does) {
  let thing = first;
  const said = state();
  const hole = html("select", {}, ...Object.keys(first.data.may).map((name) => html("option", { value: name }, name)));
  const way = html("select");
  hole.addEventListener("change", () => does.hole(thing, hole.value));
  way.addEventListener("change", () => does.way(thing, way.value));
  return {
    nodes: [html("h3", {}, first.name), said,
      row(html("label", { class: "plan-field" }, "Bolt in hole", hole), html("label", { class: "plan-field" }, "Nose points", way)),
      press("Take this clamp away", () => does.remove(thing))],
    refresh: (plan, now, pose) => {
      thing = now;
      const at = holeAt(plan, pose.hole).map((value) => length(value, plan.units));
      said.textContent = `${thing.data.waiting ? "Waiting for the plan that follows from it. " : ""}Its ${thing.data.boltSize} bolt stands ${at[0]} along and ${at[1]} away from the sheet's left front corner.`;
      hole.value = pose.hole;
      const ways = [...new Set([pose.towards, ...(thing.data.may[pose.hole] ?? [])])];
      way.replaceChildren(...ways.map((one) => html("option", { value: one }, NOSE[one])));
      way.value = pose.towards;
      way.disabled = nextWay(thing, pose) === null;
    },
  };
}

function flawBody(first, does) {
  let thing = first;
  const typed = (name, key, index) => field(name, (text) => does.typed(thing, key, index, text));
  const what = typed("What it is", "what", 0);
  const [left, front] = [typed("From the left", "at", 0), typed("From the front", "at", 1)];
  const { round } = first.data;
  const sides = round ? [typed("Across", "diameter", 0)] : [typed("Wide", "size", 0), typed("Deep", "size", 1)];
  const said = state();
  return {
    nodes: [html("h3", {}, "Flaw in the sheet"), said, what.node, row(left.node, front.node), row(...sides.map((one) => one.node)),
      press("Remove this flaw", () => does.remove(thing))],
    refresh: (plan, now, pose) => {
      thing = now;
      said.textContent = thing.data.waiting ? "Waiting for the plan that follows from it." : "No part is laid over it. Pull out nails and staples: the cutter may still cross it.";
      what.show(flawName(thing));
      [left, front].forEach((one, axis) => one.show(length(pose.at[axis], plan.units)));
      sides.forEach((one, axis) => one.show(length(pose.size[axis], plan.units)));
    },
  };
}

const BODIES = { part: partBody, clamp: clampBody, flaw: flawBody };
