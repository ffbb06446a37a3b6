// What is typed into a request and what is wrong with it. The controls show it.

import type { Units } from "./api";
import { type Field, fieldOf, hasUnits } from "./fields";
import { type Checked, checkLength, sent } from "./length";
import type { Request } from "./request";
import { capitalised, type Words } from "./words";

/**
 * How far a field has come: somebody types in it, has left it, or has asked
 * with it. A text that more typing can mend is no fault while it is typed, and
 * an empty field is one only once somebody has asked.
 */
type Stage = "typing" | "left" | "asked";

export class Form {
  /** What the service found wrong, by key. */
  #found = new Map<string, string>();
  readonly #stages = new Map<string, Stage>();
  /** The key of the field that shows its keypad: the last one that was typed in, so that leaving it moves nothing under a finger. */
  held = "";

  /**
   * @param name begins the ids of its fields, so that two forms can stand on one page
   * @param changed called after each change of the request
   * @param redraw called when other faults are to be shown
   */
  constructor(
    readonly name: string, readonly request: Request, readonly words: Words, private readonly changed: () => void, readonly redraw: () => void,
  ) {}

  get units(): Units {
    return this.request.units;
  }

  /** The value at a key: a field's name, and for one value of a list a slash and its place. */
  value(key: string): string {
    const [name, at] = key.split("/");
    return at === undefined ? this.request.get(name) : this.request.all(name)[Number(at)] ?? "";
  }

  /** Sets the value at a key. */
  set(key: string, value: string): void {
    const [name, at] = key.split("/");
    if (at === undefined) this.request.set(name, value);
    else this.request.setAt(name, Number(at), value);
    this.#touched(key);
  }

  /** Sets all values of a list. */
  setAll(name: string, values: string[]): void {
    this.request.set(name, ...values);
    this.#touched(name);
  }

