// A request as it is being written, text by text as people type it.

import type { Units } from "./api";
import { type Field, FIELDS, hasFigures, hasUnits, IS_PLANAR, isAsked, isPoint } from "./fields";
import { checkLength, sent } from "./length";

/** A field with its values as they are sent. */
interface Said {
  field: Field;
  values: string[];
}

export class Request {
  readonly #values = new Map<string, string[]>();

  /** Reads a query in flat names, each after a prefix. Names that aren't known are ignored. */
  static read(query: URLSearchParams, prefix = ""): Request {
    const request = new Request();
    for (const field of FIELDS) {
      const values = query.getAll(prefix + field.name);
      const some = values.filter(isSaid);
      // A point's coordinates keep their places.
      request.set(field.name, ...(isPoint(field) && some.length > 0 ? values : some));
    }
    if (request.get("travel_linkage_lower_arm_inner") !== "") request.set(IS_PLANAR, "true");
    return request;
  }

  /** Reads a body, as it was sent. */
  static of(body: Record<string, any>): Request {
    const request = new Request();
    for (const field of FIELDS) {
      const value = field.path.slice(1).split("/").reduce<any>((at, name) => at?.[name], body);
      const values = (field.list ? [value ?? []].flat() : [value]).filter((one) => one !== undefined && (one?.side ?? "") === (field.option ?? ""));
      request.set(field.name, ...values.map((one) => String(typeof one === "object" && one ? one.length : one)));
    }
    return request;
  }

  /** The value of a field, "" where it has none. */
  get(name: string): string {
    return this.#values.get(name)?.[0] ?? "";
  }

  /** All values of a list, in their places. */
  all(name: string): readonly string[] {
    return this.#values.get(name) ?? [];
  }

  /** The values of a list that aren't blank. */
  some(name: string): string[] {
    return this.all(name).filter(isSaid);
  }

  /** How lengths without a unit are meant. */
  get units(): Units {
    return this.get("units") === "mm" ? "mm" : "in";
  }

  set(name: string, ...values: string[]): void {
    if (values.every((value) => value === "")) this.#values.delete(name);
    else this.#values.set(name, values);
  }

  /** Sets one value of a list, in its place. */
  setAt(name: string, index: number, value: string): void {
    const values = [...this.all(name)];
    while (values.length <= index) values.push("");
    values[index] = value;
    this.set(name, ...values);
  }

  copy(): Request {
    const copy = new Request();
    for (const [name, values] of this.#values) copy.set(name, ...values);
    return copy;
  }

  /**
   * The fields that are sent, in the contract's order: those that have a value
   * and a meaning. A stud's washer has none once the end has become an eye.
   */
  said(decimalComma: boolean): Said[] {
    return FIELDS.flatMap((field) => {
      const values = isPoint(field) ? [...this.all(field.name)] : this.some(field.name);
      if (values.length === 0 || !isAsked(field, this)) return [];
      return [{ field, values: hasFigures(field) ? values.map((value) => sent(value, decimalComma)) : values }];
    });
  }

  /** The request in flat names. */
  query(decimalComma = false): URLSearchParams {
    const query = new URLSearchParams();
    for (const { field, values } of this.said(decimalComma)) {
      for (const value of values) query.append(field.name, value);
    }
    return query;
  }

  /** The request as a body. */
  body(decimalComma = false): Record<string, any> {
    const body: Record<string, any> = {};
    for (const { field, values } of this.said(decimalComma)) {
      const names = field.path.slice(1).split("/");
      const last = names.pop() ?? "";
      const record = names.reduce((at, name) => (at[name] ??= {}), body);
      const all = values.map((value) => inBody(field, value));
      record[last] = field.list ? [...(record[last] ?? []), ...all] : all[0];
    }
    return body;
  }
}

function isSaid(text: string): boolean {
  return text.trim() !== "";
}

/** A value as a body has it. What isn't a number stays a text, for the service to say so. */
function inBody(field: Field, value: string): unknown {
  switch (field.kind) {
    case "flag": return value === "true";
    case "number":
    case "measure":
    case "whole": return Number.isFinite(Number(value)) ? Number(value) : value;
    default: return field.option ? { length: value, side: field.option } : value;
  }
}

/**
 * Gives every bare length its unit before the request's units change, for a
 * reading stays what it was on the tape. What names its unit, what has none,
 * such as M12, and what is no length yet stay as they are.
 */
export function keepMeaning(request: Request, to: Units, decimalComma = false): void {
  const from = request.units;
  if (from === to) return;
  const mm = (text: string, units: Units) => checkLength(text, { units, signed: true, decimalComma }).mm;
  for (const field of FIELDS.filter(hasUnits)) {
    request.set(field.name, ...request.all(field.name).map((text) => {
      const meant = mm(text, from);
      return meant === undefined || meant === mm(text, to) ? text : `${text.trim()} ${from}`;
    }));
  }
}
