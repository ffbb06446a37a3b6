// A request as something to paste elsewhere.

import { fill, folded, h } from "./dom.js";

/**
 * The request as a link that opens it on this page, as a command and as a body.
 * @param {import("./request.js").Request} request
 * @param {import("./words.js").Words} words
 * @param {() => string} link
 * @param {boolean} open
 * @returns {HTMLElement}
 */
export function shareBox(request, words, link, open) {
  const body = () => JSON.stringify(request.body(words.decimalComma), null, 2);
  return folded(h("summary", {}, words.t("counter.share")), () => [
    part(words.t("counter.as_link"), "link", link, words),
    part(words.t("counter.as_post"), "curl", () => curl(location.origin, body()), words),
    part(words.t("counter.as_get"), "get", () => location.origin + "/v1/fits?" + request.query(words.decimalComma), words),
  ], { class: "share", open });
}

/**
 * @param {string} label
 * @param {string} name
 * @param {() => string} text as it is when it is copied
 * @param {import("./words.js").Words} words
 * @returns {HTMLElement}
 */
function part(label, name, text, words) {
  const shown = h("pre", { class: "code", tabindex: 0, "data-share": name, role: "region", "aria-label": label }, text());
  const told = h("span", { role: "status" });
  return h("div", { class: "share-part" },
    h("div", { class: "share-head" }, h("b", {}, label), told, h("button", { type: "button", class: "plain small", "aria-label": words.t("counter.copy") + ": " + label, onclick: async () => {
      fill(shown, text());
      try {
        await navigator.clipboard.writeText(text());
        fill(told, words.t("counter.copied"));
      } catch {
        // Not allowed here: it is marked, for the reader to copy.
        getSelection()?.selectAllChildren(shown);
      }
    } }, words.t("counter.copy"))),
    shown);
}

/**
 * A command for a shell (POSIX) that sends a body.
 * @param {string} origin
 * @param {string} body JSON
 * @returns {string}
 */
function curl(origin, body) {
  return "curl '" + origin + "/v1/fits' -H 'Content-Type: application/json' -d '" + body.replaceAll("'", "'\\''") + "'";
}
