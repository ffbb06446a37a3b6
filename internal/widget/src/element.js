// <midstroke-fit>: the web component.

import { answerScreen } from "./screen.js";
import { fill, h } from "./dom.js";
import { STYLES } from "./fields.js";
import { faultsByField } from "./faults.js";
import { Form } from "./form.js";
import { keepMeaning, Request } from "./request.js";
import { Refused, Service, Unreachable } from "./service.js";
import { once, STEPS, stepOf, withinMethod } from "./steps.js";
import { taken } from "./remedy.js";
import { Words } from "./words.js";
import base from "./base.css" with { type: "css" };
import styles from "./widget.css" with { type: "css" };

/** The step after the last question. */
const ANSWER = STEPS.length;

/** Milliseconds after which an unreachable service is tried again. */
const RETRY = 5000;

/** How many fits are shown unless the page asks for more: a phone is small. */
const FITS = "5";

/** The step that how the ends are measured is shown in. */
const MEASURE = STEPS.findIndex((step) => step.name === "measure");

/** Attributes that fill in a field. */
const PRESETS = ["units", "reference", "upper", "lower", "suspension", "catalog", "dampers", "top"];

/** What may be preset of a field that has a few answers; anything else is passed over. @type {Record<string, string[]>} */
const OPTIONS = { units: ["in", "mm"], upper: STYLES, lower: STYLES, suspension: ["solid_axle", "independent"] };

/** Where this script came from, which is where the service is. */
const HOME = new URL(/** @type {HTMLScriptElement | null} */ (document.currentScript)?.src || document.baseURI).origin;

class MidstrokeFit extends HTMLElement {
  static observedAttributes = ["key", "units", "lang", "service", "theme", "reference", "preset", ...PRESETS];

  #request = new Request();
  #step = 0;
  /** @type {import("./answer.js").Answer | null} */
  #answer = null;
  /** @type {AbortController} */
  #life = new AbortController();
  /** Ends with the step that is shown. @type {AbortController} */
  #shown = new AbortController();
  /** Ends the question to the service that is under way. @type {AbortController} */
  #asking = new AbortController();
  /** @type {number | undefined} */
  #retry;
  /** What its place in the tab's storage is called. */
  #place = "";
  #words = new Words("en");
  #service = new Service(HOME, "", "en");
  #form = new Form(this.#request, this.#words, () => {});
  #root = this.attachShadow({ mode: "open" });
  #frame = h("section", { class: "midstroke", part: "frame" });
  #message = h("div", { class: "message", role: "status" });

  constructor() {
    super();
    this.#root.adoptedStyleSheets = [base, styles];
    this.#root.append(this.#frame);
  }

