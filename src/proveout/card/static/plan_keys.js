/** The plan by keys: arrows move what has the focus, R turns it, Enter puts it there, Escape puts it back. */

import { grown, holeTowards, inHole, samePose } from "./plan_change.js";
import { stepOf, stepped } from "./plan_words.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/**
 * Listens to the plan's keys.
 * @param {import("./plan_board.js").Board} board
 * @param {{onUndo?: Function, onRedo?: Function, onChoose?: Function}} calls
 */
export function listenToKeys(board, calls) {
  board.view.root.addEventListener("keydown", (event) => {
    if (!event.target.closest("input, select, textarea") && pressed(board, calls, event)) {
      event.preventDefault();
      event.stopPropagation();
    }
  });
  board.view.svg.addEventListener("focusin", ({ target }) => {
    const key = target.closest("[data-key]")?.dataset.key;
    if (key && !board.drawing) board.choose(key);
  });
  board.view.svg.addEventListener("focusout", ({ relatedTarget }) => {
    const { moving } = board;
    // Whoever goes on without Enter has put it there.
    if (!board.drawing && moving?.by === "keys" && !board.elements.get(moving.key)?.contains(relatedTarget)) board.finish();
  });
}

/** Does what a key asks for; whether it asked for anything. */
function pressed(board, calls, event) {
  const letter = event.key.toLowerCase();
  if (event.ctrlKey || event.metaKey) return /^[zy]$/.test(letter) && undo(board, calls, letter === "y" || event.shiftKey);
  if (event.altKey) return false;
  if (letter === "n") return done(board.addFlaw());
  if (letter === "escape") return Boolean(board.moving) && done(board.cancel());
  const { number } = event.target.dataset ?? {};
  if (number) return /^(Enter| )$/.test(event.key) && done(calls.onChoose?.(Number(number)));
  const thing = board.find(event.target.closest("[data-key]")?.dataset.key);
  return Boolean(thing) && onThing(board, thing, event);
}

const done = () => true;

function undo(board, { onUndo, onRedo }, again) {
  if (board.moving) board.cancel();
  else (again ? onRedo : onUndo)?.();
  return true;
}

function onThing(board, thing, event) {
  const way = ARROWS[event.key];
  if (way) return done(nudge(board, thing, way, event.shiftKey, event.target.dataset.corner));
  switch (event.key.toLowerCase()) {
    case "r":
      return done(turn(board, thing, event.shiftKey));
    case "enter":
    case " ":
      return done(board.moving ? board.finish() : board.panel.focus());
    case "delete":
    case "backspace":
      return thing.kind !== "clamp" && done(board.remove(thing));
    default:
      return false;
  }
}

/** Begins a move by keys, unless it is under way. */
function take(board, thing, mode = "move") {
  const { moving } = board;
  if (moving && (moving.key !== thing.key || moving.mode !== mode)) board.finish();
  if (!board.moving) board.begin(thing, "keys", mode);
}

function turn(board, thing, fine) {
  take(board, thing);
  const { moving } = board;
  const pose = board.turnOf(thing, moving.pose, fine);
  if (pose) board.moveTo(pose);
  else if (samePose(moving.from, moving.pose)) board.moving = null;
}

function nudge(board, thing, way, fine, corner = "move") {
  take(board, thing, corner);
  const { pose } = board.moving;
  if (thing.kind === "clamp") {
    const hole = holeTowards(board.plan, thing, pose.hole, way);
    if (hole) board.moveTo(inHole(thing, pose, hole));
    else board.view.say("No hole further that way that this clamp may stand in.");
    return;
  }
  const axis = way[0] ? 0 : 1;
  const step = stepOf(board.plan.units, fine);
  const to = (value, k) => (k === axis ? stepped(value, step, way[axis]) : value);
  board.moveTo(corner === "move" ? { ...pose, at: pose.at.map(to) } : grown(thing, pose, corner, to, step));
}
