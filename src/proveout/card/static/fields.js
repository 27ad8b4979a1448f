/** The boxes: what is typed becomes an edit of the file; what is wrong is said at the box. */
import { sentence } from "./net.js";

const WAIT = 350; // ms after the last key, before what was typed is sent

/** The box's value as the file would hold it; undefined where nothing is typed. */
function stated(box) {
  const text = box.value.trim();
  if (!text) return undefined;
  if (box.dataset.kind === "true or false") return text === "yes";
  if (box.dataset.kind === "whole number" && /^\d{1,9}$/.test(text)) return Number(text);
  return text;
}

/** The edits that a box asks for; several boxes of one list are one value. */
function editsOf(box) {
  const question = box.closest("[data-question]");
  if (!question.dataset.list) return [edit(JSON.parse(box.dataset.keys), stated(box))];
  const values = [...question.querySelectorAll("[data-keys]")].map(stated).filter((one) => one !== undefined);
  return [edit(JSON.parse(question.dataset.list), values.length ? values : undefined)];
}

const edit = (keys, value) => (value === undefined ? { what: "drop", keys } : { what: "set", keys, value });

const whichOf = (element) => element.closest("[data-which]")?.dataset.which || element.dataset.file || "job";

/** What the file holds for a box, as far as this window knows. */
const held = (box) => box.dataset.sent ?? box.defaultValue;

/** A box as a person would call it: "bolt (knob)". */
export function called(box) {
  const question = box.closest("[data-question]");
  const one = question.querySelectorAll("[data-keys]").length > 1 ? box.closest(".box").querySelector("label").textContent : "";
  const label = question.querySelector(".label").firstChild.textContent.trim();
  return `${[label, one].filter(Boolean).join(" ")} (${box.closest("fieldset").querySelector("legend").textContent.trim()})`;
}

/** Boxes whose text the file does not hold, since it was refused. */
const refused = (which) => [...document.querySelectorAll("[data-refused]")].filter((one) => !which || whichOf(one) === which);

/** Several edits as one; what is asked for twice is asked for once. */
const joined = (edits) => [...new Map(edits.map((one) => [JSON.stringify(one.keys), one])).values()];

/**
 * Watches all boxes and the buttons that add and take out.
 *
 * A value may be refused because of another one (an M8 head while the bolt ends in M6 inserts): it stays in its box,
 * marked, and is tried again with the next change that is saved, or together with it.
 * @param {(change: {file: string, edits: object[], says: string, of: string, quiet?: boolean}) => Promise<void>} send
 *   saves; throws a Refusal, and tells of it unless it is to be quiet
 * @param {(boxes: HTMLElement[]) => void} tell hears which boxes hold what the file does not
 * @returns {{tryAgain: (which: string) => Promise<void>}}
 */
