/** The boxes: what is typed becomes an edit of the file; what is wrong is said at the box. */

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

/**
 * Watches all boxes and the buttons that add and take out.
 * @param {(change: {file: string, edits: object[], says: string, of: string}) => Promise<void>} send
 *   saves; throws a Refusal
 */
export function watchFields(send) {
  const waiting = new Map();

  async function commit(box) {
    clearTimeout(waiting.get(box));
    waiting.delete(box);
    if (box.value === (box.dataset.sent ?? box.defaultValue)) return;
    const question = box.closest("[data-question]");
    const of = box.dataset.field;
    const typed = box.value;
    const [first] = editsOf(box);
    const required = question.querySelector("[data-required]");
    if (first.what === "drop" && required) return fault(question, box, "This must be there. Type a value.");
    if (first.what === "drop" && !box.dataset.sent && !box.defaultValue) return fault(question, box, "");
    try {
      await send({ file: whichOf(box), edits: [first], says: `Change ${of} to ${typed || "nothing"}`, of });
      box.dataset.sent = typed;
      if (box.value === typed) fault(question, box, "");
    } catch (refusal) {
      if (box.value === typed) fault(question, box, refusal.message, refusal.errors);
    }
  }

  document.addEventListener("input", (event) => {
    const box = event.target.closest("[data-keys]");
    if (!box || box.tagName === "SELECT") return;
    clearTimeout(waiting.get(box));
    waiting.set(box, setTimeout(() => commit(box), WAIT));
  });
  document.addEventListener("change", (event) => {
    const box = event.target.closest("[data-keys]");
    if (box) commit(box);
  });
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button[data-edits]");
    if (!button) return;
    button.disabled = true;
    try {
      await send({ file: whichOf(button), edits: JSON.parse(button.dataset.edits), says: button.dataset.says, of: "" });
    } catch {
      // said in the head by whoever sends
    }
    button.disabled = false;
  });
  window.addEventListener("beforeunload", () => {
    for (const box of waiting.keys()) commit(box);
  });
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
      fault(question, box || question.querySelector("[data-keys]"), error.text, [error]);
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
    const sent = box.dataset.sent ?? box.defaultValue;
    const pending = box.value !== sent && box.tagName !== "SELECT"; // typed, and not saved yet or refused
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

/** Draws a section anew; focus, caret and opened folds stay where they were. */
function replaceSection(old, fresh) {
  const active = old.contains(document.activeElement) ? document.activeElement : null;
  const field = active?.dataset.field;
  const typed = active?.value;
  const caret = active?.selectionStart;
  const opened = new Set([...old.querySelectorAll("details[open][data-more]")].map((one) => one.dataset.more));
  for (const one of fresh.querySelectorAll("details[data-more]")) one.open = opened.has(one.dataset.more);
  old.replaceWith(fresh);
  if (!field) return;
  const box = [...fresh.querySelectorAll("[data-keys]")].find((one) => one.dataset.field === field);
  if (!box) return;
  for (let up = box.closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
  box.focus();
  if (box.tagName === "INPUT") {
    box.dataset.sent = box.value;
    box.value = typed;
    box.setSelectionRange(caret, caret);
  }
}
