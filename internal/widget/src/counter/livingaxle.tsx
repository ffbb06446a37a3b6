// An axle seen from the side, with the damper between its two mounts, drawn from the
// answer's own numbers. Its parts are buttons, and what isn't known is dashed.

import { Component, type ComponentChildren, createRef, Fragment, h } from "preact";
import type { Answer, End } from "../api";
import { planeOf } from "../fields";
import { type Fitting, fittingOf, PieceLines } from "../fitting";
import { checkLength } from "../length";
import type { Request } from "../request";
import { strokeInWords } from "../stroke";
import type { Words } from "../words";
import type { Motion, Movement, Position } from "./motion";
import { isKnown, type Part } from "./vehicleparts";

/** The picture's own units. */
const WIDTH = 340;
const HEIGHT = 430;
const AXIS = 186;
const UPPER = 64;
/** of the damper's greatest length */
const SPAN = 268;
/** Of the fittings, which are drawn to no scale. */
const SIZE = 0.56;
const WHEEL = { x: 62, radius: 50 };
const TAPE = 254;
const STOP = { x: 296, half: 12, height: 34 };
const STRAP = 326;
/** The vehicle's frame, and the axle or arm, from there to the right. */
const BAND = { from: 126, to: 336 };

/** The steps of the working that say what the tape read on each side. */
const SIDES = ["mean_of_left", "mean_of_right"];

/** What is drawn of an end whose style isn't known. */
const UNKNOWN: Fitting = {
  reach: 76, half: 40, joint: -30, frame: [44, 58], planes: {},
  pieces: { damper: { outline: "M-24 0a24 24 0 1 0 48 0a24 24 0 1 0 -48 0Z" }, bracket: { outline: "M-40 58L-40 44L40 44L40 58Z" }, bolt: {} },
};

/** The lengths of a damper that isn't known, in any unit. */
const USUAL = { compressed: 300, ride: 390, extended: 480 };

/** The thickness of a body whose own isn't known, in the picture's units. */
const USUAL_BODY = 30;
const ROD_HALF = 4.5;
/** What shows of the rod when the damper is compressed. */
const LEAST_ROD = 7;

interface Props {
  request: Request;
  answer: Answer | null;
  motion: Motion | null;
  /** of the damper's body, in the answer's units; null where it isn't known */
  body: number | null;
  /** whether the body is at the upper end */
  inverted: boolean;
  words: Words;
  /** the part whose fields are shown */
  part: Part | null;
  open: (part: Part) => void;
  /** takes the drawing, for whoever moves it */
  self: { current: LivingAxle | null };
}

/** Where everything that moves is. */
interface Places {
  /** how far the axle is below its place at ride height */
  down: number;
  /** the lower reference point */
  lower: number;
  /** its length is a part of the one drawn */
  rod: { from: number; length: number };
  rubber: number;
}

/** The damper's measures in the picture. */
interface Drawn {
  scale: number;
  upper: Fitting;
  lower: Fitting;
  ride: number;
  tube: number;
  /** what shows of the rod at ride height, about */
  rod: number;
  half: number;
  inverted: boolean;
}

export class LivingAxle extends Component<Props> {
  readonly #picture = createRef<SVGSVGElement>();
  readonly #moving = createRef<SVGGElement>();
  readonly #rod = createRef<SVGGElement>();
  readonly #rubber = createRef<SVGGElement>();
  readonly #strap = createRef<SVGPathElement>();
  #position: Position = 0;
  #drawn!: Drawn;

  #animations: Animation[] = [];
  /** The movement by itself that goes on, if one does. */
  #movement: Movement | null = null;

