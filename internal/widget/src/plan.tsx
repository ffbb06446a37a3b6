// What a request takes as given although it isn't done yet: mounts to be moved,
// a height to be changed, travel to be given up.

import { h } from "preact";
import type { Units } from "./api";
import { checkLength } from "./length";
import { written } from "./remedy";
import type { Request } from "./request";
import type { Words } from "./words";

/** A change that is planned. */
export interface Plan {
  /** the first of its fields */
  field: string;
  /** in words, with its amount */
  text: string;
  /** the amount in the request's units, where it is one that a slider changes */
  amount?: number;
}

const GIVEN_UP = ["travel_given_up_compression", "travel_given_up_extension"] as const;

/** The changes that a request takes as made. */
export function plansOf(request: Request, words: Words): Plan[] {
  const asked = new Set(request.said(words.decimalComma).map(({ field }) => field.name));
  const mm = (name: string) => asked.has(name) ? checkLength(request.get(name), { units: request.units, signed: true, decimalComma: words.decimalComma }).mm ?? 0 : 0;
  const amount = (name: string) => mm(name) / (request.units === "in" ? 25.4 : 1);
  const length = (name: string) => words.exact(Math.abs(amount(name)), request.units);
  const plans: Plan[] = [];
  const say = (field: string, more: "plan_apart" | "plan_raise", less: "plan_together" | "plan_lower") => {
    // A slider may stand at nothing for a moment.
    if (asked.has(field)) plans.push({ field, text: words.t(mm(field) < 0 ? less : more, { length: length(field) }), amount: amount(field) });
  };
  say("planned_mount_move", "plan_apart", "plan_together");
  say("planned_change", "plan_raise", "plan_lower");
  if (GIVEN_UP.some((name) => mm(name) !== 0)) {
    plans.push({ field: GIVEN_UP[0], text: words.t("plan_travel", { compression: length(GIVEN_UP[0]), extension: length(GIVEN_UP[1]) }) });
  }
  return plans;
}

/** The request without its plans. Travel that was given up is asked for again. */
export function withoutPlans(request: Request, decimalComma: boolean): Request {
  const after = request.copy();
  for (const name of ["planned_mount_move", "planned_change"]) after.set(name);
  const mm = (name: string) => checkLength(request.get(name) || "0", { units: request.units, signed: true, decimalComma }).mm ?? 0;
  for (const name of GIVEN_UP) {
    const asked = name.replace("_given_up", "");
    if (mm(name) !== 0) after.set(asked, `${Number((mm(asked) + mm(name)).toFixed(6))} mm`);
    after.set(name);
  }
  return after;
}

/** How far a slider goes either way, and by which steps, in each unit. */
const SLIDER = { in: { most: 4, step: 1 / 16 }, mm: { most: 100, step: 1 } } as const;

interface Told {
  plans: readonly Plan[];
  words: Words;
  /** drops the last one that was made */
  undo: () => void;
  /** changes the amount of one; without it they have no sliders */
  slide?: (field: string, amount: string) => void;
  units: Units;
}

/** The plans, told as what they are. */
export function Plans({ plans, words, undo, slide, units }: Told) {
  if (plans.length === 0) return null;
  const { most, step } = SLIDER[units];
  return (
    <div class="plans" part="plans">
      <p><b>{words.t("planned")}</b></p>
      <ul>
        {plans.map(({ field, text, amount }) => (
          <li key={field} data-field={field}>
            <span>{text}</span>
            {slide && amount !== undefined && (
              <input
                type="range" min={-most} max={most} step={step} value={amount} aria-label={words.label(field)} aria-valuetext={text}
                onInput={(event) => slide(field, written(Number(event.currentTarget.value), units))}
              />
            )}
          </li>
        ))}
      </ul>
      <button type="button" class="plain" data-go="undo" onClick={undo}>{words.t("planned_undo")}</button>
    </div>
  );
}
