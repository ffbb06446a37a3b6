// Fits beside each other, a column each.

import { type ComponentChildren, Fragment, h } from "preact";
import { Badge } from "../answer";
import { type Answer, type Fit, type Way, WAYS } from "../api";
import { down, up, type Words } from "../words";

export interface Compared {
  axle: "front" | "rear";
  fit: Fit;
  answer: Answer | null;
}

export function Comparison({ compared, words }: { compared: Compared[]; words: Words }) {
  return (
    <>
      <h2 id="compared" tabindex={-1}>{words.t("counter_compared")}</h2>
      <div class="wide" tabindex={0} role="region" aria-label={words.t("counter_compared")}>
        <table class="compare">
          <thead><tr><td />{compared.map(({ fit }) => <th scope="col" class="code">{fit.damper.code}</th>)}</tr></thead>
          <tbody>
            {rows(words).map(([name, cell]) => <tr><th scope="row">{name}</th>{compared.map((one) => <td>{cell(one)}</td>)}</tr>)}
          </tbody>
        </table>
      </div>
    </>
  );
}

type Row = [name: string, cell: (one: Compared) => ComponentChildren];

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
    [words.t("counter_grade"), ({ fit }) => <Badge grade={fit.grade} words={words} />],
    [words.t("counter_description"), ({ fit }) => fit.damper.description],
    [words.t("counter_lengths"), (one) => `${length(one, one.fit.effective.compressed)} – ${length(one, one.fit.effective.extended)}`],
    [words.t("counter_stroke"), (one) => length(one, one.fit.damper.stroke, down)],
    ...WAYS.flatMap(each),
    [words.t("counter_position"), ({ fit }) => words.percent(fit.ride_position)],
    [words.t("counter_chance"), ({ fit }) => words.percent(fit.worst_case.likelihood)],
    [words.t("counter_body"), (one) => length(one, one.fit.damper.body_diameter, up)],
    [words.label("limits_mounting"), ({ fit }) => words.option("limits_mounting", fit.mounted)],
    [words.t("counter_parts"), ({ fit }) => words.number(fit.parts, 0)],
    [words.t("counter_price"), ({ fit }) => words.money(fit.price)],
  ];
}