export function watchFields(send, tell) {
  const waiting = new Map();

  async function commit(box, quiet = false) {
    clearTimeout(waiting.get(box));
    waiting.delete(box);
    const question = box.closest("[data-question]");
    if (box.value === held(box)) return accept(box);
    const typed = box.value;
    if (box.dataset.sending === typed) return; // a box that is drawn anew while it is saved reports once more
    const edits = editsOf(box);
    if (edits[0].what === "drop" && question.querySelector("[data-required]")) return refuse(box, "This must be there. Type a value.");
    box.dataset.sending = typed;
    try {
      await sendWith(box, edits, typed, quiet);
      box.dataset.sent = typed;
      if (box.value === typed) accept(box);
      await tryAgain(whichOf(box));
    } catch (refusal) {
      if (box.value === typed) refuse(box, refusal.message, refusal.errors);
    } finally {
      delete box.dataset.sending;
    }
  }

  /** Alone; and where that is refused, with what was refused before: each may need the other. */
  async function sendWith(box, edits, typed, quiet) {
    const file = whichOf(box);
    const says = `Change ${called(box)} to ${typed || "nothing"}`;
    const others = refused(file).filter((one) => one !== box && !one.dataset.sending);
    try {
      return await send({ file, edits, says, of: box.dataset.field, quiet });
    } catch (refusal) {
      if (refusal.conflict || !others.length) throw refusal;
      const all = joined([...others.flatMap(editsOf), ...edits]);
      await send({ file, edits: all, says: `${says}, and ${others.map(called).join(", ")}`, of: "", quiet }).catch(() => {
        throw refusal;
      });
      for (const one of others) {
        one.dataset.sent = one.value;
        accept(one);
      }
    }
  }

  function accept(box) {
    const was = box.dataset.refused !== undefined;
    delete box.dataset.refused;
    if (was || box.hasAttribute("aria-invalid")) fault(box.closest("[data-question]"), box, "");
    tell(refused());
  }

  function refuse(box, text, errors = []) {
    box.dataset.refused = text;
    fault(box.closest("[data-question]"), box, text, errors);
    tell(refused());
  }

  /** Tries what was refused once more, now that something else has changed. */
  async function tryAgain(which) {
    for (const box of refused(which)) if (box.isConnected && !box.dataset.sending && box.value) await commit(box, true);
    tell(refused());
  }

  document.addEventListener("input", (event) => {
    const box = event.target.closest("[data-keys]");
    if (!box || box.tagName === "SELECT") return;
    clearTimeout(waiting.get(box));
    waiting.set(box, setTimeout(() => commit(box), WAIT));
  });
  document.addEventListener("change", (event) => {
    const box = event.target.closest("[data-keys]");
    if (box && box.isConnected) commit(box);
  });
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button[data-edits]");
    if (!button || button.dataset.busy) return;
    button.dataset.busy = "yes"; // not disabled: that would take the focus away
    const before = tablesBeside(button);
    try {
      await send({ file: whichOf(button), edits: JSON.parse(button.dataset.edits), says: button.dataset.says, of: "" });
      focusAfter(button, before);
      await tryAgain(whichOf(button));
    } catch {
      // said in the head by whoever sends
    }
    delete button.dataset.busy;
  });
  window.addEventListener("beforeunload", () => {
    for (const box of waiting.keys()) commit(box);
  });
  return { tryAgain };
}

/** What a button that adds or takes out has beside it: its section's name, the tables there, and the one it is in. */
function tablesBeside(button) {
  const section = button.closest("[data-section-forms]");
  if (!section) return null;
  const tables = [...section.querySelectorAll("[data-table]")];
  return {
    section: section.dataset.sectionForms,
    names: new Set(tables.map((one) => one.dataset.table)),
    at: tables.indexOf(button.closest("[data-table]")),
  };
}

/** After a press: the first box of what was added; beside what was taken out, the table that took its place. */
function focusAfter(button, before) {
  const section = before && document.querySelector(`[data-section-forms="${before.section}"]`);
  if (!section) return;
  const tables = [...section.querySelectorAll("[data-table]")];
  const added = tables.find((one) => !before.names.has(one.dataset.table));
  if (added) return added.querySelector("[data-keys]")?.focus();
  const place = button.isConnected ? null : tables[Math.max(0, Math.min(before.at, tables.length - 1))];
  if (!place) return;
  place.tabIndex = -1;
  place.focus({ preventScroll: true });
}

/** Says what is wrong at a question, or that nothing is. */
export function fault(question, box, text, errors = []) {
  const line = question.querySelector(".fault");
  line.textContent = text;
  line.hidden = !text;
  const wrong = new Set(errors.map((one) => one.field));
  for (const one of question.querySelectorAll("[data-keys]")) {
    const bad = text && (one === box || wrong.has(one.dataset.field));
    one.toggleAttribute("aria-invalid", Boolean(bad));
    if (bad) one.setAttribute("aria-invalid", "true");
    if (text) one.setAttribute("aria-describedby", line.id);
    else one.removeAttribute("aria-describedby");
  }
}

