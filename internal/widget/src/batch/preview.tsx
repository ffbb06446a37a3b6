// How a file is understood, and what is wrong with its rows.

import { Fragment, h } from "preact";
import { Badge } from "../answer";
import type { Fit } from "../api";
import { capitalised, type Words } from "../words";
import { type Job, type Preview, SHOWN } from "./files";
import { Section } from "./section";

interface Told {
  preview: Preview;
  words: Words;
}

/** What is wrong with the header. Of a name that is nearly one, a person decides below, so no cure for programs is told. */
export function HeaderFaults({ preview, words }: Told) {
  const decided = new Set(preview.columns.filter(({ near }) => near).map(({ header }) => header));
  return (
    <div class="told" data-part="header">
      <p><strong>{words.t("batch_header_faults")}</strong></p>
      <ul class="notes">
        {preview.faults.map(({ column, text, cure }) => <li>{column ? <><span class="code">{column}</span>: {text}</> : capitalised(text)}{cure && !decided.has(column ?? "") && ` (${cure})`}</li>)}
      </ul>
    </div>
  );
}

interface Decided extends Told {
  onReadAs: (header: string, name: string) => void;
  onKeep: (header: string) => void;
}

/** What each column means. Of one that is nearly a flat name, a person decides. */
export function Columns({ preview, words, onReadAs, onKeep }: Decided) {
  return (
    <Section title={words.t("batch_columns")} name="columns">
      <table class="columns-table">
        <thead><tr><th scope="col">{words.t("batch_column")}</th><th scope="col">{words.t("batch_means")}</th></tr></thead>
        <tbody>
          {preview.columns.map((column) => (
            <tr data-column={column.header}>
              <th scope="row" class="code">{column.header}</th>
              <td>
                {column.name && <span>{words.fullLabel(column.name)} <span class="code quiet">{column.name}{column.units && `, ${column.units}`}</span></span>}
                {column.near && (
                  <div>
                    <p class="near">{words.t("batch_near", { name: column.near })}</p>
                    <button type="button" class="plain" data-go="read-as" onClick={() => onReadAs(column.header, column.near!)}>{words.t("batch_read_as", { name: column.near })}</button>
                    <button type="button" class="plain" data-go="keep" onClick={() => onKeep(column.header)}>{words.t("batch_keep")}</button>
                  </div>
                )}
                {!column.name && !column.near && <span class="quiet">{words.t(column.earlier ? "batch_earlier" : column.header.toLowerCase() === "weight" ? "batch_weight" : "batch_kept")}</span>}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Section>
  );
}

/** The words for an outcome of a row. */
export function outcomeWords(outcome: string, words: Words): string {
  return outcome === "fits" ? words.t("batch_fits") : words.find(`outcome_${outcome}`) || outcome;
}

/** The first rows with their answers. */
export function FirstRows({ preview, words }: Told) {
  if (preview.first.length === 0) return null;
  const kept = Math.max(preview.columns.findIndex(({ name, near, earlier }) => !name && !near && !earlier), 0);
  return (
    <Section title={words.t("batch_first")} name="first">
      <div class="wide" tabindex={0} role="group" aria-label={words.t("batch_first")}>
        <table class="first-table">
          <thead>
            <tr>
              <th scope="col">{words.t("batch_row")}</th>
              <th scope="col">{words.t("batch_what")}</th>
              {preview.ready && ["outcome", "damper", "sure", "price"].map((name) => <th scope="col">{words.find(`batch_${name}`)}</th>)}
            </tr>
          </thead>
          <tbody>
            {preview.first.map((row) => (
              <tr data-line={row.line}>
                <th scope="row">{row.line}</th>
                <td>{row.cells[kept]}</td>
                {row.fault ? <td colSpan={4}><p class="fault">{row.fault}</p></td> : preview.ready && <Answered values={row.values} words={words} />}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </Section>
  );
}

function Answered({ values, words }: { values: string[]; words: Words }) {
  const value = (name: (typeof SHOWN)[number]) => values[SHOWN.indexOf(name)] ?? "";
  const [grade, likely, amount, currency] = [value("grade"), value("worst_case.likelihood"), value("total.amount"), value("total.currency")];
  return [
    <td>{grade ? <Badge grade={grade as Fit["grade"]} words={words} /> : outcomeWords(value("outcome"), words)}</td>,
    <td class="code">{value("damper.code")}</td>,
    <td>{likely && words.percent(Number(likely))}</td>,
    <td>{amount && currency && words.money({ amount, currency })}</td>,
  ];
}

/** The rows with faults, by their numbers. */
export function RowFaults({ job, words }: { job: Job; words: Words }) {
  return (
    <div data-part="faults">
      <p><strong>{words.t("batch_with_faults", { n: words.number(job.rows_with_faults, 0) })}</strong>{job.rows_with_faults > job.faults.length && `. ${words.t("batch_first_faults", { n: job.faults.length })}:`}</p>
      <table class="faults-table">
        <thead><tr><th scope="col">{words.t("batch_row")}</th><th scope="col">{words.t("batch_what_is_wrong")}</th></tr></thead>
        <tbody>{job.faults.map(({ line, text, begins_with_column: named }) => <tr data-line={line}><th scope="row">{line}</th><td>{named ? text : capitalised(text)}</td></tr>)}</tbody>
      </table>
    </div>
  );
}
