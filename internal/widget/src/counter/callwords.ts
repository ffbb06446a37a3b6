// The words of the call line: what an adviser types while a caller talks, in
// both languages at once.

import type { End, Style } from "../api";

/** What a word says. */
export type Meaning =
  | { kind: "axle"; axle: "front" | "rear" }
  | { kind: "style"; style: Style }
  | { kind: "end"; end: End }
  | { kind: "side"; side: "left" | "right" }
  | { kind: "units"; units: "in" | "mm" }
  /** a field with its value */
  | { kind: "value"; name: string; value: string }
  /** a value of the end that it is said of; its style decides where there are several */
  | { kind: "of_end"; values: Partial<Record<Style, readonly [name: string, value: string]>> }
  /** the next figure is for this field of the request */
  | { kind: "figure"; name: string; also?: readonly [name: string, value: string]; negative?: boolean }
  /** the next figure is for this field of an end, by its style */
  | { kind: "figure_of_end"; names: Partial<Record<Style, string>> }
  /** it says nothing by itself */
  | { kind: "filler" };

export interface Entry {
  /** the heading that it is listed under */
  group: "axle" | "end" | "tape" | "hardware" | "readings" | "travel" | "rest";
  en: readonly string[];
  es: readonly string[];
  meaning: Meaning;
}

const list = (text: string) => text === "" ? [] : text.split("|");
const entry = (group: Entry["group"], en: string, es: string, meaning: Meaning): Entry => ({ group, en: list(en), es: list(es), meaning });

