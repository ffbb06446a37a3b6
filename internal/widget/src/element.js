// <midstroke-fit>: the web component.

import { answerScreen } from "./screen.js";
import { fill, h } from "./dom.js";
import { faultsByField } from "./faults.js";
import { Form } from "./form.js";
import { Request } from "./request.js";
import { Refused, Service, Unreachable } from "./service.js";
import { STEPS, withinMethod } from "./steps.js";
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
  /** @type {number | undefined} */
  #retry;
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
    if (!this.isConnected || this.#life.signal.aborted) return;
    if (name !== "theme") this.#preset();
    if (name !== "theme") this.#show(false);
  }

  /** The request as it stands, in flat names. */
  get request() {
    return this.#request.query(this.#words.decimalComma).toString();
  }

  /** Fills in what the attributes preset. */
  #preset() {
    const preset = Request.read(new URLSearchParams(this.getAttribute("preset") ?? ""));
    for (const { field, values } of preset.said(false)) this.#request.set(field.name, ...values);
    for (const name of PRESETS) {
      const value = this.getAttribute(name);
      if (value !== null) this.#request.set(name, value);
    }
    // It asks by sides, of which one is enough.
    if (this.#request.all("readings").length > 0) {
      this.#request.set("readings_left", ...this.#request.all("readings"));
      this.#request.set("readings", "");
    }
    if (!this.#request.get("units")) this.#request.set("units", "in");
    if (!this.#request.get("top")) this.#request.set("top", FITS);
  }

  /** The key under which what was typed is kept for this tab, so that a phone that drops the page doesn't lose it. */
  get #place() {
    return "midstroke:" + (this.getAttribute("reference") ?? "");
  }

  /** @returns {Request} */
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

  /**
   * Shows the step that has come.
   * @param {boolean} focus whether its heading is focused, as it is when the step is new
   */
  #show(focus) {
    this.#shown.abort();
    this.#shown = new AbortController();
    const wanted = this.closest("[lang]")?.getAttribute("lang") || document.documentElement.lang || navigator.language;
    const words = this.#words = new Words(wanted);
    this.#service = new Service(this.getAttribute("service") || HOME, this.getAttribute("key") ?? "", words.lang);
    this.#form = new Form(this.#request, words, () => this.#keep());
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
        this.#request.set("units", unit);
        this.#keep();
        if (this.#step === ANSWER) this.#ask();
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
        && h("button", { type: "submit", class: "main", part: "button", "data-go": "next" }, words.t(last ? "find" : "next"))));
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
    this.#step = step;
    this.#show(true);
  }

  async #ask() {
    clearTimeout(this.#retry);
    this.#retry = undefined;
    const words = this.#words;
    const query = this.#request.query(words.decimalComma);
    this.#frame.setAttribute("aria-busy", "true");
    try {
      this.#answer = await this.#service.fits(query, this.#life.signal);
      this.#step = ANSWER;
      this.#show(true);
      this.#tell("midstroke:answer", {
        outcome: this.#answer?.outcome, reference: this.#answer?.reference, catalog: this.#answer?.catalog, request: query.toString(),
        fits: this.#answer?.fits.length, near_misses: this.#answer?.near_misses.length, best: this.#answer?.fits[0]?.damper.code ?? null,
      });
    } catch (error) {
      if (this.#life.signal.aborted) return;
      this.#failed(error);
    } finally {
      this.#frame.removeAttribute("aria-busy");
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
    const step = STEPS.findIndex(({ fields }) => [...found.keys()].some((key) => fields.test(key.split("/")[0])));
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
    fill(this.#message, h("p", {}, this.#words.t("chosen", { code: fit.damper.code })));
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