/** What is wrong in the files, shown at its boxes; what has none is returned. */
export function showFaults(errors) {
  for (const question of document.querySelectorAll("[data-question]")) {
    const line = question.querySelector(".fault");
    if (line.dataset.standing) {
      delete line.dataset.standing;
      fault(question, null, "");
    }
  }
  return errors.filter((error) => {
    const forms = document.querySelectorAll(`[data-which="${error.file || "job"}"]`);
    for (const form of forms) {
      const box = [...form.querySelectorAll("[data-keys]")].find((one) => one.dataset.field === error.field);
      const question = box
        ? box.closest("[data-question]")
        : [...form.querySelectorAll("[data-question]")].find((one) => one.dataset.question === error.field);
      if (!question) continue;
      fault(question, box || question.querySelector("[data-keys]"), sentence(error.text), [error]);
      question.querySelector(".fault").dataset.standing = "yes";
      for (let up = question.closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
      return false;
    }
    return true;
  });
}

/**
 * Takes up what stands in the file now: values where the boxes are the same, else the section drawn anew.
 * The box that is being typed in is left alone.
 * @param {Object<string, {shape: string, html: string}>} sections
 */
export function renewFields(sections) {
  for (const [name, { shape, html }] of Object.entries(sections)) {
    const old = document.querySelector(`[data-section-forms="${name}"]`);
    if (!old) continue;
    const holder = document.createElement("template");
    holder.innerHTML = html; // of the card's own making, every text escaped
    const fresh = holder.content.querySelector("[data-section-forms]");
    if (old.dataset.shape === shape) renewValues(old, fresh);
    else replaceSection(old, fresh);
  }
}

function renewValues(old, fresh) {
  const values = new Map([...fresh.querySelectorAll("[data-keys]")].map((one) => [one.dataset.field, one]));
  for (const box of old.querySelectorAll("[data-keys]")) {
    const other = values.get(box.dataset.field);
    if (!other) continue;
    const sent = held(box);
    const pending = box.value !== sent && (box.tagName !== "SELECT" || box.dataset.refused !== undefined); // not saved yet, or refused
    if (!pending) box.value = other.value;
    else if (other.value !== sent && other.value !== box.value)
      fault(box.closest("[data-question]"), box, `Meanwhile this was changed to "${other.value}" elsewhere. What you type here replaces that.`);
    box.dataset.sent = other.value;
  }
  for (const legend of fresh.querySelectorAll("legend")) {
    const table = legend.parentElement.dataset.table;
    const same = [...old.querySelectorAll("legend")].find((one) => one.parentElement.dataset.table === table);
    if (same && same.textContent !== legend.textContent) same.textContent = legend.textContent;
  }
}

/** Draws a section anew; focus, caret, opened folds and what was refused stay where they were. */
function replaceSection(old, fresh) {
  const active = old.contains(document.activeElement) ? document.activeElement : null;
  const field = active?.dataset.field;
  const typed = active?.value;
  const caret = active?.selectionStart;
  const opened = new Set([...old.querySelectorAll("details[open][data-more]")].map((one) => one.dataset.more));
  for (const one of fresh.querySelectorAll("details[data-more]")) one.open = opened.has(one.dataset.more);
  const kept = [...old.querySelectorAll("[data-refused]")];
  old.replaceWith(fresh);
  for (const one of kept) keepRefused(one, fresh);
  if (!field) return;
  const box = [...fresh.querySelectorAll("[data-keys]")].find((one) => one.dataset.field === field);
  if (!box) return;
  for (let up = box.closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
  box.focus();
  if (box.tagName === "INPUT") {
    box.dataset.sent ??= box.value;
    box.value = typed;
    box.setSelectionRange(caret, caret);
  }
}

/** What was refused stays in its box, where the file still holds what it held then. */
function keepRefused(old, fresh) {
  const box = [...fresh.querySelectorAll("[data-keys]")].find((one) => one.dataset.field === old.dataset.field);
  if (!box || box.value !== held(old)) return;
  box.dataset.sent = box.value;
  box.value = old.value;
  box.dataset.refused = old.dataset.refused;
  fault(box.closest("[data-question]"), box, old.dataset.refused);
  for (let up = box.closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
}
