// A remedy taken: the request as it is once that has been done.

import { checkLength } from "./length.js";

/**
 * @typedef {import("./request.js").Request} Request
 * @typedef {Record<string, any>} Answer
 */

const TAPED = ["readings", "readings_left", "readings_right", "travel_at_bump", "travel_at_droop"];

/**
 * Whether a remedy is one that the request can be asked again with. The rest
 * are parts to be made or bought.
 * @param {Record<string, any>} remedy
 * @param {Answer} answer
 * @param {Request} request
 * @returns {boolean}
 */
export function canTake(remedy, answer, request) {
  switch (remedy.kind) {
    case "move_mounts_apart":
    case "move_mounts_together":
      // A linkage's points would have to move as well, and a reading straight
      // down is longer by something else than the damper is.
      return answer.required?.basis !== "linkage" && request.get("tape") !== "vertical";
    case "raise_body":
    case "lower_body":
    case "less_travel":
      return true;
    default:
      return false;
  }
}

/**
 * @param {Request} request
 * @param {Record<string, any>} remedy
 * @param {Answer} answer that offered it
 * @param {boolean} decimalComma how the request's figures were typed
 * @returns {Request}
 */
export function taken(request, remedy, answer, decimalComma) {
  const { units } = answer;
  const after = request.copy();
  /** @type {(text: string, by: number) => string} */
  const shifted = (text, by) => {
    const { mm } = checkLength(text || "0", { units, signed: true, decimalComma });
    const size = units === "in" ? 25.4 : 1;
    return mm === undefined ? text : figure(mm / size + by) + " " + units;
  };
  const by = enough(remedy.by, units);
  switch (remedy.kind) {
    case "move_mounts_apart":
    case "move_mounts_together":
      for (const name of TAPED) {
        const apart = remedy.kind === "move_mounts_apart" ? by : -by;
        after.set(name, ...request.all(name).map((text) => text.trim() === "" ? text : shifted(text, apart)));
      }
      break;
    case "raise_body":
    case "lower_body":
      after.set("planned_change", shifted(request.get("planned_change"), remedy.kind === "raise_body" ? by : -by));
      break;
    case "less_travel":
      after.set("travel", "stated");
      for (const way of ["compression", "extension"]) {
        after.set("travel_" + way, figure(answer.required[way].least - enough(remedy.values["give_up_" + way] ?? 0, units)) + " " + units);
      }
      break;
  }
  return after;
}

/**
 * An amount that is surely as much as the one that was told, whose sixth
 * decimal may have been rounded down. Millimetres and 64ths of an inch are told
 * exactly; the rest goes up to the next thousandth.
 * @param {number} by
 * @param {string} units
 * @returns {number}
 */
function enough(by, units) {
  const exact = units === "mm" || Number.isInteger(by * 64);
  return exact ? by : Math.ceil(by * 1000 + 1e-3) / 1000;
}

/**
 * A figure as the service reads it.
 * @param {number} value
 * @returns {string}
 */
function figure(value) {
  return String(Number(value.toFixed(6)));
}
