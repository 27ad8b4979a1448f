/** Lengths and places in the words of the plan, in the job's units. Inside everything is mm and degrees. */

const INCH = 25.4;

/**
 * A length with its unit as a shop writes it: "62.5 mm", "2-7/16 in", "0.235 in" where no sixty-fourth is near.
 * @param {number} mm
 * @param {"mm"|"in"} units
 */
export function length(mm, units) {
  if (units !== "in") return `${trimmed(mm, 2)} mm`;
  const parts = Math.round((mm / INCH) * 64);
  if (parts && Math.abs(mm / INCH - parts / 64) < 0.0001) return `${fraction(parts)} in`;
  return `${trimmed(mm / INCH, 3)} in`;
}

function trimmed(value, places) {
  const text = value.toFixed(places).replace(/\.?0+$/, "");
  return text === "-0" ? "0" : text;
}

function fraction(parts) {
  let [over, under] = [Math.abs(parts) % 64, 64];
  const whole = Math.floor(Math.abs(parts) / 64);
  while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
  const text = over ? `${whole ? `${whole}-` : ""}${over}/${under}` : `${whole}`;
  return parts < 0 ? `-${text}` : text;
}

/**
 * The step in which things move: 1 mm or 1/16 in; fine, 0.1 mm or 1/64 in.
 * @returns {number} mm
 */
export const stepOf = (units, fine) => (units === "in" ? INCH / (fine ? 64 : 16) : fine ? 0.1 : 1);

/** A length on the nearest step. */
export const snapped = (mm, step) => Math.round(mm / step) * step;

/** The next step beyond a length, that way (1 or -1). */
export function stepped(mm, step, way) {
  const at = mm / step;
  return (way > 0 ? Math.floor(at + 1e-6) + 1 : Math.ceil(at - 1e-6) - 1) * step;
}

export const degrees = (turn) => `${trimmed(turn, 2)} deg`;

export const place = ([x, y], units) => `${length(x, units)} from the left, ${length(y, units)} from the front`;

export const NOSE = { right: "to the right", left: "to the left", back: "to the back", front: "to the front" };

/** What a thing is and where it stands, as it is read aloud. */
export function label(thing, pose, units) {
  if (thing.kind === "clamp") {
    return `clamp: ${thing.name}, bolt in hole ${pose.hole}, nose ${NOSE[pose.towards]}`;
  }
  if (thing.kind === "flaw") {
    const size = pose.size.map((side) => length(side, units)).join(" by ");
    return `flaw: ${flawName(thing)}, ${size}, ${place(pose.at, units)}`;
  }
  const turn = pose.turn ? `, turned ${degrees(pose.turn)}` : "";
  return `part: ${thing.name}, ${place(pose.at, units)}${turn}, ${thing.data.placed ? "placed by hand" : "laid out by proveout"}`;
}

export const flawName = (thing) => thing.data.what || "flaw";

/** A list as it is said: "a, b and c", no more than five of them. */
export function listed(names) {
  const shown = names.length > 5 ? [...names.slice(0, 4), `${names.length - 4} more`] : names;
  return shown.length < 2 ? shown.join("") : `${shown.slice(0, -1).join(", ")} and ${shown.at(-1)}`;
}
