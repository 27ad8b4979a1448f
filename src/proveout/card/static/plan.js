/** The interactive plan: the bed from above, in which parts, clamps and flaws are moved by mouse, touch or keys.
 *
 * Nothing is decided here: each finished move is handed on as words and edits of the job file, and what was moved
 * stays where it was put, marked as waiting, until the plan that follows from it comes.
 */

import {
  change, forget, holeTowards, inHole, keep, nearestHole, newFlaw, nextTurn, nextWay, poseOf, removal,
  samePose, things, turnedPose, typedChange, warnings,
} from "./plan_change.js";
import { frame } from "./plan_frame.js";
import { balloons, button, el, fill, fixed, ground, measure, overlay, scaleFor, shown } from "./plan_picture.js";
import { mountPanel } from "./plan_panel.js";
import { degrees, length, NOSE, place, snapped, stepOf, stepped } from "./plan_words.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const STIRRED = 4; // px that a pressed pointer may stray before it drags
const LARGEST = 8; // times
let mounts = 0;

/**
 * @param {HTMLElement} root emptied and filled
 * @param {object} options
 * @param {object} options.plan as of card/plan_data.py; mm
 * @param {"mm"|"in"} [options.units] in which it is read; the plan's own by default
 * @param {(says: string, edits: object[]) => void} options.onEdit once for each finished change
 * @param {() => void} [options.onUndo]
 * @param {() => void} [options.onRedo]
 * @param {(number: number) => void} [options.onChoose] a finding's balloon was pressed
 * @returns {{update(plan: object): void, select(kind: string, id: string|number): void, destroy(): void}}
 */
