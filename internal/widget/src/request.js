// A request as it is being written, text by text as people type it.

import { checkLength, sent } from "./length.js";
import { AMOUNT, BOLT, FIELDS, FLAG, IS_PLANAR, LENGTH, LENGTHS, NOUGHT, NUMBER, POINT, SIGNED, WHOLE } from "./fields.js";

/** @typedef {import("./fields.js").Field} Field */

/** Kinds in which a bare figure means what the units say. */
const MEASURED = new Set([LENGTH, NOUGHT, SIGNED, LENGTHS, POINT, BOLT]);

/** Kinds that hold figures, in which a decimal comma may have been typed. */
const FIGURES = new Set([LENGTH, NOUGHT, SIGNED, NUMBER, AMOUNT, BOLT, LENGTHS, POINT]);

export class Request {
  /** @type {Map<string, string[]>} */
  #values = new Map();

  /**
   * Reads a query in flat names; names that aren't known are passed over.
   * @param {URLSearchParams} query
   * @param {string} [prefix] that the names have
   * @returns {Request}
   */
  static read(query, prefix = "") {
    const r = new Request();
    for (const { name, kind } of FIELDS) {
      const values = query.getAll(prefix + name);
      // A point's coordinates keep their places, blanks and all.
      r.set(name, ...(kind === POINT && values.some((value) => value.trim() !== "") ? values : values.filter((value) => value.trim() !== "")));
    }
    if (r.get("travel_linkage_lower_arm_inner") !== "") r.set(IS_PLANAR, "true");
    return r;
  }

  /**
   * The value of a field, "" where it has none.
   * @param {string} name
   * @returns {string}
   */
  get(name) {
    return this.#values.get(name)?.[0] ?? "";
  }

  /**
   * All values of a list, in their places.
   * @param {string} name
   * @returns {string[]}
   */
  all(name) {
    return this.#values.get(name) ?? [];
  }

  /**
   * @param {string} name
   * @param {...string} values
   */
  set(name, ...values) {
    if (values.every((value) => value === "")) this.#values.delete(name);
    else this.#values.set(name, values);
  }

  /**
   * Sets one value of a list, in its place.
   * @param {string} name
   * @param {number} index
   * @param {string} value
   */
  setAt(name, index, value) {
    const values = [...this.all(name)];
    while (values.length <= index) values.push("");
    values[index] = value;
    this.set(name, ...values);
  }

  /** @returns {Request} one with the same values */
  copy() {
    const r = new Request();
    for (const [name, values] of this.#values) r.set(name, ...values);
    return r;
  }

  /**
   * What is said, field by field in the contract's order: without what is
   * empty, and without what has no meaning beside the rest, such as a stud's
   * washer once the end has become an eye.
   * @param {boolean} decimalComma
   * @returns {{field: Field, values: string[]}[]}
   */
  said(decimalComma) {
    const all = [];
    for (const field of FIELDS) {
      let values = this.all(field.name);
      if (field.kind !== POINT) values = values.filter((value) => value.trim() !== "");
      if (values.length === 0 || !field.when(this)) continue;
      all.push({ field, values: FIGURES.has(field.kind) ? values.map((value) => sent(value, decimalComma)) : values });
    }
    return all;
  }

  /**
   * The request in flat names.
   * @param {boolean} [decimalComma]
   * @returns {URLSearchParams}
   */
  query(decimalComma = false) {
    const query = new URLSearchParams();
    for (const { field, values } of this.said(decimalComma)) {
      for (const value of values) query.append(field.name, value);
    }
    return query;
  }

  /**
   * The request as a body.
   * @param {boolean} [decimalComma]
   * @returns {Record<string, any>}
   */
  body(decimalComma = false) {
    /** @type {Record<string, any>} */
    const body = {};
    for (const { field, values } of this.said(decimalComma)) {
      const names = field.path.slice(1).split("/");
      const last = names.pop() ?? "";
      const record = names.reduce((at, name) => (at[name] ??= {}), body);
      record[last] = [...(record[last] ?? []), ...values.map((value) => inBody(field, value))];
      if (!isList(field)) record[last] = record[last][0];
    }
    return body;
  }

  /** @returns {boolean} whether nothing has been said yet */
  get empty() {
    return this.#values.size === 0;
  }
}

/**
 * Gives every bare length its unit before the request's units change, for a
 * reading stays what it was on the tape. What names its unit, what has none,
 * such as M12, and what is no length yet stay as they are.
 * @param {Request} request
 * @param {string} from its units
 * @param {string} to
 * @param {boolean} [decimalComma]
 */
export function keepMeaning(request, from, to, decimalComma = false) {
  if (from === to) return;
  const mm = (/** @type {string} */ text, /** @type {string} */ units) =>
    checkLength(text, { units: units === "mm" ? "mm" : "in", signed: true, decimalComma }).mm;
  for (const { name, kind } of FIELDS) {
    if (!MEASURED.has(kind)) continue;
    request.set(name, ...request.all(name).map((text) => {
      const meant = mm(text, from);
      return meant === undefined || meant === mm(text, to) ? text : text.trim() + " " + from;
    }));
  }
}

/**
 * @param {Field} field
 * @returns {boolean}
 */
function isList(field) {
  return field.kind === LENGTHS || field.kind === POINT || field.kind.endsWith("s");
}

/**
 * A value as a body has it. What isn't a number stays the text that it is, for
 * the service to say so.
 * @param {Field} field
 * @param {string} value
 * @returns {unknown}
 */
function inBody(field, value) {
  switch (field.kind) {
    case FLAG: return value === "true";
    case NUMBER:
    case WHOLE: return Number.isFinite(Number(value)) ? Number(value) : value;
    case LENGTHS: return field.side ? { length: value, side: field.side } : value;
    default: return value;
  }
}
