// An answer as people read it.

import { h } from "./dom.js";
import { Scale, strokeBar } from "./picture.js";

/**
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./words.js").Units} Units
 * @typedef {import("./picture.js").Stroke} Stroke
 * @typedef {{code: string, text: string, values: Record<string, any>}} Note
 * @typedef {Record<string, any>} Answer as POST /v1/fits gives it, and "language", that of its texts
 * @typedef {Record<string, any>} Fit one of its fits
 * @typedef {Record<string, any>} Miss one of its near misses
 */

/** The ways from ride height, in the order in which they are told. */
export const WAYS = ["compression", "extension"];

/** The ends, from the top down. */
export const ENDS = ["upper", "lower"];

/** How many fits an answer lists unless the request says. */
const LISTED = 10;

/**
 * What became of the request, in one line.
 * @param {Answer} answer
 * @param {import("./request.js").Request} request
 * @param {Words} words
 * @returns {string}
 */
export function headline(answer, request, words) {
  const n = answer.fits.length;
  if (answer.outcome !== "fits") return words.t("outcome_" + answer.outcome);
  // A full list may have left some out.
  return n < (Number(request.get("top")) || LISTED) ? words.count("outcome_fits", n) : words.count("outcome_best", n);
}

/**
 * Texts of the answer as a list, in its own language.
 * @param {Note[]} notes
 * @param {Answer} answer
 * @param {string} kind the list's class
 * @returns {HTMLElement | null} null where there are none
 */
export function noteList(notes, answer, kind) {
  if (notes.length === 0) return null;
  return h("ul", { class: kind, lang: answer.language }, notes.map((note) => h("li", { "data-code": note.code }, note.text)));
}

/**
 * The cautions, all of them and in full.
 * @param {Answer} answer
 * @param {Words} words
 * @returns {HTMLElement | null}
 */
export function cautions(answer, words) {
  if (answer.cautions.length === 0) return null;
  return h("section", { class: "cautions", part: "cautions" },
    h("h3", {}, h("span", { class: "sign", "aria-hidden": "true" }, "!"), words.t("cautions")), noteList(answer.cautions, answer, "notes"));
}

/**
 * The working length with its bounds, and how it came about.
 * @param {Answer} answer
 * @param {Words} words
 * @returns {HTMLElement | null}
 */
export function lengths(answer, words) {
  const { working_length: length, required, units } = answer;
  if (!length && !required) return null;
  const l = (/** @type {number} */ value) => words.length(value, units);
  return h("dl", { class: "lengths" },
    length && h("div", {},
      h("dt", {}, words.t("working_length")),
      h("dd", {}, h("strong", {}, l(length.value)), " ", h("span", { class: "quiet" }, words.t("between", { low: l(length.low), high: l(length.high) })))),
    required && WAYS.map((way) => h("div", {},
      h("dt", {}, words.t("needed_" + way)),
      h("dd", {}, h("strong", {}, l(required[way].least)), required[way].wanted > required[way].least
        ? [" ", h("span", { class: "quiet" }, words.t("wanted", { wanted: l(required[way].wanted) }))] : null))));
}

/**
 * The arithmetic, line by line.
 * @param {Answer} answer
 * @param {Words} words
 * @returns {HTMLElement | null}
 */
export function arithmetic(answer, words) {
  const steps = [...(answer.working_length?.steps ?? []), ...(answer.required?.steps ?? [])];
  if (steps.length === 0) return null;
  return h("ol", { class: "steps", lang: answer.language }, steps.map((step) => h("li", {},
    h("span", {}, step.text, step.source && h("small", { class: "source" }, " (" + step.source + ")")),
    h("b", {}, result(step, answer, words)))));
}

/**
 * What a line of arithmetic comes to.
 * @param {{value?: number | string | null, unit?: string}} step
 * @param {Answer} answer
 * @param {Words} words
 * @returns {string}
 */
function result({ value, unit }, answer, words) {
  if (typeof value !== "number") return value ?? "";
  return unit === answer.units ? words.length(value, answer.units) : words.number(value, 4) + (unit ? "\u00a0" + unit : "");
}

/**
 * A fit's stroke, to draw.
 * @param {Fit} fit
 * @param {Answer} answer
 * @returns {Stroke}
 */