export const ENTRIES: readonly Entry[] = [
  entry("axle", "front|fr|f", "delantero|delantera|del", { kind: "axle", axle: "front" }),
  entry("axle", "rear|back|r", "trasero|trasera|tras", { kind: "axle", axle: "rear" }),
  entry("axle", "solid|beam|live|so", "rígido|rígida|puente", { kind: "value", name: "suspension", value: "solid_axle" }),
  entry("axle", "independent|ind|irs|ifs", "independiente|indep", { kind: "value", name: "suspension", value: "independent" }),
  entry("end", "upper|top|above|up", "superior|arriba|sup", { kind: "end", end: "upper" }),
  entry("end", "lower|bottom|below|low", "inferior|abajo|inf", { kind: "end", end: "lower" }),
  entry("end", "eye|loop|ring|e", "ojo|ojal|anillo", { kind: "style", style: "eye" }),
  entry("end", "stud|stem|pin|st", "espiga|espárrago|vástago", { kind: "style", style: "stud" }),
  entry("end", "bar pin|cross pin|bar|bp", "barra|pasador", { kind: "style", style: "bar_pin" }),
  entry("end", "fork|clevis|yoke", "horquilla", { kind: "style", style: "fork" }),
  entry("end", "strut|spindle strut", "puntal", { kind: "style", style: "spindle_strut" }),
  entry("tape", "to frame|frame face|face", "al bastidor|cara", { kind: "of_end", values: { stud: ["measured_to", "frame_face"], bar_pin: ["measured_to", "seat_face"] } }),
  entry("tape", "far face", "cara lejana", { kind: "of_end", values: { stud: ["measured_to", "frame_far_face"] } }),
  entry("tape", "to tip|tip", "a la punta|punta", { kind: "of_end", values: { stud: ["measured_to", "stud_tip"] } }),
  entry("tape", "near edge", "borde cercano", { kind: "of_end", values: { eye: ["measured_to", "near_edge"] } }),
  entry("tape", "far edge", "borde lejano", { kind: "of_end", values: { eye: ["measured_to", "far_edge"] } }),
  entry("hardware", "bolt", "perno|tornillo", { kind: "figure_of_end", names: { eye: "bolt", bar_pin: "bolt" } }),
  entry("hardware", "inside|opening|width", "luz|abertura|ancho", { kind: "figure_of_end", names: { eye: "opening" } }),
  entry("hardware", "plate", "placa|chapa", { kind: "figure_of_end", names: { eye: "plate", bar_pin: "plate", stud: "plate" } }),
  entry("hardware", "spacing|centres|centers", "entre centros", { kind: "figure_of_end", names: { bar_pin: "hole_spacing" } }),
  entry("hardware", "hole", "agujero|taladro", { kind: "figure_of_end", names: { stud: "frame_hole" } }),
  entry("hardware", "thick|frame", "grueso|espesor", { kind: "figure_of_end", names: { stud: "frame_thickness" } }),
  entry("hardware", "bushing|rubber", "buje|goma", { kind: "figure_of_end", names: { stud: "bushing_thickness" } }),
  entry("hardware", "washer", "arandela", { kind: "figure_of_end", names: { stud: "washer_thickness", eye: "washer", bar_pin: "washer" } }),
  entry("hardware", "stud length|long", "largo", { kind: "figure_of_end", names: { stud: "stud_length" } }),
  entry("hardware", "single", "simple", { kind: "of_end", values: { eye: ["shear", "single"] } }),
  entry("hardware", "double", "doble", { kind: "of_end", values: { eye: ["shear", "double"] } }),
  entry("readings", "left|l", "izquierdo|izquierda|izq", { kind: "side", side: "left" }),
  entry("readings", "right", "derecho|derecha|der", { kind: "side", side: "right" }),
  entry("readings", "give or take|good to|tol", "más o menos|tolerancia", { kind: "figure", name: "reading_tolerance" }),
  entry("readings", "gap|arch gap|arch", "paso de rueda|arco", { kind: "figure", name: "condition_arch_gap", also: ["condition", "not_at_ride"] }),
  entry("readings", "ride gap|gap at ride", "paso en marcha|arco en marcha", { kind: "figure", name: "condition_arch_gap_at_ride", also: ["condition", "not_at_ride"] }),
  entry("readings", "inches|inch", "pulgadas|pulgada", { kind: "units", units: "in" }),
  entry("readings", "mm|metric", "milímetros", { kind: "units", units: "mm" }),
  entry("travel", "bump", "subida", { kind: "figure", name: "travel_bump", also: ["travel", "wheel"] }),
  entry("travel", "droop", "bajada", { kind: "figure", name: "travel_droop", also: ["travel", "wheel"] }),
  entry("travel", "ratio", "relación", { kind: "figure", name: "motion_ratio" }),
  entry("travel", "raise|lift", "subir|elevar", { kind: "figure", name: "planned_change" }),
  entry("travel", "lowering|drop", "bajar", { kind: "figure", name: "planned_change", negative: true }),
  entry("rest", "lean", "inclinación", { kind: "figure", name: "lean_deg" }),
  entry("rest", "body|fat", "cuerpo|diámetro", { kind: "figure", name: "limits_max_body_diameter" }),
  entry("rest", "in stock|stock", "en almacén|existencias", { kind: "value", name: "limits_in_stock", value: "true" }),
  entry("rest", "reference|ref|ticket", "referencia", { kind: "figure", name: "reference" }),
  entry("rest", "axle|over|and|with|on|the|a|an|at|is|by|to|of|it|end", "eje|sobre|y|con|el|la|un|una|en|es|por|de|al|extremo", { kind: "filler" }),
];

/** The form in which words are compared: small letters without accents, "-" as a blank. */
export function plainWord(text: string): string {
  return text.toLowerCase().normalize("NFD").replace(/\p{M}/gu, "").replace(/[-\s]+/g, " ").replace(/[.:]+$/, "").trim();
}

const BY_WORD = new Map<string, Meaning>();
for (const { en, es, meaning } of ENTRIES) {
  for (const word of [...en, ...es]) BY_WORD.set(plainWord(word), meaning);
}

/** The most words in an entry. */
export const LONGEST = Math.max(...[...BY_WORD.keys()].map((word) => word.split(" ").length));

/** What a text of one or more words says; undefined for one that isn't known. */
export function meaningOf(text: string): Meaning | undefined {
  return BY_WORD.get(plainWord(text));
}
