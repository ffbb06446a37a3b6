// A damper's stroke to scale, with ride height in it.

import { newId, s } from "./dom.js";

/**
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./words.js").Units} Units
 * @typedef {{compression: number, extension: number}} Both
 * @typedef {object} Stroke
 * @property {number} compressed between the reference points, adapters counted
 * @property {number} extended
 * @property {number} ride
 * @property {Both} least the travel needed
 * @property {Both} margin
 * @property {Both | null} worst the margin with every tolerance against it, null where it wasn't reckoned
 */

/** The picture's own units. */
const WIDE = 420;
const HIGH = 52;
const EDGE = 8;
const BAR_TOP = 14;
const BAR_FOOT = 42;

/** Lengths that all pictures beside each other span. */
export class Scale {
  /** @param {Stroke[]} strokes */
  constructor(strokes) {
    const ends = strokes.flatMap((x) => [x.compressed, x.extended, x.ride - x.least.compression, x.ride + x.least.extension]);
    this.low = Math.min(...ends);
    this.span = Math.max(...ends) - this.low || 1;
  }

  /**
   * @param {number} length
   * @returns {number} across the picture
   */
  at(length) {
    return EDGE + ((length - this.low) / this.span) * (WIDE - 2 * EDGE);
  }

  /**
   * @param {number} length
   * @returns {number} across the picture, in hundredths of its width
   */
  share(length) {
    return (100 * this.at(length)) / WIDE;
  }
}

/**
 * The stroke as a bar from compressed at the left to extended at the right:
 * solid what is needed, open what is spare, hatched what tolerances may take,
 * broken what is missing, and a mark at ride height.
 * @param {Stroke} stroke
 * @param {Scale} scale
 * @param {Words} words
 * @param {Units} units
 * @returns {SVGElement}
 */
export function strokeBar(stroke, scale, words, units) {
  const { compressed, extended, ride, least, margin, worst } = stroke;
  const hatch = newId("hatch");
  const x = (/** @type {number} */ length) => scale.at(length);
  /** @type {(kind: string, from: number, to: number) => SVGElement | null} */
  const box = (kind, from, to) => to <= from ? null : s("rect", {
    class: kind, x: x(from), y: BAR_TOP, width: x(to) - x(from), height: BAR_FOOT - BAR_TOP, fill: kind === "doubt" ? "url(#" + hatch + ")" : null,
  });
  const [from, to] = [ride - least.compression, ride + least.extension];
  const at = x(ride);
  return s("svg", { class: "stroke", part: "stroke", viewBox: "0 0 " + WIDE + " " + HIGH, role: "img", "aria-label": told(stroke, words, units) },
    s("defs", {}, s("pattern", { id: hatch, width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      s("path", { class: "hatching", d: "M0 0V7" }))),
    s("path", { class: "axis", d: "M" + EDGE + " 28H" + (WIDE - EDGE) }),
    box("stroke-room", compressed, extended),
    box("needed", Math.max(from, compressed), Math.min(to, extended)),
    worst && [
      box("doubt", compressed, Math.min(compressed + margin.compression - worst.compression, ride)),
      box("doubt", Math.max(extended - margin.extension + worst.extension, ride), extended),
    ],
    box("missing", from, Math.min(compressed, to)),
    box("missing", Math.max(extended, from), to),
    box("outline", compressed, extended),
    s("path", { class: "ride", d: "M" + at + " 8V50M" + (at - 7) + " 2H" + (at + 7) + "L" + at + " 13Z" }),
  );
}

/**
 * What the bar shows, in words.
 * @param {Stroke} stroke
 * @param {Words} words
 * @param {Units} units
 * @returns {string}
 */
function told({ compressed, extended, ride, margin }, words, units) {
  const length = (/** @type {number} */ value) => words.length(value, units);
  return words.t("stroke_told", {
    compressed: length(compressed), extended: length(extended), ride: length(ride),
    compression: length(margin.compression), extension: length(margin.extension),
  });
}
