// Fits beside each other, a column each.

import { type ComponentChildren, Fragment, h } from "preact";
import { Badge } from "../answer";
import { type Answer, type Fit, type Way, WAYS } from "../api";
import { Unseen } from "../parts";
import { Legend, Scale, StrokeBar } from "../stroke";
import { down, up, type Words } from "../words";

/** How many there is room for beside each other. */
export const MOST_COMPARED = 4;

export interface Compared {
  axle: "front" | "rear";
  fit: Fit;
  answer: Answer | null;
}

export function Comparison({ compared, words }: { compared: Compared[]; words: Words }) {
  const drawn = compared.flatMap(({ fit, answer }) => answer ? [{ of: fit, answer: answer }] : []);
  const scale = new Scale(drawn);
  return (
    <>
      <div class="axle-head">
        <h2 id="compared" tabindex={-1}>{words.t("counter_compared")}</h2>
        <button type="button" class="plain small" data-go="print_compared" onClick={printAlone}>{words.t("counter_print_compared")}</button>
      </div>
      <Legend words={words} />
      <div class="wide" tabindex={0} role="region" aria-label={words.t("counter_compared")}>
        <table class="compare">
          <thead><tr><td />{compared.map(({ fit }) => <th scope="col" class="code">{fit.damper.code}</th>)}</tr></thead>
          <tbody>
            <tr><th scope="row">{words.t("counter_stroke")}</th>{drawn.map((one) => <td><StrokeBar {...one} scale={scale} words={words} /></td>)}</tr>
            {rows(words).map(([name, cell, mark = cell]) => {
              const differs = new Set(compared.map((one) => String(mark(one)))).size > 1;
              return (
                <tr class={differs ? "differs" : undefined}>
                  <th scope="row">{name}{differs && <Unseen> {words.t("counter_differs")}</Unseen>}</th>{compared.map((one) => <td>{cell(one)}</td>)}
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
    </>
  );
}

/** Prints the comparison and nothing else of the page. */
function printAlone(): void {
  document.body.dataset.print = "compared";
  print();
  delete document.body.dataset.print;
}

/** A row; where a cell is no text, mark gives what it is compared by. */
type Row = [name: string, cell: (one: Compared) => ComponentChildren, mark?: (one: Compared) => string];

function rows(words: Words): Row[] {
  const length = ({ answer }: Compared, value: number | null, round?: (value: number) => number) =>
    value === null || !answer ? "–" : words.length(value, answer.units, round);
  const each = (way: Way): Row[] => [
    [words.t(way), (one) => length(one, one.fit.travel[way], down)],
    [words.t(`counter_spare_${way}`), (one) => length(one, one.fit.margin[way], down)],
    [words.t(`counter_worst_${way}`), (one) => length(one, one.fit.worst_case.margin[way], down)],
  ];
  return [
    [words.t("counter_axle"), ({ axle }) => words.t(`counter_${axle}`)],
    [words.t("counter_grade"), ({ fit }) => <Badge grade={fit.grade} words={words} />, ({ fit }) => fit.grade],
    [words.t("counter_description"), ({ fit }) => fit.damper.description],
    [words.t("counter_lengths"), (one) => `${one.answer ? words.bare(one.fit.effective.compressed, one.answer.units) : "–"} – ${length(one, one.fit.effective.extended)}`],
    [words.t("counter_stroke_length"), (one) => length(one, one.fit.damper.stroke, down)],
    ...WAYS.flatMap(each),
    [words.t("counter_position"), ({ fit }) => words.percent(fit.ride_position)],
    [words.t("counter_chance"), ({ fit }) => words.percent(fit.worst_case.likelihood)],
    [words.t("counter_body"), (one) => length(one, one.fit.damper.body_diameter, up)],
    [words.label("limits_mounting"), ({ fit }) => words.option("limits_mounting", fit.mounted)],
    [words.t("counter_parts"), ({ fit }) => words.number(fit.parts, 0)],
    [words.t("counter_price"), ({ fit }) => words.money(fit.price)],
  ];
}
