/** What a quick look says against a place before the thing is put down. The proof judges exactly, later. */

import { boxAt, clampRing, partRing } from "./plan_change.js";
import { boxRing, near } from "./plan_shapes.js";
import { flawName, length, listed } from "./plan_words.js";

/**
 * What a look at the picture says against a pose; the proof judges exactly.
 * @param {(thing: object) => object} where the pose of every other thing
 * @returns {string[]} sentences
 */
export function warnings(plan, all, thing, pose, where) {
  if (thing.kind === "part") return partWarnings(plan, all, thing, pose, where);
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
    fixed.length && (thing.kind === "flaw" ? `${listed(fixed)}, placed by hand, would lie over it.` : `Too near ${listed(fixed)}, placed by hand.`),
    loose.length && `${listed(loose)} ${loose.length > 1 ? "are" : "is"} in its way and would be laid out anew.`,
  ].filter(Boolean);
}

function partWarnings(plan, all, thing, pose, where) {
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
    edgeWarning(plan, boxAt(plan, thing, pose), kerf),
    fixed.length && `Too near ${listed(fixed)}: the cutter would cut into ${fixed.length > 1 ? "them" : "it"}.`,
    clamps.length && `Too near the clamp at ${listed(clamps.map((one) => where(one).hole))}.`,
    flaws.length && `On a flaw: ${listed(flaws.map(flawName))}.`,
    loose.length && `${listed(loose)} would be laid out anew beside it.`,
  ].filter(Boolean);
}

function edgeWarning(plan, [left, front, right, back], kerf) {
  const say = (mm) => length(mm, plan.units);
  const room = Math.min(left, front, plan.sheet.size[0] - right, plan.sheet.size[1] - back);
  if (room < -1e-6) return `It reaches ${say(-room)} off the sheet.`;
  const short = plan.sheet.margin + kerf - room;
  return short > 0.005 && `${say(short)} too near the edge: ${say(plan.sheet.margin)} stay clear, and the cut beside it is ${say(kerf)} wide.`;
}
