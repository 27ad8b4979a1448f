/** What can be moved on the plan, where it stands, and what a finished move changes in the job file.
 *
 * A pose says where a thing stands: of a part {at, turn}, of a clamp {hole, towards}, of a flaw {at, size}; mm from
 * the sheet's left front corner, degrees anticlockwise.
 */

import { boxOf, ringsOf, shifted, turned } from "./plan_shapes.js";
import { degrees, flawName, length, NOSE, place } from "./plan_words.js";

export const QUARTERS = { right: 0, back: 90, left: 180, front: 270 };

/**
 * All that can be moved, in the order in which keys go through it. `data` is the plan's own record of it.
 * @returns {{kind: string, id: string|number, key: string, name: string, data: object}[]}
 */
export function things(plan) {
  const thing = (kind, id, name, data) => ({ kind, id, key: `${kind}:${id}`, name, data });
  return [
    ...plan.parts.map((one) => thing("part", one.name, one.name, one)),
    ...plan.clamps.map((one, index) => thing("clamp", index, one.name, one)),
    ...plan.flaws.map((one, index) => thing("flaw", index, one.what || "flaw", one)),
  ];
}

/** Where a thing stands: where it was put last, or as the plan has it. */
export function poseOf({ kind, data }) {
  if (kind === "clamp") return { hole: data.hole, towards: data.towards };
  if (kind === "flaw") return { at: data.at, size: data.size };
  return data.pose ?? { at: data.box.slice(0, 2), turn: data.turn };
}

/** Takes a finished move into the plan at hand, until the plan that follows from it comes. */
export function keep(plan, thing, pose) {
  thing.data.waiting = true;
  if (thing.kind !== "part") Object.assign(thing.data, pose);
  else {
    if (pose) thing.data.pose = pose;
    if (thing.data.place === null) thing.data.place = plan.places++;
    thing.data.placed = true;
  }
}

/** Takes a removal into the plan at hand; what stands behind it in the file moves up. */
export function forget(plan, thing) {
  if (thing.kind !== "part") {
    plan[`${thing.kind}s`].splice(thing.id, 1);
    return;
  }
  const gone = thing.data.place;
  for (const one of plan.parts) if (one.place > gone) one.place -= 1;
  Object.assign(thing.data, { place: null, placed: false, waiting: true });
  plan.places -= 1;
}

export const samePose = (one, other) => JSON.stringify(one) === JSON.stringify(other);

export function holeAt(plan, name) {
  return plan.plate.holes.find((hole) => hole.name === name)?.at ?? [0, 0];
}

/** The extent of a part that is turned: [left, front, right, back] about where it lies. */
function extent(data, turn) {
  if (turn === data.turn) return data.box;
  return boxOf(turned(ringsOf(data.path)[0], turn - data.turn, middle(data.box)));
}

export const middle = ([left, front, right, back]) => [(left + right) / 2, (front + back) / 2];

/** A thing's box as it would stand, [left, front, right, back]. */
export function boxAt(plan, thing, pose) {
  if (thing.kind === "flaw") return [...pose.at, pose.at[0] + pose.size[0], pose.at[1] + pose.size[1]];
  if (thing.kind === "clamp") return boxOf(clampRing(plan, thing.data, pose, thing.data.bar));
  const [left, front, right, back] = extent(thing.data, pose.turn);
  return [...pose.at, pose.at[0] + right - left, pose.at[1] + back - front];
}

/** How a part's own path is brought to a pose, as an SVG transform in the sheet's frame. */
export function partTransform({ data }, pose) {
  const [left, front] = extent(data, pose.turn);
  const [x, y] = middle(data.box);
  return `translate(${pose.at[0] - left} ${pose.at[1] - front}) rotate(${pose.turn - data.turn} ${x} ${y})`;
}

export function clampTransform(plan, pose) {
  const [x, y] = holeAt(plan, pose.hole);
  return `translate(${x} ${y}) rotate(${QUARTERS[pose.towards]})`;
}

