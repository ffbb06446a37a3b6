// What the widget asks, one thing at a time.

import { fill, h } from "./dom.js";
import { rebuild } from "./drawing.js";
import { PLANES, STYLES } from "./fields.js";
import { endIcon } from "./icons.js";

/**
 * @typedef {import("./form.js").Form} Form
 * @typedef {import("./dom.js").Child} Child
 * @typedef {import("./words.js").Words} Words
 * @typedef {import("./request.js").Request} Request
 * @typedef {import("./service.js").Service} Service
 * @typedef {object} Asking what a step needs to ask
 * @property {Form} form
 * @property {Request} request
 * @property {Words} words
 * @property {Service} service
 * @property {AbortSignal} signal ends when the step is left
 * @property {() => void} next goes on
 * @property {() => void} again shows the step anew
 * @typedef {object} Step
 * @property {string} name
 * @property {RegExp} fields the names of those that it asks for
 * @property {(asking: Asking) => Child} body
 * @property {boolean} [picks] picking an answer goes on, so that it needs no button for that
 * @property {boolean} [optional] it may be gone past
 */

/** The readings that there is room for at first, and at most, a side. */
const READINGS = 2;
const MOST_READINGS = 4;

/** Less room than this, in pixels, is too little for a drawing with words beside it. */
const NARROW = 480;

/** What is asked only of those who want more. */
const MORE = ["limits_max_body_diameter", "planned_change", "limits_in_stock"];

/** @type {Step[]} */
export const STEPS = [
  { name: "upper", fields: /^upper$/, body: (asking) => pickStyle("upper", asking), picks: true },
  { name: "lower", fields: /^lower$/, body: (asking) => pickStyle("lower", asking), picks: true },
  { name: "measure", fields: /_measured_to$/, body: howToMeasure },
  {
    name: "readings",
    fields: /^(readings.*|condition.*|old_damper.*|motion_ratio.*|(upper|lower)_(bushing_thickness|washer_thickness|stud_length|bar_offset|plate))$/,
    body: readings,
  },
  { name: "brackets", fields: /^(upper|lower)_/, body: brackets, optional: true },
  { name: "movement", fields: /./, body: movement },
];

/**
 * The step in which a field is asked for, as things stand.
 * @param {string} name
 * @param {Request} request
 * @returns {Step | undefined}
 */
export function stepOf(name, request) {
  const elsewhere = name.startsWith("motion_ratio") && request.get("condition") !== "not_at_ride" ? "readings" : "";
  return STEPS.find((step) => step.name !== elsewhere && step.fields.test(name));
}

/**
 * Lets the second press of a double one go by, which was meant for what stood
 * there before.
 * @param {Event} event
 */
export function once(event) {
  if (/** @type {MouseEvent} */ (event).detail > 1) event.preventDefault();
}

/**
 * Whether both ends can be measured for.
 * @param {Request} request
 * @returns {boolean}
 */
export function withinMethod(request) {
  return ["upper", "lower"].every((end) => PLANES[request.get(end)] !== undefined);
}

/**
 * @param {"upper" | "lower"} end
 * @param {Asking} asking
 * @returns {Child}
 */
function pickStyle(end, { request, words, next }) {
  return h("ul", { class: "tiles" }, STYLES.map((style) => h("li", {}, h("button", {
    type: "button", class: "tile", part: "tile", "data-style": style, "aria-pressed": request.get(end) === style ? "true" : "false",
    onclick: (/** @type {MouseEvent} */ event) => {
      if (event.detail > 1) return; // the second press of a double one was meant for what stood there before
      if (request.get(end) !== style) request.set(end + "_measured_to", "");
      request.set(end, style);
      next();
    },
  }, endIcon(style, end), h("span", {}, h("b", {}, words.t("style_" + style)), h("small", {}, words.t("style_" + style + "_about")))))));
}

/**
 * @param {Asking} asking
 * @returns {Child}
 */
function howToMeasure(asking) {
  const { form, request, words, again } = asking;
  const planes = ["upper", "lower"].filter((end) => PLANES[request.get(end)]?.length > 1).map((end) => {
    const [own] = PLANES[request.get(end)];
    if (!request.get(end + "_measured_to")) request.set(end + "_measured_to", own);
    return form.radios(end + "_measured_to", {
      label: words.t("tape_at_" + end), options: PLANES[request.get(end)], word: (plane) => words.t("plane_" + plane), then: again,
    });
  });
  const drawing = h("div", {});
  const guide = h("div", { class: "guide" }, h("p", { class: "quiet" }, words.t("loading")));
  showGuide(drawing, guide, asking);
  return [drawing, withinMethod(request) ? h("div", { class: "pair" }, planes) : null, guide];
}

