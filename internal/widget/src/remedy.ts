// A remedy taken: the request as it is once that has been done.

import { type Answer, type Remedy, type Units, WAYS } from "./api";
import { checkLength } from "./length";
import type { Request } from "./request";

const MEASURED = ["readings", "readings_left", "readings_right", "travel_at_bump", "travel_at_droop"];

/** Whether the request can be asked again with a remedy taken. Other remedies are parts to make or buy. */
export function canTake(remedy: Remedy, answer: Answer, request: Request): boolean {
  switch (remedy.kind) {
    case "move_mounts_apart":
    case "move_mounts_together":
      // With a linkage its points would have to move as well, and a vertical
      // reading doesn't grow by as much as the damper's length.
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
 * The request with a remedy taken.
 * @param answer that offered it
 * @param decimalComma how the request's figures were typed
 */
export function taken(request: Request, remedy: Remedy, answer: Answer, decimalComma: boolean): Request {
  const { units } = answer;
  const after = request.copy();
  const by = enough(remedy.by, units);
  const shifted = (text: string, shift: number) => {
    const { mm } = checkLength(text || "0", { units, signed: true, decimalComma });
    return mm === undefined ? text : written(mm / (units === "in" ? 25.4 : 1) + shift, units);
  };
  switch (remedy.kind) {
    case "move_mounts_apart":
    case "move_mounts_together":
      for (const name of MEASURED) {
        after.set(name, ...request.all(name).map((text) => text.trim() === "" ? text : shifted(text, remedy.kind === "move_mounts_apart" ? by : -by)));
      }
      break;
    case "raise_body":
    case "lower_body":
      after.set("planned_change", shifted(request.get("planned_change"), remedy.kind === "raise_body" ? by : -by));
      break;
    case "less_travel":
      after.set("travel", "stated");
      for (const way of WAYS) {
        const given = remedy.values[`give_up_${way}`];
        const needed = answer.required?.[way].least ?? 0;
        after.set(`travel_${way}`, written(needed - enough(typeof given === "number" ? given : 0, units), units));
      }
      break;
  }
  return after;
}

/**
 * An amount that is surely as much as the one that was told, whose sixth
 * decimal may have been rounded down. Millimetres and 64ths of an inch are told
 * exactly. Others are rounded up to the next thousandth.
 */
function enough(by: number, units: Units): number {
  const exact = units === "mm" || Number.isInteger(by * 64);
  return exact ? by : Math.ceil(by * 1000 + 1e-3) / 1000;
}

/** A length as the service reads it. */
function written(value: number, units: Units): string {
  return `${Number(value.toFixed(6))} ${units}`;
}
