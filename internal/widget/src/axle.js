// One axle at the counter: its request, and the answer as it is typed.

import { arithmetic, cautions, headline, lengths, noteList } from "./answer.js";
import { axleForm } from "./axleform.js";
import { fill, folded, h } from "./dom.js";
import { faultsByField } from "./faults.js";
import { Form } from "./form.js";
import { LinkageDrawing } from "./linkage.js";
import { Request } from "./request.js";
import { fitList, missList, ruledOut } from "./results.js";
import { Refused, Unreachable } from "./service.js";
import { shareBox } from "./share.js";

/**
 * @typedef {import("./answer.js").Answer} Answer
 * @typedef {import("./answer.js").Fit} Fit
 * @typedef {object} Place what an axle stands in
 * @property {string} name
 * @property {string} key that browsers reach it by
 * @property {import("./words.js").Words} words
 * @property {import("./service.js").Service} service
 * @property {URLSearchParams} state of the page
 * @property {string} units
 * @property {() => void} changed
 * @property {() => void} compared called when other fits are to be compared
 * @property {() => string} link to the page as it stands
 * @property {() => Request | undefined} other the other axle's request
 */

/** Milliseconds after which an unreachable service is tried again. */
const RETRY = 5000;

/** Characters of a length that a narrow field shows beside its other unit. */
const ROOM = 7;

export class Axle {
  /** @param {Place} place */
  constructor(place) {
    this.#place = place;
    this.name = place.name;
    this.request = Request.read(place.state, place.name + ".");
    this.request.set("units", place.units);
    this.#linkage = new LinkageDrawing(place.service, place.words);
    this.#title = h("h2", { tabindex: -1, id: place.name }, place.words.t("counter." + place.name));
    this.box = h("section", { class: "axle", "aria-labelledby": place.name });
    this.#show();
  }

  /** @type {Place} */
  #place;
  /** @type {Answer | null} */
  answer = null;
  /** Codes of those that are to be compared, kept from answer to answer. @type {Set<string>} */
  #codes = new Set();
  /** @type {Form} */
  // @ts-ignore: show makes it
  #form;
  /** @type {LinkageDrawing} */
  #linkage;
  /** @type {HTMLElement} */
  #title;
  #status = h("p", { class: "status", role: "status" });
  #result = h("div", { class: "result" });
  #picked = h("p", { class: "picked", role: "status" });
  #share = h("div", {});
  #life = new AbortController();
  /** Whether a question is under way, and whether another waits for its answer. */
  #asking = false;
  #waiting = false;
  /** @type {number | undefined} */
  #retry;
  /** The question and the answer that stand there. */
  #told = "";

