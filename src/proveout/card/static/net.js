/** Asking the card's server, and what went wrong in words. */

/** A message as a sentence of its own; in the terminal it follows the place it is of. */
export const sentence = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

/** What the server refused, with what it said of it. */
export class Refusal extends Error {
  /** @param {number} status @param {{errors?: object[], conflict?: string}} told */
  constructor(status, told) {
    super(told.conflict || (told.errors || []).map((one) => sentence(one.text)).join(" ") || "The card refused this.");
    this.status = status;
    this.errors = told.errors || [];
    this.conflict = told.conflict || "";
  }
}

const SILENT = "The card does not answer: it was ended, or its window was. Start proveout card again; what was saved is in the file.";

/** @returns {Promise<Response>} an answer, or a Refusal thrown */
async function ask(address, options) {
  let answer;
  try {
    answer = await fetch(address, options);
  } catch {
    throw new Refusal(0, { conflict: SILENT });
  }
  if (answer.ok) return answer;
  const text = await answer.text();
  let told;
  try {
    told = JSON.parse(text);
  } catch {
    told = { conflict: text.trim() };
  }
  throw new Refusal(answer.status, told);
}

/** JSON from an address. */
export const getJson = async (address) => (await ask(address)).json();

/** A piece of HTML of the card's own making, every text in it escaped by the server. */
export const getHtml = async (address) => (await ask(address)).text();

/** Raw bytes. */
export const getBytes = async (address) => (await ask(address)).arrayBuffer();

/** Sends JSON and reads JSON. */
export const postJson = async (address, value) =>
  (await ask(address, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(value) })).json();

/** Sends a file as it is. */
export const postFile = async (address, file) => (await ask(address, { method: "POST", body: file })).json();
