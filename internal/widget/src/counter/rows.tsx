// The answer at the counter: one line a damper, opened for the rest.

import { Fragment, h } from "preact";
import { Badge, Damped, FitFigures, HardwareList, NoteList, PickList, Remedies } from "../answer";
import { type Answer, type Fit, type NearMiss, WAYS } from "../api";
import { DampingPictures } from "../dampingpictures";
import { Folded, Unseen } from "../parts";
import { canTake } from "../remedy";
import { Legend, type Scale, scaleOf, StrokeBar } from "../stroke";
import { down, up, type Words } from "../words";
import type { Axle } from "./axle";

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
        <RowHead words={words} />
        {answer.fits.map((fit) => <FitRow key={fit.damper.code} fit={fit} answer={answer} axle={axle} scale={scale} />)}
      </ol>
    </>
  );
}

function RowHead({ words }: { words: Words }) {
  return (
    <li class="row row-head" aria-hidden="true">
      <span />
      <div class="line">
        <span>{words.t("column_code")}</span><span>{words.t("counter_stroke")}</span>
        {WAYS.map((way) => <span class="figure">{words.t(`counter_spare_${way}`)}<small>{words.t("row_worst")}</small></span>)}
        <span class="figure">{words.t("counter_price")}</span>
      </div>
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
      <span class="figure price">{words.money(fit.price)}</span>
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
            <p><a href={sheetLink(axle, fit)} aria-label={words.t("sheet_of", { code })}>{words.t("sheet")}</a></p>
          </>
        )}
      </Folded>
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

export function MissRows({ answer, axle }: { answer: Answer; axle: Axle }) {
  const { words } = axle.page;
  const { near_misses: misses, fits } = answer;
  if (misses.length === 0) return null;
  return (
    <Folded class="misses" open={fits.length === 0} summary={<summary>{words.t("near_misses")} ({misses.length})</summary>}>
      {() => {
        const scale = scaleOf(answer);
        return (
          <>
            {fits.length === 0 && <Legend words={words} />}
            <ul class="rows">{misses.map((miss) => <MissRow key={miss.damper.code} miss={miss} answer={answer} axle={axle} scale={scale} />)}</ul>
          </>
        );
      }}
    </Folded>
  );
}

function MissRow({ miss, answer, axle, scale }: { miss: NearMiss; answer: Answer; axle: Axle; scale: Scale }) {
  const { words } = axle.page;
  return (
    <li class="row miss" data-code={miss.damper.code}>
      <div class="line">
        <span class="what"><b class="code">{miss.damper.code}</b><Badge grade="near" words={words} /><Damped damping={miss.damping} words={words} /></span>
        <StrokeBar of={miss} answer={answer} scale={scale} words={words} />
        {WAYS.map((way) => (
          <span class="figure">
            <Unseen>{words.t(`counter_short_${way}`)} </Unseen>{miss.short_by[way] > 0 ? `\u2212${words.bare(miss.short_by[way], answer.units, up)}` : "0"}
          </span>
        ))}
      </div>
      <Remedies remedies={miss.remedies} answer={answer} action={(remedy) => canTake(remedy, answer, axle.request)
        && <button type="button" class="plain small" data-go="take" onClick={() => axle.take(remedy)}>{words.t("take_remedy")}</button>} />
    </li>
  );
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