  /** Ends it. */
  close() {
    clearTimeout(this.#retry);
    this.#life.abort();
  }

  /** The fits that are to be compared, as far as the answer has them. @returns {Fit[]} */
  get chosen() {
    return this.answer?.fits.filter((/** @type {Fit} */ fit) => this.#codes.has(fit.damper.code)) ?? [];
  }

  #compare() {
    const { words, compared } = this.#place;
    const n = this.chosen.length;
    compared();
    // The comparison stands below both axles, most often out of sight.
    fill(this.#picked, n > 0 && h("a", { href: "#compared", onclick: (/** @type {Event} */ event) => {
      event.preventDefault();
      document.getElementById("compared")?.focus();
    } }, words.count("counter.go_to_compared", n)));
  }

  focus() {
    this.#title.focus();
  }

  #show() {
    const { words, other, changed } = this.#place;
    this.#form = new Form(this.request, words, () => {
      changed();
      this.ask();
    }, ROOM);
    const held = this.box.querySelector(":focus")?.getAttribute("data-key");
    const again = () => this.#show();
    fill(this.box,
      h("div", { class: "axle-head" }, this.#title,
        h("button", { type: "button", class: "plain small", "data-key": "copy_other", onclick: () => {
          const from = other();
          if (!from) return;
          this.request = from.copy();
          this.#show();
          changed();
          this.ask();
        } }, words.t("counter.copy_other"))),
      h("form", { class: "ask", novalidate: true, onsubmit: (/** @type {Event} */ event) => {
        event.preventDefault();
        if (this.#form.settle()) this.ask(true);
      }, onkeydown: (/** @type {KeyboardEvent} */ event) => {
        if (event.key === "Enter" && event.ctrlKey) this.#result.querySelector("summary")?.focus();
      } },
      axleForm(this.#form, this.request, words, this.#linkage.box, again),
      h("button", { type: "submit", class: "main", "data-go": "ask" }, words.t("find"))),
      this.#status, h("div", {}, this.#result, this.#picked), this.#share);
    if (held) /** @type {HTMLElement | null} */ (this.box.querySelector("[data-key=" + CSS.escape(held) + "]"))?.focus();
  }

  /**
   * Asks as things stand, at once or as soon as the question before it is
   * answered: the newest always has the last word.
   * @param {boolean} [aloud] whether faults are told beside the fields, and not only that there are some
   */
  async ask(aloud = false) {
    const { words } = this.#place;
    if (this.#asking) {
      this.#waiting = true;
      return;
    }
    clearTimeout(this.#retry);
    this.#linkage.follow(this.request);
    const query = this.request.query(words.decimalComma);
    fill(this.#share, ready(this.request) && shareBox(this.request, words, this.#place.link, Boolean(this.#share.querySelector("[open]"))));
    if (!ready(this.request)) {
      this.#tell(null);
      fill(this.#status, words.t("counter.waiting"));
      return;
    }
    if (!this.#form.sound) {
      this.#outdate(words.t("refused"));
      return;
    }
    this.#asking = true;
    try {
      this.#tell(await this.#place.service.fits(query, this.#life.signal), String(query));
    } catch (error) {
      if (this.#life.signal.aborted) return;
      this.#failed(error, aloud);
    } finally {
      this.#asking = false;
    }
    if (this.#waiting) {
      this.#waiting = false;
      this.ask();
    }
  }

  /**
   * @param {unknown} error
   * @param {boolean} aloud
   */
  #failed(error, aloud) {
    const { words } = this.#place;
    if (error instanceof Unreachable) {
      this.#outdate(words.t("unreachable"));
      this.#retry = setTimeout(() => this.ask(), RETRY);
      return;
    }
    if (!(error instanceof Refused)) throw error;
    const found = faultsByField(error, this.request, words);
    const elsewhere = this.#form.tell(aloud ? found : new Map());
    const said = aloud ? elsewhere : [...found.keys()];
    // Where points or a road are half said there are better words than the
    // names of all that the service would take.
    const missing = said.some((key) => this.#unsaid(key)) ? this.#missing() : [];
    const told = said.filter((key) => missing.length === 0 || !this.#unsaid(key)).map((key) => this.#called(key) + ": " + found.get(key));
    if (missing.length > 0) told.push(words.t("counter.still_missing", { what: missing.join(", ") }));
    this.#outdate(told.length > 0 ? told.join("; ") : words.t("refused"));
  }

  /**
   * @param {string} key of a fault
   * @returns {boolean} whether it is about a part of a linkage or a road of which nothing is said
   */
  #unsaid(key) {
    const name = key.split("/")[0];
    return ["linkage", "road"].includes(this.request.get("travel")) && name.startsWith("travel_") && this.request.all(name).every((text) => text.trim() === "");
  }

  /** @returns {string[]} what is in sight and empty of a linkage or a road, by its label */
  #missing() {
    const inputs = /** @type {HTMLInputElement[]} */ ([...this.box.querySelectorAll(".group.travel [data-key^=travel_]:is(input[type=text], select)")]);
    return [...new Set(inputs
      .filter((input) => input.value.trim() === "" && input.closest("[hidden]") === null && !/_(reserve|damper_on)$/.test(input.dataset.key ?? ""))
      .map((input) => labelOf(input)))];
  }

  /**
   * @param {string} key of a field
   * @returns {string} as the form calls it
   */
  #called(key) {
    const name = key.split("/")[0];
    const control = this.box.querySelector("[data-key=" + CSS.escape(key) + "]") ?? this.box.querySelector("[data-key^=" + CSS.escape(name + "/") + "]");
    return control ? labelOf(control) : name.replaceAll("_", " ");
  }

  /**
   * Says what stands in the way of a new answer. The last one stays in sight,
   * as what it is: somebody is in the middle of a figure, and talking about it.
   * @param {string} status
   */
  #outdate(status) {
    fill(this.#status, status);
    this.#status.dataset.outcome = "";
    this.#result.dataset.old = "true";
  }

  /**
   * @param {Answer | null} answer
   * @param {string} [asked] the question, as it was sent
   */
  #tell(answer, asked = "") {
    const { words } = this.#place;
    // The same answer again is left as it stands, with what was opened in it,
    // for somebody may be at it.
    const told = asked + JSON.stringify(answer);
    const same = answer !== null && told === this.#told;
    this.#told = told;
    if (same) {
      fill(this.#status, headline(answer, this.request, words));
      this.#status.dataset.outcome = answer.outcome;
      delete this.#result.dataset.old;
      return;
    }
    this.answer = answer;
    this.#compare();
    fill(this.#status, answer && headline(answer, this.request, words));
    this.#status.dataset.outcome = answer?.outcome ?? "";
    delete this.#result.dataset.old;
    if (!answer) {
      fill(this.#result);
      return;
    }
    const reading = placeIn(this.#result);
    fill(this.#result,
      noteList(answer.reasons, answer, "notes reasons"), lengths(answer, words),
      fitList(answer, this.request, words, this.name, this.#codes, () => this.#compare()),
      missList(answer, words), ruledOut(answer, words),
      folded(h("summary", {}, words.t("arithmetic")), () => arithmetic(answer, words)),
      cautions(answer, words));
    returnTo(this.#result, reading);
  }
}

/**
 * @param {Element} control
 * @returns {string} its label; that of the row for a coordinate
 */
function labelOf(control) {
  return (control.closest("tr")?.querySelector("th") ?? control.closest(".field")?.querySelector("label, legend"))?.textContent ?? "";
}

/**
 * Where somebody is in a list of rows: what is opened, and which row is held.
 * @param {HTMLElement} result
 * @returns {{ open: string[], held: string | undefined | null }} held is null where nothing in it is
 */
function placeIn(result) {
  const codes = [...result.querySelectorAll(".row[data-code] > details[open]")].map((one) => /** @type {HTMLElement} */ (one.parentElement).dataset.code ?? "");
  const held = result.querySelector(":focus");
  return { open: codes, held: held && /** @type {HTMLElement | null} */ (held.closest(".row[data-code]"))?.dataset.code };
}

/**
 * Opens and holds the same in a new answer. Where what was held is gone, the
 * first line is next best: the keyboard must not fall off the page.
 * @param {HTMLElement} result
 * @param {ReturnType<typeof placeIn>} reading
 */
function returnTo(result, reading) {
  const row = (/** @type {string} */ code) => result.querySelector(".row[data-code=" + CSS.escape(code) + "]");
  for (const code of reading.open) {
    const details = row(code)?.querySelector("details");
    if (details) details.open = true;
  }
  if (reading.held === null) return;
  const held = reading.held === undefined ? null : row(reading.held);
  const summary = /** @type {HTMLElement | null} */ ((held ?? result).querySelector("summary"));
  summary?.focus();
}

/**
 * Whether enough was said to be worth a question.
 * @param {Request} request
 * @returns {boolean}
 */
function ready(request) {
  return request.get("upper") !== "" && request.get("lower") !== ""
    && ["readings", "readings_left", "readings_right"].some((name) => request.all(name).some((text) => text.trim() !== ""));
}
