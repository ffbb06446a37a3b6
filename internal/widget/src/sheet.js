// The sheet: an answer on paper, a page for each fit.

import { arithmetic, badge, ENDS, hardware, lengths, noteList, pickList, travelTable } from "./answer.js";
import { fill, h, s } from "./dom.js";
import { qr } from "./qr.js";
import { Request } from "./request.js";
import { Refused, Service } from "./service.js";
import { stages } from "./stages.js";
import { Words } from "./words.js";

/**
 * @typedef {import("./answer.js").Answer} Answer
 * @typedef {import("./answer.js").Fit} Fit
 */

/** Names in the address that are this page's own, and no part of the request. */
const OWN = ["rank", "lang", "paper", "axle"];

const PAPERS = ["a4", "letter"];

/**
 * Shows what the address asks for.
 * @param {URLSearchParams} query
 */
async function show(query) {
  const words = new Words(query.get("lang") || navigator.language);
  const rank = Number(query.get("rank") ?? 0);
  const paper = query.get("paper") ?? "";
  const axle = query.get("axle") === "rear" ? "rear" : "front";
  document.documentElement.lang = words.lang;
  document.title = words.t("sheet.title");
  document.body.dataset.paper = paper;
  for (const name of OWN) query.delete(name);
  const request = Request.read(query);
  // No fit beyond the one that is wanted need be looked for.
  if (rank > 0) query.set("top", String(Math.max(rank, Number(query.get("top") ?? 0))));
  const main = h("main", {}, h("p", {}, words.t("loading")));
  fill(document.body, toolbar(request, axle, paper, words), main);
  try {
    const answer = await new Service(location.origin, "", words.lang).fits(query);
    const fits = answer.fits.filter((/** @type {Fit} */ fit) => rank === 0 || fit.rank === rank);
    fill(main, fits.length > 0 ? fits.map((/** @type {Fit} */ fit) => page(fit, answer, request, words)) : without(answer, words));
  } catch (error) {
    const faults = error instanceof Refused ? error.faults.map(({ parameter, detail }) => h("li", {}, parameter + ": " + detail)) : [];
    fill(main, h("article", { class: "page" }, h("h1", {}, words.t("sheet.title")),
      h("p", {}, words.t(error instanceof Refused ? "refused" : "unreachable")), h("ul", { lang: "en" }, faults)));
  }
}

/**
 * What is on the screen and not on the paper.
 * @param {Request} request as it was asked
 * @param {string} axle at the counter
 * @param {string} paper
 * @param {Words} words
 * @returns {HTMLElement}
 */
function toolbar(request, axle, paper, words) {
  const back = new URLSearchParams({ units: request.get("units"), lang: words.lang });
  for (const [name, value] of request.query()) if (name !== "units") back.append(axle + "." + name, value);
  const papers = /** @type {HTMLSelectElement} */ (h("select", { "aria-label": words.t("sheet.paper"), onchange: () => {
    document.body.dataset.paper = papers.value;
    const address = new URL(location.href);
    address.searchParams.set("paper", papers.value);
    history.replaceState(null, "", address);
  } }, h("option", { value: "" }, words.t("sheet.paper_own")), PAPERS.map((name) => h("option", { value: name }, words.t("sheet.paper_" + name)))));
  papers.value = PAPERS.includes(paper) ? paper : "";
  return h("header", { class: "toolbar" },
    h("button", { type: "button", class: "main", onclick: () => print() }, words.t("sheet.print")), papers, h("a", { href: "/#" + back }, words.t("sheet.back")));
}

/**
 * @param {Answer} answer
 * @param {Words} words
 * @returns {HTMLElement}
 */
function without(answer, words) {
  const key = answer.outcome === "fits" ? "sheet.no_such_rank" : "outcome_" + answer.outcome;
  return h("article", { class: "page" }, h("h1", {}, words.t(key)), noteList(answer.reasons, answer, "notes"), lengths(answer, words));
}

/**
 * @param {Fit} fit
 * @param {Answer} answer
 * @param {Request} request
 * @param {Words} words
 * @returns {HTMLElement}
 */
