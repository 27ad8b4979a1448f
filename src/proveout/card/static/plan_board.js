/** The plan at hand: what is drawn, what is chosen, what is being moved, and what a finished move hands on. */

import { change, forget, keep, newFlaw, nextTurn, nextWay, poseOf, removal, samePose, things, turnedPose, typedChange } from "./plan_change.js";
import { warnings } from "./plan_doubts.js";
import { balloons, button, dress, el, fill, fixed, ground, measure, overlay, scaleFor, shown, SMALL } from "./plan_picture.js";
import { degrees, length, NOSE, place } from "./plan_words.js";

const HIGHEST = 0.8; // of the window, that the whole bed takes

export class Board {
  /**
   * @param {object} view of plan_frame.js
   * @param {{marks: string, units?: "mm"|"in", onEdit: Function}} options
   */
  constructor(view, { marks, units, onEdit }) {
    Object.assign(this, { view, marks, units, onEdit });
    this.panel = null;
    this.one = 1; // mm to a pixel
    this.zoom = 1;
    this.chosen = null; // a thing's key
    this.moving = null; // {key, from, pose, by: "keys" or "pointer", mode: "move" or a corner, free}
    this.drawing = false; // while elements are exchanged, when losing the focus means nothing
    this.elements = new Map();
  }

  /** Takes a plan in: what is being moved goes on, as long as it is still there. */
  take(given) {
    this.plan = { ...structuredClone(given), units: this.units ?? given.units };
    this.all = things(this.plan);
    if (this.chosen && !this.find(this.chosen)) this.chosen = null;
    if (this.moving && !this.find(this.moving.key)) this.moving = null;
  }

  find(key) {
    return this.all.find((thing) => thing.key === key) ?? null;
  }

  /** Where a thing is shown. */
  where = (thing) => (this.moving?.key === thing.key ? this.moving.pose : poseOf(thing));

  // Drawing

  draw() {
    this.quietly(() => this.drawAll());
    this.showPanel();
  }

  drawAll() {
    const { plan, view, all } = this;
    const box = shown(plan);
    this.one = scaleFor(box, view.bed.clientWidth || 600, Math.max(300, window.innerHeight * HIGHEST)) / this.zoom;
    view.svg.style.width = `${measure(view.svg, box, this.one)[0]}px`;
    view.svg.classList.toggle("plan-small", this.one > SMALL);
    this.elements = new Map(all.map((thing) => [thing.key, button(thing, `${this.marks}-hint`)]));
    const of = (kind) => all.filter((thing) => thing.kind === kind).map((thing) => this.elements.get(thing.key));
    this.over = el("g", { class: "plan-over", "aria-hidden": "true" });
    view.svg.replaceChildren(ground(plan, box, this.one, this.marks), ...of("part"), fixed(plan, this.one, this.marks),
      ...of("clamp"), ...of("flaw"), this.over, ...balloons(plan, this.one));
    for (const thing of all) this.fillOne(thing);
    this.drawOver();
  }

  /** Exchanges elements, after which the focus is where it was. */
  quietly(exchange) {
    const { svg } = this.view;
    const active = document.activeElement;
    const held = svg.contains(active) && { ...active.dataset, key: active.closest("[data-key]")?.dataset.key };
    this.drawing = true;
    exchange();
    if (held && document.activeElement !== active) this.again(held)?.focus({ preventScroll: true });
    this.drawing = false;
  }

  again({ key, corner, number }) {
    if (number) return this.view.svg.querySelector(`[data-number="${CSS.escape(number)}"]`) ?? this.view.svg;
    return this.element(key, corner) ?? this.view.svg;
  }

  /** A thing's element, or one of its corners. */
  element(key, corner) {
    const found = this.elements.get(key);
    const grip = corner && corner !== "move" && found?.querySelector(`[data-corner="${corner}"]`);
    return grip || found?.firstElementChild;
  }

  fillOne(thing, draw = fill) {
    const look = { marks: this.marks, selected: thing.key === this.chosen, moving: this.moving?.key === thing.key };
    draw(this.elements.get(thing.key), this.plan, thing, this.where(thing), this.one, look);
  }

  refill(key, draw = fill) {
    const thing = this.find(key);
    if (thing) this.quietly(() => this.fillOne(thing, draw));
  }

  drawOver() {
    const { moving, plan } = this;
    const thing = moving && this.find(moving.key);
    this.over.replaceChildren(...(thing ? overlay(plan, thing, moving, this.one) : []));
    const found = thing ? warnings(plan, this.all, thing, moving.pose, this.where) : [];
    this.elements.get(moving?.key)?.classList.toggle("plan-doubtful", found.length > 0);
    this.view.warn(found);
  }

  showPanel() {
    const thing = this.find(this.chosen);
    this.panel?.show(this.plan, this.all, thing, thing && this.where(thing), this.where);
  }

