// The page for an adviser at the counter: both axles of a vehicle side by side.

import { Axle } from "./axle.js";
import { comparison } from "./compare.js";
import { fill, h } from "./dom.js";
import { keepMeaning } from "./request.js";
import { Service } from "./service.js";
import { LANGUAGES, Words } from "./words.js";

/** The axles, and the keys that browsers reach them by. */
const AXLES = /** @type {[string, string][]} */ ([["front", "1"], ["rear", "2"]]);

/** Milliseconds after the last key until the address is written. */
const UNHURRIED = 150;

/** The request of a first look, in flat names. */
const EXAMPLE = [
  "upper=stud&upper_measured_to=frame_face&upper_bushing_thickness=3/8&upper_washer_thickness=1/16",
  "lower=eye&lower_bolt=M12&lower_opening=1 1/2&lower_plate=3/16",
  "readings_left=16 5/8&readings_right=16 11/16&suspension=solid_axle",
].join("&");

class Counter {
  /** @type {Axle[]} */
  #axles = [];
  #words = new Words("en");
  #compared = h("section", { class: "compared" });
  /** What the page itself wrote into the address, which is no reason to read it. */
  #written = "";
  /** @type {number | undefined} */
  #writing;

  constructor() {
    globalThis.addEventListener("hashchange", () => {
      if (location.hash !== this.#written) this.#open();
    });
    this.#open();
  }

  /** Shows what the address's fragment says. */
  #open() {
    const state = new URLSearchParams(location.hash.slice(1));
    const words = this.#words = new Words(state.get("lang") || navigator.language);
    const service = new Service(location.origin, "", words.lang);
    const units = state.get("units") === "mm" ? "mm" : "in";
    document.documentElement.lang = words.lang;
    document.title = words.t("counter.title");
    for (const axle of this.#axles) axle.close();
    this.#axles = AXLES.map(([name, key]) => new Axle({
      name, key, words, service, state, units,
      changed: () => this.#write(),
      compared: () => this.#compare(),
      link: () => location.href.replace(/#.*/s, "") + "#" + this.#state(),
      other: () => this.#axles.find((axle) => axle.name !== name)?.request,
    }));
    fill(document.body, this.#head(words, units),
      h("main", {}, h("div", { class: "axles" }, this.#axles.map((axle) => axle.box)), this.#compared), foot(words));
    this.#compare();
    for (const axle of this.#axles) axle.ask();
  }

  /**
   * @param {Words} words
   * @param {string} units
   * @returns {HTMLElement}
   */
  #head(words, units) {
    /** @type {(key: string, label: string, now: string, options: [string, string][], then: (value: string) => void) => HTMLElement} */
    const choice = (key, label, now, options, then) => {
      const select = /** @type {HTMLSelectElement} */ (h("select", { "aria-label": label, "data-key": key, onchange: () => then(select.value) },
        options.map(([value, name]) => h("option", { value, lang: key === "language" ? value : null }, name))));
      select.value = now;
      return select;
    };
    return h("header", { class: "top" },
      h("h1", {}, "midstroke"),
      h("p", { class: "quiet" }, words.t("counter.about")),
      h("nav", { class: "jump", "aria-label": words.t("counter.jump") },
        AXLES.map(([name, key]) => h("a", { href: "#" + name, accesskey: key, onclick: (/** @type {Event} */ event) => {
          event.preventDefault();
          this.#axles.find((axle) => axle.name === name)?.focus();
        } }, words.t("counter." + name)))),
      h("div", { class: "settings" },
        choice("units", words.t("units"), units, [["in", words.t("unit_in")], ["mm", words.t("unit_mm")]], (value) => this.#change({ units: value })),
        choice("language", words.t("counter.language"), words.lang, LANGUAGES.map((lang) => [lang, words.t("counter.language_" + lang)]), (value) => this.#change({ lang: value })),
        h("button", { type: "button", class: "plain", "data-go": "example", "data-key": "example", onclick: () => this.#example() }, words.t("counter.example")),
        h("button", { type: "button", class: "plain", "data-go": "clear", "data-key": "clear", onclick: () => this.#clear() }, words.t("counter.clear"))));
  }

  /** @returns {URLSearchParams} all that is on the page */
  #state() {
    const state = new URLSearchParams({ units: this.#axles[0].request.get("units"), lang: this.#words.lang });
    for (const axle of this.#axles) {
      for (const [name, value] of axle.request.query(this.#words.decimalComma)) {
        if (name !== "units") state.append(axle.name + "." + name, value);
      }
    }
    return state;
  }

  /**
   * Writes what is on the page into the address, so that it can be sent as a
   * link: in a moment, for an answer is waited for and this isn't.
   */
  #write() {
    clearTimeout(this.#writing);
    this.#writing = setTimeout(() => {
      this.#written = "#" + this.#state();
      history.replaceState(null, "", this.#written);
    }, UNHURRIED);
  }

  /** @param {Record<string, string>} settings */
  #change(settings) {
    if (settings.units) this.#keepMeaning(settings.units);
    const state = this.#state();
    for (const [name, value] of Object.entries(settings)) state.set(name, value);
    this.#goTo(state);
  }

  /** @param {string} units that the page is about to have */
  #keepMeaning(units) {
    for (const { request } of this.#axles) keepMeaning(request, request.get("units"), units, this.#words.decimalComma);
  }

  #example() {
    this.#keepMeaning("in");
    const state = this.#state();
    for (const name of [...state.keys()]) if (name.startsWith("rear.")) state.delete(name);
    for (const [name, value] of new URLSearchParams(EXAMPLE)) state.append("rear." + name, value);
    state.set("units", "in");
    this.#goTo(state);
  }

  #clear() {
    this.#goTo(new URLSearchParams({ units: this.#axles[0].request.get("units"), lang: this.#words.lang }));
  }

  /** @param {URLSearchParams} state */
  #goTo(state) {
    clearTimeout(this.#writing);
    this.#written = "#" + state;
    location.hash = this.#written;
    // What was pressed in the head is made anew with the rest of the page.
    const held = document.activeElement?.closest(".top [data-key]")?.getAttribute("data-key");
    this.#open();
    if (held) /** @type {HTMLElement | null} */ (document.querySelector(".top [data-key=" + CSS.escape(held) + "]"))?.focus();
  }

  #compare() {
    const chosen = this.#axles.flatMap((axle) => axle.chosen.map((fit) => ({ axle: axle.name, fit, answer: axle.answer })));
    fill(this.#compared, chosen.length > 0 && comparison(chosen, this.#words));
  }
}

/**
 * @param {Words} words
 * @returns {HTMLElement}
 */
function foot(words) {
  /** @type {[string, string][]} */
  const links = [["/docs", "contract"], ["/docs/problems", "problems"], ["/v1/dampers?units=in&limit=20", "catalogue"], ["/readyz", "health"]];
  return h("footer", { class: "foot" },
    h("p", {}, words.t("counter.safety")), h("ul", {}, links.map(([href, name]) => h("li", {}, h("a", { href }, words.t("counter." + name))))));
}

new Counter();
