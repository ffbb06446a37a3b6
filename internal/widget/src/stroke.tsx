// A damper's stroke as a bar, to scale, with ride height in it.

import { h } from "preact";
import type { Answer, Both, Fit, NearMiss, Units } from "./api";
import { down, type Words } from "./words";

export interface Stroke {
  /** between the reference points, adapters counted */
  compressed: number;
  extended: number;
  ride: number;
  /** of the side with the shorter readings and of the one with the longer */
  sides: { shorter: number; longer: number };
  /** what is needed: from the shortest length to the longest */
  needed: { from: number; to: number };
  margin: Both;
  /** the margin with every tolerance against it, where it is known */
  worst?: Both;
}

/** The stroke of a fit or of a near miss; null for an answer without lengths. */
export function strokeOf(one: Fit | NearMiss, { working_length: length, required }: Answer): Stroke | null {
  if (!length || !required) return null;
  const { compression, extension } = required;
  // Each side must fit: one is shorter, the other longer.
  const { shorter, longer } = length;
  const drawnIn = { ride: length.value, sides: { shorter, longer }, needed: { from: shorter - compression.least, to: longer + extension.least } };
  if ("effective" in one) return { ...drawnIn, ...one.effective, margin: one.margin, worst: one.worst_case.margin };
  const { travel } = one;
  return {
    ...drawnIn, compressed: shorter - travel.compression, extended: longer + travel.extension,
    margin: { compression: travel.compression - compression.least, extension: travel.extension - extension.least },
  };
}

/** The picture's own units. */
const WIDTH = 420;
const HEIGHT = 52;
const EDGE = 8;
const BAR_TOP = 14;
const BAR_BOTTOM = 42;

/** The scale on which several strokes are drawn. */
export class Scale {
  readonly #low: number;
  readonly #span: number;

  constructor(drawn: readonly { of: Fit | NearMiss; answer: Answer }[]) {
    const strokes = drawn.map(({ of, answer }) => strokeOf(of, answer));
    const ends = strokes.flatMap((x) => x ? [x.compressed, x.extended, x.needed.from, x.needed.to] : []);
    this.#low = Math.min(...ends);
    this.#span = Math.max(...ends) - this.#low || 1;
  }

  /** Where a length is, across the picture. */
  at(length: number): number {
    return EDGE + ((length - this.#low) / this.#span) * (WIDTH - 2 * EDGE);
  }

  /** The same as a percentage of the picture's width. */
  percent(length: number): number {
    return (100 * this.at(length)) / WIDTH;
  }
}

/** The scale on which all strokes of an answer are drawn. */
export function scaleOf(answer: Answer): Scale {
  return new Scale([...answer.fits, ...answer.near_misses].map((of) => ({ of, answer })));
}

/** A hatching on top of a bar's ground, which needs no pattern with an id. */
function Hatched({ from, to }: { from: number; to: number }) {
  const lines = [];
  const height = BAR_BOTTOM - BAR_TOP;
  for (let x = Math.ceil((from - height) / 7) * 7; x < to; x += 7) {
    // From the bar's bottom at x up to the right, cut at both sides.
    const [start, end] = [Math.max(x, from), Math.min(x + height, to)];
    if (end > start) lines.push(`M${start} ${BAR_BOTTOM - start + x}L${end} ${BAR_BOTTOM - end + x}`);
  }
  return <path class="doubt" d={lines.join("")} />;
}

interface Drawn {
  answer: Answer;
  scale: Scale;
  words: Words;
}

/**
 * The stroke as a bar from compressed at the left to extended at the right:
 * solid what is needed, open what is to spare, hatched what tolerances may
 * take, dashed what is missing, and a mark at ride height.
 */
export function StrokeBar({ of, answer, scale, words }: Drawn & { of: Fit | NearMiss }) {
  const stroke = strokeOf(of, answer);
  if (!stroke) return null;
  const { compressed, extended, ride, needed: { from, to }, margin, worst } = stroke;
  const at = scale.at(ride);
  const box = (kind: string, start: number, end: number) => end > start
    && <rect class={kind} x={scale.at(start)} y={BAR_TOP} width={scale.at(end) - scale.at(start)} height={BAR_BOTTOM - BAR_TOP} />;
  const hatch = (start: number, end: number) => end > start && <Hatched from={scale.at(start)} to={scale.at(end)} />;
  return (
    <svg class="stroke" part="stroke" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={strokeInWords(stroke, words, answer.units)}>
      <path class="axis" d={`M${EDGE} 28H${WIDTH - EDGE}`} />
      {box("stroke-room", compressed, extended)}
      {box("needed", Math.max(from, compressed), Math.min(to, extended))}
      {worst && hatch(compressed, Math.min(compressed + margin.compression - worst.compression, ride))}
      {worst && hatch(Math.max(extended - margin.extension + worst.extension, ride), extended)}
      {box("missing", from, Math.min(compressed, to))}
      {box("missing", Math.max(extended, from), to)}
      {box("outline", compressed, extended)}
      <path class="ride" d={`M${at} 8V50M${at - 7} 2H${at + 7}L${at} 13Z`} />
    </svg>
  );
}

/** What a picture of a stroke shows, in words. */
export function strokeInWords({ compressed, extended, ride, margin }: Pick<Stroke, "compressed" | "extended" | "ride" | "margin">, words: Words, units: Units): string {
  const length = (value: number) => words.length(value, units);
  return words.t("stroke_in_words", {
    compressed: length(compressed), extended: length(extended), ride: length(ride),
    compression: words.length(margin.compression, units, down), extension: words.length(margin.extension, units, down),
  });
}

/** Both limits, below the ends of the bar. The bar's label says them as well. */
export function BarEnds({ fit: { effective: { compressed, extended } }, answer, scale, words }: Drawn & { fit: Fit }) {
  return (
    <div class="bar-ends" aria-hidden="true">
      <span style={{ marginLeft: `${scale.percent(compressed)}%`, marginRight: `${100 - scale.percent(extended)}%` }}>
        <i>{words.length(compressed, answer.units)}</i><i>{words.length(extended, answer.units)}</i>
      </span>
    </div>
  );
}

/** What the parts of a bar mean. */
export function Legend({ words }: { words: Words }) {
  const parts = ["needed", "spare", "doubt", "missing", "ride"] as const;
  return <ul class="legend">{parts.map((part) => <li key={part}><i class={`swatch ${part}`} aria-hidden="true" />{words.t(`legend_${part}`)}</li>)}</ul>;
}
