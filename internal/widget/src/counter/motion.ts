// How a damper moves in its place: its length from full droop through ride height to
// full bump, and where it bottoms or tops out.

import type { Stroke } from "../stroke";

/** A place on the way: -1 is full droop, 0 ride height, 1 full bump. */
export type Position = number;

/** What the damper has no room for at a position; "" where it has. */
export type Limit = "bottoms" | "tops" | "";

/** What rounding may put a length beyond an end that it just reaches. */
const ROUNDED = 1e-6;

/** A point of a linkage's curve. */
export interface Sample {
  wheel_travel: number;
  length: number;
}

/** A linkage's curve, from droop to bump. */
export interface Curve {
  ride_length: number;
  curve: readonly Sample[];
}

export class Motion {
  /** @param curve of the linkage; without one the damper moves evenly to what is needed each way */
  constructor(readonly stroke: Stroke, private readonly curve?: Curve) {}

  /** The length at which the damper is drawn: at ride height the mean of both sides. */
  lengthAt(position: Position): number {
    const { ride, needed: { from, to } } = this.stroke;
    if (!this.curve) return ride + Math.abs(position) * ((position > 0 ? from : to) - ride);
    return ride + this.#changeOf(this.curve, position);
  }

  /** The lengths of both sides at a position, each moved by as much as the other. */
  sidesAt(position: Position): { shorter: number; longer: number } {
    const { sides: { shorter, longer }, needed: { from, to } } = this.stroke;
    const change = this.curve ? this.#changeOf(this.curve, position) : Math.abs(position) * (position > 0 ? from - shorter : to - longer);
    return { shorter: shorter + change, longer: longer + change };
  }

  #changeOf({ curve, ride_length: ride }: Curve, position: Position): number {
    return valueAt(curve, travelAt(curve, position), ({ length }) => length) - ride;
  }

  limitAt(position: Position): Limit {
    const { compression, extension } = this.leftAt(position);
    if (compression < -ROUNDED) return "bottoms";
    return extension < -ROUNDED ? "tops" : "";
  }

  /**
   * How much is left to each end at a position; negative where there is too little. The
   * shorter side bottoms first and the longer one tops out first, as the answer counts.
   */
  leftAt(position: Position): { compression: number; extension: number } {
    const { shorter, longer } = this.sidesAt(position);
    return { compression: shorter - this.stroke.compressed, extension: this.stroke.extended - longer };
  }
}

/** The wheel's travel at a position. */
export function travelAt(curve: readonly Sample[], position: Position): number {
  const end = position > 0 ? curve[curve.length - 1] : curve[0];
  return Math.abs(position) * (end?.wheel_travel ?? 0);
}

/** Where a wheel's travel lies among samples: the one before it, and how far it is to the next, from 0 to 1. */
export function placeOf(curve: readonly Sample[], travel: number): { at: number; part: number } {
  const after = curve.findIndex(({ wheel_travel: z }) => z >= travel);
  if (after <= 0) return { at: after < 0 ? curve.length - 1 : 0, part: 0 };
  const [a, b] = [curve[after - 1].wheel_travel, curve[after].wheel_travel];
  return { at: after - 1, part: b > a ? (travel - a) / (b - a) : 0 };
}

/** A value of a curve between its samples. */
function valueAt(curve: readonly Sample[], travel: number, get: (sample: Sample) => number): number {
  const { at, part } = placeOf(curve, travel);
  const next = curve[Math.min(at + 1, curve.length - 1)];
  return get(curve[at]) * (1 - part) + get(next) * part;
}

/** A movement by itself. */
export interface Movement {
  /** the positions, evenly in time */
  positions: readonly Position[];
  /** on the document's timeline */
  start: number;
  /** in milliseconds */
  lasts: number;
}

/** Milliseconds of a movement by itself: from ride to droop, to bump and back. */
export const LASTS = 3600;

/** The position at a time of it, from 0 to 1: evenly slowing and speeding, as a pendulum does. */
export function positionAt(time: number): Position {
  return -Math.sin(2 * Math.PI * time);
}
