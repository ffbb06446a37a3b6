// The widget's last screen: the answer, and what can be done with it.

import { arithmetic, cautions, fitCard, headline, legend, lengths, missCard, noteList, scaleOf } from "./answer.js";
import { fill, h } from "./dom.js";
import { canTake } from "./remedy.js";

/**
 * @typedef {import("./answer.js").Answer} Answer
 * @typedef {import("./answer.js").Fit} Fit
 * @typedef {object} Doing
 * @property {import("./words.js").Words} words
 * @property {import("./request.js").Request} request
 * @property {(step: string) => void} change goes back to a question
 * @property {(fit: Fit) => void} choose
 * @property {(remedy: Record<string, any>) => void} take asks again with a remedy taken
 * @property {(fit: Fit) => string | null} sheet where a fit's sheet to print is
 */

/**
 * @param {Answer} answer
 * @param {Doing} doing
 * @returns {HTMLElement}
 */
export function answerScreen(answer, doing) {
  const { words } = doing;
  const scale = scaleOf(answer);
  const fits = h("h3", { tabindex: -1 }, words.t("fits"));
  return h("div", { class: "answer", "data-outcome": answer.outcome },
    h("p", { class: "headline " + answer.outcome }, headline(answer, doing.request, words), " ",
      answer.fits.length > 0 && h("a", { href: "#fits", onclick: (/** @type {Event} */ event) => {
        event.preventDefault();
        fits.scrollIntoView();
        fits.focus();
      } }, words.t("to_fits"))),
    noteList(answer.reasons, answer, "notes reasons"),
    lengths(answer, words),
    h("details", {}, h("summary", {}, words.t("arithmetic")), arithmetic(answer, words)),
    cautions(answer, words),
    scale && answer.fits.length > 0 && [
      fits, legend(words),
      h("ol", { class: "cards" }, answer.fits.map((/** @type {Fit} */ fit) => fitCard(fit, answer, scale, words, fitActions(fit, doing)))),
    ],
    scale && answer.near_misses.length > 0 && h("details", { class: "misses", open: answer.fits.length === 0 },
      h("summary", {}, h("h3", {}, words.t("near_misses") + " (" + answer.near_misses.length + ")")),
      h("p", { class: "hint" }, words.t("near_misses_hint")), answer.fits.length === 0 && legend(words),
      h("ul", { class: "cards" }, answer.near_misses.map((/** @type {any} */ miss) => missCard(miss, answer, scale, words, (remedy) =>
        canTake(remedy, answer, doing.request) && h("button", { type: "button", class: "plain", "data-go": "take", onclick: () => doing.take(remedy) }, words.t("take_remedy")))))),
    asked(doing),
    h("p", { class: "quiet small" }, words.t("from_catalog", { name: answer.catalog.name, revision: answer.catalog.revision }),
      answer.catalog.stale && " " + words.t("stale"), answer.reference && " · " + answer.reference));
}

/**
 * @param {Fit} fit
 * @param {Doing} doing
 * @returns {import("./dom.js").Child}
 */
function fitActions(fit, { words, choose, sheet }) {
  const code = fit.damper.code;
  const link = sheet(fit);
  // Beside the button, where whoever pressed it looks.
  const said = h("p", { class: "chosen", role: "status" });
  return [
    h("button", {
      type: "button", class: "main", part: "button", "data-go": "choose", "aria-label": words.t("choose_code", { code }), onclick: (/** @type {MouseEvent} */ event) => {
        if (event.detail > 1) return;
        choose(fit);
        fill(said, words.t("chosen", { code }));
      },
    }, words.t("choose")),
    link && h("a", { href: link, target: "_blank", rel: "noopener", "aria-label": words.t("sheet_of", { code }) }, words.t("sheet")),
    said,
  ];
}

/**
 * What was asked, each part with a way back to it.
 * @param {Doing} doing
 * @returns {HTMLElement}
 */
function asked({ words, request, change }) {
  const readings = ["left", "right"].flatMap((side) => {
    const texts = request.all("readings_" + side).filter((text) => text.trim() !== "");
    return texts.length > 0 ? [words.t(side + "_side") + ": " + texts.join(", ")] : [];
  });
  /** @type {[string, string][]} */
  const parts = [
    ["upper", words.t("style_" + request.get("upper"))], ["lower", words.t("style_" + request.get("lower"))],
    ["readings", readings.join("; ") + " (" + request.get("units") + ")"],
    ["brackets", words.t("brackets_given", { upper: request.get("upper_bolt") || "–", lower: request.get("lower_bolt") || "–" })],
    ["movement", words.t("basis_" + (request.get("travel") || "rule"))],
  ];
  return h("section", { class: "asked" }, h("h3", {}, words.t("asked")), h("dl", {}, parts.map(([step, text]) => h("div", {},
    h("dt", {}, words.t("asked_" + step)), h("dd", {}, text, " ",
      h("button", { type: "button", class: "link", "data-change": step, "aria-label": words.t("change_part", { part: words.t("asked_" + step) }), onclick: () => change(step) },
        words.t("change")))))));
}