/** A part's outline as it would lie. */
export function partRing({ data }, pose) {
  const [left, front] = extent(data, pose.turn);
  const ring = turned(ringsOf(data.path)[0], pose.turn - data.turn, middle(data.box));
  return shifted(ring, pose.at[0] - left, pose.at[1] - front);
}

/** The first ring of a clamp's bar or keep-out as it would stand. */
export function clampRing(plan, data, pose, path) {
  const ring = ringsOf(path)[0] ?? [];
  return shifted(turned(ring, QUARTERS[pose.towards], [0, 0]), ...holeAt(plan, pose.hole));
}

/** A part turned on its middle, which stays where it is. */
export function turnedPose(plan, thing, pose, turn) {
  const [x, y] = middle(boxAt(plan, thing, pose));
  const [left, front, right, back] = extent(thing.data, turn);
  return { at: [x - (right - left) / 2, y - (back - front) / 2], turn };
}

/** The part's next allowed turn; null where it has only the one that it has. */
export function nextTurn({ data }, turn) {
  const turns = [...data.turns].sort((a, b) => a - b);
  const next = turns.find((one) => one > turn + 1e-6) ?? turns[0];
  return next === undefined || Math.abs(next - turn) < 1e-6 ? null : next;
}

/** The way the nose may point next in the same hole; null where it is the only one. */
export function nextWay({ data }, pose) {
  const may = data.may[pose.hole] ?? [];
  const order = Object.keys(QUARTERS).filter((way) => may.includes(way) || way === pose.towards);
  const next = order[(order.indexOf(pose.towards) + 1) % order.length];
  return next === pose.towards ? null : next;
}

/** A clamp in another hole: its nose as it was, where that may be, else the first way that may. */
export function inHole({ data }, pose, hole) {
  const may = data.may[hole] ?? [pose.towards];
  return { hole, towards: may.includes(pose.towards) ? pose.towards : may[0] };
}

/** The hole nearest to a point in which the clamp may stand. */
export function nearestHole(plan, { data }, [x, y]) {
  const far = (name) => Math.hypot(holeAt(plan, name)[0] - x, holeAt(plan, name)[1] - y);
  return Object.keys(data.may).reduce((best, name) => (far(name) < far(best) ? name : best));
}

/** The next hole that way, sideways steps counting twice; null where there is none. */
export function holeTowards(plan, { data }, hole, [dx, dy]) {
  const [x, y] = holeAt(plan, hole);
  let best = [null, Infinity];
  for (const name of Object.keys(data.may)) {
    const [hx, hy] = holeAt(plan, name);
    const along = (hx - x) * dx + (hy - y) * dy;
    const across = Math.abs((hx - x) * dy) + Math.abs((hy - y) * dx);
    const far = along + 2 * across;
    if (along > 1e-6 && far < best[1]) best = [name, far];
  }
  return best[0];
}

/** A flaw whose one corner ("low" or "high") goes elsewhere, the other staying; no side under `least`. */
export function grown({ data }, { at, size }, corner, to, least) {
  const far = at.map((value, k) => value + size[k]);
  const sides = corner === "high" ? far.map((value, k) => to(value, k) - at[k]) : at.map((value, k) => far[k] - to(value, k));
  const changed = Math.abs(sides[0] - size[0]) > Math.abs(sides[1] - size[1]) ? 0 : 1;
  const kept = sides.map((side, k) => Math.max(least, data.round ? sides[changed] : side));
  return corner === "high" ? { at, size: kept } : { at: far.map((value, k) => value - kept[k]), size: kept };
}

const two = (pair, units) => pair.map((value) => length(value, units));

/**
 * What a finished move changes: words for the list of what was done, and edits of the job file.
 * @returns {{says: string, edits: object[]}}
 */
