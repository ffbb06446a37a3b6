// The parts of an answer that every page shows.

import { type ComponentChildren, Fragment, h } from "preact";
import { type Answer, ENDS, type Fit, type Hardware, type Note, type Remedy, type Step, WAYS } from "./api";
import type { Request } from "./request";
import { down, up, type Words } from "./words";

/** How many fits an answer lists unless the request says. */
const LISTED = 10;

interface Told {
  answer: Answer;
  words: Words;
}

/** What became of the request, in one line. */
export function headline(answer: Answer, request: Request, words: Words): string {
  const n = answer.fits.length;
  if (answer.outcome !== "fits") return words.t(`outcome_${answer.outcome}`);
  // A full list may have left some out.
  return words.count(n < (Number(request.get("top")) || LISTED) ? "outcome_fits" : "outcome_best", n);
}

/** Texts of the answer as a list, in its own language. */
export function NoteList({ notes, answer, class: name = "notes" }: { notes: readonly Note[]; answer: Answer; class?: string }) {
  if (notes.length === 0) return null;
  return <ul class={name} lang={answer.language}>{notes.map((note) => <li data-code={note.code}>{note.text}</li>)}</ul>;
}

/** The cautions, all of them and in full. */
export function Cautions({ answer, words }: Told) {
  if (answer.cautions.length === 0) return null;
  return (
    <section class="cautions" part="cautions">
      <h3><span class="sign" aria-hidden="true">!</span>{words.t("cautions")}</h3>
      <NoteList notes={answer.cautions} answer={answer} />
    </section>
  );
}

/** The working length with its bounds, and the travel that is needed. */
export function Lengths({ answer, words }: Told) {
  const { working_length: length, required, units } = answer;
  if (!length && !required) return null;
  const l = (value: number, round?: (value: number) => number) => words.length(value, units, round);
  return (
    <dl class="lengths">
      {length && (
        <div>
          <dt>{words.t("working_length")}</dt>
          <dd><strong>{l(length.value)}</strong> <span class="quiet">{words.t("between", { low: l(length.low, down), high: l(length.high, up) })}</span></dd>
        </div>
      )}
      {required && WAYS.map((way) => (
        <div>
          <dt>{words.t(`needed_${way}`)}</dt>
          <dd>
            <strong>{l(required[way].least, up)}</strong>
            {required[way].wanted > required[way].least && <span class="quiet"> {words.t("wanted", { wanted: l(required[way].wanted, up) })}</span>}
          </dd>
        </div>
      ))}
    </dl>
  );
}

/** The arithmetic, line by line. */
export function Arithmetic({ answer, words }: Told) {
  const steps = [...answer.working_length?.steps ?? [], ...answer.required?.steps ?? []];
  if (steps.length === 0) return null;
  return (
    <ol class="steps" lang={answer.language}>
      {steps.map((step) => (
        <li>
          <span>{step.text}{step.source && <small class="source"> ({step.source})</small>}</span>
          <b>{result(step, answer, words)}</b>
        </li>
      ))}
    </ol>
  );
}

/** What a line of arithmetic comes to. */
function result({ value, unit }: Step, answer: Answer, words: Words): string {
  if (typeof value !== "number") return value ?? "";
  return unit === answer.units ? words.exact(value, answer.units) : words.number(value, 4) + (unit ? `\u00a0${unit}` : "");
}

/** How good a fit is, by a word and a shape. */
export function Badge({ grade, words }: { grade: Fit["grade"] | "near"; words: Words }) {
  return <span class={`badge ${grade}`} part="grade">{words.t(`grade_${grade}`)}</span>;
}

/** What a fit offers: the damper, its travel each way, and how sure that is. */
export function FitFigures({ fit, answer, words }: Told & { fit: Fit }) {
  return (
    <>
      <p class="about">{fit.damper.description}</p>
      <TravelTable fit={fit} answer={answer} words={words} />
      <p class="quiet small">{words.t("sits_at", { position: words.percent(fit.ride_position), likelihood: words.percent(fit.worst_case.likelihood) })}</p>
      <NoteList notes={fit.notes} answer={answer} class="notes small" />
    </>
  );
}