  connectedCallback() {
    this.#life = new AbortController();
    // Two of them on one page, or on two, are two conversations.
    this.#place = ["midstroke", location.pathname, this.id || [...document.querySelectorAll(this.localName)].indexOf(this),
      this.getAttribute("reference") ?? "", this.getAttribute("preset") ?? ""].join("|");
    this.#request = this.#kept();
    this.#preset();
    this.#step = STEPS.findIndex((step) => !step.picks || !this.#request.get(step.name));
    globalThis.addEventListener("online", () => this.#askAgain(), { signal: this.#life.signal });
    globalThis.addEventListener("beforeprint", () => {
      for (const details of this.#root.querySelectorAll("details")) details.open = true;
    }, { signal: this.#life.signal });
    this.#show(false);
  }

  disconnectedCallback() {
    clearTimeout(this.#retry);
    this.#shown.abort();
    this.#life.abort();
  }

  /** @param {string} name */
  attributeChangedCallback(name) {
    if (!this.isConnected || this.#life.signal.aborted || name === "theme") return;
    if (name === "preset" || PRESETS.includes(name)) this.#preset(name);
    if (name === "lang" && this.#step === ANSWER) this.#ask(false);
    else this.#show(false);
  }

  /** The request as it stands, in flat names. */
  get request() {
    return this.#request.query(this.#words.decimalComma).toString();
  }

  /**
   * Fills in what attributes preset: what the one that was changed does, else
   * what all of them do of what hasn't been answered.
   * @param {string} [changed]
   */
  #preset(changed) {
    const answered = this.#request.copy();
    const set = (/** @type {string} */ name, /** @type {string[]} */ values) => {
      if (!changed && answered.all(name).length > 0) return;
      if (OPTIONS[name]?.includes(values[0]) === false) return;
      this.#request.set(name, ...values);
    };
    if (!changed || changed === "preset") {
      const preset = Request.read(new URLSearchParams(this.getAttribute("preset") ?? ""));
      // It asks by sides, of which one is enough.
      for (const { field, values } of preset.said(false)) set(field.name === "readings" ? "readings_left" : field.name, values);
    }
    for (const name of changed ? PRESETS.filter((one) => one === changed) : PRESETS) {
      const value = this.getAttribute(name);
      if (value !== null) set(name, [value]);
    }
    if (!this.#request.get("units")) this.#request.set("units", "in");
    if (!this.#request.get("top")) this.#request.set("top", FITS);
  }

  /**
   * What was typed is kept for this tab, so that a phone that drops the page
   * doesn't lose it.
   * @returns {Request}
   */
  #kept() {
    try {
      return Request.read(new URLSearchParams(sessionStorage.getItem(this.#place) ?? ""));
    } catch {
      return new Request(); // a page may be forbidden to keep anything
    }
  }

  #keep() {
    try {
      sessionStorage.setItem(this.#place, this.#request.query().toString());
    } catch {
      // Then it lasts as long as the page does.
    }
  }

  /** @returns {string} the reader's language tag */
  get #language() {
    return this.closest("[lang]")?.getAttribute("lang") || document.documentElement.lang || navigator.language;
  }

  /**
   * @param {Words} words
   * @returns {Service}
   */
  #serviceIn(words) {
    return new Service(this.getAttribute("service") || HOME, this.getAttribute("key") ?? "", words.lang);
  }

  /**
   * Shows the step that has come.
   * @param {boolean} focus whether its heading is focused, as it is when the step is new
   */
  #show(focus) {
    this.#shown.abort();
    this.#shown = new AbortController();
    const words = this.#words = new Words(this.#language);
    this.#service = this.#serviceIn(words);
    this.#form = new Form(this.#request, words, () => {
      // Nobody is to be sent away from what is being typed.
      clearTimeout(this.#retry);
      this.#retry = undefined;
      this.#keep();
    });
    this.#frame.lang = words.lang;
    const heading = h("h2", { tabindex: -1 }, this.#step === ANSWER ? words.t("step_answer") : words.t("step_" + STEPS[this.#step].name));
    const held = focus ? null : this.#root.activeElement?.getAttribute("data-key");
    fill(this.#message);
    fill(this.#frame, this.#head(words), this.#step === ANSWER ? this.#answerStep(heading, words) : this.#question(heading, words));
    if (focus) heading.focus();
    else if (held) this.#focusOn(held);
  }

  /**
   * @param {Words} words
   * @returns {HTMLElement}
   */
  #head(words) {
    const units = ["in", "mm"].map((unit) => h("button", {
      type: "button", class: "unit", "data-key": "units-" + unit, "aria-pressed": this.#request.get("units") === unit ? "true" : "false",
      onclick: () => {
        this.#changeUnits(unit);
        this.#keep();
        if (this.#step === ANSWER) this.#ask(false);
        else this.#show(false);
      },
    }, words.t("unit_" + unit)));
    const done = Math.min(this.#step + 1, STEPS.length);
    const blade = h("div", { class: "blade" });
    blade.style.width = (100 * done) / STEPS.length + "%";
    return h("header", { class: "head" },
      h("p", { class: "count" }, this.#step === ANSWER ? words.t("answered") : words.t("step_of", { n: done, all: STEPS.length })),
      h("div", { class: "units", role: "group", "aria-label": words.t("units") }, units),
      h("div", { class: "tape", "aria-hidden": "true" }, blade));
  }

  /**
   * What was answered keeps its meaning; what is in sight just now is what the
   * change is about, and is read anew.
   * @param {string} unit
   */
  #changeUnits(unit) {
    const before = this.#request.copy();
    keepMeaning(this.#request, before.get("units"), unit, this.#words.decimalComma);
    if (this.#step !== ANSWER) {
      for (const name of this.#form.names) this.#request.set(name, ...before.all(name));
    }
    this.#request.set("units", unit);
  }

  /**
   * @param {HTMLElement} heading
   * @param {Words} words
   * @returns {HTMLElement}
   */
  #question(heading, words) {
    const step = STEPS[this.#step];
    const go = (/** @type {number} */ to) => this.#go(to);
    const body = step.body({
      form: this.#form, request: this.#request, words, service: this.#service, signal: this.#shown.signal,
      next: () => {
        this.#keep();
        go(this.#step + 1);
      },
      again: () => {
        this.#keep();
        this.#show(false);
      },
    });
    const last = this.#step === STEPS.length - 1;
    const stopped = this.#step === MEASURE && !withinMethod(this.#request);
    return h("form", {
      class: "step", novalidate: true, "data-step": step.name, onsubmit: (/** @type {Event} */ event) => {
        event.preventDefault();
        if (!this.#form.settle()) return;
        if (last) this.#ask();
        else go(this.#step + 1);
      },
    },
    heading, body, this.#message,
    h("div", { class: "nav" },
      this.#step > 0 && h("button", { type: "button", class: "plain", "data-go": "back", onclick: () => go(this.#step - 1) }, words.t("back")),
      (!step.picks || this.#request.get(step.name)) && !stopped
        && h("button", { type: "submit", class: "main", part: "button", "data-go": "next", onclick: once }, words.t(last ? "find" : "next"))));
  }

  /**
   * @param {HTMLElement} heading
   * @param {Words} words
   * @returns {HTMLElement}
   */
  #answerStep(heading, words) {
    return h("div", { class: "step", "data-step": "answer" }, heading, this.#message,
      this.#answer && answerScreen(this.#answer, {
        words, request: this.#request,
        change: (name) => this.#go(STEPS.findIndex((step) => step.name === name)),
        choose: (fit) => this.#choose(fit),
        take: (remedy) => {
          if (!this.#answer) return;
          this.#request = taken(this.#request, remedy, this.#answer, words.decimalComma);
          this.#keep();
          this.#form = new Form(this.#request, words, () => this.#keep());
          this.#ask();
        },
        sheet: (fit) => {
          const query = this.#request.query(words.decimalComma);
          query.set("rank", fit.rank);
          query.set("lang", words.lang);
          return this.getAttribute("key") ? null : this.#service.base + "/sheet?" + query;
        },
      }));
  }

  /** @param {number} step */
  #go(step) {
    clearTimeout(this.#retry);
    this.#asking.abort();
    this.#step = step;
    this.#show(true);
  }

  /**
   * Asks; only the last question that was asked is answered.
   * @param {boolean} [asked] whether somebody asked for it, and not only for the same in other words
   */
  async #ask(asked = true) {
    clearTimeout(this.#retry);
    this.#retry = undefined;
    this.#asking.abort();
    const mine = this.#asking = new AbortController();
    const words = asked ? this.#words : new Words(this.#language);
    const query = this.#request.query(this.#words.decimalComma);
    this.#service = this.#serviceIn(words);
    this.#frame.setAttribute("aria-busy", "true");
    try {
      this.#answer = await this.#service.fits(query, AbortSignal.any([this.#life.signal, mine.signal]));
      this.#step = ANSWER;
      this.#show(asked);
      if (!asked) return;
      this.#tell("midstroke:answer", {
        outcome: this.#answer?.outcome, reference: this.#answer?.reference, catalog: this.#answer?.catalog, request: query.toString(),
        fits: this.#answer?.fits.length, near_misses: this.#answer?.near_misses.length, best: this.#answer?.fits[0]?.damper.code ?? null,
      });
    } catch (error) {
      if (this.#life.signal.aborted || mine.signal.aborted) return;
      this.#failed(error);
    } finally {
      if (this.#asking === mine) this.#frame.removeAttribute("aria-busy");
    }
  }

  /** @param {unknown} error */
  #failed(error) {
    const words = this.#words;
    if (error instanceof Unreachable) {
      const again = h("button", { type: "button", class: "plain", "data-go": "retry", onclick: () => this.#ask() }, words.t("retry"));
      fill(this.#message, h("p", {}, words.t("unreachable")), again);
      this.#retry = setTimeout(() => this.#askAgain(), RETRY);
      return;
    }
    if (!(error instanceof Refused)) throw error;
    switch (error.status) {
      case 401:
      case 403:
        fill(this.#message, h("p", {}, words.t("key_refused")));
        return;
      case 429:
        fill(this.#message, h("p", {}, words.t("too_many", { seconds: words.number(error.after || RETRY / 1000, 0) })));
        this.#retry = setTimeout(() => this.#askAgain(), 1000 * error.after || RETRY);
        return;
    }
    this.#pointOut(error);
  }

  /**
   * Goes to the first question whose answer the service refused, and tells all
   * that is wrong beside the fields.
   * @param {Refused} refused
   */
  #pointOut(refused) {
    const found = faultsByField(refused, this.#request, this.#words);
    const step = STEPS.findIndex((one) => [...found.keys()].some((key) => one === stepOf(key.split("/")[0], this.#request)));
    if (step >= 0) {
      this.#step = step;
      this.#show(true);
    }
    const elsewhere = this.#form.tell(found);
    fill(this.#message, h("p", {}, this.#words.t("refused")),
      h("ul", {}, elsewhere.map((key) => h("li", {}, key.split("/")[0] + ": " + found.get(key)))),
      found.size === 0 && h("p", { lang: "en" }, refused.message));
  }

  /** Tries again where the last try found nobody. */
  #askAgain() {
    if (this.#retry !== undefined) this.#ask();
  }

  /** @param {import("./answer.js").Fit} fit */
  #choose(fit) {
    this.#tell("midstroke:choose", {
      reference: this.#answer?.reference, catalog: this.#answer?.catalog, request: this.#request.query(this.#words.decimalComma).toString(),
      rank: fit.rank, code: fit.damper.code, mounted: fit.mounted, price: fit.price, pick_list: fit.pick_list,
    });
  }

  /**
   * @param {string} name
   * @param {object} detail
   */
  #tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }

  /** @param {string} key */
  #focusOn(key) {
    const candidates = [...this.#root.querySelectorAll("[data-key]")].filter((element) => element.getAttribute("data-key") === key);
    const held = /** @type {HTMLElement | undefined} */ (candidates.find((element) => element.matches(":checked")) ?? candidates[0]);
    held?.focus();
  }
}

if (!customElements.get("midstroke-fit")) customElements.define("midstroke-fit", MidstrokeFit);
