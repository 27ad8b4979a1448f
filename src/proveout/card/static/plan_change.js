/** What can be moved on the plan, where it stands, and what a finished move changes in the job file.
 *
 * A pose says where a thing stands: of a part {at, turn}, of a clamp {hole, towards}, of a flaw {at, size}; mm from
 * the sheet's left front corner, degrees anticlockwise.
 */

import { boxOf, boxRing, near, ringsOf, shifted, turned } from "./plan_shapes.js";
import { degrees, flawName, length, listed, NOSE, place } from "./plan_words.js";

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

function partRing({ data }, pose) {
  const [left, front] = extent(data, pose.turn);
  const ring = turned(ringsOf(data.path)[0], pose.turn - data.turn, middle(data.box));
  return shifted(ring, pose.at[0] - left, pose.at[1] - front);
}

function clampRing(plan, data, pose, path) {
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

/**
 * What a look at the picture says against a pose; the proof judges exactly.
 * @param {(thing: object) => object} where the pose of every other thing
 * @returns {string[]} sentences
 */
export function warnings(plan, all, thing, pose, where, units) {
  if (thing.kind === "part") return partWarnings(plan, all, thing, pose, where, units);
  const met = (ring, gap) =>
    all.filter((one) => one.kind === "part" && near(partRing(one, where(one)), ring, gap(one.data)));
  const ring = thing.kind === "flaw" ? boxRing(boxAt(plan, thing, pose)) : clampRing(plan, thing.data, pose, thing.data.keepOut);
  const parts = ring.length ? met(ring, (data) => (thing.kind === "flaw" ? 0 : data.kerf / 2)) : [];
  const fixed = parts.filter((one) => one.data.placed).map((one) => one.name);
  const loose = parts.filter((one) => !one.data.placed).map((one) => one.name);
  const [sheetWide, sheetDeep] = plan.sheet.size;
  const [left, front, right, back] = boxAt(plan, thing, pose);
  return [
    thing.kind === "flaw" && (left < 0 || front < 0 || right > sheetWide || back > sheetDeep) && "It reaches off the sheet.",
    fixed.length && (thing.kind === "flaw" ? `${listed(fixed)}, placed by hand, would hold it.` : `Too near ${listed(fixed)}, placed by hand.`),
    loose.length && `${listed(loose)} ${loose.length > 1 ? "are" : "is"} in its way and would be laid out anew.`,
  ].filter(Boolean);
}

function partWarnings(plan, all, thing, pose, where, units) {
  const ring = partRing(thing, pose);
  const kerf = thing.data.kerf;
  const others = all.filter((one) => one !== thing && one.key !== thing.key);
  const close = (one) => near(ring, partRing(one, where(one)), Math.max(kerf, one.data.kerf));
  const parts = others.filter((one) => one.kind === "part" && close(one));
  const clamps = others.filter((one) => one.kind === "clamp" && one.data.keepOut
    && near(ring, clampRing(plan, one.data, where(one), one.data.keepOut), kerf / 2));
  const flaws = others.filter((one) => one.kind === "flaw" && near(ring, boxRing(boxAt(plan, one, where(one))), 0));
  const fixed = parts.filter((one) => one.data.placed).map((one) => one.name);
  const loose = parts.filter((one) => !one.data.placed).map((one) => one.name);
  return [
    edgeWarning(plan, boxAt(plan, thing, pose), kerf, units),
    fixed.length && `Too near ${listed(fixed)}: the cutter would cut into ${fixed.length > 1 ? "them" : "it"}.`,
    clamps.length && `Too near the clamp at ${listed(clamps.map((one) => where(one).hole))}.`,
    flaws.length && `On a flaw: ${listed(flaws.map(flawName))}.`,
    loose.length && `${listed(loose)} would be laid out anew beside it.`,
  ].filter(Boolean);
}

function edgeWarning(plan, [left, front, right, back], kerf, units) {
  const room = Math.min(left, front, plan.sheet.size[0] - right, plan.sheet.size[1] - back);
  if (room < -1e-6) return `It reaches ${length(-room, units)} off the sheet.`;
  const short = plan.sheet.margin + kerf - room;
  return short > 0.005 && `${length(short, units)} too near the edge: ${length(plan.sheet.margin, units)} stay clear, and the cut beside it is ${length(kerf, units)} wide.`;
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
  const edits = ["at", "size"]
    .filter((field) => !samePose(from[field], to[field]))
    .map((field) => ({ what: "set", keys: ["flaws", thing.id, field], value: two(to[field], units) }));
  const says = samePose(from.size, to.size)
    ? `Move the ${flawName(thing)} to ${place(to.at, units)}`
    : `Make the ${flawName(thing)} ${two(to.size, units).join(" by ")}`;
  return { says, edits };
}

/** What a typed field changes: the text goes into the job file as it stands. */
export function typedChange(thing, pose, field, index, text, units) {
  const pair = (values) => values.map((value, k) => (k === index ? text : length(value, units)));
  const says = `Set ${thing.name}: ${text}`;
  if (thing.kind === "flaw") {
    return { says, edits: [{ what: "set", keys: ["flaws", thing.id, field], value: field === "what" ? text : pair(pose[field]) }] };
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
    data: { at, size, what: "knot", waiting: true },
    says: `Add a flaw at ${place(at, units)}`,
    edits: [{ what: "add", keys: ["flaws"], value }],
  };
}
