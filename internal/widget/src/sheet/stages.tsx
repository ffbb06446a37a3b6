// A damper compressed, at ride height and extended, below each other and to one
// scale.

import { h } from "preact";
import { type Answer, type End, type Fit, WAYS } from "../api";
import { fittingOf, PieceLines } from "../fitting";
import { newId } from "../parts";
import type { Request } from "../request";
import { strokeInWords } from "../stroke";
import { down, up, type Words } from "../words";

/** The drawing's own units. */
const SPAN = 400;
const LEFT = 144;
const WIDTH = 744;
const ROW = 36;
const FIRST = 30;
const EYE = 9;

/** How large an end is drawn, and at most how far to both sides. */
const END_SIZE = 0.34;
const END_HALF = 16.5;
/** How far to both sides the pieces of the damper itself go, by style. */
const HALVES: Record<string, number> = { eye: 28, stud: 30, bar_pin: 80 };
const FOOT = FIRST + 3 * ROW;

/** How much of the compressed length the tube is drawn to take, which no catalogue tells. */
const TUBE_PART = 0.86;

/** The thickness that a tube is drawn with where its own isn't known, in compressed lengths. */
const USUAL_BODY = 0.16;

export function Stages({ fit, answer, request, words }: { fit: Fit; answer: Answer; request: Request; words: Words }) {
  const { working_length: working, required, units } = answer;
  if (!working || !required) return null;
  const { compressed, extended } = fit.effective;
  const ride = working.value;
  const scale = SPAN / extended;
  const body = Math.min(ROW - 10, Math.max(8, (fit.damper.body_diameter ?? USUAL_BODY * compressed) * scale));
  const l = (value: number) => words.length(value, units);
  const at = (length: number) => LEFT + length * scale;
  const arrow = newId("arrow");
  // The body is at the left, and at the lower end unless the damper is turned over.
  const ends: readonly End[] = fit.mounted === "inverted" ? ["upper", "lower"] : ["lower", "upper"];
  const styles = ends.map((end) => request.get(end));
  const rows = [["compressed", compressed], ["ride", ride], ["extended", extended]] as const;
  return (
    <svg class="stages" viewBox={`0 0 ${WIDTH} ${FOOT + 46}`} role="img" aria-label={strokeInWords({ compressed, extended, ride, margin: fit.margin }, words, units)}>
      <defs>
        <marker id={arrow} viewBox="0 0 10 10" refX={10} refY={5} markerWidth={8} markerHeight={8} orient="auto-start-reverse">
          <path class="arrow-head" d="M0 1.5L10 5L0 8.5Z" />
        </marker>
      </defs>
      {rows.map(([name, length]) => <path class={name === "ride" ? "plane ride-plane" : "plane"} d={`M${at(length)} 10V${FOOT + 18}`} />)}
      <path class="plane" d={`M${LEFT} 10V${FOOT - 18}`} />
      {rows.map(([name, length], row) => {
        const y = FIRST + row * ROW;
        return (
          <g>
            <text x={0} y={y - 2} class="stage-name">{words.t(`sheet_stage_${name}`)}</text><text x={0} y={y + 13} class="stage-length">{l(length)}</text>
            <Damper y={y} to={at(length)} tube={at(TUBE_PART * compressed)} body={body} styles={styles} />
          </g>
        );
      })}
      {WAYS.map((way) => {
        const [from, to] = way === "compression" ? [compressed, working.shorter] : [working.longer, extended];
        const before = way === "compression";
        return (
          <g>
            <path class="dimension" d={`M${at(from)} ${FOOT + 12}H${at(to)}`} marker-start={`url(#${arrow})`} marker-end={`url(#${arrow})`} />
            <text class="dimension-text" x={at(ride) + (before ? -6 : 6)} y={FOOT + 34} text-anchor={before ? "end" : "start"}>
              {words.t(`sheet_way_${way}`, { travel: words.length(fit.travel[way], units, down), needed: words.length(required[way].least, units, up) })}
            </text>
          </g>
        );
      })}
    </svg>
  );
}

/** A damper lying on its side, with the end of its tube and its rod's end at some places. */
function Damper({ y, to, tube, body, styles: [left, right] }: { y: number; to: number; tube: number; body: number; styles: readonly string[] }) {
  const cross = (x: number) => `M${x - 4} ${y}h8M${x} ${y - 4}v8`;
  const from = LEFT + jointOf(left);
  return (
    <g>
      <path class="rod" d={`M${tube} ${y}H${to - jointOf(right)}`} />
      <rect class="tube" x={from} y={y - body / 2} width={Math.max(0, tube - from)} height={body} rx={3} />
      <EndOf style={left} x={LEFT} y={y} turn={90} /><EndOf style={right} x={to} y={y} turn={-90} />
      <path class="centre" d={cross(LEFT) + cross(to)} />
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
