// A damper compressed, at ride height and extended, under each other and to
// one scale.

import { WAYS } from "./answer.js";
import { newId, s } from "./dom.js";

/**
 * @typedef {import("./answer.js").Answer} Answer
 * @typedef {import("./answer.js").Fit} Fit
 * @typedef {import("./words.js").Words} Words
 */

/** The drawing's own units. */
const SPAN = 400;
const LEFT = 144;
const WIDTH = 744;
const ROW = 36;
const FIRST = 30;
const EYE = 9;

/** How much of the compressed length the tube is drawn to take, which no catalogue tells. */
const TUBE_PART = 0.86;

/** The thickness that a tube is drawn with where its own isn't known, in compressed lengths. */
const USUAL_BODY = 0.16;

/**
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {Words} words
 * @returns {SVGElement}
 */
export function stages(fit, answer, words) {
  const { compressed, extended } = fit.effective;
  const ride = answer.working_length.value;
  const scale = SPAN / extended;
  const l = (/** @type {number} */ value) => words.length(value, answer.units);
  const at = (/** @type {number} */ length) => LEFT + length * scale;
  const body = Math.min(ROW - 10, Math.max(8, (fit.damper.body_diameter ?? USUAL_BODY * compressed) * scale));
  /** @type {[string, number][]} */
  const rows = [["compressed", compressed], ["ride", ride], ["extended", extended]];
  const foot = FIRST + 3 * ROW;
  const arrow = newId("arrow");
  return s("svg", {
    class: "stages", viewBox: "0 0 " + WIDTH + " " + (foot + 46), role: "img",
    "aria-label": words.t("stroke_told", {
      compressed: l(compressed), extended: l(extended), ride: l(ride), compression: l(fit.margin.compression), extension: l(fit.margin.extension),
    }),
  },
  s("defs", {}, s("marker", { id: arrow, viewBox: "0 0 10 10", refX: 10, refY: 5, markerWidth: 8, markerHeight: 8, orient: "auto-start-reverse" },
    s("path", { class: "arrow-head", d: "M0 1.5L10 5L0 8.5Z" }))),
  [compressed, ride, extended].map((length) => s("path", { class: length === ride ? "plane ride-plane" : "plane", d: "M" + at(length) + " 10V" + (foot + 18) })),
  s("path", { class: "plane", d: "M" + LEFT + " 10V" + (foot - 18) }),
  rows.map(([name, length], row) => {
    const y = FIRST + row * ROW;
    const end = LEFT + TUBE_PART * compressed * scale;
    return s("g", {},
      s("text", { x: 0, y: y - 2, class: "stage-name" }, words.t("sheet.stage_" + name)), s("text", { x: 0, y: y + 13, class: "stage-length" }, l(length)),
      s("path", { class: "rod", d: "M" + end + " " + y + "H" + (at(length) - EYE) }),
      s("rect", { class: "tube", x: LEFT + EYE, y: y - body / 2, width: end - LEFT - EYE, height: body, rx: 3 }),
      s("circle", { class: "tube", cx: LEFT, cy: y, r: EYE }), s("circle", { class: "tube", cx: at(length), cy: y, r: EYE }),
      s("path", { class: "centre", d: "M" + (LEFT - 4) + " " + y + "h8M" + LEFT + " " + (y - 4) + "v8M" + (at(length) - 4) + " " + y + "h8M" + at(length) + " " + (y - 4) + "v8" }));
  }),
  WAYS.map((way) => {
    const to = way === "compression" ? compressed : extended;
    const [from, until] = way === "compression" ? [to, ride] : [ride, to];
    const text = words.t("sheet.way_" + way, { travel: l(fit.travel[way]), needed: l(answer.required[way].least) });
    return s("g", {},
      s("path", { class: "dimension", d: "M" + at(from) + " " + (foot + 12) + "H" + at(until), "marker-start": "url(#" + arrow + ")", "marker-end": "url(#" + arrow + ")" }),
      s("text", { class: "dimension-text", x: way === "compression" ? at(ride) - 6 : at(ride) + 6, y: foot + 34, "text-anchor": way === "compression" ? "end" : "start" }, text));
  }));
}
