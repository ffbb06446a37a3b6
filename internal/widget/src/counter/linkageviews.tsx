// A linkage in front and in side view, moving by its own points, and the damper's
// length over the wheel's travel with the limits of what is listed.

import { Component, createRef, h } from "preact";
import type { Answer, Fit, NearMiss } from "../api";
import type { Words } from "../words";
import { LengthCurve } from "./lengthcurve";
import { inSpace, type Linkage, type Place } from "./linkagesource";
import { type Motion, placeOf, type Position, travelAt } from "./motion";

/** The picture's own units. */
const WIDTH = 240;
const HEIGHT = 250;
const EDGE = 26;

/** The links of each kind: the pen, and the two points. Those that aren't there are left out. */
const LINKS: Record<string, readonly (readonly [pen: "link" | "thin" | "centre", from: string, to: string])[]> = {
  inclined: [],
  swing_arm: [["centre", "/pivot_a", "/pivot_b"], ["link", "/pivot_a", "/wheel"], ["link", "/pivot_b", "/wheel"], ["thin", "/pivot_a", "/damper/lower"], ["thin", "/wheel", "/damper/lower"]],
  solid_axle: [["link", "/wheels/left", "/wheels/right"], ["thin", "/roll_point", "/damper/lower"]],
  double_wishbone: [
    ...["/lower_arm", "/upper_arm"].flatMap((arm) => ["front", "rear", "inner"].map((at) => ["link", `${arm}/${at}`, `${arm}/outer`] as const)),
    ["link", "/lower_arm/outer", "/upper_arm/outer"], ["thin", "/tie_rod/inner", "/tie_rod/outer"],
    ["thin", "/wheel", "/lower_arm/outer"], ["thin", "/wheel", "/upper_arm/outer"],
  ],
};

/** What carries the damper's lower end on a double wishbone. */
const CARRIERS: Record<string, readonly string[]> = {
  lower_arm: ["/lower_arm/outer", "/lower_arm/inner", "/lower_arm/front"], upper_arm: ["/upper_arm/outer", "/upper_arm/inner", "/upper_arm/front"], upright: ["/lower_arm/outer", "/upper_arm/outer"],
};

const WHEELS = ["/wheel", "/wheels/left", "/wheels/right"];

/** The directions that a view shows to the right and up. */
const VIEWS = { front: [1, 2], side: [0, 2] } as const;
type View = keyof typeof VIEWS;

interface Props {
  linkage: Linkage;
  answer: Answer | null;
  chosen: Fit | NearMiss | null;
  motion: Motion | null;
  words: Words;
  position: Position;
  /** takes the views, for whoever moves them */
  self: { current: LinkageViews | null };
}

export class LinkageViews extends Component<Props> {
  readonly #front = createRef<SVGSVGElement>();
  readonly #side = createRef<SVGSVGElement>();
  readonly #curve = createRef<LengthCurve>();
  #position: Position = this.props.position;

