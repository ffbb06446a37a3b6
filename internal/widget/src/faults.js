// What the service found wrong, brought to the fields that it is about.

import { checkLength } from "./length.js";
import { BY_NAME, LENGTHS, POINT } from "./fields.js";

/**
 * @typedef {import("./request.js").Request} Request
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./service.js").Refused} Refused
 */

/**
 * @param {Refused} refused
 * @param {Request} request that it was about, sent in flat names
 * @param {Words} words
 * @returns {Map<string, string>} text by field, for a list by field and place
 */
export function faultsByField(refused, request, words) {
  /** @type {Map<string, string>} */
  const found = new Map();
  for (const { parameter, code, detail } of refused.faults) {
    if (!parameter) continue;
    const kind = BY_NAME.get(parameter)?.kind;
    const key = kind === LENGTHS || kind === POINT ? parameter + "/" + placeOf(parameter, request, words) : parameter;
    const own = "fault_" + code;
    const text = words.lang !== "en" && words.has(own) ? words.t(own) : detail;
    if (!found.has(key)) found.set(key, text.charAt(0).toUpperCase() + text.slice(1));
  }
  return found;
}

/**
 * The place in a list that a fault is most likely about.
 * @param {string} name
 * @param {Request} request
 * @param {Words} words
 * @returns {number}
 */
function placeOf(name, request, words) {
  const units = request.get("units") === "mm" ? "mm" : "in";
  const at = request.all(name).findIndex((text) =>
    text.trim() !== "" && checkLength(text, { units, signed: true, decimalComma: words.decimalComma }).mm === undefined);
  return Math.max(at, 0);
}