export function change(thing, from, to, units) {
  if (thing.kind === "clamp") return clampChange(thing, from, to);
  if (thing.kind === "flaw") return flawChange(thing, from, to, units);
  const { place: index } = thing.data;
  const says = from.turn === to.turn
    ? `Move ${thing.name} to ${place(to.at, units)}`
    : `Turn ${thing.name} to ${degrees(to.turn)}, ${place(to.at, units)}`;
  if (index === null) {
    const value = { part: thing.name, at: two(to.at, units), turn: degrees(to.turn) };
    return { says, edits: [{ what: "add", keys: ["places"], value }] };
  }
  const edits = [{ what: "set", keys: ["places", index, "at"], value: two(to.at, units) }];
  if (from.turn !== to.turn) edits.push({ what: "set", keys: ["places", index, "turn"], value: degrees(to.turn) });
  return { says, edits };
}

function clampChange(thing, from, to) {
  const edits = ["hole", "towards"]
    .filter((field) => from[field] !== to[field])
    .map((field) => ({ what: "set", keys: ["clamps", thing.id, field], value: to[field] }));
  const nose = from.towards === to.towards ? "" : `, its nose ${NOSE[to.towards]}`;
  const says = from.hole === to.hole
    ? `Turn the nose of ${thing.name} at ${to.hole} ${NOSE[to.towards]}`
    : `Move ${thing.name} from ${from.hole} to ${to.hole}${nose}`;
  return { says, edits };
}

function flawChange(thing, from, to, units) {
  const set = (field, value) => ({ what: "set", keys: ["flaws", thing.id, field], value });
  const edits = [];
  if (!samePose(from.at, to.at)) edits.push(set("at", two(to.at, units)));
  if (!samePose(from.size, to.size)) edits.push(sizeSet(thing, to.size, units, set));
  const says = samePose(from.size, to.size)
    ? `Move the ${flawName(thing)} to ${place(to.at, units)}`
    : `Make the ${flawName(thing)} ${two(to.size, units).join(" by ")}`;
  return { says, edits };
}

/** A round flaw's file has its diameter instead of a size. */
const sizeSet = ({ data }, size, units, set) =>
  data.round ? set("diameter", length(size[0], units)) : set("size", two(size, units));

/** What a typed field changes: the text goes into the job file as it stands. */
export function typedChange(thing, pose, field, index, text, units) {
  const pair = (values) => values.map((value, k) => (k === index ? text : length(value, units)));
  const says = `Set ${thing.name}: ${text}`;
  if (thing.kind === "flaw") {
    const value = field === "at" || field === "size" ? pair(pose[field]) : text;
    return { says, edits: [{ what: "set", keys: ["flaws", thing.id, field], value }] };
  }
  const { place: number } = thing.data;
  const at = field === "at" ? pair(pose.at) : two(pose.at, units);
  const turn = field === "turn" ? text : degrees(pose.turn);
  if (number === null) return { says, edits: [{ what: "add", keys: ["places"], value: { part: thing.name, at, turn } }] };
  return { says, edits: [{ what: "set", keys: ["places", number, field], value: field === "at" ? at : turn }] };
}

/** What takes a thing away, or lets a part be laid out again; null where there is nothing to take. */
export function removal(thing, pose) {
  const drop = (keys, says) => ({ says, edits: [{ what: "drop", keys }] });
  if (thing.kind === "clamp") return drop(["clamps", thing.id], `Remove ${thing.name} at ${pose.hole}`);
  if (thing.kind === "flaw") return drop(["flaws", thing.id], `Remove the ${flawName(thing)}`);
  if (thing.data.place === null) return null;
  return drop(["places", thing.data.place], `Let ${thing.name} be laid out again`);
}

/** A new flaw in the middle of the sheet, where the sheet is large enough for its usual size. */
export function newFlaw(plan, units) {
  const step = units === "in" ? 25.4 / 4 : 5;
  const side = units === "in" ? 25.4 * 0.75 : 20;
  const size = plan.sheet.size.map((whole) => Math.min(side, whole / 2));
  const at = plan.sheet.size.map((whole, k) => Math.floor((whole - size[k]) / 2 / step) * step);
  const value = { at: two(at, units), size: two(size, units), what: "knot" };
  return {
    data: { at, size, round: false, what: "knot", waiting: true },
    says: `Add a flaw at ${place(at, units)}`,
    edits: [{ what: "add", keys: ["flaws"], value }],
  };
}
