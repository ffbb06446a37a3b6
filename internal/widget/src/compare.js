// Fits beside each other, a column each.

import { badge, WAYS } from "./answer.js";
import { h } from "./dom.js";

/**
 * @typedef {import("./answer.js").Answer} Answer
 * @typedef {import("./answer.js").Fit} Fit
 * @typedef {{axle: string, fit: Fit, answer: Answer | null}} Compared
 */

/**
 * @param {Compared[]} chosen
 * @param {import("./words.js").Words} words
 * @returns {import("./dom.js").Child}
 */
export function comparison(chosen, words) {
  /** @type {(one: Compared, value: number | null) => string} */
  const l = ({ answer }, value) => value === null || !answer ? "–" : words.length(value, answer.units);
  /** @type {[string, (one: Compared) => import("./dom.js").Child][]} */
  const rows = [
    [words.t("counter.axle"), ({ axle }) => words.t("counter." + axle)],
    [words.t("counter.how_good"), ({ fit }) => badge(fit.grade, words)],
    [words.t("counter.description"), ({ fit }) => fit.damper.description],
    [words.t("counter.lengths"), (one) => l(one, one.fit.effective.compressed) + " – " + l(one, one.fit.effective.extended)],
    [words.t("counter.stroke"), (one) => l(one, one.fit.damper.stroke)],
    ...WAYS.flatMap((way) => /** @type {[string, (one: Compared) => string][]} */ ([
      [words.t(way), (one) => l(one, one.fit.travel[way])],
      [words.t("counter.spare_" + way), (one) => l(one, one.fit.margin[way])],
      [words.t("counter.worst_" + way), (one) => l(one, one.fit.worst_case.margin[way])],
    ])),
    [words.t("counter.position"), ({ fit }) => words.percent(fit.ride_position)],
    [words.t("counter.chance"), ({ fit }) => words.percent(fit.worst_case.likelihood)],
    [words.t("counter.body"), (one) => l(one, one.fit.damper.body_diameter)],
    [words.t("counter.mounted"), ({ fit }) => words.t("counter.mounting_" + fit.mounted)],
    [words.t("counter.parts"), ({ fit }) => words.number(fit.parts, 0)],
    [words.t("counter.price"), ({ fit }) => words.money(fit.price)],
  ];
  return [
    h("h2", { id: "compared", tabindex: -1 }, words.t("counter.compared")),
    h("div", { class: "wide", tabindex: 0, role: "region", "aria-label": words.t("counter.compared") }, h("table", { class: "compare" },
      h("thead", {}, h("tr", {}, h("td", {}), chosen.map(({ fit }) => h("th", { scope: "col", class: "code" }, fit.damper.code)))),
      h("tbody", {}, rows.map(([name, cell]) => h("tr", {}, h("th", { scope: "row" }, name), chosen.map((one) => h("td", {}, cell(one)))))))),
  ];
}