  componentDidMount(): void {
    this.props.self.current = this;
    this.show(this.#position);
  }

  componentDidUpdate(): void {
    this.show(this.#position);
  }

  /** Moves the linkage. Nothing is drawn anew for it. */
  show(position: Position): void {
    this.#position = position;
    const places = placesAt(this.props.linkage, position);
    const limit = this.props.motion?.limitAt(position) ?? "";
    for (const [view, at] of [["front", this.#front], ["side", this.#side]] as const) {
      if (!at.current) continue;
      const scale = this.#scales[view];
      at.current.dataset.limit = limit;
      for (const path of at.current.querySelectorAll<SVGPathElement>("[data-lines]")) {
        path.setAttribute("d", this.#lines(path.dataset.lines ?? "", places, scale));
      }
    }
    this.#curve.current?.show(position);
  }

  /** The path data of all lines of a pen. */
  #lines(pen: string, places: Record<string, Place>, scale: Scale): string {
    const { linkage } = this.props;
    const at = (pointer: string) => places[pointer] && scale.at(places[pointer]);
    if (pen === "damper" || pen === "body") return damperLines(pen, at("/damper/upper"), at("/damper/lower"));
    if (pen === "joints") {
      return Object.keys(places).filter((pointer) => !WHEELS.includes(pointer)).map((pointer) => ring(at(pointer), 3.5)).join("");
    }
    if (pen === "wheel") return WHEELS.filter((pointer) => places[pointer]).map((pointer) => scale.view === "side" ? ring(at(pointer), 30) + ring(at(pointer), 18) : tyre(at(pointer))).join("");
    const carriers = pen === "thin" && linkage.kind === "double_wishbone" ? CARRIERS[linkage.carrier] : [];
    const links = [
      ...(LINKS[linkage.kind] ?? []).filter(([of]) => of === pen).map(([, from, to]) => [from, to]),
      ...carriers.map((pointer) => [pointer, "/damper/lower"]),
    ];
    return links.filter(([from, to]) => places[from] && places[to]).map(([from, to]) => `M${at(from)?.join(" ")}L${at(to)?.join(" ")}`).join("");
  }

  get #scales(): Record<View, Scale> {
    const { linkage } = this.props;
    const all = [-1, 0, 1].flatMap((position) => Object.values(placesAt(linkage, position)));
    return { front: new Scale("front", all), side: new Scale("side", all) };
  }

  render({ linkage, answer, chosen, motion, words }: Props) {
    const { curve, faults, unreachable } = linkage;
    const flat = new Set(Object.values(linkage.ride).map(([x]) => x)).size < 2;
    const views: readonly View[] = flat ? ["front"] : ["front", "side"];
    return (
      <figure class="linkage-views" data-still={curve ? undefined : "true"}>
        <div class="views">
          {views.map((view) => (
            <div>
              <svg ref={view === "front" ? this.#front : this.#side} class={curve ? "linkage" : "linkage unknown"} viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={words.t(`linkage_${view}`)}>
                {(["wheel", "centre", "thin", "link", "damper", "body", "joints"] as const).map((pen) => <path data-lines={pen} class={`pen ${pen}`} />)}
              </svg>
              <p class="hint" aria-hidden="true">{words.t(`linkage_${view}`)}</p>
            </div>
          ))}
          {curve && <LengthCurve self={this.#curve} curve={curve} answer={answer} chosen={chosen} motion={motion} words={words} />}
        </div>
        {faults.length > 0 && <figcaption class="still"><div role="status">{words.t("linkage_still")}<ul>{faults.map((fault) => <li>{fault}</li>)}</ul></div></figcaption>}
        {unreachable && <figcaption><p role="status">{words.t("unreachable")}</p></figcaption>}
        {!curve && faults.length === 0 && !unreachable && <figcaption class="hint">{words.t("linkage_waits")}</figcaption>}
      </figure>
    );
  }
}

/** Where all points are at a position. */
function placesAt({ ride, curve }: Linkage, position: Position): Record<string, Place> {
  if (!curve) return ride;
  const samples = curve.curve;
  const { at, part } = placeOf(samples, travelAt(samples, position));
  const next = samples[Math.min(at + 1, samples.length - 1)];
  const places = { ...ride };
  samples[at].places?.forEach(({ point, at: here }, n) => {
    const there = next.places?.[n]?.at ?? here;
    places[point] = inSpace(here.map((value, axis) => value * (1 - part) + there[axis] * part));
  });
  return places;
}

type Point = readonly [number, number];

/** How a view shows places: both views to one scale. */
class Scale {
  readonly #size: number;
  readonly #middle: readonly [number, number];

  constructor(readonly view: View, places: readonly Place[]) {
    const range = (axis: number) => [Math.min(...places.map((place) => place[axis])), Math.max(...places.map((place) => place[axis]))];
    const spans = [0, 1, 2].map((axis) => range(axis)[1] - range(axis)[0]);
    this.#size = Math.min((WIDTH - 2 * EDGE) / Math.max(spans[0], spans[1], 1), (HEIGHT - 2 * EDGE) / Math.max(spans[2], 1));
    const [across, up] = VIEWS[view].map((axis) => (range(axis)[0] + range(axis)[1]) / 2);
    this.#middle = [across, up];
  }

  at(place: Place): Point {
    const [across, up] = VIEWS[this.view];
    return [round(WIDTH / 2 + (place[across] - this.#middle[0]) * this.#size), round(HEIGHT / 2 - (place[up] - this.#middle[1]) * this.#size)];
  }
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}

function ring(at: Point | undefined, radius: number): string {
  return at ? `M${at[0] - radius} ${at[1]}a${radius} ${radius} 0 1 0 ${2 * radius} 0a${radius} ${radius} 0 1 0 ${-2 * radius} 0Z` : "";
}

/** A wheel from the front. */
function tyre(at: Point | undefined): string {
  return at ? `M${at[0] - 9} ${at[1] - 30}h18v60h-18Z` : "";
}

/** The damper's rod along its whole length, or its body around the lower part. */
function damperLines(pen: "damper" | "body", upper: Point | undefined, lower: Point | undefined): string {
  if (!upper || !lower) return "";
  if (pen === "damper") return `M${upper.join(" ")}L${lower.join(" ")}`;
  const length = Math.hypot(upper[0] - lower[0], upper[1] - lower[1]);
  if (length < 1) return "";
  const [u, v] = [(upper[0] - lower[0]) / length, (upper[1] - lower[1]) / length];
  const [from, to, half] = [6, Math.min(length, 6 + 0.5 * HEIGHT * 0.4), 6];
  const corner = (along: number, aside: number) => `${round(lower[0] + u * along - v * aside)} ${round(lower[1] + v * along + u * aside)}`;
  return `M${corner(from, half)}L${corner(to, half)}L${corner(to, -half)}L${corner(from, -half)}Z`;
}