  // Choosing and moving

  choose(key) {
    if (key === this.chosen) return;
    if (this.moving) this.finish();
    const before = this.chosen;
    this.chosen = this.find(key) ? key : null;
    for (const each of [before, this.chosen]) if (each) this.refill(each, dress);
    this.showPanel();
  }

  begin(thing, by, mode = "move") {
    this.moving = { key: thing.key, from: poseOf(thing), pose: poseOf(thing), by, mode, free: null };
  }

  /** Shows a thing elsewhere; said aloud where keys move it, since a pointer would never stop talking. */
  moveTo(pose) {
    this.moving.pose = pose;
    this.refill(this.moving.key);
    this.drawOver();
    if (this.moving.by === "keys") this.view.say(this.sayPose(pose));
    this.showPanel();
  }

  sayPose(pose) {
    const { moving, plan } = this;
    if (pose.hole) return `Hole ${pose.hole}, nose ${NOSE[pose.towards]}.`;
    if (moving.mode !== "move") return `${pose.size.map((side) => length(side, plan.units)).join(" by ")}.`;
    return `${place(pose.at, plan.units)}${pose.turn ? `, turned ${degrees(pose.turn)}` : ""}.`;
  }

  finish() {
    const { key, from, pose } = this.moving;
    const thing = this.find(key);
    this.moving = null;
    if (!thing || samePose(from, pose)) this.settle(key, "");
    else this.commit(thing, pose, change(thing, from, pose, this.plan.units));
  }

  cancel() {
    const { key } = this.moving;
    this.moving = null;
    this.settle(key, "Put back where it was.");
  }

  settle(key, words) {
    this.refill(key);
    this.drawOver();
    this.showPanel();
    if (words) this.view.say(words);
  }

  commit(thing, pose, { says, edits }) {
    keep(this.plan, thing, pose);
    this.settle(thing.key, `${says}. Waiting for the plan.`);
    this.onEdit(says, edits);
  }

  /** A whole change at once, as the panel's fields make it. */
  put(thing, pose) {
    if (this.moving) this.finish();
    const from = poseOf(thing);
    if (!samePose(from, pose)) this.commit(thing, pose, change(thing, from, pose, this.plan.units));
  }

  typed(thing, field, index, text) {
    if (this.moving) this.finish();
    const made = typedChange(thing, poseOf(thing), field, index, text, this.plan.units);
    if (field === "what") thing.data.what = text;
    this.commit(thing, poseOf(thing), made);
  }

  remove(thing) {
    const found = removal(thing, poseOf(thing));
    if (!found) {
      this.view.say(`${thing.name} is laid out by proveout already.`);
      return;
    }
    this.moving = null;
    forget(this.plan, thing);
    if (thing.kind !== "part") this.chosen = null;
    this.redraw();
    if (thing.kind !== "part") this.panel.focus();
    this.view.say(`${found.says}. Waiting for the plan.`);
    this.onEdit(found.says, found.edits);
  }

  addFlaw() {
    if (this.moving) this.finish();
    const { data, says, edits } = newFlaw(this.plan, this.plan.units);
    this.plan.flaws.push(data);
    this.chosen = `flaw:${this.plan.flaws.length - 1}`;
    this.redraw();
    this.element(this.chosen).focus({ preventScroll: true });
    this.view.say(`${says}. Drag it over the flaw, or move it with the arrow keys.`);
    this.onEdit(says, edits);
  }

  redraw() {
    this.all = things(this.plan);
    this.draw();
  }

  /** The next pose that turning gives, said where there is none. */
  turnOf(thing, pose, fine) {
    if (thing.kind === "clamp") {
      const way = nextWay(thing, pose);
      if (!way) this.view.say(`In hole ${pose.hole} the nose can only point ${NOSE[pose.towards]}.`);
      return way && { ...pose, towards: way };
    }
    if (thing.kind !== "part") return null;
    const turn = fine ? (pose.turn + 5) % 360 : nextTurn(thing, pose.turn);
    if (turn === null) this.view.say(`${thing.name} is cut in one turn only; Shift and R turns it by 5 degrees.`);
    return turn === null ? null : turnedPose(this.plan, thing, pose, turn);
  }

  // Zoom

  /** @param {number[]} [at] px in the box round the bed: what is there stays there */
  zoomTo(next, at = [this.view.bed.clientWidth / 2, this.view.bed.clientHeight / 2]) {
    const { bed } = this.view;
    const times = next / this.zoom;
    if (times === 1) return;
    const [x, y] = [bed.scrollLeft + at[0], bed.scrollTop + at[1]];
    this.zoom = next;
    this.draw();
    bed.scrollTo(x * times - at[0], y * times - at[1]);
    this.view.say(next === 1 ? "The whole bed." : `${next.toFixed(1)} times as large.`);
  }
}
