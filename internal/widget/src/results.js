// The answer at the counter: one line a fit, opened for the rest.

import { badge, hardware, legend, noteList, pickList, scaleOf, strokeOfFit, strokeOfMiss, travelTable, WAYS } from "./answer.js";
import { folded, h } from "./dom.js";
import { strokeBar } from "./picture.js";

/**
 * @typedef {import("./answer.js").Answer} Answer
 * @typedef {import("./answer.js").Fit} Fit
 * @typedef {import("./words.js").Words} Words
 */

/**
 * @param {Answer} answer
 * @param {import("./request.js").Request} request
 * @param {Words} words
 * @param {string} axle
 * @param {Set<string>} codes of those that are compared, kept here
 * @param {() => void} compare called when they are others
 * @returns {import("./dom.js").Child}
 */
export function fitList(answer, request, words, axle, codes, compare) {
  const scale = scaleOf(answer);
  if (!scale || answer.fits.length === 0) return null;
  const l = (/** @type {number} */ value) => words.bare(value, answer.units);
  return [legend(words), h("ol", { class: "rows" },
    h("li", { class: "row row-head", "aria-hidden": "true" }, h("span", {}), h("div", { class: "line" },
      h("span", {}, words.t("column_code")), h("span", {}, words.t("counter.stroke")),
      WAYS.map((way) => h("span", { class: "figure" }, words.t("counter.spare_" + way), h("small", {}, words.t("row_worst")))), h("span", { class: "figure" }, words.t("counter.price")))),
    answer.fits.map((/** @type {Fit} */ fit) => {
      const { code } = fit.damper;
      const box = /** @type {HTMLInputElement} */ (h("input", { type: "checkbox", "aria-label": words.t("counter.compare_code", { code }), onchange: () => {
        if (box.checked) codes.add(code);
        else codes.delete(code);
        compare();
      } }));
      box.checked = codes.has(code);
      return h("li", { class: "row", "data-code": code }, box, folded(
        h("summary", { class: "line" },
          h("span", { class: "what" }, h("b", { class: "code" }, fit.rank + ". " + code), badge(fit.grade, words)),
          strokeBar(strokeOfFit(fit, answer), scale, words, answer.units),
          WAYS.map((way) => h("span", { class: "figure" }, h("span", { class: "unseen tag" }, words.t("counter.spare_" + way) + " "),
            h("b", {}, l(fit.margin[way])), h("small", {}, h("span", { class: "unseen tag" }, words.t("row_worst") + " "), l(fit.worst_case.margin[way])))),
          h("span", { class: "figure" }, words.money(fit.price))),
        () => detailsOf(fit, answer, request, words, axle)));
    }))];
}

/**
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {import("./request.js").Request} request
 * @param {Words} words
 * @param {string} axle
 * @returns {import("./dom.js").Child}
 */
function detailsOf(fit, answer, request, words, axle) {
  return [
    h("p", { class: "about" }, fit.damper.description), travelTable(fit, answer, words),
    h("p", { class: "quiet" }, words.t("sits_at", { position: words.percent(fit.ride_position), likelihood: words.percent(fit.worst_case.likelihood) })),
    noteList(fit.notes, answer, "notes small"), hardware(fit, answer, words), pickList(fit, words),
    h("p", {}, h("a", { href: sheetLink(request, fit, words, axle), "aria-label": words.t("sheet_of", { code: fit.damper.code }) }, words.t("sheet"))),
  ];
}

/**
 * @param {import("./request.js").Request} request
 * @param {Fit} fit
 * @param {Words} words
 * @param {string} axle that the sheet leads back to
 * @returns {string}
 */
function sheetLink(request, fit, words, axle) {
  const query = request.query(words.decimalComma);
  query.set("rank", fit.rank);
  query.set("lang", words.lang);
  query.set("axle", axle);
  return "/sheet?" + query;
}

/**
 * @param {Answer} answer
 * @param {Words} words
 * @returns {import("./dom.js").Child}
 */
export function missList(answer, words) {
  const scale = scaleOf(answer);
  if (!scale || answer.near_misses.length === 0) return null;
  return folded(h("summary", {}, words.t("near_misses") + " (" + answer.near_misses.length + ")"),
    () => [answer.fits.length === 0 && legend(words), h("ul", { class: "rows" }, answer.near_misses.map((/** @type {any} */ miss) => h("li", { class: "row miss", "data-code": miss.damper.code },
      h("div", { class: "line" },
        h("span", { class: "what" }, h("b", { class: "code" }, miss.damper.code), badge("near", words)),
        strokeBar(strokeOfMiss(miss, answer), scale, words, answer.units),
        WAYS.map((way) => h("span", { class: "figure" }, h("span", { class: "unseen" }, words.t("counter.short_" + way) + " "),
          miss.short_by[way] > 0 ? "\u2212" + words.bare(miss.short_by[way], answer.units) : "0"))),
      h("ul", { class: "remedies", lang: answer.language }, miss.remedies.map((/** @type {any} */ remedy) => h("li", {}, h("span", {}, remedy.text)))))))],
    { class: "misses", open: answer.fits.length === 0 });
}

/**
 * Why the rest is out, where that was asked for.
 * @param {Answer} answer
 * @param {Words} words
 * @returns {import("./dom.js").Child}
 */
export function ruledOut(answer, words) {
  const { ruled_out: reasons, judged } = answer;
  if (reasons.length === 0 && judged.length === 0) return null;
  const named = (/** @type {string} */ reason) => words.has("counter.out_" + reason) ? words.t("counter.out_" + reason) : reason;
  return h("details", {}, h("summary", {}, words.t("counter.ruled_out")),
    reasons.length > 0 && h("table", { class: "pick" }, h("tbody", {}, reasons.map((/** @type {any} */ { reason, count }) =>
      h("tr", {}, h("th", { scope: "row" }, named(reason)), h("td", { class: "figure" }, words.number(count, 0)))))),
    judged.length > 0 && h("dl", { class: "hardware" }, judged.map((/** @type {any} */ one) => h("div", {},
      h("dt", { class: "code" }, one.code), h("dd", {}, words.t("counter.verdict_" + one.verdict), noteList(one.reasons, answer, "notes small"))))));
}