/** Travel, need, spare and worst case each way. */
function TravelTable({ fit, answer: { units, required }, words }: Told & { fit: Fit }) {
  const rows = [
    ["travel", fit.travel, down], ["needed", { compression: required?.compression.least, extension: required?.extension.least }, up],
    ["spare", fit.margin, down], ["worst", fit.worst_case.margin, down],
  ] as const;
  return (
    <table class="ways">
      <thead><tr><td>{units}</td>{WAYS.map((way) => <th scope="col">{words.t(way)}</th>)}</tr></thead>
      <tbody>
        {rows.map(([name, both, round]) => (
          <tr class={`row-${name}`}><th scope="row">{words.t(`row_${name}`)}</th>{WAYS.map((way) => <td>{words.bare(both[way] ?? 0, units, round)}</td>)}</tr>
        ))}
      </tbody>
    </table>
  );
}

/** How both ends bolt up. */
export function HardwareList({ fit, answer, words }: Told & { fit: Fit }) {
  return (
    <dl class="hardware">
      {ENDS.map((end) => (
        <div>
          <dt>{words.t(`${end}_end`)}</dt>
          <dd><ul>{hardwareLines(fit[end], answer, words).map((line) => <li>{line}</li>)}</ul></dd>
        </div>
      ))}
    </dl>
  );
}

function hardwareLines(end: Hardware, answer: Answer, words: Words): ComponentChildren[] {
  const length = (value: number) => words.exact(value, answer.units);
  const lines: ComponentChildren[] = [];
  if (end.adapter) lines.push(words.t("uses_adapter", { code: end.adapter.code }));
  for (const sleeve of end.sleeves) lines.push(words.t("uses_sleeve", { code: sleeve.code, n: sleeve.quantity }));
  for (const spacer of end.spacers?.each_side ?? []) lines.push(words.t("uses_spacer", { code: spacer.code, n: spacer.quantity }));
  if (end.spacers && end.spacers.left_over > 0) lines.push(words.t("left_over", { length: length(end.spacers.left_over) }));
  lines.push(...boltLines(end, answer, words));
  if (lines.length === 0 && !end.open) lines.push(words.t("bolts_up"));
  return [...lines, ...end.reasons.map((note) => <span lang={answer.language}>{note.text}</span>)];
}

function boltLines({ bolt }: Hardware, { units }: Answer, words: Words): string[] {
  if (!bolt) return [];
  const name = bolt.thread ?? words.exact(bolt.diameter, units);
  // A metric bolt is bought by millimetres, whatever the tape says.
  const length = (value: number) => bolt.thread?.startsWith("M") && units === "in" ? words.exact(value * 25.4, "mm") : words.exact(value, units);
  const lines = [bolt.length === null ? words.t("bolt_named", { name }) : words.t("bolt_of_length", { name, length: length(bolt.length) })];
  if (bolt.torque_nm !== null && bolt.torque_lbf_ft !== null) {
    lines.push(words.t("torque", { nm: words.number(bolt.torque_nm, 0), lbf_ft: words.number(bolt.torque_lbf_ft, 0), grade: bolt.grade ?? "" }));
  }
  return lines;
}

/** What to take off the shelf. */
export function PickList({ fit, words }: { fit: Fit; words: Words }) {
  return (
    <table class="pick">
      <thead><tr>{(["part", "code", "quantity"] as const).map((column) => <th scope="col">{words.t(`column_${column}`)}</th>)}</tr></thead>
      <tbody>
        {fit.pick_list.map((item) => <tr><td>{words.t(`kind_${item.kind}`)}</td><td class="code">{item.code}</td><td>{words.number(item.quantity, 0)}</td></tr>)}
      </tbody>
    </table>
  );
}

/** What would make a near miss fit. */
export function Remedies({ remedies, answer, action }: { remedies: readonly Remedy[]; answer: Answer; action?: (remedy: Remedy) => ComponentChildren }) {
  return <ul class="remedies">{remedies.map((remedy) => <li><span lang={answer.language}>{remedy.text}</span>{action?.(remedy)}</li>)}</ul>;
}
