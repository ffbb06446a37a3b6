// The drawing of a linkage's travel, which follows the points as they are typed.

import { fill, h } from "./dom.js";
import { rebuild } from "./drawing.js";
import { pointsOf } from "./fields.js";
import { Refused } from "./service.js";

/** @typedef {import("./request.js").Request} Request */

export class LinkageDrawing {
  /**
   * @param {import("./service.js").Service} service
   * @param {import("./words.js").Words} words
   */
  constructor(service, words) {
    this.#service = service;
    this.#words = words;
    this.box = h("figure", { class: "drawing" });
  }

  /** @type {import("./service.js").Service} */
  #service;
  /** @type {import("./words.js").Words} */
  #words;
  #under = new AbortController();
  #drawn = "";

  /**
   * Draws the request's linkage where all of its points are there.
   * @param {Request} request
   */
  async follow(request) {
    const whole = request.get("travel") === "linkage" && pointsOf(request).length > 0
      && pointsOf(request).every((point) => request.all("travel_linkage_" + point).filter((text) => text.trim() !== "").length >= 2)
      && request.get("travel_range_bump") !== "" && request.get("travel_range_droop") !== "";
    const { units, travel } = request.body(this.#words.decimalComma);
    const body = whole ? { units, linkage: travel.linkage, range: travel.range } : null;
    const said = JSON.stringify(body);
    if (said === this.#drawn) return;
    this.#drawn = said;
    this.#under.abort();
    this.#under = new AbortController();
    const { signal } = this.#under;
    if (!body) {
      fill(this.box);
      return;
    }
    try {
      const text = await this.#service.travelDrawing(body, signal);
      if (signal.aborted) return;
      // On a narrow screen it keeps a size to be read at, and is moved about.
      fill(this.box, h("div", { class: "wide", tabindex: 0, role: "group", "aria-label": this.#words.t("counter.drawing") }, rebuild(text)));
    } catch (error) {
      if (signal.aborted) return;
      // What can't be reached is drawn when it can be.
      if (!(error instanceof Refused)) this.#drawn = "";
      const faults = error instanceof Refused ? error.faults.map(({ pointer, detail }) => h("li", {}, (pointer ?? "") + ": " + detail)) : [];
      fill(this.box, h("figcaption", {}, this.#words.t(error instanceof Refused ? "counter.no_drawing" : "unreachable"), h("ul", { lang: "en" }, faults)));
    }
  }
}
