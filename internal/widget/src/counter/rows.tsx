// The answer at the counter: one line a damper, opened for the rest.

import { Fragment, h } from "preact";
import { Badge, Damped, FitFigures, HardwareList, NoteList, PickList } from "../answer";
import { type Answer, type Fit, WAYS } from "../api";
import { DampingPictures } from "../dampingpictures";
import { Folded, Unseen } from "../parts";
import { Legend, type Scale, scaleOf, StrokeBar } from "../stroke";
import { down, type Words } from "../words";
import type { Axle } from "./axle";
import { ChooseButton } from "./choose";
import { StockOf } from "./stock";

interface Told {
  answer: Answer;
  words: Words;
}

export function FitRows({ answer, axle }: { answer: Answer; axle: Axle }) {
  if (answer.fits.length === 0) return null;
  const { words } = axle.page;
  const scale = scaleOf(answer);
  return (
    <>
      <Legend words={words} />
      <ol class="rows">
        <RowHead words={words} chooses={axle.page.hasKey} />
        {answer.fits.map((fit) => <FitRow key={fit.damper.code} fit={fit} answer={answer} axle={axle} scale={scale} />)}
      </ol>
    </>
  );
}

function RowHead({ words, chooses }: { words: Words; chooses: boolean }) {
  return (
    <li class="row row-head" aria-hidden="true">
      <span />
      <div class="line">
        <span>{words.t("column_code")}</span><span>{words.t("counter_stroke")}</span>
        {WAYS.map((way) => <span class="figure">{words.t(`counter_spare_${way}`)}<small>{words.t("row_worst")}</small></span>)}
        <span class="figure">{words.t("counter_price")}<small>{words.t("counter_stock")}</small></span>
      </div>
      {chooses && <span class="choose" />}
    </li>
  );
}

function FitRow({ fit, answer, axle, scale }: { fit: Fit; answer: Answer; axle: Axle; scale: Scale }) {
  const { words } = axle.page;
  const { code } = fit.damper;
  const summary = (
    <summary class="line">
      <span class="what"><b class="code">{fit.rank}. {code}</b><Badge grade={fit.grade} words={words} /><Damped damping={fit.damping} words={words} /><small class="quiet"><Unseen>{words.t("counter_chance")} </Unseen>{words.percent(fit.worst_case.likelihood)}</small></span>
      <StrokeBar of={fit} answer={answer} scale={scale} words={words} />
      {WAYS.map((way) => (
        <span class="figure">
          <span class="unseen tag">{words.t(`counter_spare_${way}`)} </span><b>{words.bare(fit.margin[way], answer.units, down)}</b>
          <small><span class="unseen tag">{words.t("row_worst")} </span> {words.bare(fit.worst_case.margin[way], answer.units, down)}</small>
        </span>
      ))}
      <span class="figure price">{words.money(fit.price)}<StockOf fit={fit} words={words} /></span>
    </summary>
  );
  return (
    <li class="row" data-code={code}>
      <input type="checkbox" aria-label={words.t("counter_compare_code", { code })} checked={axle.codes.has(code)} disabled={axle.page.full && !axle.codes.has(code)} onChange={(event) => axle.compare(code, event.currentTarget.checked)} />
      <Folded summary={summary}>
        {() => (
          <>
            <FitFigures fit={fit} answer={answer} words={words} />
            <HardwareList fit={fit} answer={answer} words={words} />
            <PickList fit={fit} answer={answer} words={words} />
            {fit.damping && <DampingPictures query={axle.request.query(words.decimalComma)} rank={fit.rank} service={axle.page.service} words={words} />}
            {/* The sheet asks without a key. What a shop offers is printed from the quote that it keeps. */}
            {!axle.page.hasKey && <p><a href={sheetLink(axle, fit)} aria-label={words.t("sheet_of", { code })}>{words.t("sheet")}</a></p>}
          </>
        )}
      </Folded>
      {axle.page.hasKey && <ChooseButton axle={axle} fit={fit} chosen={axle.chosen === code} />}
    </li>
  );
}

/** The fit's sheet, which leads back to the axle. */
function sheetLink(axle: Axle, fit: Fit): string {
  const { words } = axle.page;
  const query = axle.request.query(words.decimalComma);
  query.set("rank", String(fit.rank));
  query.set("lang", words.lang);
  query.set("axle", axle.name);
  return `/sheet?${query}`;
}

/** Why other dampers don't fit, where that was asked for. */
export function RuledOut({ answer, words }: Told) {
  const { ruled_out: reasons, judged } = answer;
  if (reasons.length === 0 && judged.length === 0) return null;
  return (
    <details>
      <summary>{words.t("counter_ruled_out")}</summary>
      {reasons.length > 0 && (
        <table class="pick">
          <tbody>
            {reasons.map(({ reason, count }) => <tr><th scope="row">{words.find(`counter_out_${reason}`) || reason}</th><td class="figure">{words.number(count, 0)}</td></tr>)}
          </tbody>
        </table>
      )}
      {judged.length > 0 && (
        <dl class="hardware">
          {judged.map((one) => (
            <div><dt class="code">{one.code}</dt><dd>{words.t(`counter_verdict_${one.verdict}`)}<NoteList notes={one.reasons} answer={answer} class="notes small" /></dd></div>
          ))}
        </dl>
      )}
    </details>
  );
}
