// The movement of a linkage, asked of the service as its points are typed.

import type { Travel } from "../api";
import { isDirection, pointsOf } from "../fields";
import { checkLength } from "../length";
import type { Request } from "../request";
import { Refused, type Service } from "../service";
import type { Words } from "../words";

/** A point in millimetres, or in the answer's units: x, y and z. */
export type Place = readonly [number, number, number];

export interface Linkage {
  kind: string;
  /** the part of a double wishbone that carries the damper */
  carrier: string;
  /** The points at ride height, by the pointer of each in the linkage. */
  ride: Record<string, Place>;
  /** How they move; undefined where that isn't known, or can't be. */
  curve?: Travel;
  /** Why it can't move. */
  faults: readonly string[];
  /** Whether the service couldn't be asked. */
  unreachable: boolean;
}

export class LinkageSource {
  #fetching = new AbortController();
  /** The points and the body of the request that is shown. */
  #asked = "";

  constructor(private readonly changed: (linkage: Linkage | null) => void) {}

  close(): void {
    this.#fetching.abort();
  }

  /** Follows a request. */
  async follow(request: Request, service: Service, words: Words): Promise<void> {
    if (request.get("travel") !== "linkage") return;
    const { units, travel } = request.body(words.decimalComma);
    const kind = request.get("travel_linkage_kind");
    const ride = placesIn(request, words);
    const body = isWhole(request) ? { units, linkage: travel.linkage, range: travel.range, places: true } : null;
    const asked = JSON.stringify([body, kind, request.get("travel_linkage_damper_on"), ride]);
    if (asked === this.#asked) return;
    this.#asked = asked;
    this.#fetching.abort();
    this.#fetching = new AbortController();
    const { signal } = this.#fetching;
    const still = { kind, carrier: request.get("travel_linkage_damper_on") || "lower_arm", ride, faults: [], unreachable: false };
    if (!body) return this.changed(Object.keys(ride).length > 0 ? still : null);
    try {
      const curve = await service.travel(body, signal);
      if (!signal.aborted) this.changed({ ...still, curve });
    } catch (error) {
      if (signal.aborted) return;
      // A service that can't be reached is asked again with the next change.
      if (!(error instanceof Refused)) this.#asked = "";
      const faults = error instanceof Refused ? error.faults.map(({ pointer, detail }) => `${nameOf(pointer ?? "", words)}: ${detail}`) : [];
      this.changed({ ...still, faults, unreachable: faults.length === 0 });
    }
  }
}

/** What the form calls what a pointer into a request for travel names. */
function nameOf(pointer: string, words: Words): string {
  const flat = `travel${pointer.replaceAll("/", "_")}`;
  return words.find(`field_${flat}`) || words.find(`field_${flat.replace(/_\d+$/, "")}`) || pointer;
}

/** The points that are typed whole, at ride height, in the request's units. */
function placesIn(request: Request, words: Words): Record<string, Place> {
  const places: Record<string, Place> = {};
  const size = request.units === "in" ? 25.4 : 1;
  for (const field of pointsOf(request).filter((one) => !isDirection(one))) {
    const figures = request.all(field.name).map((text) => checkLength(text, { units: request.units, signed: true, decimalComma: words.decimalComma }).mm);
    const whole = figures.filter((mm) => mm !== undefined).map((mm) => mm / size);
    if (whole.length === figures.length && whole.length >= 2) places[field.path.replace("/travel/linkage", "")] = inSpace(whole);
  }
  return places;
}

/** A point as the request has it, in space: one of two figures lies in the plane across the vehicle. */
export function inSpace(figures: readonly number[]): Place {
  return figures.length === 2 ? [0, figures[0], figures[1]] : [figures[0], figures[1], figures[2]];
}

/** Whether all points and both ends of the wheel's travel are there. */
function isWhole(request: Request): boolean {
  const points = pointsOf(request).filter((field) => !isDirection(field));
  return points.length > 0 && points.every(({ name }) => request.some(name).length >= 2)
    && request.get("travel_range_bump") !== "" && request.get("travel_range_droop") !== "";
}
