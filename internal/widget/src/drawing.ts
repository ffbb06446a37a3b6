// Drawings that the service makes, rebuilt element by element from a short list
// of what they may hold.

import { type ComponentChildren, h, type VNode } from "preact";

/** What a drawing may be made of. Its title and description become its label. */
const ELEMENTS = new Set(["svg", "g", "path", "line", "polyline", "polygon", "rect", "circle", "ellipse", "text", "tspan"]);

/** Of these, values that refer to something else are left out. */
const ATTRIBUTES = new Set([
  "viewBox", "role", "lang", "d", "x", "y", "x1", "y1", "x2", "y2", "dx", "dy", "cx", "cy", "r", "rx", "ry", "width", "height", "points",
  "transform", "fill", "fill-opacity", "fill-rule", "opacity", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap",
  "stroke-linejoin", "stroke-opacity", "paint-order", "font-size", "font-family", "font-weight", "font-style", "text-anchor",
  "dominant-baseline", "aria-label", "aria-hidden",
]);

/** Deeper than any drawing of ours. */
const DEEPEST = 32;

const SVG = "http://www.w3.org/2000/svg";

/**
 * Rebuilds a drawing.
 * @param text SVG
 * @returns null where it isn't one
 * @throws where the page's policy forbids parsing
 */
export function rebuild(text: string): VNode | null {
  const drawing = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (drawing.localName !== "svg") return null;
  const label = ["title", "desc"].map((name) => drawing.querySelector(`:scope > ${name}`)?.textContent).filter(Boolean).join(". ");
  const { width: _width, height: _height, ...attributes } = attributesOf(drawing);
  return h("svg", { ...attributes, role: "img", "aria-label": label }, childrenOf(drawing, 1));
}

function copy(element: Element, depth: number): ComponentChildren {
  if (depth > DEEPEST || element.namespaceURI !== SVG || !ELEMENTS.has(element.localName)) return null;
  return h(element.localName, attributesOf(element), childrenOf(element, depth + 1));
}

function childrenOf(element: Element, depth: number): ComponentChildren[] {
  return [...element.childNodes].map((child) => child.nodeType === Node.ELEMENT_NODE ? copy(child as Element, depth) : child.nodeType === Node.TEXT_NODE && child.nodeValue);
}

function attributesOf(element: Element): Record<string, string> {
  const kept = [...element.attributes].filter(({ name, value }) => ATTRIBUTES.has(name) && !/url|:\/\//i.test(value));
  return Object.fromEntries(kept.map(({ name, value }) => [name, value]));
}
