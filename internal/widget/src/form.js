// Questions and their answers as they are typed, each with what is wrong with
// it beside it.

import { h, newId } from "./dom.js";
import { AMOUNT, BOLT, BY_NAME, LENGTH, LENGTHS, NOUGHT, NUMBER, POINT, SIGNED, WHOLE } from "./fields.js";
import { checkLength, sent } from "./length.js";

/**
 * @typedef {import("./request.js").Request} Request
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./words.js").Units} Units
 * @typedef {"typing" | "left" | "settled"} Stage how far a field has come
 * @typedef {object} Control
 * @property {string} key
 * @property {HTMLElement} box what holds it with its label
 * @property {HTMLElement} focus what is focused to answer it
 * @property {() => string} verdict what is wrong with it as it stands, "" for nothing
 * @property {() => void} refresh
 */

const LENGTH_KINDS = new Set([LENGTH, LENGTHS, POINT, NOUGHT, SIGNED]);

export class Form {
  /**
   * @param {Request} request what is filled in
   * @param {Words} words
   * @param {() => void} changed called after each change
   * @param {number} [room] for how many characters a field has room beside what they come to in the other unit
   */
  constructor(request, words, changed, room = 24) {
    this.request = request;
    this.words = words;
    this.changed = changed;
    this.#room = room;
  }

  /** @type {number} */
  #room;

  /** @type {Control[]} */
  #controls = [];
  /** @type {{box: HTMLElement, when: () => boolean}[]} */
  #conditional = [];
  /** What the service found wrong, by field and for a list by its place. @type {Map<string, string>} */
  #found = new Map();
  /** Fields that were left, whose faults are told even where more typing could cure them. @type {Set<string>} */
  #left = new Set();
  /** Fields that settle looked at, of which it is told too that they are empty. @type {Set<string>} */
  #settled = new Set();

  /** @returns {Units} */
  get units() {
    return this.request.get("units") === "mm" ? "mm" : "in";
  }

