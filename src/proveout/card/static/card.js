/** The job card: keeps the page in step with the files, the numbers and the proof. */
import { called, renewFields, showFaults, watchFields } from "./fields.js";
import { getBytes, getHtml, getJson, postJson, sentence } from "./net.js";
import { mountPlan } from "./plan.js";
import { mountProof } from "./proof_view.js";

const id = (name) => document.getElementById(name);
const head = id("head");

const state = {
  units: head.dataset.units,
  revisions: JSON.parse(head.dataset.revisions), // of the files, as this window has them before it
  shown: "", // revision of the numbers on the page
  proved: "", // revision of the proof on the page
  plan: null,
  view: null,
  wantFinding: null,
};

/** @param {string} text @param {boolean} [wrong] */
function say(text, wrong = false) {
  clearTimeout(state.fading);
  if (text && !wrong) state.fading = setTimeout(() => say(""), 10_000);
  id("told").textContent = text;
  id("told").classList.toggle("wrong", wrong);
}

// --- changes

let queue = Promise.resolve();

/** Saves a change; changes are saved one after the other. */
function save(change) {
  const saved = queue.then(() => saveNow(change));
  queue = saved.catch(() => {});
  return saved;
}

async function saveNow({ file, edits, says, of, quiet }) {
  try {
    const { revision } = await postJson("edit", { file, edits, says, of, seen: state.revisions[file] });
    state.revisions[file] = revision;
    say(of ? "" : `${says}: saved.`);
    await renewForms();
  } catch (refusal) {
    if (!quiet) say(refusal.conflict || refusal.message, true);
    if (of) state.saidOfBox = refusal.message;
    if (refusal.conflict) await renewForms().catch(() => {});
    throw refusal;
  }
}

async function goBack(way) {
  await queue;
  try {
    const { says } = await postJson(way, {});
    say(says ? `${way === "undo" ? "Taken back" : "Done again"}: ${says}.` : "There is nothing to take back.");
    await renewForms();
  } catch (refusal) {
    say(refusal.message, true);
  }
}

async function renewForms() {
  const { revisions, sections, steps } = await getJson("forms");
  state.revisions = { ...state.revisions, ...revisions };
  renewFields(sections);
  for (const [name, says] of [["undo", steps[0]], ["redo", steps[1]]]) {
    id(name).disabled = !says;
    id(name).title = says;
  }
}