/**
 * Fetches how the pair of ends is measured and shows it.
 * @param {HTMLElement} drawn where the drawing goes
 * @param {HTMLElement} into where the steps go
 * @param {Asking} asking
 */
async function showGuide(drawn, into, { request, words, service, signal }) {
  const query = new URLSearchParams();
  for (const name of ["units", "upper", "lower", "upper_measured_to", "lower_measured_to"]) {
    if (request.get(name)) query.set(name, request.get(name));
  }
  // How much room there is can be told once it stands on the page.
  await Promise.resolve();
  const labels = drawn.clientWidth < NARROW ? "numbered" : "beside";
  const [guide, drawing] = await Promise.allSettled([service.guide(query, signal), service.guideDrawing(query, labels, signal)]);
  if (signal.aborted) return;
  const told = guide.status === "fulfilled" ? guide.value : null;
  let picture = null;
  try {
    picture = drawing.status === "fulfilled" ? rebuild(drawing.value) : null;
  } catch {
    // A page whose policy forbids parsing goes without the picture.
  }
  if (picture) {
    fill(drawn, h("figure", { class: "drawing " + labels }, picture));
  }
  const list = (/** @type {{text: string}[]} */ steps) => h("ol", { class: "guide-steps", lang: told.language }, steps.map((step) => h("li", {}, step.text)));
  const { now = [], later = [] } = told ? parted(told.steps) : {};
  fill(into,
    told?.cautions.length > 0 && h("ul", { class: "warning", lang: told.language }, told.cautions.map((/** @type {any} */ note) => h("li", {}, note.text))),
    told?.outside_method && h("p", { class: "warning", lang: told.language }, told.outside_method.text),
    now.length > 0 && list(now),
    later.length > 0 && h("details", {}, h("summary", {}, words.t("guide_later")), list(later)),
    !told && h("p", {}, words.t(withinMethod(request) ? "measure_plainly" : "outcome_outside_method")));
}

/**
 * What is done until the readings are taken, but for looking at the ends, which
 * has been done, and what may be noted beside them.
 * @param {{text: string, fields: string[]}[]} steps
 * @returns {{now: {text: string}[], later: {text: string}[]}}
 */
function parted(steps) {
  const last = steps.findLastIndex((step) => step.fields.includes("readings"));
  if (last < 0) return { now: steps, later: [] };
  const looking = (/** @type {{fields: string[]}} */ { fields }) => fields.length > 0 && fields.every((name) => name.endsWith(".style"));
  return { now: steps.slice(0, last + 1).filter((step) => !looking(step)), later: steps.slice(last + 1) };
}

/**
 * @param {Asking} asking
 * @returns {Child}
 */
function readings({ form, request, words }) {
  const side = (/** @type {string} */ name) => {
    const list = "readings_" + name;
    let room = Math.min(MOST_READINGS, Math.max(READINGS, request.all(list).length));
    const reading = (/** @type {number} */ at) => form.text(list, {
      label: words.t("reading_n", { n: at + 1 }), at, placeholder: at === 0 ? words.t("reading_like_" + form.units) : undefined,
      // One reading is enough, whichever it is.
      required: name === "left" && at === 0 && !["left", "right"].some((other) => request.all("readings_" + other).some((text) => text.trim() !== "")),
    });
    const more = h("button", {
      type: "button", class: "plain", "data-go": "another", onclick: () => {
        const box = reading(room++);
        more.before(box);
        box.querySelector("input")?.focus();
        if (room === MOST_READINGS) more.remove();
      },
    }, words.t("another_reading"));
    return h("fieldset", { class: "side" }, h("legend", {}, words.t(name + "_side")),
      Array.from({ length: room }, (_, at) => reading(at)), room < MOST_READINGS && more);
  };
  return [
    h("p", { class: "hint" }, words.t("readings_hint")),
    h("div", { class: "pair" }, side("left"), side("right")),
    ["upper", "lower"].map((end) => planeFigures(/** @type {"upper" | "lower"} */ (end), { form, request, words })),
    form.radios("condition", { label: words.t("condition"), options: ["loaded", "not_at_ride"], word: (state) => words.t("condition_" + state) }),
    form.only(() => request.get("condition") === "not_at_ride",
      h("p", { class: "hint" }, words.t("gaps_hint")),
      h("div", { class: "pair" },
        form.text("condition_arch_gap", { label: words.t("arch_gap"), required: true }),
        form.text("condition_arch_gap_at_ride", { label: words.t("arch_gap_at_ride"), required: true })),
      form.text("motion_ratio", { label: words.t("motion_ratio"), hint: words.t("motion_ratio_hint"), required: true })),
    form.flag("old_damper_at_stop", words.t("at_stop")),
    form.flag("old_damper_carries_load", words.t("carries_load")),
  ];
}