export function mountPlan(root, { plan: first, units, onEdit, onUndo, onRedo, onChoose }) {
  const marks = `plan-${++mounts}`;
  const view = frame(root, marks, { onUndo, onRedo });
  let plan = taken(first);
  let all = things(plan);
  let one = 1; // mm to a pixel
  let zoom = 1;
  let chosen = null; // a thing's key
  let moving = null; // {key, from, pose, by, mode, raw}
  let drawing = false;
  const elements = new Map();

  function taken(given) {
    return { ...structuredClone(given), units: units ?? given.units };
  }

  const find = (key) => all.find((thing) => thing.key === key) ?? null;
  const where = (thing) => (moving?.key === thing.key ? moving.pose : poseOf(thing));
  const lookOf = (thing) => ({ marks, selected: thing.key === chosen, moving: moving?.key === thing.key });

  // Drawing

  function draw() {
    drawing = true;
    const focused = focusedKey();
    const box = shown(plan);
    const wide = view.bed.clientWidth || 600;
    one = scaleFor(box, wide, Math.max(300, window.innerHeight * 0.8)) / zoom;
    const [across] = measure(view.svg, box, one);
    view.svg.style.width = `${across}px`;
    elements.clear();
    for (const thing of all) elements.set(thing.key, button(thing, plan.units, `${marks}-hint`));
    const of = (kind) => all.filter((thing) => thing.kind === kind).map((thing) => elements.get(thing.key));
    view.over = el("g", { class: "plan-over", "aria-hidden": "true" });
    view.svg.replaceChildren(ground(plan, box, one, marks), ...of("part"), fixed(plan, one, marks),
      ...of("clamp"), ...of("flaw"), view.over, ...balloons(plan, one));
    for (const thing of all) fillOne(thing);
    drawOver();
    focusAgain(focused);
    drawing = false;
    showPanel();
  }

  const fillOne = (thing) => fill(elements.get(thing.key), plan, thing, where(thing), one, lookOf(thing));

  function refill(key) {
    const thing = find(key);
    if (!thing) return;
    const corner = document.activeElement?.dataset?.corner;
    const inside = elements.get(key).contains(document.activeElement);
    drawing = true;
    fillOne(thing);
    if (inside && corner) elements.get(key).querySelector(`[data-corner="${corner}"]`)?.focus({ preventScroll: true });
    drawing = false;
  }

  function drawOver() {
    const thing = moving && find(moving.key);
    view.over.replaceChildren(...(thing ? overlay(plan, thing, moving.from, moving.pose, one, moving.raw) : []));
    const found = thing ? warnings(plan, all, thing, moving.pose, where, plan.units) : [];
    elements.get(moving?.key)?.classList.toggle("plan-doubtful", found.length > 0);
    view.warn(found);
    return found;
  }

  const showPanel = () => {
    const thing = find(chosen);
    panel.show(plan, all, thing, thing && where(thing), where);
  };

  function focusedKey() {
    const active = document.activeElement;
    if (!view.svg.contains(active)) return null;
    return { key: active.dataset.key ?? active.closest("[data-key]")?.dataset.key, corner: active.dataset.corner, number: active.dataset.number };
  }

  function focusAgain(focused) {
    if (!focused) return;
    const thing = elements.get(focused.key);
    const to = focused.number ? view.svg.querySelector(`[data-number="${focused.number}"]`)
      : (focused.corner && thing?.querySelector(`[data-corner="${focused.corner}"]`)) || thing;
    (to ?? view.svg).focus({ preventScroll: true });
  }

  // Choosing and moving

  function choose(key) {
    if (key === chosen) return;
    if (moving) finish();
    const before = chosen;
    chosen = find(key) ? key : null;
    for (const each of [before, chosen]) if (each) refill(each);
    showPanel();
  }

  function begin(thing, by, mode = "move") {
    moving = { key: thing.key, from: poseOf(thing), pose: poseOf(thing), by, mode, raw: null };
  }

  function moveTo(pose, aloud = true) {
    moving.pose = pose;
    refill(moving.key);
    const found = drawOver();
    if (aloud) view.say([sayPose(find(moving.key), pose), ...found].join(" "));
    showPanel();
  }

  function sayPose(thing, pose) {
    if (thing.kind === "clamp") return `Hole ${pose.hole}, nose ${NOSE[pose.towards]}.`;
    if (moving?.mode !== "move" && thing.kind === "flaw") return `${pose.size.map((side) => length(side, plan.units)).join(" by ")}.`;
    return `${place(pose.at, plan.units)}${pose.turn ? `, turned ${degrees(pose.turn)}` : ""}.`;
  }

  function finish() {
    const { key, from, pose } = moving;
    const thing = find(key);
    moving = null;
    if (!thing || samePose(from, pose)) settle(key, "");
    else commit(thing, pose, change(thing, from, pose, plan.units));
  }

  function cancel() {
    const { key } = moving;
    moving = null;
    settle(key, "Put back where it was.");
  }

  function settle(key, words) {
    refill(key);
    drawOver();
    showPanel();
    if (words) view.say(words);
  }

  function commit(thing, pose, { says, edits }) {
    keep(plan, thing, pose);
    settle(thing.key, `${says}. Waiting for the plan.`);
    onEdit(says, edits);
  }

  function remove(thing) {
    const found = removal(thing, poseOf(thing));
    if (!found) {
      view.say(`${thing.name} is laid out by proveout already.`);
      return;
    }
    moving = null;
    forget(plan, thing);
    if (thing.kind !== "part") chosen = null;
    redraw();
    if (thing.kind !== "part") panel.focus();
    view.say(`${found.says}. Waiting for the plan.`);
    onEdit(found.says, found.edits);
  }

  function addFlaw() {
    if (moving) finish();
    const { data, says, edits } = newFlaw(plan, plan.units);
    plan.flaws.push(data);
    chosen = `flaw:${plan.flaws.length - 1}`;
    redraw();
    elements.get(chosen).focus({ preventScroll: true });
    view.say(`${says}. Drag it over the flaw, or move it with the arrow keys.`);
    onEdit(says, edits);
  }

  function redraw() {
    all = things(plan);
    draw();
  }

  /** A whole change at once, as the panel's buttons make it. */
  function put(thing, pose) {
    if (moving) finish();
    const from = poseOf(thing);
    if (!samePose(from, pose)) commit(thing, pose, change(thing, from, pose, plan.units));
  }

  function turnOf(thing, pose, fine) {
    if (thing.kind === "clamp") {
      const way = nextWay(thing, pose);
      if (!way) view.say(`In hole ${pose.hole} the nose can only point ${NOSE[pose.towards]}.`);
      return way && { ...pose, towards: way };
    }
    if (thing.kind !== "part") return null;
    const turn = fine ? (pose.turn + 5) % 360 : nextTurn(thing, pose.turn);
    if (turn === null) view.say(`${thing.name} is cut in one turn only; Shift and R turns it by 5 degrees.`);
    return turn === null ? null : turnedPose(plan, thing, pose, turn);
  }

  const panel = mountPanel(view.panel, {
    pick: choose,
    typed: (thing, field, index, text) => {
      if (moving) finish();
      const made = typedChange(thing, poseOf(thing), field, index, text, plan.units);
      if (thing.kind === "flaw" && field === "what") thing.data.what = text;
      commit(thing, poseOf(thing), made);
    },
    hole: (thing, hole) => put(thing, inHole(thing, poseOf(thing), hole)),
    way: (thing, towards) => put(thing, { ...poseOf(thing), towards }),
    turn: (thing) => {
      const pose = turnOf(thing, poseOf(thing), false);
      if (pose) put(thing, pose);
    },
    remove,
  });

  // Keys

  function key(event) {
    if (event.target.closest("input, select, textarea")) return;
    const letter = event.key.toLowerCase();
    if ((event.ctrlKey || event.metaKey) && (letter === "z" || letter === "y")) return undo(event, letter);
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (letter === "n") return handled(event, addFlaw);
    const thing = find(event.target.closest?.("[data-key]")?.dataset.key);
    if (event.key === "Escape" && moving) return handled(event, cancel);
    if (event.target.dataset?.number && (event.key === "Enter" || event.key === " ")) {
      return handled(event, () => onChoose?.(Number(event.target.dataset.number)));
    }
    if (thing) thingKey(event, thing);
  }

  function handled(event, act) {
    event.preventDefault();
    event.stopPropagation();
    act();
  }

  function undo(event, letter) {
    handled(event, () => {
      if (moving) cancel();
      else (letter === "y" || event.shiftKey ? onRedo : onUndo)?.();
    });
  }

  function thingKey(event, thing) {
    const way = ARROWS[event.key];
    if (way) handled(event, () => nudge(thing, way, event.shiftKey, event.target.dataset.corner));
    else if (event.key === "Enter" || event.key === " ") handled(event, () => (moving ? finish() : panel.focus()));
    else if (event.key === "Delete" || event.key === "Backspace") {
      if (thing.kind !== "clamp") handled(event, () => remove(thing));
    } else if (event.key.toLowerCase() === "r") handled(event, () => turnByKey(thing, event.shiftKey));
  }

  function take(thing, mode = "move") {
    if (moving && (moving.key !== thing.key || moving.mode !== mode)) finish();
    if (!moving) begin(thing, "keys", mode);
  }

  function turnByKey(thing, fine) {
    take(thing);
    const pose = turnOf(thing, moving.pose, fine);
    if (pose) moveTo(pose);
    else if (samePose(moving.from, moving.pose)) moving = null;
  }

  function nudge(thing, way, fine, corner = "move") {
    take(thing, corner);
    if (thing.kind === "clamp") {
      const hole = holeTowards(plan, thing, moving.pose.hole, way);
      if (hole) moveTo(inHole(thing, moving.pose, hole));
      else view.say("No hole further that way that this clamp may stand in.");
      return;
    }
    const axis = way[0] ? 0 : 1;
    const step = stepOf(plan.units, fine);
    const { pose } = moving;
    const shift = (value) => stepped(value, step, way[axis]);
    if (corner === "move") moveTo({ ...pose, at: pose.at.map((value, k) => (k === axis ? shift(value) : value)) });
    else moveTo(grown(pose, corner, (value, k) => (k === axis ? shift(value) : value), step));
  }

  /** A flaw whose one corner goes elsewhere, the other staying. */
  function grown({ at, size }, corner, to, least) {
    const far = at.map((value, k) => value + size[k]);
    if (corner === "high") return { at, size: far.map((value, k) => Math.max(least, to(value, k) - at[k])) };
    const low = at.map((value, k) => Math.min(far[k] - least, to(value, k)));
    return { at: low, size: far.map((value, k) => value - low[k]) };
  }

  // Pointers

  const sheetPoint = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(view.svg.getScreenCTM().inverse());
    return [point.x, -point.y];
  };
  let press = null; // {pointer, key, corner, start, at, client}

  function down(event) {
    const element = event.target.closest("[data-key]");
    if (!element || event.button !== 0 || press) return;
    const thing = find(element.dataset.key);
    const corner = event.target.closest("[data-corner]")?.dataset.corner ?? "move";
    if (moving) finish();
    choose(thing.key);
    const focus = corner === "move" ? elements.get(thing.key) : elements.get(thing.key).querySelector(`[data-corner="${corner}"]`);
    focus?.focus({ preventScroll: true });
    press = { pointer: event.pointerId, key: thing.key, corner, start: sheetPoint(event), client: [event.clientX, event.clientY], pose: poseOf(thing) };
    view.svg.setPointerCapture(event.pointerId);
    event.preventDefault();
  }

  function drag(event) {
    if (!press || event.pointerId !== press.pointer) return;
    const thing = find(press.key);
    if (!thing) return;
    if (!moving) {
      if (Math.hypot(event.clientX - press.client[0], event.clientY - press.client[1]) < STIRRED) return;
      begin(thing, "pointer", press.corner);
    }
    if (moving.by !== "pointer") return;
    const to = sheetPoint(event);
    const by = [to[0] - press.start[0], to[1] - press.start[1]];
    const pose = dragged(thing, by, event.shiftKey);
    if (!samePose(pose, moving.pose) || moving.raw) moveTo(pose, false);
  }

  function dragged(thing, by, fine) {
    const { pose, corner } = press;
    if (thing.kind === "clamp") {
      const bolt = plan.plate.holes.find((hole) => hole.name === pose.hole).at;
      const free = [bolt[0] + by[0], bolt[1] + by[1]];
      const found = inHole(thing, pose, nearestHole(plan, thing, free));
      moving.raw = { free, towards: found.towards };
      return found;
    }
    const step = stepOf(plan.units, fine);
    const to = (value, k) => snapped(value + by[k], step);
    if (corner !== "move") return grown(pose, corner, to, step);
    return { ...pose, at: pose.at.map(to) };
  }

  function up(event) {
    if (!press || event.pointerId !== press.pointer) return;
    press = null;
    if (moving?.by !== "pointer") return;
    if (event.type === "pointercancel") cancel();
    else finish();
  }

  function blurred(event) {
    if (!drawing && moving?.by === "keys" && !elements.get(moving.key)?.contains(event.relatedTarget)) finish();
  }

  // Zoom

  function zoomTo(next, at = [view.bed.clientWidth / 2, view.bed.clientHeight / 2]) {
    const before = zoom;
    zoom = Math.min(LARGEST, Math.max(1, next));
    if (zoom === before) return;
    const times = zoom / before;
    const [x, y] = [view.bed.scrollLeft + at[0], view.bed.scrollTop + at[1]];
    draw();
    view.bed.scrollTo(x * times - at[0], y * times - at[1]);
    view.say(zoom === 1 ? "The whole bed." : `${zoom.toFixed(1)} times as large.`);
  }

  function wheel(event) {
    if (!event.ctrlKey) return;
    event.preventDefault();
    const box = view.bed.getBoundingClientRect();
    zoomTo(zoom * Math.exp(-event.deltaY / 200), [event.clientX - box.left, event.clientY - box.top]);
  }

  let pinch = null;
  function touches(event) {
    if (event.touches.length !== 2) {
      pinch = null;
      return;
    }
    event.preventDefault();
    if (moving?.by === "pointer") cancel();
    press = null;
    const [a, b] = event.touches;
    const far = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
    const box = view.bed.getBoundingClientRect();
    pinch ??= { far, zoom };
    zoomTo(pinch.zoom * (far / pinch.far), [(a.clientX + b.clientX) / 2 - box.left, (a.clientY + b.clientY) / 2 - box.top]);
  }

  function listen() {
    view.root.addEventListener("keydown", key);
    view.svg.addEventListener("pointerdown", down);
    view.svg.addEventListener("pointermove", drag);
    view.svg.addEventListener("pointerup", up);
    view.svg.addEventListener("pointercancel", up);
    view.svg.addEventListener("focusout", blurred);
    view.svg.addEventListener("focusin", ({ target }) => !drawing && choose(target.closest("[data-key]")?.dataset.key ?? chosen));
    view.svg.addEventListener("click", ({ target }) => {
      const number = target.closest("[data-number]")?.dataset.number;
      if (number) onChoose?.(Number(number));
    });
    view.bed.addEventListener("wheel", wheel, { passive: false });
    view.bed.addEventListener("touchstart", touches, { passive: false });
    view.bed.addEventListener("touchmove", touches, { passive: false });
    view.bed.addEventListener("touchend", touches, { passive: false });
    view.does({ larger: () => zoomTo(zoom * 1.5), smaller: () => zoomTo(zoom / 1.5), fit: () => zoomTo(1), flaw: addFlaw });
  }

  let wide = 0;
  const watch = new ResizeObserver(() => {
    if (Math.abs(view.bed.clientWidth - wide) < 2) return;
    wide = view.bed.clientWidth;
    draw();
  });
  listen();
  draw();
  watch.observe(view.bed);

  return {
    update(given) {
      plan = taken(given);
      all = things(plan);
      if (chosen && !find(chosen)) chosen = null;
      const thing = moving && find(moving.key);
      if (moving && !thing) moving = press = null;
      draw();
    },
    select(kind, id) {
      choose(`${kind}:${id}`);
      elements.get(chosen)?.scrollIntoView({ block: "nearest", inline: "nearest" });
    },
    destroy() {
      watch.disconnect();
      view.root.remove();
    },
  };
}
