/** The plan by mouse, pen and fingers: drag what is pressed, pinch or Ctrl + wheel for a closer look. */

import { grown, holeAt, inHole, nearestHole, poseOf, samePose } from "./plan_change.js";
import { snapped, stepOf } from "./plan_words.js";

const STIRRED = 4; // px that a pressed pointer may stray before it drags
const LARGEST = 8; // times

/** Listens to pointers on the plan. */
export function listenToPointers(board, { onChoose }) {
  const { svg } = board.view;
  let press = null; // {pointer, key, corner, start, client, pose}
  const mine = (event) => press?.pointer === event.pointerId;
  svg.addEventListener("pointerdown", (event) => {
    press ??= pressOn(board, event);
  });
  svg.addEventListener("pointermove", (event) => {
    if (mine(event)) drag(board, press, event);
  });
  const end = (event) => {
    if (!mine(event)) return;
    const { number, begun } = press;
    press = null;
    if (number && !begun && event.type === "pointerup") onChoose?.(Number(number));
    if (board.moving?.by === "pointer") event.type === "pointerup" ? board.finish() : board.cancel();
  };
  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", end);
  svg.addEventListener("click", ({ target, detail }) => {
    const number = target.closest("[data-number]")?.dataset.number;
    if (number && detail === 0) onChoose?.(Number(number)); // as a screen reader presses; a pointer's is known
  });
  listenToZoom(board, () => {
    press = null;
  });
}

function pressOn(board, event) {
  const number = event.target.closest("[data-number]")?.dataset.number;
  const target = number ? beneath(event) : event.target.closest("[data-key]");
  if (event.button !== 0 || !(target || number)) return null;
  const { key, corner = "move" } = target?.dataset ?? {};
  const client = [event.clientX, event.clientY];
  const press = { pointer: event.pointerId, number, key, corner, start: sheetPoint(board, event), client };
  board.view.svg.setPointerCapture(event.pointerId);
  if (!number) hold(board, press);
  event.preventDefault();
  return press;
}

/** What lies under a balloon can be dragged from under it. */
const beneath = ({ clientX, clientY }) =>
  document.elementsFromPoint(clientX, clientY).map((one) => one.closest("[data-key]")).find(Boolean);

function hold(board, press) {
  if (board.moving) board.finish();
  board.choose(press.key);
  board.element(press.key, press.corner).focus({ preventScroll: true });
  press.pose = poseOf(board.find(press.key));
}

/** Where a pointer is in the sheet's frame, mm. */
function sheetPoint({ view }, event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(view.svg.getScreenCTM().inverse());
  return [point.x, -point.y];
}

function drag(board, press, event) {
  const thing = board.find(press.key);
  if (!thing || !begun(board, thing, press, event)) return;
  const to = sheetPoint(board, event);
  const pose = dragged(board, thing, press, [to[0] - press.start[0], to[1] - press.start[1]], event.shiftKey);
  if (board.moving.free || !samePose(pose, board.moving.pose)) board.moveTo(pose);
}

/** Whether this press is dragging: not before it has stirred, nor after Escape. */
function begun(board, thing, press, event) {
  if (board.moving) return board.moving.by === "pointer";
  const far = Math.hypot(event.clientX - press.client[0], event.clientY - press.client[1]);
  if (press.begun || far < STIRRED) return false;
  press.begun = true;
  if (press.number) hold(board, press);
  board.begin(thing, "pointer", press.corner);
  return true;
}

function dragged(board, thing, { pose, corner }, by, fine) {
  const { plan, moving } = board;
  if (thing.kind === "clamp") {
    const at = holeAt(plan, pose.hole).map((value, k) => value + by[k]);
    const found = inHole(thing, pose, nearestHole(plan, thing, at));
    moving.free = { at, towards: found.towards };
    return found;
  }
  const step = stepOf(plan.units, fine);
  const to = (value, k) => snapped(value + by[k], step);
  return corner === "move" ? { ...pose, at: pose.at.map(to) } : grown(thing, pose, corner, to, step);
}

/** Buttons, Ctrl + wheel and two fingers zoom; one finger and the wheel scroll as they do everywhere. */
function listenToZoom(board, letGo) {
  const { bed } = board.view;
  const to = (zoom, at) => board.zoomTo(Math.min(LARGEST, Math.max(1, zoom)), at);
  const inBed = (x, y) => [x - bed.getBoundingClientRect().left, y - bed.getBoundingClientRect().top];
  Object.assign(board.view.acts, { larger: () => to(board.zoom * 1.5), smaller: () => to(board.zoom / 1.5), fit: () => to(1) });
  bed.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    to(board.zoom * Math.exp(-event.deltaY / 200), inBed(event.clientX, event.clientY));
  }, { passive: false });
  let pinch = null;
  const fingers = (event) => {
    if (event.touches.length !== 2) {
      pinch = null;
      // A finger on a thing moves it, on a balloon presses it: neither scrolls.
      if (event.type === "touchstart" && event.target.closest("[data-key], [data-number]")) event.preventDefault();
      return;
    }
    event.preventDefault();
    if (board.moving?.by === "pointer") board.cancel();
    letGo();
    const [a, b] = event.touches;
    const far = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
    pinch ??= { far, zoom: board.zoom };
    to(pinch.zoom * (far / pinch.far), inBed((a.clientX + b.clientX) / 2, (a.clientY + b.clientY) / 2));
  };
  for (const type of ["touchstart", "touchmove", "touchend"]) bed.addEventListener(type, fingers, { passive: false });
}
