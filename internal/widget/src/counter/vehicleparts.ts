// The parts of an axle that are tapped in its drawing, and the fields of each.

import { type End, ENDS } from "../api";
import { type Field, FIELDS, isAsked, planesOf } from "../fields";
import type { Request } from "../request";

export const PARTS = ["upper_bracket", "upper_end", "tape", "stops", "wheel", "lower_end", "lower_bracket"] as const;
export type Part = (typeof PARTS)[number];

/** The names of the fields of each part, in flat names. The kind of an end and the readings are asked for apart. */
const NAMES: Record<Part, RegExp> = {
  upper_end: /^upper_(bushing_thickness|washer_thickness|stud_length|bar_offset)$/,
  upper_bracket: /^upper_(bolt|opening|plate|washer|shear|grade|hole_spacing|frame_hole|frame_thickness)$/,
  lower_end: /^lower_(bushing_thickness|washer_thickness|stud_length|bar_offset)$/,
  lower_bracket: /^lower_(bolt|opening|plate|washer|shear|grade|hole_spacing|frame_hole|frame_thickness)$/,
  tape: /^(reading_tolerance|tape|sideways_offset)$/,
  wheel: /^(suspension|condition|motion_ratio|planned_|ride_height_range|lean_deg|old_damper_)/,
  stops: /^(travel_(?!linkage)|bump_stop_|strap_|droop_limit_)/,
};

/** The fields of a part. */
export function namesOf(part: Part): RegExp {
  return NAMES[part];
}

/** The end that a part belongs to; undefined for the others. */
export function endOf(part: Part): End | undefined {
  return ENDS.find((end) => part.startsWith(end));
}

/** The figures of a bracket that say most about it. */
const BRACKET = ["opening", "frame_hole", "hole_spacing"];

/** Whether enough is known of a part for its lines to be solid. */
export function isKnown(part: Part, request: Request): boolean {
  const said = (name: string) => request.get(name) !== "";
  const end = endOf(part);
  if (end) return part.endsWith("end") ? planesOf(request, end).length > 0 : BRACKET.some((name) => said(`${end}_${name}`));
  switch (part) {
    case "tape": return ["readings", "readings_left", "readings_right"].some((name) => request.some(name).length > 0);
    case "wheel": return said("suspension") || said("travel_linkage_kind");
    default: return !["", "rule"].includes(request.get("travel")) || FIELDS.some((field) => isStop(field) && said(field.name) && isAsked(field, request));
  }
}

/** Whether a field is about what ends the travel. */
function isStop({ name }: Field): boolean {
  return /^(bump_stop|strap|droop_limit)_/.test(name);
}
