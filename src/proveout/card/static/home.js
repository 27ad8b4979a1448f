/** The first page: a new job from a drawing, a pattern or an example. */
import { postFile, postJson } from "./net.js";

const told = document.getElementById("told");
const drop = document.getElementById("drop");

/** @param {string} text @param {boolean} [wrong] */
function say(text, wrong = false) {
  told.textContent = text;
  told.classList.toggle("wrong", wrong);
}

async function begin(asked) {
  say("Reading …");
  try {
    const { open } = await asked();
    location.href = open;
  } catch (refusal) {
    say(refusal.message, true);
    if (/unit|known/i.test(refusal.message)) drop.querySelector("[name=known]").focus();
  }
}

function fromDrawing(form) {
  const file = form.drawing.files[0];
  if (!file) return say("Choose a drawing first, or drop one here.", true);
  const query = new URLSearchParams({ name: file.name, units: form.units.value, known: form.known.value });
  return begin(() => postFile(`/new/drawing?${query}`, file));
}

for (const form of document.querySelectorAll("form[data-new]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const kind = form.dataset.new;
    if (kind === "drawing") return fromDrawing(form);
    return begin(() => postJson(`/new/${kind}`, Object.fromEntries(new FormData(form))));
  });
}

for (const kind of ["dragover", "dragenter"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
}
document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) drop.classList.remove("over");
});
document.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  if (!event.dataTransfer.files.length) return;
  drop.drawing.files = event.dataTransfer.files;
  fromDrawing(drop);
});