  componentDidMount(): void {
    this.props.self.current = this;
    this.show(this.#position);
  }

  componentDidUpdate(): void {
    if (this.#movement) this.play(this.#movement);
    this.show(this.#position);
  }

  componentWillUnmount(): void {
    this.#cancel();
  }

  /** Moves the axle. Nothing is drawn anew for it. */
  show(position: Position): void {
    this.#position = position;
    const picture = this.#picture.current;
    if (!picture) return;
    const { motion } = this.props;
    const places = this.#placesAt(position);
    // What the browser moves by itself is left to it.
    if (!this.#movement) {
      for (const [at, transform] of this.#transforms(places)) at.setAttribute("transform", transform);
    }
    this.#strap.current?.setAttribute("d", this.#strapPath(places.down));
    const limit = motion?.limitAt(position) ?? "";
    if (picture.dataset.limit !== limit) picture.dataset.limit = limit;
    const away = String(Math.abs(places.down) > 1);
    if (picture.dataset.away !== away) picture.dataset.away = away;
  }

  /** Begins a movement that the browser carries out by itself, however busy the page is. Positions are still to be shown meanwhile. */
  play(movement: Movement): void {
    this.#cancel();
    this.#movement = movement;
    const steps = movement.positions.map((position) => this.#transforms(this.#placesAt(position)));
    steps[0]?.forEach(([at], part) => {
      const animation = at.animate({ transform: steps.map((step) => inCSS(step[part][1])) }, { duration: movement.lasts });
      animation.startTime = movement.start;
      this.#animations.push(animation);
    });
  }

  /** Ends such a movement where the axle was shown last. */
  stop(): void {
    this.#cancel();
    this.show(this.#position);
  }

  #cancel(): void {
    for (const animation of this.#animations) animation.cancel();
    this.#animations = [];
    this.#movement = null;
  }

  /** What moves, with its transform. */
  #transforms({ lower, rod, rubber }: Places): [SVGGElement, string][] {
    const all: [SVGGElement | null, string][] = [
      [this.#moving.current, `translate(0 ${round(lower)})`],
      [this.#rod.current, `translate(${AXIS} ${round(rod.from)}) scale(1 ${rod.length})`],
      [this.#rubber.current, `translate(${STOP.x} ${this.#bandFoot}) scale(1 ${rubber})`],
    ];
    return all.filter((one): one is [SVGGElement, string] => one[0] !== null);
  }

  #placesAt(position: Position): Places {
    const { motion } = this.props;
    const { scale, ride, upper, lower, tube, inverted, rod } = this.#drawn;
    const length = motion ? motion.lengthAt(position) * scale : ride - position * 0.12 * SPAN;
    const down = length - ride;
    const joints = { upper: UPPER - upper.joint * SIZE, lower: UPPER + length + lower.joint * SIZE };
    const [from, to] = inverted ? [joints.upper + tube, joints.lower] : [joints.upper, joints.lower - tube];
    return {
      down,
      lower: UPPER + length,
      rod: { from, length: ratio(Math.max(0, to - from) / rod) },
      // The axle's pad pushes the rubber together.
      rubber: ratio(Math.max(0.25, Math.min(1, (STOP.height + this.#gap + down) / STOP.height))),
    };
  }

  /** The lower edge of the frame. */
  get #bandFoot(): number {
    return UPPER - this.#drawn.upper.frame[0] * SIZE;
  }

  /** How far the axle is from the stop at ride height. Where it isn't known, the stop is met at full bump. */
  get #gap(): number {
    const { request, motion, words, answer } = this.props;
    const { scale, ride } = this.#drawn;
    const mm = checkLength(request.get("bump_stop_gap"), { units: request.units, zero: true, decimalComma: words.decimalComma }).mm;
    if (mm !== undefined && request.get("bump_stop_on") !== "rod") {
      return mm / (answer?.units === "in" ? 25.4 : 1) * scale * (Number(request.get("bump_stop_motion_ratio")) || 1);
    }
    return motion ? Math.max(0, ride - motion.lengthAt(1) * scale) : 0.12 * SPAN;
  }

  /** A strap that is straight at full droop and slack above it. */
  #strapPath(down: number): string {
    const { motion } = this.props;
    const { scale, ride, lower } = this.#drawn;
    const from = this.#bandFoot;
    const to = UPPER + ride + down + lower.frame[0] * SIZE;
    const longest = UPPER + (motion ? motion.lengthAt(-1) * scale : ride + 0.12 * SPAN) + lower.frame[0] * SIZE - from;
    const slack = Math.sqrt(Math.max(0, longest ** 2 - (to - from) ** 2)) / 2;
    return `M${STRAP} ${round(from)}Q${round(STRAP - slack / 3)} ${round((from + to) / 2)} ${STRAP} ${round(to)}`;
  }

  #measure(): Drawn {
    const { request, motion, body, inverted } = this.props;
    const { compressed, extended, ride } = motion?.stroke ?? USUAL;
    const longest = motion ? Math.max(extended, ride, motion.lengthAt(-1)) : extended;
    const scale = SPAN / longest;
    const [upper, lower] = (["upper", "lower"] as const).map((end) => fittingOf(request.get(end)) ?? UNKNOWN);
    const tube = Math.max(40, compressed * scale + (upper.joint + lower.joint) * SIZE - LEAST_ROD);
    const half = Math.min(30, Math.max(8, body === null ? USUAL_BODY / 2 : body * scale / 2));
    const rod = Math.max(LEAST_ROD, ride * scale + (upper.joint + lower.joint) * SIZE - tube);
    return { scale, upper, lower, ride: ride * scale, tube, rod, half, inverted };
  }

  render({ request, answer, motion, words }: Props) {
    const drawn = this.#drawn = this.#measure();
    const { upper, lower, inverted } = drawn;
    const label = motion ? strokeInWords({ ...motion.stroke }, words, answer?.units ?? request.units) : words.t("living_without");
    const lowerJoint = lower.joint * SIZE;
    const rodClass = motion ? "rod" : "rod unknown";
    const tube = (top: number) => <Tube top={top} length={drawn.tube} half={drawn.half} known={motion !== null} />;
    return (
      <svg class="living" ref={this.#picture} viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="group" aria-label={label}>
        <Arch top={UPPER + (motion ? motion.lengthAt(1) * drawn.scale : 0.7 * SPAN) + lower.frame[0] * SIZE - WHEEL.radius - 8} />
        <Band y={UPPER - upper.frame[1] * SIZE} height={(upper.frame[1] - upper.frame[0]) * SIZE} half={52 * SIZE} />
        {!inverted && <Pieces fitting={upper} transform={`translate(${AXIS} ${UPPER}) scale(${SIZE} ${-SIZE})`} request={request} end="upper" />}
        <g class={rodClass} ref={this.#rod}>
          <rect x={-ROD_HALF} width={2 * ROD_HALF} height={round(drawn.rod)} />
          <path d={`M${-ROD_HALF} 0V${round(drawn.rod)}M${ROD_HALF} 0V${round(drawn.rod)}`} />
        </g>
        {!inverted && <RodEnd class={rodClass} y={UPPER - upper.joint * SIZE} />}
        {inverted && tube(UPPER - upper.joint * SIZE)}
        {inverted && <Pieces fitting={upper} transform={`translate(${AXIS} ${UPPER}) scale(${SIZE} ${-SIZE})`} request={request} end="upper" />}
        {this.#part("stops", this.#stops(), { x: STOP.x, y: this.#bandFoot + STOP.height / 2, box: [STOP.x - 24, this.#bandFoot - 2, WIDTH - STOP.x + 24, 92] })}
        <g ref={this.#moving}>
          <Band y={lower.frame[0] * SIZE} height={(lower.frame[1] - lower.frame[0]) * SIZE} half={52 * SIZE} from={WHEEL.x} />
          <path class="pen thin" d={`M${STOP.x - 5} ${lower.frame[0] * SIZE}V${lower.frame[0] * SIZE - this.#post}H${STOP.x + 5}V${lower.frame[0] * SIZE}`} />
          {this.#part("wheel", <Wheel y={middle(lower) * SIZE} />, { x: WHEEL.x, y: middle(lower) * SIZE, box: [WHEEL.x - 50, middle(lower) * SIZE - 50, 100, 100] })}
          {inverted ? <RodEnd class={rodClass} y={lowerJoint} /> : tube(lowerJoint - drawn.tube)}
          <Pieces fitting={lower} transform={`translate(${AXIS} 0) scale(${SIZE})`} request={request} end="lower" />
          {this.#end("lower", lower)}
        </g>
        {this.#part("tape", <Tape from={UPPER - this.#plane("upper", upper)} to={UPPER + drawn.ride + this.#plane("lower", lower)} />, {
          x: TAPE, y: UPPER + drawn.ride / 2, box: [TAPE - 20, UPPER, 40, drawn.ride],
        })}
        <text class="reading" aria-hidden="true" transform={`translate(${TAPE + 19} ${UPPER + drawn.ride / 2}) rotate(-90)`} text-anchor="middle">{this.#reading()}</text>
        {this.#end("upper", upper)}
      </svg>
    );
  }

  /** How high the axle's pad for the bump stop is. */
  get #post(): number {
    const { lower, ride } = this.#drawn;
    const axle = UPPER + ride + lower.frame[0] * SIZE;
    return Math.max(4, axle - (this.#bandFoot + STOP.height + this.#gap));
  }

  #stops(): ComponentChildren {
    const { height, half } = STOP;
    return (
      <>
        <g ref={this.#rubber}>
          <path class="pen tint" d={`M${-half} 0H${half}L${half * 0.6} ${height}H${-half * 0.6}Z`} />
          <path class="pen outline" d={`M${-half} 0H${half}Q${half * 1.1} ${height * 0.4} ${half * 0.6} ${height}H${-half * 0.6}Q${-half * 1.1} ${height * 0.4} ${-half} 0Z`} />
        </g>
        <path ref={this.#strap} class="pen outline strap" />
      </>
    );
  }

  /** What the tape read, as the working starts from it: from the shorter side to the longer. "" where there is no answer. */
  #reading(): string {
    const { answer, words } = this.props;
    const steps = answer?.working_length?.steps ?? [];
    const sides = steps.filter(({ code }) => SIDES.includes(code));
    const read = (sides.length > 0 ? sides : steps.slice(0, 1)).map(({ value }) => value).filter((value) => typeof value === "number");
    return answer && read.length > 0 ? words.range(Math.min(...read), Math.max(...read), answer.units) : "";
  }

  /** Where the plane to which the tape is held lies beyond the reference point. */
  #plane(end: End, fitting: Fitting): number {
    const plane = planeOf(this.props.request, end);
    return (plane && fitting.planes[plane] || 0) * SIZE;
  }

  /** The two buttons of an end. The lower ones move with it. */
  #end(end: End, { frame, half }: Fitting): ComponentChildren {
    const away = end === "upper" ? -1 : 1;
    const origin = end === "upper" ? UPPER : 0;
    const split = 0.45 * frame[0] * SIZE;
    const far = end === "upper" ? UPPER : 66;
    const box = (from: number, to: number): Box => [AXIS - 56, origin + Math.min(away * from, away * to), 106, Math.abs(to - from)];
    const side = AXIS - Math.max(40, half * SIZE + 8);
    return (
      <>
        {this.#part(`${end}_bracket`, null, { x: side, y: origin + away * middle({ frame }) * SIZE, box: box(split, far) })}
        {this.#part(`${end}_end`, null, { x: side + 10, y: origin - away * 18, box: box(split, -42) })}
      </>
    );
  }

  #part(part: Part, inside: ComponentChildren, { x, y, box: [left, top, wide, high] }: Handle): ComponentChildren {
    const { request, words, part: opened, open } = this.props;
    const known = isKnown(part, request);
    const name = words.t(`part_${part}`);
    return (
      <g
        class={known ? "part" : "part unknown"} role="button" tabindex={0} data-part={part} aria-pressed={opened === part} aria-label={[known ? name : words.t("part_unknown", { part: name }), part === "tape" && this.#reading()].filter(Boolean).join(", ")}
        onClick={() => open(part)}
        onKeyDown={(event) => {
          if (event.key !== "Enter" && event.key !== " ") return;
          event.preventDefault();
          open(part);
        }}
      >
        <title>{name}</title>
        {inside}
        <rect class="hit" x={left} y={top} width={wide} height={high} rx={4} />
        <g class="handle" transform={`translate(${x} ${y})`}><circle r={8} />{known ? <circle class="dot" r={3} /> : <path class="mark-unknown" d="M-3 -2.5Q-3 -5 0 -5T3 -2.4Q3 -0.8 0 0.6V1.6M0 4.4V4.6" />}</g>
      </g>
    );
  }
}

/** A rectangle: left, top, width and height. */
type Box = readonly [number, number, number, number];

/** Where a part is pressed. */
interface Handle {
  x: number;
  y: number;
  box: Box;
}

function middle({ frame }: Pick<Fitting, "frame">): number {
  return (frame[0] + frame[1]) / 2;
}

/** A part of a length, finely enough for the picture. */
function ratio(value: number): number {
  return Math.round(value * 10000) / 10000;
}

/** A transform of an SVG attribute as CSS has it. */
function inCSS(transform: string): string {
  return transform.replace(/translate\((\S+) (\S+)\)/, "translate($1px, $2px)").replace(/scale\((\S+) (\S+)\)/, "scale($1, $2)");
}

/** A coordinate to a hundredth. */
function round(value: number): number {
  return Math.round(value * 100) / 100;
}

/** The pieces of a fitting, dashed where they aren't known. */
function Pieces({ fitting, transform, request, end }: { fitting: Fitting; transform: string; request: Request; end: End }) {
  const known = { damper: isKnown(`${end}_end`, request), bracket: isKnown(`${end}_bracket`, request), bolt: request.get(end) === "stud" || request.get(`${end}_bolt`) !== "" };
  return (
    <g class="fitting" transform={transform}>
      {(["bracket", "bolt", "damper"] as const).map((piece) => <g class={known[piece] ? undefined : "unknown"}><PieceLines paths={fitting.pieces[piece]} /></g>)}
    </g>
  );
}

/** Where the rod meets its mount. It stands apart from the rod, which is stretched. */
function RodEnd({ class: name, y }: { class: string; y: number }) {
  return <g class={name}><path d={`M${AXIS - ROD_HALF} ${y}H${AXIS + ROD_HALF}`} /></g>;
}

/** The damper's body, which hides the rod inside. */
function Tube({ top, length, half, known }: { top: number; length: number; half: number; known: boolean }) {
  const foot = top + length;
  return (
    <g class={known ? "tube" : "tube unknown"}>
      <rect class="ground" x={AXIS - half} y={top} width={2 * half} height={length} rx={3} />
      <rect class="pen tint" x={AXIS - half + 3} y={top} width={2 * half - 6} height={Math.min(8, length)} />
      <rect class="pen outline" x={AXIS - half} y={top} width={2 * half} height={length} rx={3} />
      <path class="pen thin" d={`M${AXIS - half} ${top + 8}H${AXIS + half}M${AXIS - half} ${foot - 6}H${AXIS + half}`} />
    </g>
  );
}

/** The vehicle's frame or its axle, to both sides of a bracket. */
function Band({ y, height, half, from = BAND.from }: { y: number; height: number; half: number; from?: number }) {
  return <path class="pen thin" d={`M${AXIS - half} ${y}H${from}V${y + height}H${AXIS - half}M${AXIS + half} ${y}H${BAND.to}V${y + height}H${AXIS + half}`} />;
}

function Arch({ top }: { top: number }) {
  const y = Math.max(40, top);
  return <path class="pen thin" d={`M2 ${y + 62}C2 ${y - 18} ${2 * WHEEL.x - 2} ${y - 18} ${2 * WHEEL.x - 2} ${y + 62}`} />;
}

function Wheel({ y }: { y: number }) {
  const circle = (radius: number) => <circle cx={WHEEL.x} cy={y} r={radius} class={radius === WHEEL.radius || radius === 30 ? "pen outline" : "pen thin"} />;
  return <g><circle cx={WHEEL.x} cy={y} r={WHEEL.radius} class="ground" />{[WHEEL.radius, 46, 30, 11].map(circle)}<path class="pen centre" d={`M${WHEEL.x - 57} ${y}H${WHEEL.x + 57}M${WHEEL.x} ${y - 57}V${y + 57}`} /></g>;
}

/** A tape from plane to plane, with its hook and its case. */
function Tape({ from, to }: { from: number; to: number }) {
  const marks = Array.from({ length: Math.max(0, Math.floor((to - from) / 12)) }, (_, at) => `M${TAPE - 5} ${from + 12 * (at + 1)}h${at % 4 === 3 ? 8 : 5}`).join("");
  return (
    <g class="tape">
      <path class="pen extension" d={`M${AXIS + 36} ${from}H${TAPE - 6}M${AXIS + 36} ${to}H${TAPE - 6}`} />
      <rect class="blade" x={TAPE - 5} y={from} width={10} height={Math.max(0, to - from)} />
      <path class="pen thin" d={marks} />
      <rect class="pen outline" x={TAPE - 5} y={from} width={10} height={Math.max(0, to - from)} />
      <path class="pen outline" d={`M${TAPE + 5} ${from}H${TAPE - 12}V${from + 5}`} />
      <rect class="case" x={TAPE - 9} y={to + 2} width={22} height={20} rx={5} />
    </g>
  );
}