function page(fit, answer, request, words) {
  const { damper } = fit;
  const link = new URL(location.href);
  link.searchParams.set("rank", fit.rank);
  const shown = code(link.href, words);
  return h("article", { class: "page", "data-code": damper.code },
    h("header", { class: "page-head" },
      h("div", {}, h("h1", {}, words.t("sheet.title")), h("p", { class: "reference" }, answer.reference ?? "")),
      h("dl", { class: "stamp" },
        pair(words.t("sheet.date"), new Intl.DateTimeFormat(words.locale, { dateStyle: "long" }).format(new Date())),
        pair(words.t("sheet.catalog"), answer.catalog.name + ", " + words.t("sheet.revision", { revision: answer.catalog.revision })))),
    h("div", { class: "columns" },
      h("section", {}, h("h2", {}, words.t("sheet.vehicle")), said(request, words), arithmetic(answer, words)),
      h("section", {}, h("h2", {}, words.t("sheet.damper")),
        h("p", { class: "chosen" }, h("b", { class: "code" }, damper.code), " ", badge(fit.grade, words)),
        h("p", {}, damper.description), lengths(answer, words), travelTable(fit, answer, words),
        h("p", { class: "small" }, words.t("sits_at", { position: words.percent(fit.ride_position), likelihood: words.percent(fit.worst_case.likelihood) })),
        noteList(fit.notes, answer, "notes small"))),
    h("section", {}, h("h2", {}, words.t("sheet.drawing")), h("div", { class: "drawn" }, stages(fit, answer, words), shown)),
    h("div", { class: "columns shelf" },
      h("section", {}, h("h2", {}, words.t("sheet.pick_list")), pickList(fit, words)),
      h("section", {}, h("h2", {}, words.t("sheet.bolting")), hardware(fit, answer, words))),
    h("section", {}, h("h2", {}, words.t("sheet.checks")),
      h("ul", { class: "checks-list", lang: answer.language }, answer.cautions.map((/** @type {any} */ note) => h("li", {}, note.text)))),
    h("footer", { class: "page-foot" },
      h("div", { class: "signed" }, ["done", "day", "checked"].map((line) => h("span", {}, words.t("sheet.signed_" + line)))),
      h("p", { class: "address" }, shown ? link.origin : link.href)));
}

/**
 * @param {string} term
 * @param {string} text
 * @returns {HTMLElement}
 */
function pair(term, text) {
  return h("div", {}, h("dt", {}, term), h("dd", {}, text));
}

/**
 * What was measured, and on what.
 * @param {Request} request
 * @param {Words} words
 * @returns {HTMLElement}
 */
function said(request, words) {
  const units = request.get("units");
  const readings = [["readings", "asked_readings"], ["readings_left", "left_side"], ["readings_right", "right_side"]]
    .filter(([name]) => request.all(name).length > 0)
    .map(([name, label]) => pair(words.t(label), request.all(name).map((text) => /[a-z"']/i.test(text) ? text : text + " " + units).join(", ")));
  const ends = ENDS.map((end) => {
    const plane = request.get(end + "_measured_to");
    return pair(words.t(end + "_end"), words.t("style_" + request.get(end)) + (plane ? ", " + words.t("sheet.to", { plane: words.t("plane_" + plane) }) : ""));
  });
  return h("dl", { class: "said" }, ends, readings);
}

/**
 * The address as a code for a phone to read.
 * @param {string} address
 * @param {Words} words
 * @returns {SVGElement | null}
 */
function code(address, words) {
  const rows = qr(address);
  if (!rows) return null;
  const quiet = 4;
  const size = rows.length + 2 * quiet;
  const d = rows.flatMap((row, y) => row.map((dark, x) => (dark ? "M" + (x + quiet) + " " + (y + quiet) + "h1v1h-1Z" : ""))).join("");
  return s("svg", { class: "qr", viewBox: "0 0 " + size + " " + size, role: "img", "aria-label": words.t("sheet.qr"), "shape-rendering": "crispEdges" },
    s("path", { class: "qr-ground", d: "M0 0H" + size + "V" + size + "H0Z" }), s("path", { class: "qr-ink", d }));
}

show(new URLSearchParams(location.search));
