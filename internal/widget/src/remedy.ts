// A remedy taken as a plan: the request after the remedy will have been carried out.
// The readings stay as they were measured.

import { type Answer, type Remedy, type Units, WAYS } from "./api";
import { checkLength } from "./length";
import type { Request } from "./request";
import { FINEST, fraction, MINUS, NO_BREAK } from "./words";

/** The fields that need a motion ratio or a linkage. */
const BY_RATIO = ["planned_change", "bump_stop_height", "strap_distance", "droop_limit_travel", "condition_arch_gap"];

/** Whether the request can be asked again with a remedy taken. Other remedies are parts to make or buy. */
export function canTake(remedy: Remedy, answer: Answer, request: Request): boolean {
  const byLinkage = answer.required?.basis === "linkage";
  switch (remedy.kind) {
    case "move_mounts_apart":
    case "move_mounts_together":
      return !byLinkage; // its points would have to move
    case "raise_body":
    case "lower_body":
      return true;
    case "less_travel":
      // Stated travel takes the linkage's place.
      return !(byLinkage && BY_RATIO.some((name) => request.get(name) !== "")) && WAYS.every((way) => left(remedy, answer, way) > 0);
    default:
      return false;
  }
}

/**
 * The request with a remedy planned.
 * @param answer that offered it
 * @param decimalComma how the request's figures were typed
 */
export function taken(request: Request, remedy: Remedy, answer: Answer, decimalComma: boolean): Request {
  const { units } = answer;
  const after = request.copy();
  const by = enough(remedy.by, units, room(remedy, answer));
  const add = (name: string, more: number) => {
    const { mm = 0 } = checkLength(request.get(name) || "0", { units, signed: true, decimalComma });
    after.set(name, written(mm / (units === "in" ? 25.4 : 1) + more, units));
  };
  switch (remedy.kind) {
    case "move_mounts_apart":
    case "move_mounts_together":
      add("planned_mount_move", remedy.kind === "move_mounts_apart" ? by : -by);
      break;
    case "raise_body":
    case "lower_body":
      add("planned_change", remedy.kind === "raise_body" ? by : -by);
      break;
    case "less_travel":
      after.set("travel", "stated");
      for (const way of WAYS) {
        after.set(`travel_${way}`, written(left(remedy, answer, way), units));
        add(`travel_given_up_${way}`, givenUp(remedy, answer, way));
      }
      // The needed travel already includes the range of ride heights.
      for (const name of ["ride_height_range_below", "ride_height_range_above"]) after.set(name);
      break;
  }
  return after;
}

/** The travel that a remedy gives up one way. */
function givenUp({ values }: Remedy, { units, required }: Answer, way: (typeof WAYS)[number]): number {
  const given = values[`give_up_${way}`];
  const by = typeof given === "number" ? given : 0;
  return enough(by, units, (required?.[way].least ?? 0) - by);
}

/** The travel that is still needed after the remedy. */
function left(remedy: Remedy, answer: Answer, way: (typeof WAYS)[number]): number {
  return (answer.required?.[way].least ?? 0) - givenUp(remedy, answer, way);
}

/** The least that is told of a length in each unit, and by how much an amount may be more than was computed, since both units write it exactly. */
const TOLD = { in: { step: 1 / 32, grain: 5e-6 }, mm: { step: 0.1, grain: 127e-6 } } as const;

/**
 * An amount that is certainly enough: the one that the remedy's text names, which is
 * rounded up to what can be told. Where there is no room for that, it is rounded up to
 * the next thousandth of an inch, or taken as it is, for the service may have
 * rounded the sixth decimal of an inch down.
 * @param room by how much it may be more
 */
function enough(by: number, units: Units, room: number): number {
  const { step, grain } = TOLD[units];
  const below = Math.floor(by / step + 1e-6) * step;
  if (by - below <= grain) return by;
  if (2 * (below + step - by) < room) return below + step;
  return units === "mm" || Number.isInteger(by * 64) ? by : Math.ceil(by * 1000 + 1e-3) / 1000;
}

/** How much further than its amount a remedy may go before its grade is lost the other way. */
function room({ kind, grade, margin }: Remedy, { required, working_length: length }: Answer): number {
  const way = kind === "move_mounts_apart" || kind === "raise_body" ? "extension" : "compression";
  const wanted = grade === "clear" && required ? required[way].wanted - required[way].least : 0;
  const doubt = grade !== "marginal" && length ? length.high - length.low : 0;
  return margin[way] - wanted - doubt;
}

/** A length as it is typed: inches as a fraction where they are one. */
export function written(value: number, units: Units): string {
  const parts = Math.round(value * FINEST);
  const isFraction = units === "in" && Math.abs(value * FINEST - parts) < 1e-6;
  return `${isFraction ? fraction(parts, FINEST).replace(NO_BREAK, " ").replace(MINUS, "-") : Number(value.toFixed(6))} ${units}`;
}
