// A damper compressed, at ride height and extended, below each other and to one
// scale.

import { h } from "preact";
import { type Answer, type Fit, WAYS } from "../api";
import { newId } from "../parts";
import { strokeInWords } from "../stroke";
import { down, up, type Words } from "../words";

/** The drawing's own units. */
const SPAN = 400;
const LEFT = 144;
const WIDTH = 744;
const ROW = 36;
const FIRST = 30;
const EYE = 9;
const FOOT = FIRST + 3 * ROW;

/** How much of the compressed length the tube is drawn to take, which no catalogue tells. */
const TUBE_PART = 0.86;

/** The thickness that a tube is drawn with where its own isn't known, in compressed lengths. */
const USUAL_BODY = 0.16;

export function Stages({ fit, answer, words }: { fit: Fit; answer: Answer; words: Words }) {
  const { working_length: working, required, units } = answer;
  if (!working || !required) return null;
  const { compressed, extended } = fit.effective;
  const ride = working.value;
  const scale = SPAN / extended;
  const body = Math.min(ROW - 10, Math.max(8, (fit.damper.body_diameter ?? USUAL_BODY * compressed) * scale));
  const l = (value: number) => words.length(value, units);
  const at = (length: number) => LEFT + length * scale;
  const arrow = newId("arrow");
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
            <Damper y={y} to={at(length)} tube={at(TUBE_PART * compressed)} body={body} />
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

/** A damper lying on its side, with the end of its tube and its other eye at some places. */
function Damper({ y, to, tube, body }: { y: number; to: number; tube: number; body: number }) {
  const cross = (x: number) => `M${x - 4} ${y}h8M${x} ${y - 4}v8`;
  return (
    <g>
      <path class="rod" d={`M${tube} ${y}H${to - EYE}`} />
      <rect class="tube" x={LEFT + EYE} y={y - body / 2} width={tube - LEFT - EYE} height={body} rx={3} />
      <circle class="tube" cx={LEFT} cy={y} r={EYE} /><circle class="tube" cx={to} cy={y} r={EYE} />
      <path class="centre" d={cross(LEFT) + cross(to)} />
    </g>
  );
}