export function strokeOfFit(fit, answer) {
  const { required, working_length: length } = answer;
  return {
    compressed: fit.effective.compressed, extended: fit.effective.extended, ride: length.value,
    least: { compression: required.compression.least, extension: required.extension.least },
    margin: fit.margin, worst: fit.worst_case.margin,
  };
}

/**
 * A near miss's stroke, to draw.
 * @param {Miss} miss
 * @param {Answer} answer
 * @returns {Stroke}
 */
export function strokeOfMiss(miss, answer) {
  const { required, working_length: { value: ride } } = answer;
  const least = { compression: required.compression.least, extension: required.extension.least };
  return {
    compressed: ride - miss.travel.compression, extended: ride + miss.travel.extension, ride, least,
    margin: { compression: miss.travel.compression - least.compression, extension: miss.travel.extension - least.extension }, worst: null,
  };
}

/**
 * The scale on which all of an answer's strokes are drawn.
 * @param {Answer} answer
 * @returns {Scale | null} null where there is nothing to draw
 */
export function scaleOf(answer) {
  if (!answer.working_length || !answer.required) return null;
  const strokes = [
    ...answer.fits.map((/** @type {Fit} */ fit) => strokeOfFit(fit, answer)),
    ...answer.near_misses.map((/** @type {Miss} */ miss) => strokeOfMiss(miss, answer)),
  ];
  return strokes.length > 0 ? new Scale(strokes) : null;
}

/**
 * What the parts of a stroke's picture mean.
 * @param {Words} words
 * @returns {HTMLElement}
 */
export function legend(words) {
  return h("ul", { class: "legend" }, ["needed", "spare", "doubt", "missing", "ride"].map((part) =>
    h("li", {}, h("i", { class: "swatch " + part, "aria-hidden": "true" }), words.t("legend_" + part))));
}

/**
 * Travel, need, spare and worst case each way.
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {Words} words
 * @returns {HTMLElement}
 */
export function travelTable(fit, answer, words) {
  const l = (/** @type {number} */ value) => words.bare(value, answer.units);
  const row = (/** @type {string} */ name, /** @type {(way: string) => number} */ value) =>
    h("tr", { class: "row-" + name }, h("th", { scope: "row" }, words.t("row_" + name)), WAYS.map((way) => h("td", {}, l(value(way)))));
  return h("table", { class: "ways" },
    h("thead", {}, h("tr", {}, h("td", {}, answer.units), WAYS.map((way) => h("th", { scope: "col" }, words.t(way))))),
    h("tbody", {},
      row("travel", (way) => fit.travel[way]), row("needed", (way) => answer.required[way].least),
      row("spare", (way) => fit.margin[way]), row("worst", (way) => fit.worst_case.margin[way])));
}

/**
 * How both ends bolt up.
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {Words} words
 * @returns {HTMLElement}
 */
export function hardware(fit, answer, words) {
  return h("dl", { class: "hardware" }, ENDS.map((end) => h("div", {},
    h("dt", {}, words.t(end + "_end")), h("dd", {}, h("ul", {}, hardwareLines(fit[end], answer, words).map((line) => h("li", {}, line)))))));
}

/**
 * @param {Record<string, any>} end
 * @param {Answer} answer
 * @param {Words} words
 * @returns {import("./dom.js").Child[]}
 */
function hardwareLines(end, answer, words) {
  const l = (/** @type {number} */ value) => words.length(value, answer.units);
  const own = (/** @type {string} */ text) => h("span", { lang: answer.language }, text);
  /** @type {import("./dom.js").Child[]} */
  const lines = [];
  if (end.adapter) lines.push(words.t("uses_adapter", { code: end.adapter.code }));
  for (const sleeve of end.sleeves) lines.push(words.t("uses_sleeve", { code: sleeve.code, n: sleeve.quantity }));
  for (const spacer of end.spacers?.each_side ?? []) lines.push(words.t("uses_spacer", { code: spacer.code, n: spacer.quantity }));
  if (end.spacers && end.spacers.left_over > 0) lines.push(words.t("left_over", { length: l(end.spacers.left_over) }));
  const bolt = end.bolt;
  if (bolt) {
    const name = bolt.thread ?? l(bolt.diameter);
    // A metric bolt is bought by millimetres, whatever the tape says.
    const length = bolt.thread?.startsWith("M") && answer.units === "in" ? (/** @type {number} */ value) => words.length(value * 25.4, "mm") : l;
    lines.push(bolt.length === null ? words.t("bolt_named", { name }) : words.t("bolt_of_length", { name, length: length(bolt.length) }));
    if (bolt.torque_nm !== null) {
      lines.push(words.t("torque", { nm: words.number(bolt.torque_nm, 0), lbf_ft: words.number(bolt.torque_lbf_ft, 0), grade: bolt.grade }));
    }
  }
  if (lines.length === 0 && !end.open) lines.push(words.t("bolts_up"));
  return [...lines, ...end.reasons.map((/** @type {Note} */ note) => own(note.text))];
}