/**
 * The figures that bring a reading from the plane that it was taken to.
 * @param {"upper" | "lower"} end
 * @param {{form: Form, request: Request, words: Words}} asking
 * @returns {Child}
 */
function planeFigures(end, { form, request, words }) {
  /** @type {(name: string, how?: {required?: boolean, hint?: string}) => HTMLElement} */
  const ask = (name, how) => form.text(end + "_" + name, { label: words.t(name), ...how });
  const figures = /** @type {Record<string, () => Child>} */ ({
    frame_face: () => [ask("bushing_thickness", { hint: words.t("stack_hint") }), ask("washer_thickness")],
    frame_far_face: () => [ask("bushing_thickness", { hint: words.t("stack_hint") }), ask("washer_thickness"), ask("plate", { required: true })],
    stud_tip: () => [ask("stud_length", { required: true, hint: words.t("stud_length_hint") })],
    seat_face: () => [ask("bar_offset", { required: true, hint: words.t("bar_offset_hint") })],
    near_edge: () => [ask("bolt", { required: true, hint: words.t("bolt_hint") })],
    far_edge: () => [ask("bolt", { required: true, hint: words.t("bolt_hint") })],
  })[request.get(end + "_measured_to")]?.();
  return figures && h("fieldset", { class: "side" }, h("legend", {}, words.t(end + "_end")), h("div", { class: "pair" }, figures));
}

/**
 * @param {Asking} asking
 * @returns {Child}
 */
function brackets({ form, request, words }) {
  const ends = ["upper", "lower"].map((end) => {
    /** @type {(name: string, how?: {hint?: string}) => HTMLElement} */
    const ask = (name, how) => form.text(end + "_" + name, { label: words.t(name), ...how });
    const asked = /** @type {Record<string, () => Child>} */ ({
      eye: () => [ask("bolt", { hint: words.t("bolt_hint") }), ask("opening"), ask("plate")],
      stud: () => [ask("frame_hole"), request.get(end + "_measured_to") === "frame_far_face" ? null : ask("frame_thickness")],
      bar_pin: () => [ask("hole_spacing"), ask("bolt", { hint: words.t("bolt_hint") })],
    })[request.get(end)]?.();
    return h("fieldset", { class: "side" },
      h("legend", {}, words.t(end + "_end") + ": " + words.t("style_" + request.get(end))), asked);
  });
  return [h("p", { class: "hint" }, words.t("brackets_hint")), h("div", { class: "pair" }, ends)];
}

/**
 * @param {Asking} asking
 * @returns {Child}
 */
function movement({ form, request, words }) {
  const basis = (/** @type {string} */ name) => () => (request.get("travel") || "rule") === name;
  const pair = (/** @type {string[]} */ ...names) =>
    h("div", { class: "pair" }, names.map((name) => form.text("travel_" + name, { label: words.t(name), required: true })));
  // Where the vehicle wasn't at ride height it has been asked for.
  const ratio = () => request.get("condition") === "not_at_ride" ? null
    : form.text("motion_ratio", { label: words.t("motion_ratio"), hint: words.t("motion_ratio_hint"), required: true });
  return [
    form.radios("suspension", {
      label: words.t("suspension"), options: ["solid_axle", "independent"], required: true,
      word: (kind) => words.t("suspension_" + kind), about: (kind) => words.t("suspension_" + kind + "_about"),
    }),
    form.radios("travel", {
      label: words.t("travel"), options: ["rule", "measured", "wheel", "stated"],
      word: (name) => words.t("basis_" + name), about: (name) => words.t("basis_" + name + "_about"),
    }),
    form.only(basis("measured"), pair("at_bump", "at_droop")),
    form.only(basis("wheel"), pair("bump", "droop"), ratio()),
    form.only(basis("stated"), pair("compression", "extension")),
    h("details", { open: MORE.some((name) => request.get(name) !== "") }, h("summary", {}, words.t("more")),
      form.text("limits_max_body_diameter", { label: words.t("max_body_diameter") }),
      form.text("planned_change", { label: words.t("planned_change"), hint: words.t("planned_change_hint") }),
      form.only(() => request.get("planned_change").trim() !== "" && !basis("wheel")(), ratio()),
      form.flag("limits_in_stock", words.t("in_stock"))),
  ];
}
