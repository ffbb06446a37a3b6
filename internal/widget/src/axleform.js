// The whole of a request for fits, dense, as fields in groups.

import { h } from "./dom.js";
import { BOLT, BY_NAME, CHOICE, CHOICES, FIELDS, FLAG, IS_PLANAR, PLANES, pointsOf, STYLES, TEXTS } from "./fields.js";

/**
 * @typedef {import("./fields.js").Field} Field
 * @typedef {import("./form.js").Form} Form
 * @typedef {import("./request.js").Request} Request
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./dom.js").Child} Child
 */

/** Readings a side. */
const READINGS_A_SIDE = 3;

/**
 * @param {Form} form
 * @param {Request} request
 * @param {Words} words
 * @param {HTMLElement} drawing of the linkage
 * @param {() => void} again shows the form anew, since what there is to choose has changed
 * @returns {Child}
 */
export function axleForm(form, request, words, drawing, again) {
  const list = (/** @type {string} */ name, /** @type {number} */ n) => Array.from({ length: n }, (_, at) =>
    form.text(name, { label: words.t("counter." + name + "_n", { n: at + 1 }), at }));
  const some = (/** @type {string[]} */ ...names) => names.map((name) => control(name, form, request, words));
  const group = (/** @type {string} */ name, /** @type {Child[]} */ ...children) =>
    h("fieldset", { class: "group " + name }, h("legend", {}, words.t("counter.group_" + name)), h("div", { class: "cells" }, children));
  const folded = (/** @type {string} */ name, /** @type {RegExp} */ fields) => {
    const names = FIELDS.map((field) => field.name).filter((field) => fields.test(field));
    const used = names.some((field) => request.get(field) !== "");
    return h("details", { class: "group", open: used }, h("summary", {}, words.t("counter.group_" + name)), h("div", { class: "cells" }, some(...names)));
  };
  return [
    ["upper", "lower"].map((end) => group(end, endControls(end, form, request, words, again))),
    group("readings", request.all("readings").length > 0 && list("readings", request.all("readings").length), list("readings_left", READINGS_A_SIDE), list("readings_right", READINGS_A_SIDE), some("reading_tolerance", "tape", "sideways_offset")),
    group("state", some("condition", "condition_arch_gap", "condition_arch_gap_at_ride", "condition_gap_tolerance", "motion_ratio",
      "motion_ratio_tolerance", "planned_change", "lean_deg", "old_damper_at_stop", "old_damper_carries_load")),
    group("travel", some("suspension", "travel"),
      some(...FIELDS.map((field) => field.name).filter((name) => /^travel_(?!linkage)/.test(name))),
      form.only(() => request.get("travel") === "linkage", linkageFields(form, request, words, again), drawing)),
    folded("stops", /^(bump_stop|strap)_/),
    folded("limits", /^limits_/),
    folded("answer", /^(prefer_|top$|dampers$|explain$|codes$|reference$)/),
  ];
}

/**
 * @param {string} end
 * @param {Form} form
 * @param {Request} request
 * @param {Words} words
 * @param {() => void} again
 * @returns {Child}
 */
function endControls(end, form, request, words, again) {
  const style = request.get(end);
  const planes = PLANES[style];
  return [
    form.select(end, {
      label: words.t("counter.style"), options: STYLES, word: (option) => words.t("style_" + option), empty: words.t("counter.choose"),
      then: () => {
        request.set(end + "_measured_to", "");
        again();
      },
    }),
    planes && form.select(end + "_measured_to", {
      label: words.t("counter.measured_to"), options: planes.slice(1), empty: words.t("counter.plane_" + planes[0]), word: (plane) => words.t("counter.plane_" + plane),
    }),
    FIELDS.filter(({ name }) => name.startsWith(end + "_") && !name.endsWith("_measured_to"))
      .map(({ name }) => control(name, form, request, words, name.slice(end.length + 1))),
  ];
}

/**
 * A field by its kind, shown while it has a meaning.
 * @param {string} name
 * @param {Form} form
 * @param {Request} request
 * @param {Words} words
 * @param {string} [called] the end of its messages' keys
 * @returns {HTMLElement}
 */
function control(name, form, request, words, called = name) {
  const field = /** @type {Field} */ (BY_NAME.get(name));
  const own = "counter." + called;
  const label = words.has(own) ? words.t(own) : words.t(called);
  return form.only(() => field.when(request), byKind(field, label, form, request, words));
}

/**
 * @param {Field} field
 * @param {string} label
 * @param {Form} form
 * @param {Request} request
 * @param {Words} words
 * @returns {Child}
 */
function byKind({ name, kind, options = [] }, label, form, request, words) {
  const called = name.replace(/^(upper|lower|limits)_/, "");
  const word = (/** @type {string} */ option) => {
    const key = called + "_" + option;
    return words.has("counter." + key) ? words.t("counter." + key) : words.has(key) ? words.t(key) : option;
  };
  // By rule is what goes without saying.
  const byRule = name === "travel";
  switch (kind) {
    case FLAG: return form.flag(name, label);
    case CHOICES: return form.checks(name, { label, options, word });
    case CHOICE: return form.select(name, { label, options: byRule ? options.slice(1) : options, word, empty: byRule ? word("rule") : words.t("counter.not_said") });
    // A link may name several, and none is sent unseen.
    case TEXTS: return Array.from({ length: Math.max(1, request.all(name).length) }, (_, at) => form.text(name, { label: at ? label + " " + (at + 1) : label, at }));
    case BOLT: return form.text(name, { label, placeholder: "M12" });
    default: return form.text(name, { label });
  }
}

/**
 * The points of a linkage, a line each.
 * @param {Form} form
 * @param {Request} request
 * @param {Words} words
 * @param {() => void} again
 * @returns {Child}
 */
function linkageFields(form, request, words, again) {
  const kind = "travel_linkage_kind";
  const double = request.get(kind) === "double_wishbone";
  const axes = double && request.get(IS_PLANAR) ? ["y", "z"] : ["x", "y", "z"];
  const points = pointsOf(request);
  return [
    form.select(kind, {
      label: words.t("counter." + kind), options: BY_NAME.get(kind)?.options ?? [], empty: words.t("counter.choose"),
      word: (option) => words.t("counter.linkage_" + option), then: again,
    }),
    double && form.select(IS_PLANAR, {
      label: words.t("counter.points_in"), options: ["true"], empty: words.t("counter.in_space"), word: () => words.t("counter.in_plane"), then: again,
    }),
    double && form.select("travel_linkage_damper_on", {
      label: words.t("counter.damper_on"), options: ["upper_arm", "upright"], empty: words.t("counter.on_lower_arm"), word: (part) => words.t("counter.on_" + part),
    }),
    points.length > 0 && h("table", { class: "points" },
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, words.t("counter.point")), axes.map((axis) => h("th", { scope: "col" }, axis + " (" + form.units + ")")))),
      h("tbody", {}, points.map((point) => h("tr", {}, h("th", { scope: "row" }, words.t("counter.point_" + point)), axes.map((axis, at) =>
        h("td", {}, form.text("travel_linkage_" + point, { label: words.t("counter.point_" + point) + " " + axis, at, bare: true }))))))),
    h("p", { class: "hint" }, words.t("counter.axes_hint")),
  ];
}
