// The fields of a request for fits: what the service takes, and when the pages
// ask for it.

import { type End, ENDS, type Plane, type Style } from "./api";
import type { Request } from "./request";
import listed from "./requestfields.json";

/** A field as the service's own table describes it. */
export interface Field {
  /** flat, as in a query */
  name: string;
  /** in a body (RFC 6901) */
  path: string;
  kind: "text" | "length" | "number" | "measure" | "whole" | "bolt" | "amount" | "flag" | "choice";
  /** of a length */
  sign?: "positive" | "zero_or_more" | "any";
  /** in which a measure may be typed, the one of a bare number first */
  units?: readonly string[];
  /** of a choice */
  options?: readonly string[];
  /** it holds several values */
  list?: boolean;
  /** the side of a reading */
  option?: "left" | "right";
  /** the values that other fields must have */
  when?: readonly { name: string; values: readonly string[] }[];
}

export const FIELDS = listed as readonly Field[];

const BY_NAME = new Map(FIELDS.map((field) => [field.name, field]));

/** The field of a flat name; undefined where there is none. */
export function fieldOf(name: string): Field | undefined {
  return BY_NAME.get(name);
}

/** The field that a pointer into a body names; undefined where there is none. */
export function fieldAtPath(pointer: string): Field | undefined {
  return FIELDS.find(({ path }) => path === pointer);
}

/** The options of a choice. */
export function optionsOf(name: string): readonly string[] {
  return fieldOf(name)?.options ?? [];
}

/** Whether a field is a point or a direction, whose coordinates have their places. */
export function isPoint(field: Field): boolean {
  return Boolean(field.list) && field.sign === "any" || isDirection(field);
}

/** Whether a field is a direction, which may be left out. */
export function isDirection({ list, kind }: Field): boolean {
  return Boolean(list) && kind === "number";
}

/** Whether a bare number in a field is in the request's units. */
export function hasUnits({ kind }: Field): boolean {
  return kind === "length" || kind === "bolt";
}

/** Whether a field holds figures, in which a decimal comma may be typed. */
export function hasFigures(field: Field): boolean {
  return hasUnits(field) || field.kind === "number" || field.kind === "measure" || field.kind === "amount";
}

/** The styles of an end, those outside the method last. */
export const STYLES = optionsOf("upper") as readonly Style[];

/** For each style that can be measured for: the planes that a tape may be held to, its own plane first, and the bracket's fields. */
const METHODS: Record<string, { planes: readonly Plane[]; bracket: readonly string[] }> = {
  eye: { planes: ["bolt_centre", "near_edge", "far_edge"], bracket: ["bolt", "opening", "plate"] },
  stud: { planes: ["inner_washer", "frame_face", "frame_far_face", "stud_tip"], bracket: ["frame_hole", "frame_thickness"] },
  bar_pin: { planes: ["bar_centre", "seat_face"], bracket: ["hole_spacing", "bolt"] },
};

/** The planes of an end's style; none while there is no style, or one that can't be measured for. */
export function planesOf(request: Request, end: End): readonly Plane[] {
  return METHODS[request.get(end)]?.planes ?? [];
}

/** The fields of an end's bracket, without the end's name, in the order in which they are asked for. */
export function bracketOf(request: Request, end: End): readonly string[] {
  return METHODS[request.get(end)]?.bracket ?? [];
}

/** The plane that the tape is held to at an end; its style's own where none is given. */
export function planeOf(request: Request, end: End): Plane | undefined {
  const planes = planesOf(request, end);
  return planes.find((plane) => plane === request.get(`${end}_measured_to`)) ?? planes[0];
}

/** Whether both ends of a request can be measured for. */
export function isWithinMethod(request: Request): boolean {
  return ENDS.every((end) => planesOf(request, end).length > 0);
}

/** Whether an end is of a style that can't be measured for. */
export function isRefused(request: Request, end: End): boolean {
  return request.get(end) !== "" && planesOf(request, end).length === 0;
}

/** Says that a double wishbone's points are planar. It is no field of a request. */
export const IS_PLANAR = "linkage_is_planar";

/** The points of the request's linkage. */
export function pointsOf(request: Request): readonly Field[] {
  return FIELDS.filter((field) => isPoint(field) && isAsked(field, request));
}

/** The figures of an end that matter most: those that its plane needs, and those that its hardware is chosen by. */
export function firstOf(request: Request, end: End): string[] {
  const byPlane: Partial<Record<Plane, string[]>> = {
    frame_face: ["bushing_thickness", "washer_thickness"], frame_far_face: ["bushing_thickness", "washer_thickness", "plate"],
    stud_tip: ["stud_length"], seat_face: ["bar_offset"],
  };
  const at = planeOf(request, end);
  const bracket = bracketOf(request, end).filter((name) => name !== "plate");
  return [...(at && byPlane[at]) ?? [], ...bracket].map((name) => `${end}_${name}`)
    .filter((name) => name !== `${end}_frame_thickness` || at !== "frame_far_face");
}

type Condition = (request: Request, end: End) => boolean;

const bracket = (name: string): Condition => (request, end) => bracketOf(request, end).includes(name);
const plane = (wanted: Plane): Condition => (request, end) => planeOf(request, end) === wanted;
const notLinkage: Condition = (request) => request.get("travel") !== "linkage";

/** When a field is asked for, where that is narrower than what the service takes. */
const ASKED: readonly [names: RegExp, when: Condition][] = [
  [/_measured_to$/, (request, end) => (planesOf(request, end) as readonly string[]).includes(request.get(`${end}_measured_to`))],
  [/^(upper|lower)_(bolt|washer|grade)$/, bracket("bolt")],
  [/_(opening|shear)$/, bracket("opening")],
  [/_plate$/, (request, end) => bracket("bolt")(request, end) || plane("frame_far_face")(request, end)],
  [/_bar_offset$/, plane("seat_face")],
  [/_stud_length$/, plane("stud_tip")],
  // At the far face, the plate is the frame.
  [/_frame_thickness$/, (request, end) => !plane("frame_far_face")(request, end)],
  [/^sideways_offset$/, (request) => request.get("tape") === "vertical"],
  [/^(motion_ratio|planned_mount_move)/, notLinkage],
  [/^motion_ratio_tolerance$/, (request) => request.get("motion_ratio") !== ""],
  [/_arm_inner$/, (request) => request.get(IS_PLANAR) !== ""],
  [/_(arm_front|arm_rear|tie_rod_inner|tie_rod_outer)$/, (request) => request.get(IS_PLANAR) === ""],
];

const CONDITIONS = new Map(FIELDS.map(({ name }) => [name, ASKED.filter(([names]) => names.test(name)).map(([, when]) => when)]));

/** Whether a field has a meaning in a request, and is asked for. */
export function isAsked({ name, when = [] }: Field, request: Request): boolean {
  const end = name.startsWith("lower") ? "lower" : "upper";
  return when.every((condition) => condition.values.includes(request.get(condition.name)))
    && (CONDITIONS.get(name) ?? []).every((condition) => condition(request, end));
}
