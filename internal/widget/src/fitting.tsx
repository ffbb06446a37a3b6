// The ends of a damper with what holds them, in the line work of the service's own
// drawings.

import { h } from "preact";
import type { Plane, Style } from "./api";
import listed from "./fittings.json";

/** The pens of a drawing and the path data that each draws. */
type Paths = Record<string, string>;

/** What a piece of a fitting belongs to. */
export type Piece = "damper" | "bracket" | "bolt";

/** A fitting in its own measures, true to no part: its reference point at 0,0, and the damper above it. */
export interface Fitting {
  /** how far it goes below its reference point, and to both sides */
  reach: number;
  half: number;
  /** where the damper itself begins, above 0 */
  joint: number;
  /** from where to where the vehicle's frame goes */
  frame: readonly number[];
  /** the heights of what a tape can be held to */
  planes: Partial<Record<Plane, number>>;
  pieces: Record<Piece, Paths>;
}

const FITTINGS: Partial<Record<Style, Fitting>> = listed;

/** The fitting of a style; undefined for one that can't be measured for, and where none is chosen. */
export function fittingOf(style: string): Fitting | undefined {
  return FITTINGS[style as Style];
}

/** A piece of a fitting, about its reference point. */
export function PieceLines({ paths }: { paths: Paths }) {
  return <g>{Object.entries(paths).map(([pen, d]) => <path class={`pen ${pen}`} d={d} />)}</g>;
}