/** The verdict is of the file: what stands in a box and not in it is said beside the verdict. */
function unsaved(boxes) {
  id("unsaved").hidden = !boxes.length;
  if (!boxes.length) {
    if (id("told").textContent === state.saidOfBox) say("");
    return;
  }
  const many = boxes.length > 1 ? ` and ${boxes.length - 1} more` : "";
  id("unsaved-words").textContent = `Typed but not in the job, and so not in the verdict: ${called(boxes[0])} ${boxes[0].value || "nothing"}${many}.`;
  if (boxes.includes(document.activeElement)) document.activeElement.scrollIntoView({ block: "nearest" }); // not under this line
  id("go-unsaved").onclick = () => {
    for (let up = boxes[0].closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
    boxes[0].focus();
  };
}

// --- what follows

/** Puts a piece of the server's own HTML in its place, where it is other than what stands there. */
function put(name, html) {
  const place = id(name);
  if (!place || place.dataset.html === html) return;
  const focus = place.contains(document.activeElement) ? document.activeElement : null;
  const why = focus?.dataset.why;
  const folds = [...place.querySelectorAll("details")].map((one) => one.open);
  place.innerHTML = html;
  place.dataset.html = html;
  place.querySelectorAll("details").forEach((one, at) => (one.open = folds[at] ?? one.open));
  if (!focus) return;
  const again = why && [...place.querySelectorAll("[data-why]")].find((one) => one.dataset.why === why);
  const heading = place.closest(".operation")?.querySelector("h2");
  if (heading && !again) heading.tabIndex = -1;
  (again || heading)?.focus({ preventScroll: true });
}

async function renewNumbers() {
  const { revision, pieces, errors, gone } = await getJson(`numbers?units=${state.units}`);
  for (const [name, html] of Object.entries(pieces)) put(name === "verdict" ? "verdict" : `piece-${name}`, html);
  for (const name of ["stock", "fit", "hold"]) if (!(name in pieces)) put(`piece-${name}`, "");
  id("gone").hidden = !gone;
  id("gone").firstElementChild.textContent = gone ? `The job file can't be read any more: ${gone} What the card read last is not lost.` : "";
  listFaults(showFaults(errors));
  if (revision !== state.shown) {
    state.shown = revision;
    untick();
  }
}

function listFaults(errors) {
  id("faults").hidden = !errors.length;
  id("faults").lastElementChild.replaceChildren(
    ...errors.map((error) => {
      const item = document.createElement("li");
      item.textContent = error.field ? `${error.field}: ${error.text}` : sentence(error.text);
      return item;
    }),
  );
}

async function renewPlan() {
  const plan = await getJson("plan.json");
  if (!plan) return;
  if (state.plan) return state.plan.update(plan);
  id("plan").replaceChildren();
  state.plan = mountPlan(id("plan"), {
    plan,
    units: plan.units,
    onEdit: (says, edits) =>
      save({ file: "job", edits, says, of: "" }).then(
        () => fields.tryAgain("job"),
        () => renewPlan(),
      ),
    onUndo: () => goBack("undo"),
    onRedo: () => goBack("redo"),
    onChoose: (number) => showFinding(number),
  });
}

async function renewProof(of) {
  const [proof, scene] = await Promise.all([getJson("proof.json"), getBytes("scene")]);
  state.view?.destroy();
  id("proof-view").replaceChildren();
  state.view = mountProof(id("proof-view"), { scene, ...proof, onTime: () => {} });
  state.proved = of;
  if (state.wantFinding !== null) showFinding(state.wantFinding);
}

function showFinding(number) {
  state.wantFinding = state.view ? null : number;
  if (!state.view) return;
  state.view.goTo(number);
  id("proof-view").scrollIntoView({ block: "start" });
}

// --- news

let last = {};

async function heard(news) {
  const before = last;
  last = news;
  progress(news);
  const changed = ["revision", "drafted", "proved", "failed", "gone"].some((key) => before[key] !== news[key]) || Boolean(before.stage) !== Boolean(news.stage);
  if (!changed) return;
  if (before.revision !== news.revision) {
    await renewForms();
    await renewDrawings();
  }
  await renewNumbers();
  if (news.drafted) await renewPlan();
  id("stale").hidden = !state.view || news.proved === news.revision;
  if (news.proved && news.proved !== state.proved) {
    await renewProof(news.proved);
    id("stale").hidden = news.proved === news.revision;
    await renewAfter();
  }
  if (!state.afterShown) await renewAfter();
}

function progress({ stage, share, proved, revision, failed }) {
  id("progress").hidden = !stage;
  id("stage").textContent = stage;
  id("share").value = share;
  id("prove").hidden = Boolean(stage) || !failed || proved === revision;
}

let hearing = Promise.resolve();
let latest = null;

/** News are taken up one after the other; while one is, only the latest of the rest is kept. */
function listen() {
  const source = new EventSource("events");
  source.onmessage = (event) => {
    const waiting = latest !== null;
    latest = JSON.parse(event.data);
    if (waiting) return;
    hearing = hearing.then(() => {
      const news = latest;
      latest = null;
      return heard(news).catch((refusal) => say(refusal.message, true));
    });
  };
  source.onerror = () => {
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 2000);
    say("The card does not answer. What was saved is in the file; start proveout card again if it was ended.", true);
  };
  source.onopen = () => {
    if (id("told").textContent.startsWith("The card does not answer")) say("");
  };
}

// --- reasons

async function showWhy(name) {
  try {
    id("why-body").innerHTML = await getHtml(`why?units=${state.units}&name=${encodeURIComponent(name)}`);
  } catch {
    id("why-body").textContent = "This number is being reckoned anew. Look again in a moment.";
  }
  id("why-head").textContent = "Why";
  if (!id("why").open) id("why").showModal();
}

document.addEventListener("click", (event) => {
  const number = event.target.closest("[data-why]");
  if (number) showWhy(number.dataset.why);
  const finding = event.target.closest("button[data-finding]");
  if (finding && !finding.closest("#proof-view, #plan")) showFinding(Number(finding.dataset.finding));
  if (event.target === id("why") || event.target === id("why-close")) id("why").close();
});

// --- at the machine and after

function untick() {
  for (const box of id("checks").querySelectorAll("input")) box.checked = false;
  ticked();
}

function ticked() {
  const all = [...id("checks").querySelectorAll("input")].every((box) => box.checked);
  id("watch").hidden = !all;
  id("unticked").hidden = all;
}
id("checks").addEventListener("change", ticked);