/**
 * What to take off the shelf.
 * @param {Fit} fit
 * @param {Words} words
 * @returns {HTMLElement}
 */
export function pickList(fit, words) {
  return h("table", { class: "pick" },
    h("thead", {}, h("tr", {}, ["part", "code", "quantity"].map((column) => h("th", { scope: "col" }, words.t("column_" + column))))),
    h("tbody", {}, fit.pick_list.map((/** @type {any} */ item) =>
      h("tr", {}, h("td", {}, words.t("kind_" + item.kind)), h("td", { class: "code" }, item.code), h("td", {}, words.number(item.quantity, 0))))));
}

/**
 * How good a fit is, by a word and a shape.
 * @param {string} grade
 * @param {Words} words
 * @returns {HTMLElement}
 */
export function badge(grade, words) {
  return h("span", { class: "badge " + grade, part: "grade" }, words.t("grade_" + grade));
}

/**
 * Both limits, below the ends of the bar. The bar's picture tells them as well.
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {Scale} scale
 * @param {Words} words
 * @returns {HTMLElement}
 */
function barEnds({ effective: { compressed, extended } }, { units }, scale, words) {
  const ends = h("span", {}, h("i", {}, words.length(compressed, units)), h("i", {}, words.length(extended, units)));
  ends.style.marginLeft = scale.share(compressed) + "%";
  ends.style.marginRight = 100 - scale.share(extended) + "%";
  return h("div", { class: "bar-ends", "aria-hidden": "true" }, ends);
}

/**
 * One fit as a card.
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {Scale} scale
 * @param {Words} words
 * @param {import("./dom.js").Child} actions
 * @returns {HTMLElement}
 */
export function fitCard(fit, answer, scale, words, actions) {
  const damper = fit.damper;
  return h("li", { class: "card fit", part: "fit", "data-code": damper.code },
    h("div", { class: "card-head" },
      h("h4", {}, h("span", { class: "rank" }, fit.rank), " ", h("span", { class: "code" }, damper.code)), badge(fit.grade, words),
      h("span", { class: "price" }, words.money(fit.price))),
    h("p", { class: "about" }, damper.description),
    strokeBar(strokeOfFit(fit, answer), scale, words, answer.units),
    barEnds(fit, answer, scale, words),
    travelTable(fit, answer, words),
    h("p", { class: "quiet" }, words.t("sits_at", { position: words.percent(fit.ride_position), likelihood: words.percent(fit.worst_case.likelihood) })),
    noteList(fit.notes, answer, "notes small"),
    h("details", {}, h("summary", {}, words.t("hardware_and_parts")), hardware(fit, answer, words), pickList(fit, words)),
    h("div", { class: "actions" }, actions));
}

/**
 * One near miss with its remedies.
 * @param {Miss} miss
 * @param {Answer} answer
 * @param {Scale} scale
 * @param {Words} words
 * @param {(remedy: Record<string, any>) => import("./dom.js").Child} action what can be done about a remedy
 * @returns {HTMLElement}
 */
export function missCard(miss, answer, scale, words, action) {
  const short = WAYS.filter((way) => miss.short_by[way] > 0)
    .map((way) => words.t("short_" + way, { length: words.length(miss.short_by[way], answer.units) }));
  return h("li", { class: "card miss", part: "miss", "data-code": miss.damper.code },
    h("div", { class: "card-head" },
      h("h4", {}, h("span", { class: "code" }, miss.damper.code)), h("span", { class: "badge near" }, words.t("grade_near"))),
    h("p", { class: "about" }, miss.damper.description),
    strokeBar(strokeOfMiss(miss, answer), scale, words, answer.units),
    h("p", {}, short.length > 0 ? short.join("; ") : words.t("short_of_hardware")),
    h("ul", { class: "remedies" }, miss.remedies.map((/** @type {any} */ remedy) => h("li", {},
      h("span", { lang: answer.language }, remedy.text), action(remedy)))));
}
