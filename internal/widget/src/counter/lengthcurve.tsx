// The damper's length over the wheel's travel, with the limits of the dampers listed.

import { Component, createRef, h } from "preact";
import { type Answer, type Fit, type NearMiss, type Travel, WAYS } from "../api";
import type { Words } from "../words";
import { type Motion, type Position, travelAt } from "./motion";

/** The picture's own units. */
const WIDTH = 340;
const HEIGHT = 250;
/** where the axis stands, right of lengths such as "18 19/32 in" */
const LEFT = 88;
const RIGHT = 330;
const TOP = 14;
const FOOT = 212;

/** The most dampers whose limits are drawn. */
const MOST = 5;

interface Props {
  curve: Travel;
  answer: Answer | null;
  chosen: Fit | NearMiss | null;
  motion: Motion | null;
  words: Words;
  /** takes the curve, for whoever moves its mark */
  self: { current: LengthCurve | null };
}

/** The lengths at which a damper ends, on the linkage's own count. */
function limitsOf({ travel }: Fit | NearMiss, ride: number) {
  return { compression: ride - travel.compression, extension: ride + travel.extension };
}

export class LengthCurve extends Component<Props> {
  readonly #mark = createRef<SVGGElement>();
  #position: Position = 0;

  componentDidMount(): void {
    this.props.self.current = this;
    this.show(this.#position);
  }

  componentDidUpdate(): void {
    this.show(this.#position);
  }

  /** Moves the mark. */
  show(position: Position): void {
    this.#position = position;
    const { curve, motion } = this.props;
    const travel = travelAt(curve.curve, position);
    const length = motion ? motion.lengthAt(position) - motion.stroke.ride + curve.ride_length : lengthAt(curve, travel);
    this.#mark.current?.setAttribute("transform", `translate(${this.#across(travel)} ${this.#up(length)})`);
    if (this.#mark.current) this.#mark.current.dataset.limit = motion?.limitAt(position) ?? "";
  }

  get #drawn(): (Fit | NearMiss)[] {
    const { answer, chosen } = this.props;
    const some = [...answer?.fits ?? [], ...answer?.near_misses ?? []].slice(0, MOST);
    return chosen && !some.includes(chosen) ? [...some.slice(1), chosen] : some;
  }

  get #range(): { low: number; high: number } {
    const { curve } = this.props;
    const lengths = [
      curve.shortest.length, curve.longest.length,
      ...this.#drawn.flatMap((one) => Object.values(limitsOf(one, curve.ride_length))),
    ];
    return { low: Math.min(...lengths), high: Math.max(...lengths) };
  }

  #across(travel: number): number {
    const samples = this.props.curve.curve;
    const [from, to] = [samples[0].wheel_travel, samples[samples.length - 1].wheel_travel];
    return Math.round(10 * (LEFT + ((travel - from) / (to - from || 1)) * (RIGHT - LEFT))) / 10;
  }

  #up(length: number): number {
    const { low, high } = this.#range;
    return Math.round(10 * (FOOT - ((length - low) / (high - low || 1)) * (FOOT - TOP))) / 10;
  }

  render({ curve, answer, chosen, words }: Props) {
    const samples = curve.curve;
    const d = samples.map(({ wheel_travel: z, length }, at) => `${at ? "L" : "M"}${this.#across(z)} ${this.#up(length)}`).join("");
    const units = answer?.units ?? curve.units;
    const limits = chosen && limitsOf(chosen, curve.ride_length);
    const text = (value: number) => words.length(value, units);
    const ends = [samples[0].wheel_travel, samples[samples.length - 1].wheel_travel];
    const label = [
      words.t("curve_label"), ...WAYS.map((way) => limits && words.t(`curve_limit_${way}`, { code: chosen.damper.code, length: text(limits[way]) })),
    ].filter(Boolean).join(". ");
    return (
      <div class="length-curve">
        <svg class="curve" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={label}>
          {limits && <rect class="beyond" x={LEFT} y={TOP} width={RIGHT - LEFT} height={Math.max(0, this.#up(limits.extension) - TOP)} />}
          {limits && <rect class="beyond" x={LEFT} y={this.#up(limits.compression)} width={RIGHT - LEFT} height={Math.max(0, FOOT - this.#up(limits.compression))} />}
          <path class="axis" d={`M${LEFT} ${TOP}V${FOOT}H${RIGHT}M${this.#across(0)} ${TOP}V${FOOT}`} />
          {this.#drawn.map((one) => WAYS.map((way) => <path class={one === chosen ? "limit chosen" : "limit"} d={`M${LEFT} ${this.#up(limitsOf(one, curve.ride_length)[way])}H${RIGHT}`} />))}
          <path class="length" d={d} />
          <g ref={this.#mark} class="mark"><circle r={6} /></g>
          <text x={LEFT - 6} y={TOP + 9} text-anchor="end">{text(this.#range.high)}</text>
          <text x={LEFT - 6} y={this.#up(curve.ride_length) + 4} text-anchor="end">{text(curve.ride_length)}</text>
          <text x={LEFT - 6} y={FOOT} text-anchor="end">{text(this.#range.low)}</text>
          <text x={LEFT} y={FOOT + 18}>{text(ends[0])}</text>
          <text x={this.#across(0)} y={FOOT + 18} text-anchor="middle">0</text>
          <text x={RIGHT} y={FOOT + 18} text-anchor="end">{text(ends[1])}</text>
        </svg>
        <p class="hint" aria-hidden="true">{words.t("curve_label")}</p>
      </div>
    );
  }
}

/** The length nearest to a travel. */
function lengthAt({ curve }: Travel, travel: number): number {
  return curve.reduce((best, one) => Math.abs(one.wheel_travel - travel) < Math.abs(best.wheel_travel - travel) ? one : best).length;
}
