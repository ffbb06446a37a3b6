// Elements by function calls. Text is always set as text, never as markup.

/**
 * @typedef {string | number | Node | null | undefined | false | any[]} Child nothing for null, undefined and false; a list for its items
 * @typedef {Record<string, unknown>} Attributes
 */

const SVG = "http://www.w3.org/2000/svg";

/**
 * An HTML element. An attribute that is null, undefined or false is left out,
 * true stands for an empty one, and a function listens to the event that the
 * name says after "on".
 * @param {string} tag
 * @param {Attributes} [attributes]
 * @param {...Child} children
 * @returns {HTMLElement}
 */
export function h(tag, attributes, ...children) {
  return /** @type {HTMLElement} */ (dress(document.createElement(tag), attributes, children));
}

/**
 * An SVG element, dressed alike.
 * @param {string} tag
 * @param {Attributes} [attributes]
 * @param {...Child} children
 * @returns {SVGElement}
 */
export function s(tag, attributes, ...children) {
  return /** @type {SVGElement} */ (dress(document.createElementNS(SVG, tag), attributes, children));
}

/**
 * @param {Element} element
 * @param {Attributes | undefined} attributes
 * @param {Child[]} children
 * @returns {Element}
 */
function dress(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (typeof value === "function") {
      element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    } else if (value !== null && value !== undefined && value !== false) {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  add(element, children);
  return element;
}

/**
 * @param {Element} parent
 * @param {Child[]} children
 */
function add(parent, children) {
  for (const child of children) {
    if (Array.isArray(child)) {
      add(parent, child);
    } else if (child !== null && child !== undefined && child !== false) {
      parent.append(child instanceof Node ? child : String(child));
    }
  }
}

/**
 * Puts children in the place of all that is in parent.
 * @param {Element} parent
 * @param {...Child} children
 */
export function fill(parent, ...children) {
  parent.replaceChildren();
  add(parent, children);
}

/**
 * What opens, built when it is first opened: an answer that changes with each
 * key has no time for what nobody looks at.
 * @param {HTMLElement} summary
 * @param {() => Child} build what is below it
 * @param {Attributes} [attributes]
 * @returns {HTMLDetailsElement}
 */
export function folded(summary, build, attributes) {
  const inside = h("div", { class: "folded" });
  const open = () => {
    if (details.open && !inside.firstChild) add(inside, [build()]);
  };
  const details = /** @type {HTMLDetailsElement} */ (h("details", { ...attributes, ontoggle: open }, summary, inside));
  open();
  return details;
}

let made = 0;

/**
 * An id that nothing else on the page has.
 * @param {string} kind
 * @returns {string}
 */
export function newId(kind) {
  made += 1;
  return "midstroke-" + kind + "-" + made;
}
