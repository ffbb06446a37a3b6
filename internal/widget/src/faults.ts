// What the service found wrong, by the fields that it is about.

import { fieldOf, FIELDS } from "./fields";
import { checkLength } from "./length";
import type { Request } from "./request";
import type { Refused } from "./service";
import { capitalised, type Words } from "./words";

/** The faults of a request that was sent in flat names, as texts by key. */
export function faultsByKey(refused: Refused, request: Request, words: Words): Map<string, string> {
  const found = new Map<string, string>();
  for (const { parameter, detail } of refused.faults) {
    if (!parameter) continue;
    const field = fieldOf(parameter);
    const key = field?.list && field.kind !== "choice" ? `${parameter}/${placeOf(parameter, request, words)}` : parameter;
    if (!found.has(key)) found.set(key, capitalised(inLabels(detail, words)));
  }
  return found;
}

/** What is wrong with a request that a person didn't type here, by the label of what it is about. */
export function faultTexts(refused: Refused, words: Words): string[] {
  if (refused.faults.length === 0) return [refused.message];
  return refused.faults.map(({ parameter, detail }) => {
    const label = parameter && `\u201c${words.fullLabel(parameter)}\u201d`;
    if (!label || !fieldOf(parameter)) return capitalised(parameter ? `${parameter}: ${detail}` : detail);
    // A text that names its field needs no label before it.
    const named = detail.split(" ").map((word) => word === parameter ? label : word).join(" ");
    return capitalised(named === detail ? `${label}: ${detail}` : named);
  });
}

/** A text with labels in place of the contract's names of fields and options. */
function inLabels(text: string, words: Words): string {
  return text.replace(/\b[a-z]+(?:_[a-z]+)+\b/g, (name) => {
    const field = FIELDS.find((one) => one.name === name || one.name.endsWith(`_${name}`));
    const chosen = FIELDS.find(({ options }) => options?.includes(name));
    return field ? `\u201c${words.label(field.name)}\u201d` : chosen ? `\u201c${words.option(chosen.name, name)}\u201d` : name;
  });
}

/** The place in a list that a fault is most likely about. */
function placeOf(name: string, request: Request, words: Words): number {
  const { units } = request;
  const at = request.all(name).findIndex((text) =>
    text.trim() !== "" && checkLength(text, { units, signed: true, decimalComma: words.decimalComma }).mm === undefined);
  return Math.max(at, 0);
}
