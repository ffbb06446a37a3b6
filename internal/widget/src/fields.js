// Every field of a request for fits: the name that it has in a link, its place
// in a body, what it holds, and in which requests it has a meaning.

/**
 * @typedef {import("./request.js").Request} Request
 * @typedef {object} Field
 * @property {string} name flat, as in a query
 * @property {string} path in a body (RFC 6901)
 * @property {string} kind
 * @property {string[]} [options] of a choice
 * @property {(request: Request) => boolean} when it belongs into a request
 * @property {string} [side] of readings
 */

export const TEXT = "text";
export const LENGTH = "length";
export const NOUGHT = "nought";
export const SIGNED = "signed";
export const NUMBER = "number";
export const WHOLE = "whole";
export const BOLT = "bolt";
export const AMOUNT = "amount";
export const FLAG = "flag";
export const CHOICE = "choice";
export const CHOICES = "choices";
export const TEXTS = "texts";
export const LENGTHS = "lengths";
export const POINT = "point";

/** The styles of an end, those outside the method last. */
export const STYLES = ["eye", "stud", "bar_pin", "fork", "spindle_strut"];

/** Those that can be measured for, and what a tape may be held to on each, its own plane first. */
export const PLANES = /** @type {Record<string, string[]>} */ ({
  eye: ["bolt_centre", "near_edge", "far_edge"],
  stud: ["inner_washer", "frame_face", "frame_far_face", "stud_tip"],
  bar_pin: ["bar_centre", "seat_face"],
});

/** The kinds of linkage, and the points of each by the end of their names. */
export const LINKAGES = /** @type {Record<string, string[]>} */ ({
  inclined: ["damper_upper", "damper_lower"],
  swing_arm: ["pivot_a", "pivot_b", "wheel", "damper_upper", "damper_lower"],
  solid_axle: ["roll_point", "wheels_left", "wheels_right", "damper_upper", "damper_lower"],
  double_wishbone: [
    "lower_arm_front", "lower_arm_rear", "lower_arm_outer", "upper_arm_front", "upper_arm_rear", "upper_arm_outer",
    "tie_rod_inner", "tie_rod_outer", "wheel", "damper_upper", "damper_lower",
  ],
});

/** The points of a double wishbone in the plane across the vehicle. */
export const PLANAR = [
  "lower_arm_inner", "lower_arm_outer", "upper_arm_inner", "upper_arm_outer", "wheel", "damper_upper", "damper_lower",
];

/** Says that a double wishbone is planar; known on this page alone. */
export const IS_PLANAR = "linkage_is_planar";

/**
 * The points that the request's linkage has, by the end of their names.
 * @param {Request} r
 * @returns {string[]}
 */
export function pointsOf(r) {
  const kind = r.get("travel_linkage_kind");
  return kind === "double_wishbone" && r.get(IS_PLANAR) ? PLANAR : LINKAGES[kind] ?? [];
}

/** @type {(...values: string[]) => (r: Request) => boolean} */
const basis = (...values) => (r) => values.includes(r.get("travel") || "rule");
const always = () => true;

/**
 * @param {"upper" | "lower"} end
 * @returns {Field[]}
 */
function endFields(end) {
  /** @type {(...styles: string[]) => (r: Request) => boolean} */
  const style = (...styles) => (r) => styles.includes(r.get(end));
  /** @type {(...planes: string[]) => (r: Request) => boolean} */
  const plane = (...planes) => (r) => planes.includes(r.get(end + "_measured_to"));
  /** @type {(name: string, kind: string, when: (r: Request) => boolean, options?: string[]) => Field} */
  const field = (name, kind, when, options) => ({ name: end + "_" + name, path: "/" + end + "/" + name, kind, when, options });
  const bolted = style("eye", "bar_pin");
  return [
    { name: end, path: "/" + end + "/style", kind: CHOICE, options: STYLES, when: always },
    field("measured_to", CHOICE, (r) => (PLANES[r.get(end)] ?? []).includes(r.get(end + "_measured_to")), Object.values(PLANES).flat()),
    field("bolt", BOLT, bolted),
    field("opening", LENGTH, style("eye")),
    field("plate", LENGTH, (r) => bolted(r) || (style("stud")(r) && plane("frame_far_face")(r))),
    field("washer", LENGTH, bolted),
    field("shear", CHOICE, style("eye"), ["double", "single"]),
    field("grade", CHOICE, bolted, ["8.8", "10.9", "12.9", "SAE 2", "SAE 5", "SAE 8"]),
    field("bar_offset", SIGNED, (r) => style("bar_pin")(r) && plane("seat_face")(r)),
    field("hole_spacing", LENGTH, style("bar_pin")),
    field("bushing_thickness", LENGTH, style("stud")),
    field("washer_thickness", LENGTH, style("stud")),
    field("stud_length", LENGTH, (r) => style("stud")(r) && plane("stud_tip")(r)),
    field("frame_hole", LENGTH, style("stud")),
    // With plate it would be said twice.
    field("frame_thickness", LENGTH, (r) => style("stud")(r) && !plane("frame_far_face")(r)),
  ];
}

/**
 * Fields of one record.
 * @param {string} under its path
 * @param {(r: Request) => boolean} when
 * @param {[string, string, string[]?][]} fields name, kind, options
 * @returns {Field[]}
 */