document.addEventListener("click", async (event) => {
  const takes = event.target.id === "download";
  if (!takes && event.target.id !== "write-pack") return;
  event.preventDefault();
  await writePack();
  if (takes) location.assign("pack.zip");
});

/** Readings are set against the pack that was taken, whatever the job says by then: so it is kept beside it. */
async function writePack() {
  try {
    const { says } = await postJson("write-pack", {});
    id("written").textContent = says;
    await renewAfter();
  } catch (refusal) {
    id("written").textContent = refusal.message;
  }
}

async function renewAfter() {
  state.afterShown = true;
  const typed = [...document.querySelectorAll("#readings input:not([type=checkbox])")].some((box) => box.value !== box.defaultValue);
  if (!typed) put("after", await getHtml("after"));
}

document.addEventListener("submit", async (event) => {
  if (event.target.id !== "readings") return;
  event.preventDefault();
  const form = event.target;
  const rows = [...form.querySelectorAll("tr[data-number]")];
  for (const one of form.querySelectorAll(".row-fault")) one.hidden = true;
  id("readings-fault").hidden = true;
  const filled = rows.filter((row) => row.querySelector("[name=found]").value.trim() || row.querySelector("[name=fitted]")?.value);
  const head = Object.fromEntries(["who", "date", "instrument", "resolution"].map((name) => [name, form.elements[name].value]));
  try {
    const { says } = await postJson("record", { head, rows: filled.map(reading) });
    form.reset();
    await renewAfter();
    id("recorded").textContent = `Written into the shop book: ${says.join("; ")}.`;
    id("recorded").focus();
  } catch (refusal) {
    readingFaults(filled, refusal);
  }
});

function reading(row) {
  const value = (name) => row.querySelector(`[name=${name}]`)?.value.trim() || "";
  return { number: row.dataset.number, piece: value("piece"), found: value("found"), fitted: value("fitted"), sure: row.querySelector("[name=sure]").checked ? "yes" : "" };
}

function readingFaults(rows, refusal) {
  const loose = [];
  for (const error of refusal.errors) {
    const row = error.line ? rows[error.line - 1] : null;
    if (!row) loose.push(error.text);
    else {
      const place = row.nextElementSibling;
      place.hidden = false;
      place.querySelector("p").textContent = error.text;
    }
  }
  const text = loose.join(" ") || (refusal.errors.length ? "Nothing was written yet: see the rows that are marked." : refusal.message);
  id("readings-fault").textContent = text;
  id("readings-fault").hidden = false;
  rows.find((row) => !row.nextElementSibling.hidden)?.querySelector("[name=found]").focus();
}

id("coupon").addEventListener("click", async () => {
  try {
    location.href = (await postJson("coupon", {})).open;
  } catch (refusal) {
    say(refusal.message, true);
  }
});

async function renewDrawings() {
  put("drawings", await getHtml(`drawings?units=${state.units}`));
}

// --- the head

id("undo").addEventListener("click", () => goBack("undo"));
id("redo").addEventListener("click", () => goBack("redo"));
id("stop").addEventListener("click", () => postJson("stop", {}).catch((refusal) => say(refusal.message, true)));
id("prove").addEventListener("click", () => postJson("prove", {}).catch((refusal) => say(refusal.message, true)));
id("write-again").addEventListener("click", () => postJson("write-again", {}).catch((refusal) => say(refusal.message, true)));
id("units").addEventListener("change", () => {
  state.units = id("units").value;
  renewNumbers().catch((refusal) => say(refusal.message, true));
});
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, select, textarea");
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || typing || event.defaultPrevented) return;
  event.preventDefault();
  goBack(event.shiftKey ? "redo" : "undo");
});

/** How much of the window the head covers: the whole of it, or on a phone the verdict alone. */
function headHeight() {
  const high = Math.max(head.offsetHeight, id("verdict").offsetHeight);
  document.documentElement.style.setProperty("--head", `${high}px`);
}
const watchHead = new ResizeObserver(headHeight);
for (const one of [head, id("verdict")]) watchHead.observe(one);

/** Light and dark: as the screen has it, or as this window was told. */
function light(kind) {
  document.documentElement.toggleAttribute("data-light", kind === "light");
  document.documentElement.toggleAttribute("data-dark", kind === "dark");
  id("light").value = kind;
}
id("light").addEventListener("change", () => {
  light(id("light").value);
  localStorage.setItem("light", id("light").value);
});
light(localStorage.getItem("light") || "");

const fields = watchFields(save, unsaved);
listen();
