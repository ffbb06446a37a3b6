// A damper compressed, at ride height and extended, below each other and to one
// scale: with its words beside it, or above it where the screen is narrow.

import { h } from "preact";
import { type Answer, type End, type Fit, WAYS } from "../api";
import { fittingOf, PieceLines } from "../fitting";
import { newId } from "../parts";
import type { Request } from "../request";
import { strokeInWords } from "../stroke";
import { down, up, type Words } from "../words";

/**
 * The drawing's own units: how long the longest damper is, where all begin, how wide the whole is, where the first one
 * lies, how far the others lie below it, and where its length is written, from the damper. A phone has some 290 pixels for it.
 */
const BROAD = { span: 400, left: 144, width: 744, first: 30, row: 36, name: -2, length: 13 };
const NARROW = { span: 216, left: 26, width: 288, first: 38, row: 54, name: -22, length: -22 };
const BODY_MOST = 26;
const EYE = 9;

/** How large an end is drawn, and at most how far to both sides. */
const END_SIZE = 0.34;
const END_HALF = 16.5;
/** How far to both sides the pieces of the damper itself go, by style. */
const HALVES: Record<string, number> = { eye: 28, stud: 30, bar_pin: 80 };

/** How much of the compressed length the tube is drawn to take, which no catalogue tells. */
const TUBE_PART = 0.86;

/** The thickness that a tube is drawn with where its own isn't known, in compressed lengths. */
const USUAL_BODY = 0.16;

interface Drawn {
  fit: Fit;
  answer: Answer;
  request: Request;
  words: Words;
  narrow?: boolean;
}

export function Stages({ fit, answer, request, words, narrow = false }: Drawn) {
  const { working_length: working, required, units } = answer;
  if (!working || !required) return null;
  const { compressed, extended } = fit.effective;
  const ride = working.value;
  const place = narrow ? NARROW : BROAD;
  const foot = place.first + 3 * place.row;
  const scale = place.span / extended;
  const body = Math.min(BODY_MOST, Math.max(8, (fit.damper.body_diameter ?? USUAL_BODY * compressed) * scale));
  const l = (value: number) => words.length(value, units);
  const at = (length: number) => place.left + length * scale;
  const arrow = newId("arrow");
  // The body is at the left, and at the lower end unless the damper is turned over.
  const ends: readonly End[] = fit.mounted === "inverted" ? ["upper", "lower"] : ["lower", "upper"];
  const styles = ends.map((end) => request.get(end));
  const rows = [["compressed", compressed], ["ride", ride], ["extended", extended]] as const;
  return (
    <svg class={`stages ${narrow ? "narrow" : "broad"}`} viewBox={`0 0 ${place.width} ${foot + (narrow ? 64 : 46)}`} role="img" aria-label={strokeInWords({ compressed, extended, ride, margin: fit.margin }, words, units)}>
      <defs>
        <marker id={arrow} viewBox="0 0 10 10" refX={10} refY={5} markerWidth={8} markerHeight={8} orient="auto-start-reverse">
          <path class="arrow-head" d="M0 1.5L10 5L0 8.5Z" />
        </marker>
      </defs>
      {rows.map(([name, length]) => <path class={name === "ride" ? "plane ride-plane" : "plane"} d={`M${at(length)} 10V${foot + 18}`} />)}
      <path class="plane" d={`M${place.left} 10V${foot - 18}`} />
      {rows.map(([name, length], row) => {
        const y = place.first + row * place.row;
        return (
          <g>
            <text x={0} y={y + place.name} class="stage-name">{words.t(`sheet_stage_${name}`)}</text>
            <text x={narrow ? place.width : 0} y={y + place.length} class="stage-length" text-anchor={narrow ? "end" : "start"}>{l(length)}</text>
            <Damper y={y} left={place.left} to={at(length)} tube={at(TUBE_PART * compressed)} body={body} styles={styles} />
          </g>
        );
      })}
      {WAYS.map((way) => {
        const [from, to] = way === "compression" ? [compressed, working.shorter] : [working.longer, extended];
        const before = way === "compression";
        // Side by side both have no room on a phone.
        const told = narrow ? { x: before ? 0 : place.width, y: foot + (before ? 36 : 54), end: !before } : { x: at(ride) + (before ? -6 : 6), y: foot + 34, end: before };
        return (
          <g>
            <path class="dimension" d={`M${at(from)} ${foot + 12}H${at(to)}`} marker-start={`url(#${arrow})`} marker-end={`url(#${arrow})`} />
            <text class="dimension-text" x={told.x} y={told.y} text-anchor={told.end ? "end" : "start"}>
              {words.t(`sheet_way_${way}`, { travel: words.length(fit.travel[way], units, down), needed: words.length(required[way].least, units, up) })}
            </text>
          </g>
        );
      })}
    </svg>
  );
}

/** A damper lying on its side, with the end of its tube and its rod's end at some places. */
function Damper({ y, left: start, to, tube, body, styles: [left, right] }: { y: number; left: number; to: number; tube: number; body: number; styles: readonly string[] }) {
  const cross = (x: number) => `M${x - 4} ${y}h8M${x} ${y - 4}v8`;
  const from = start + jointOf(left);
  return (
    <g>
      <path class="rod" d={`M${tube} ${y}H${to - jointOf(right)}`} />
      <rect class="tube" x={from} y={y - body / 2} width={Math.max(0, tube - from)} height={body} rx={3} />
      <EndOf style={left} x={start} y={y} turn={90} /><EndOf style={right} x={to} y={y} turn={-90} />
      <path class="centre" d={cross(start) + cross(to)} />
    </g>
  );
}

function sizeOf(style: string): number {
  return Math.min(END_SIZE, END_HALF / (HALVES[style] ?? END_HALF));
}

/** How far from its reference point the damper itself begins. */
function jointOf(style: string): number {
  const fitting = fittingOf(style);
  return fitting ? -fitting.joint * sizeOf(style) : EYE;
}

/** An end of the damper in its style; a stud with its bushings and washers. */
function EndOf({ style, x, y, turn }: { style: string; x: number; y: number; turn: number }) {
  const fitting = fittingOf(style);
  if (!fitting) return <circle class="tube" cx={x} cy={y} r={EYE} />;
  return (
    <g class="fitting" data-style={style} transform={`translate(${x} ${y}) rotate(${turn}) scale(${sizeOf(style)})`}>
      <PieceLines paths={fitting.pieces.damper} />
      {style === "stud" && <PieceLines paths={fitting.pieces.bolt} />}
    </g>
  );
}