function record(under, when, fields) {
  return fields.map(([name, kind, options]) => {
    const path = under + "/" + name;
    return { name: path.slice(1).replaceAll("/", "_"), path, kind, when, options };
  });
}

/**
 * The fields that a basis of travel takes.
 * @returns {Field[]}
 */
function travelFields() {
  const bases = ["rule", "stated", "wheel", "measured", "linkage", "road"];
  /** @type {Field[]} */
  const fields = [
    { name: "travel", path: "/travel/basis", kind: CHOICE, options: bases, when: always },
    ...record("/travel", basis("stated"), [["compression", LENGTH], ["extension", LENGTH]]),
    ...record("/travel", basis("wheel"), [["bump", LENGTH], ["droop", LENGTH]]),
    ...record("/travel", basis("measured"), [["at_bump", LENGTH], ["at_droop", LENGTH]]),
    ...record("/travel", basis("wheel", "measured", "linkage"), [["reserve", NOUGHT]]),
    ...record("/travel/range", basis("linkage"), [["bump", NOUGHT], ["droop", NOUGHT]]),
    ...record("/travel/linkage", basis("linkage"), [["kind", CHOICE, Object.keys(LINKAGES)]]),
  ];
  for (const point of new Set([...Object.values(LINKAGES).flat(), ...PLANAR])) {
    const path = "/travel/linkage/" + point.replace(/^(lower_arm|upper_arm|tie_rod|wheels|damper)_/, "$1/");
    fields.push({
      name: "travel_linkage_" + point, path, kind: POINT, when: (r) => basis("linkage")(r) && pointsOf(r).includes(point),
    });
  }
  fields.push(
    {
      name: "travel_linkage_damper_on", path: "/travel/linkage/damper/on", kind: CHOICE, options: ["lower_arm", "upper_arm", "upright"],
      when: (r) => basis("linkage")(r) && r.get("travel_linkage_kind") === "double_wishbone",
    },
    ...record("/travel", basis("road"), [["class", CHOICE, ["A", "B", "C", "D", "E", "F", "G", "H"]], ["speed_kmh", NUMBER], ["hours", NUMBER]]),
    ...record("/travel/corner", basis("road"), [
      ["sprung_kg", NUMBER], ["unsprung_kg", NUMBER], ["wheel_rate_n_mm", NUMBER], ["tyre_rate_n_mm", NUMBER], ["damping_ns_m", NUMBER],
    ]),
  );
  return fields;
}

/** @type {Field[]} */
export const FIELDS = [
  ...record("", always, [["units", CHOICE, ["in", "mm"]], ["reference", TEXT], ["catalog", TEXT], ["revision", WHOLE]]),
  ...endFields("upper"),
  ...endFields("lower"),
  { name: "readings", path: "/readings", kind: LENGTHS, when: always },
  { name: "readings_left", path: "/readings", kind: LENGTHS, when: always, side: "left" },
  { name: "readings_right", path: "/readings", kind: LENGTHS, when: always, side: "right" },
  ...record("", always, [["reading_tolerance", LENGTH], ["tape", CHOICE, ["along_damper", "vertical"]]]),
  ...record("", (r) => r.get("tape") === "vertical", [["sideways_offset", NOUGHT]]),
  { name: "condition", path: "/condition/state", kind: CHOICE, options: ["loaded", "not_at_ride"], when: always },
  ...record("/condition", (r) => r.get("condition") === "not_at_ride", [
    ["arch_gap", LENGTH], ["arch_gap_at_ride", LENGTH], ["gap_tolerance", LENGTH],
  ]),
  ...record("", (r) => !basis("linkage")(r), [["motion_ratio", NUMBER]]),
  ...record("", (r) => !basis("linkage")(r) && r.get("motion_ratio") !== "", [["motion_ratio_tolerance", NUMBER]]),
  ...record("", always, [["planned_change", SIGNED]]),
  ...record("/old_damper", always, [["at_stop", FLAG], ["carries_load", FLAG]]),
  ...record("", always, [["lean_deg", NUMBER], ["suspension", CHOICE, ["solid_axle", "independent"]]]),
  ...travelFields(),
  ...record("/bump_stop", always, [["gap", NOUGHT], ["height", LENGTH], ["squash", NUMBER], ["motion_ratio", NUMBER], ["reserve", NOUGHT]]),
  ...record("/strap", always, [["distance", LENGTH], ["motion_ratio", NUMBER], ["stretch", NUMBER], ["reserve", NOUGHT]]),
  ...record("/limits", always, [
    ["max_body_diameter", LENGTH], ["max_compressed", LENGTH], ["construction", CHOICE, ["twin_tube", "monotube"]],
    ["adjusters", CHOICES, ["compression", "rebound", "ride_height"]], ["in_stock", FLAG], ["max_price", AMOUNT],
    ["mounting", CHOICE, ["any", "as_listed", "inverted"]], ["adapters", CHOICE, ["any", "none"]],
  ]),
  ...record("/prefer", always, [["ride_position", NUMBER]]),
  ...record("", always, [["codes", TEXTS], ["top", WHOLE], ["dampers", WHOLE], ["explain", FLAG]]),
];

/** Fields by name. */
export const BY_NAME = new Map(FIELDS.map((field) => [field.name, field]));
