/** The interactive plan: the bed from above, in which parts, clamps and flaws are moved by mouse, touch or keys.
 *
 * Nothing is decided here: each finished move is handed on as words and edits of the job file, and what was moved
 * stays where it was put, marked as waiting, until the plan that follows from it comes.
 */

import { Board } from "./plan_board.js";
import { inHole, poseOf } from "./plan_change.js";
import { frame } from "./plan_frame.js";
import { listenToKeys } from "./plan_keys.js";
import { mountPanel } from "./plan_panel.js";
import { listenToPointers } from "./plan_pointer.js";

let mounts = 0; // of this page, for names that are its own

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
export function mountPlan(root, { plan, units, onEdit, onUndo, onRedo, onChoose }) {
  const marks = `plan-${++mounts}`;
  const view = frame(root, marks, { onUndo, onRedo });
  const board = new Board(view, { marks, units, onEdit });
  board.take(plan);
  board.panel = mountPanel(view.panel, panelActs(board));
  view.acts.flaw = () => board.addFlaw();
  listenToKeys(board, { onUndo, onRedo, onChoose });
  listenToPointers(board, { onChoose });
  board.draw();
  const watch = drawnAnew(board);
  return {
    update(given) {
      board.take(given);
      board.draw();
    },
    select(kind, id) {
      board.choose(`${kind}:${id}`);
      board.element(board.chosen)?.scrollIntoView({ block: "nearest", inline: "nearest" });
    },
    destroy() {
      watch.disconnect();
      view.root.remove();
    },
  };
}

const panelActs = (board) => ({
  pick: (key) => board.choose(key),
  typed: (thing, field, index, text) => board.typed(thing, field, index, text),
  hole: (thing, hole) => board.put(thing, inHole(thing, poseOf(thing), hole)),
  way: (thing, towards) => board.put(thing, { ...poseOf(thing), towards }),
  turn: (thing) => {
    if (board.moving) board.finish();
    const pose = board.turnOf(thing, poseOf(thing), false);
    if (pose) board.put(thing, pose);
  },
  remove: (thing) => board.remove(thing),
});

/** Draws again when there is more or less room. */
function drawnAnew(board) {
  let wide = board.view.bed.clientWidth;
  const watch = new ResizeObserver(() => {
    if (Math.abs(board.view.bed.clientWidth - wide) < 2) return;
    wide = board.view.bed.clientWidth;
    board.draw();
  });
  watch.observe(board.view.bed);
  return watch;
}
