/** Elements made in one line each, and numbers in the words that every piece of the view uses. */

const SVG = "http://www.w3.org/2000/svg";

/**
 * An element with its attributes and what it holds; text goes in as text only.
 * @param {string} name a name with "svg:" before it makes a piece of a drawing
 * @param {Object<string, string|number|boolean|null>} [attributes] true: there; false and null: not there
 * @param {...(Node|string)} inside
 */
export function made(name, attributes = {}, ...inside) {
  const drawn = name.startsWith("svg:");
  const element = drawn ? document.createElementNS(SVG, name.slice(4)) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== null) element.setAttribute(key, String(value));
  }
  element.append(...inside);
  return element;
}

/** A button. */
export function button(words, act, attributes = {}) {
  const element = made("button", { type: "button", ...attributes }, words);
  element.addEventListener("click", act);
  return element;
}

/** A moment as a clock shows it: 3:07.2, or 1:03:07. @param {number} seconds */
export function clockTime(seconds) {
  const tenths = Math.round(seconds * 10);
  const [hours, minutes] = [Math.floor(tenths / 36000), Math.floor(tenths / 600) % 60];
  const rest = (tenths % 600) / 10;
  if (hours) return `${hours}:${pad(minutes)}:${pad(Math.floor(rest))}`;
  return `${minutes}:${rest < 10 ? "0" : ""}${rest.toFixed(1)}`;
}

/** A moment as it is read aloud. */
export function spokenTime(seconds) {
  const whole = Math.round(seconds);
  if (whole < 60) return `${whole} s`;
  return `${Math.floor(whole / 60)} min ${whole % 60} s`;
}

function pad(number) {
  return String(number).padStart(2, "0");
}

/** A length in a unit system, without its unit: to the hundredth of a mm or the thousandth of an inch. */
export function lengthIn(units, mm) {
  const text = units === "in" ? (mm / 25.4).toFixed(3) : mm.toFixed(2);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

/** A feed, with its unit. @param {number} speed mm/s; 0 for a rapid */
export function feedIn(units, speed) {
  if (!speed) return "rapid";
  return units === "in" ? `${((speed * 60) / 25.4).toFixed(1)} in/min` : `${(speed * 60).toFixed(0)} mm/min`;
}