  #touched(key: string): void {
    this.#found.delete(key);
    this.#stages.delete(key);
    this.changed();
  }

  /** Shows a field's keypad. */
  hold(key: string): void {
    if (this.held === key) return;
    this.held = key;
    this.redraw();
  }

  /** Somebody has left a field. */
  leave(key: string): void {
    if (this.#stages.has(key)) return;
    this.#stages.set(key, "left");
    this.redraw();
  }

  /** What is to be shown beside a field, "" for nothing. */
  fault(key: string, required = false): string {
    return this.#found.get(key) ?? this.#wrong(key, required, this.#stages.get(key) ?? "typing");
  }

  /** Whether no field that is sent has a fault. */
  get sound(): boolean {
    return this.request.said(this.words.decimalComma).every(({ field, values }) => values.every((text) => text.trim() === "" || !this.#check(field, text).fault));
  }

  /** Whether every fault of a field that is sent is one that more typing can mend, in a field that is being typed in. */
  get unfinished(): boolean {
    return this.request.said(this.words.decimalComma).every(({ field, values }) => values.every((text, at) => {
      const { fault, unfinished } = text.trim() === "" ? {} as Checked : this.#check(field, text);
      return fault === undefined || Boolean(unfinished) && !this.#stages.has(field.list ? `${field.name}/${at}` : field.name);
    }));
  }

  /**
   * Shows all that is wrong with the fields in a part of the page, and focuses
   * the first of them.
   * @returns whether nothing is
   */
  settle(part: ParentNode): boolean {
    const wrong = controlsIn(part).filter((control) => this.#wrong(keyOf(control), control.hasAttribute("data-required"), "asked") !== "");
    for (const control of wrong) this.#stages.set(keyOf(control), "asked");
    this.redraw();
    reveal(wrong[0]);
    return wrong.length === 0;
  }

  /** Shows what the service found wrong, each beside its field, and leaves the focus where it is. */
  show(found: Map<string, string>): void {
    if (found.size === 0 && this.#found.size === 0) return;
    this.#found = found;
    this.redraw();
  }

  /**
   * Shows what the service found wrong with the fields in a part of the page,
   * and focuses the first of them.
   * @param found text by key
   * @returns the keys that have no field there
   */
  tell(found: Map<string, string>, part: ParentNode): string[] {
    this.show(found);
    const here = controlsIn(part).filter((control) => found.has(keyOf(control)));
    reveal(here[0]);
    const shown = new Set(here.map(keyOf));
    return [...found.keys()].filter((key) => !shown.has(key));
  }

  /** A length in the other unit, so that a mistaken unit is seen; "" for what is no length. */
  echo(key: string): string {
    const text = this.value(key);
    const field = fieldAt(key);
    if (!field || !hasUnits(field)) return "";
    const { mm } = checkLength(text, { units: this.units, decimalComma: this.words.decimalComma, signed: true });
    if (mm === undefined) return "";
    return "= " + (this.units === "in" ? this.words.length(mm, "mm") : `${this.words.number(mm / 25.4, 3)}\u00a0in`);
  }

  #wrong(key: string, required: boolean, stage: Stage): string {
    const text = this.value(key);
    const field = fieldAt(key);
    if (text.trim() === "") {
      if (!required || stage !== "asked") return "";
      return this.words.t(field?.kind === "choice" ? "fault_choose" : "fault_empty");
    }
    const { fault, unfinished } = field ? this.#check(field, text) : {};
    return fault === undefined || (stage === "typing" && unfinished) ? "" : capitalised(this.words.fault(fault));
  }

  #check({ kind, sign, units }: Field, text: string): Checked {
    const rules = { units: this.units, decimalComma: this.words.decimalComma };
    switch (kind) {
      case "length":
        return checkLength(text, { ...rules, zero: sign === "zero_or_more", signed: sign === "any" });
      case "number":
      case "amount":
        return /^-?(?:\d+(?:\.\d+)?|\.\d+)$/.test(sent(text, rules.decimalComma)) ? {} : { fault: "number", unfinished: /^-?\d*[.,]?$/.test(text.trim()) };
      case "measure":
        return checkMeasure(sent(text, rules.decimalComma), units ?? []);
      case "whole":
        return /^\d+$/.test(text.trim()) ? {} : { fault: "whole" };
      case "bolt":
        return /\d/.test(text) ? {} : { fault: "bolt", unfinished: /^m$/i.test(text.trim()) };
      default:
        return {};
    }
  }
}

/** A number, alone or with one of some units, which people write with and without blanks and dots. */
function checkMeasure(text: string, units: readonly string[]): Checked {
  const [, number, unit] = /^([^a-z]*)(.*)$/i.exec(text) ?? [];
  const plain = (name: string) => name.toLowerCase().replace(/[\s·*-]/g, "");
  if (!/^-?(?:\d+(?:\.\d+)?|\.\d+)\s*$/.test(number)) return { fault: "measure", unfinished: /^-?\d*[.,]?$/.test(text) };
  if (unit === "" || units.some((name) => plain(name) === plain(unit))) return {};
  return { fault: "measure", unfinished: units.some((name) => plain(name).startsWith(plain(unit))) };
}

function controlsIn(part: ParentNode): HTMLElement[] {
  return [...part.querySelectorAll<HTMLElement>("[data-key]")].filter((control) => fieldAt(keyOf(control)));
}

function keyOf(control: HTMLElement): string {
  return control.dataset.key ?? "";
}

function fieldAt(key: string): Field | undefined {
  return fieldOf(key.split("/")[0]);
}

/** Focuses the field of a name in a part of the page. */
export function goToField(part: ParentNode, name: string): void {
  reveal(controlsIn(part).find((control) => keyOf(control).split("/")[0] === name));
}

/** Focuses a control, and opens the parts of the page in which it stands. */
function reveal(control: HTMLElement | undefined): void {
  for (let details = control?.closest("details"); details; details = details.parentElement?.closest("details")) details.open = true;
  control?.focus();
}
