// Drawings that the service makes, rebuilt element by element so that nothing
// comes in with them.

import { s } from "./dom.js";

/** What a drawing may be made of. Its title and description become its label. */
const ELEMENTS = new Set([
  "svg", "g", "path", "line", "polyline", "polygon", "rect", "circle", "ellipse", "text", "tspan",
]);

/** Of these only values that refer to nothing are kept. */
const ATTRIBUTES = new Set([
  "viewBox", "role", "lang", "d", "x", "y", "x1", "y1", "x2", "y2", "dx", "dy", "cx", "cy", "r", "rx", "ry", "width", "height", "points",
  "transform", "fill", "fill-opacity", "fill-rule", "opacity", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap",
  "stroke-linejoin", "stroke-opacity", "paint-order", "font-size", "font-family", "font-weight", "font-style", "text-anchor",
  "dominant-baseline", "aria-label", "aria-hidden",
]);

/** Deeper than any drawing of ours. */
const DEEPEST = 32;

/**
 * Rebuilds a drawing.
 * @param {string} text SVG
 * @returns {SVGElement | null} null where it isn't one
 */
export function rebuild(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (parsed.localName !== "svg") return null;
  const drawing = copy(parsed, 0);
  if (!drawing) return null;
  drawing.setAttribute("role", "img");
  const [title, description] = ["title", "desc"].map((name) => parsed.querySelector(":scope > " + name)?.textContent ?? "");
  drawing.setAttribute("aria-label", [title, description].filter(Boolean).join(". "));
  drawing.removeAttribute("width");
  drawing.removeAttribute("height");
  return drawing;
}

/**
 * @param {Element} from
 * @param {number} depth
 * @returns {SVGElement | null}
 */
function copy(from, depth) {
  if (depth > DEEPEST || from.namespaceURI !== "http://www.w3.org/2000/svg" || !ELEMENTS.has(from.localName)) return null;
  const to = s(from.localName);
  for (const { name, value } of from.attributes) {
    if (ATTRIBUTES.has(name) && !/url|:\/\//i.test(value)) to.setAttribute(name, value);
  }
  for (const child of from.childNodes) {
    if (child.nodeType === Node.TEXT_NODE) to.append(child.nodeValue ?? "");
    else if (child.nodeType === Node.ELEMENT_NODE) to.append(copy(/** @type {Element} */ (child), depth + 1) ?? "");
  }
  return to;
}