  /**
   * A field to type in.
   * @param {string} name
   * @param {{label: string, hint?: string, at?: number, required?: boolean, placeholder?: string, bare?: boolean}} how
   *   at: its place in a list; bare: its label is read out and not seen
   * @returns {HTMLElement}
   */
  text(name, { label, hint, at, required, placeholder, bare }) {
    const field = BY_NAME.get(name);
    const key = at === undefined ? name : name + "/" + at;
    const value = () => at === undefined ? this.request.get(name) : this.request.all(name)[at] ?? "";
    const [id, message, help] = [newId("field"), newId("fault"), newId("hint")];
    const note = h("p", { id: message, class: "fault", part: "fault", "aria-live": "polite" });
    const echo = h("span", { class: "echo" });
    const input = /** @type {HTMLInputElement} */ (h("input", {
      id, part: "input", type: "text", autocomplete: "off", autocapitalize: "off", autocorrect: "off", spellcheck: "false", enterkeyhint: "next",
      maxlength: 200, placeholder, "data-key": key, "aria-describedby": hint ? help + " " + message : message,
      "aria-required": required ? "true" : null,
      oninput: () => {
        if (at === undefined) this.request.set(name, input.value);
        else this.request.setAt(name, at, input.value);
        for (const told of [this.#found, this.#left, this.#settled]) told.delete(key);
        this.#refreshAll();
        this.changed();
      },
      onblur: () => {
        this.#left.add(key);
        control.refresh();
      },
    }));
    input.value = value();
    const verdict = (/** @type {Stage} */ stage) => this.#wrong(field?.kind ?? "", value(), required, stage);
    const control = {
      key, focus: input,
      box: h("div", { class: "field" },
        h("label", { for: id, class: bare && "unseen" }, label), hint && h("p", { id: help, class: "hint" }, hint),
        h("div", { class: "entry" }, input, bare ? null : echo), note),
      verdict: () => verdict("settled"),
      refresh: () => {
        // The same may be asked in two places, of which one is in sight.
        if (input.value !== value()) input.value = value();
        this.#mark(input, note, this.#found.get(key) ?? verdict(this.#settled.has(key) ? "settled" : this.#left.has(key) ? "left" : "typing"));
        const other = bare || !LENGTH_KINDS.has(field?.kind ?? "") ? "" : this.#echo(value());
        if (echo.textContent !== other) echo.textContent = other;
      },
    };
    return this.#keep(control);
  }

  /**
   * A field to choose in, as a list that opens; where empty is given its words
   * stand for no choice.
   * @param {string} name
   * @param {{label: string, options: string[], word: (option: string) => string, empty?: string, required?: boolean, then?: () => void}} how
   * @returns {HTMLElement}
   */
  select(name, { label, options, word, empty, required, then }) {
    const [id, message] = [newId("field"), newId("fault")];
    const note = h("p", { id: message, class: "fault", part: "fault", "aria-live": "polite" });
    const select = /** @type {HTMLSelectElement} */ (h("select", {
      id, part: "input", "data-key": name, "aria-describedby": message,
      onchange: () => this.#choose(name, select.value, then),
    }, empty !== undefined && h("option", { value: "" }, empty), options.map((option) => h("option", { value: option }, word(option)))));
    select.value = this.request.get(name);
    // What goes without saying may have been said.
    if (select.selectedIndex < 0) select.selectedIndex = 0;
    return this.#keep(this.#chosen(name, select, note, required, h("div", { class: "field" }, h("label", { for: id }, label), select, note)));
  }

  /**
   * A field to choose in, all its options in sight.
   * @param {string} name
   * @param {{label: string, options: string[], word: (option: string) => string, about?: (option: string) => string, required?: boolean, then?: () => void}} how
   * @returns {HTMLElement}
   */
  radios(name, { label, options, word, about, required, then }) {
    const [group, message] = [newId("group"), newId("fault")];
    const note = h("p", { id: message, class: "fault", part: "fault", "aria-live": "polite" });
    const given = this.request.get(name) || (required ? "" : options[0]);
    const boxes = options.map((option) => {
      const radio = /** @type {HTMLInputElement} */ (h("input", {
        type: "radio", name: group, value: option, "data-key": name, onchange: () => this.#choose(name, option, then),
      }));
      radio.checked = option === given;
      return h("label", { class: "option" }, radio, h("span", {}, word(option), about && h("small", {}, about(option))));
    });
    const box = h("fieldset", { class: "field radios", "aria-describedby": message }, h("legend", {}, label), boxes, note);
    return this.#keep(this.#chosen(name, /** @type {HTMLElement} */ (boxes[0].firstChild), note, required, box));
  }

  /**
   * A yes or nothing.
   * @param {string} name
   * @param {string} label
   * @returns {HTMLElement}
   */
  flag(name, label) {
    const message = newId("fault");
    const note = h("p", { id: message, class: "fault", part: "fault", "aria-live": "polite" });
    const box = /** @type {HTMLInputElement} */ (h("input", {
      type: "checkbox", "data-key": name, "aria-describedby": message, onchange: () => this.#choose(name, box.checked ? "true" : ""),
    }));
    box.checked = this.request.get(name) === "true";
    return this.#keep(this.#chosen(name, box, note, false, h("div", { class: "field" }, h("label", { class: "option" }, box, h("span", {}, label)), note)));
  }

  /**
   * Any of some options.
   * @param {string} name
   * @param {{label: string, options: string[], word: (option: string) => string}} how
   * @returns {HTMLElement}
   */
  checks(name, { label, options, word }) {
    const note = h("p", { class: "fault", part: "fault", "aria-live": "polite" });
    const boxes = options.map((option) => {
      const box = /** @type {HTMLInputElement} */ (h("input", { type: "checkbox", value: option, "data-key": name, onchange: () => this.#chooseAll(name, all) }));
      box.checked = this.request.all(name).includes(option);
      return box;
    });
    const all = () => boxes.filter((box) => box.checked).map((box) => box.value);
    const labels = boxes.map((box) => h("label", { class: "option" }, box, h("span", {}, word(box.value))));
    return this.#keep(this.#chosen(name, boxes[0], note, false, h("fieldset", { class: "field checks" }, h("legend", {}, label), labels, note)));
  }

  /**
   * What is shown only while the answers so far ask for it.
   * @param {() => boolean} when
   * @param {...import("./dom.js").Child} children
   * @returns {HTMLElement}
   */
  only(when, ...children) {
    const box = h("div", { class: "only" }, children);
    this.#conditional.push({ box, when });
    box.hidden = !when();
    return box;
  }

  /**
   * Shows what the service found wrong, and focuses the first of it.
   * @param {Map<string, string>} found text by field
   * @returns {string[]} the fields that aren't asked for here
   */
  tell(found) {
    this.#found = new Map(found);
    this.#refreshAll();
    const here = this.#controls.filter((control) => found.has(control.key) && inSight(control));
    reveal(here[0]);
    return [...found.keys()].filter((key) => !here.some((control) => control.key === key));
  }

  /**
   * Tells all that is wrong as far as can be seen here, and focuses the first
   * of it.
   * @returns {boolean} whether nothing is
   */
  settle() {
    const wrong = this.#controls.filter((control) => inSight(control) && control.verdict() !== "");
    for (const control of wrong) {
      this.#settled.add(control.key);
      control.refresh();
    }
    reveal(wrong[0]);
    return wrong.length === 0;
  }

  /** @returns {Set<string>} the fields that are asked for here */
  get names() {
    return new Set(this.#controls.map(({ key }) => key.split("/")[0]));
  }

  /** @returns {boolean} whether all that is in sight is answered rightly, without telling */
  get sound() {
    return this.#controls.every((control) => !inSight(control) || control.verdict() === "");
  }

  /**
   * @param {Control} control
   * @returns {HTMLElement}
   */
  #keep(control) {
    this.#controls.push(control);
    control.refresh();
    return control.box;
  }

  /**
   * @param {string} name
   * @param {HTMLElement} focus
   * @param {HTMLElement} note
   * @param {boolean | undefined} required
   * @param {HTMLElement} box
   * @returns {Control}
   */
  #chosen(name, focus, note, required, box) {
    const verdict = () => required && !this.request.get(name) ? this.words.t("fault_choose") : "";
    const refresh = () => this.#mark(focus, note, this.#found.get(name) ?? (this.#settled.has(name) ? verdict() : ""));
    return { key: name, focus, box, verdict, refresh };
  }

  /**
   * @param {string} name
   * @param {string} value
   * @param {() => void} [then]
   */
  #choose(name, value, then) {
    this.request.set(name, value);
    this.#found.delete(name);
    this.#refreshAll();
    then?.();
    this.changed();
  }

  /**
   * @param {string} name
   * @param {() => string[]} values
   */
  #chooseAll(name, values) {
    this.request.set(name, ...values());
    this.#found.delete(name);
    this.#refreshAll();
    this.changed();
  }

  #refreshAll() {
    for (const { box, when } of this.#conditional) box.hidden = !when();
    for (const control of this.#controls) control.refresh();
  }

  /**
   * What is wrong with a text, in words.
   * @param {string} kind
   * @param {string} text
   * @param {boolean | undefined} required
   * @param {Stage} stage
   * @returns {string}
   */
  #wrong(kind, text, required, stage) {
    if (text.trim() === "") return required && stage === "settled" ? this.words.t("fault_empty") : "";
    const { fault, unfinished } = this.#check(kind, text);
    return fault === undefined || (stage === "typing" && unfinished) ? "" : this.words.t("fault_" + fault);
  }

  /**
   * @param {string} kind
   * @param {string} text
   * @returns {import("./length.js").Checked}
   */
  #check(kind, text) {
    const { units, words } = this;
    switch (kind) {
      case LENGTH:
      case LENGTHS:
        return checkLength(text, { units, decimalComma: words.decimalComma });
      case NOUGHT:
        return checkLength(text, { units, decimalComma: words.decimalComma, nought: true });
      case SIGNED:
      case POINT:
        return checkLength(text, { units, decimalComma: words.decimalComma, signed: true });
      case NUMBER:
      case AMOUNT:
        return /^-?(?:\d+(?:\.\d+)?|\.\d+)$/.test(sent(text, words.decimalComma)) ? {} : { fault: "number", unfinished: /^-?\d*[.,]?$/.test(text.trim()) };
      case WHOLE:
        return /^\d+$/.test(text.trim()) ? {} : { fault: "whole" };
      case BOLT:
        return /\d/.test(text) ? {} : { fault: "bolt", unfinished: /^m$/i.test(text.trim()) };
      default:
        return {};
    }
  }

  /**
   * A length that was typed, in the other unit, so that a slip of unit shows.
   * @param {string} text
   * @returns {string} "" where there is none
   */
  #echo(text) {
    const { mm } = checkLength(text, { units: this.units, decimalComma: this.words.decimalComma, signed: true });
    if (mm === undefined || text.length > this.#room) return "";
    return "= " + (this.units === "in" ? this.words.length(mm, "mm") : this.words.number(mm / 25.4, 3) + "\u00a0in");
  }

  /**
   * @param {HTMLElement} input
   * @param {HTMLElement} note
   * @param {string} wrong
   */
  #mark(input, note, wrong) {
    if (note.textContent === wrong) return;
    note.textContent = wrong;
    if (wrong) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
}

/**
 * Leads to a control, also where it stands in a part that was closed.
 * @param {Control | undefined} control
 */
function reveal(control) {
  const details = control?.box.closest("details");
  if (details) details.open = true;
  control?.focus.focus();
}

/**
 * @param {Control} control
 * @returns {boolean}
 */
function inSight({ box }) {
  return box.closest("[hidden]") === null;
}
