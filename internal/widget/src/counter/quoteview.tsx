// The part of the page that keeps quotes and finds them again.

import { Fragment, h } from "preact";
import { Badge } from "../answer";
import { Kept } from "../parts";
import type { Words } from "../words";
import type { Axle } from "./axle";
import { Finder } from "./finder";
import { KeyField, type KeyHolder } from "./keyfield";
import { OpenedQuote } from "./openedquote";
import { QuoteField, Result } from "./quotefields";
import type { Quotes } from "./quotes";

interface Props {
  quotes: Quotes;
  axles: readonly Axle[];
  words: Words;
  keys: KeyHolder;
  /** fills the page with the requests of the opened quote */
  load: () => void;
}

export function QuoteSection({ quotes, axles, words, keys, load }: Props) {
  const { hasKey } = keys;
  return (
    <section class="quotes" aria-labelledby="quotes">
      <div class="axle-head">
        <h2 id="quotes" tabindex={-1}>{words.t("quotes")}</h2>
        <KeyField keys={keys} words={words} />
      </div>
      <Kept of={[words, hasKey, quotes.changes, ...axles.flatMap((axle) => [axle.chosen, axle.choice, axle.settled, axle.request])]}>
        {() => hasKey ? (
          <div class="quote-parts">
            <KeepForm quotes={quotes} axles={axles} words={words} />
            <Finder quotes={quotes} words={words} />
            <OpenedQuote quotes={quotes} words={words} load={load} />
          </div>
        ) : <p class="hint">{words.t("quotes_need_key")}</p>}
      </Kept>
    </section>
  );
}

function KeepForm({ quotes, axles, words }: Pick<Props, "quotes" | "axles" | "words">) {
  const { open, busy, hindrance } = quotes;
  return (
    <form class="keep" noValidate onSubmit={(event) => {
      event.preventDefault();
      void quotes.keep();
    }}>
      <h3>{words.t("quote_new")}</h3>
      <ul class="to-keep">{axles.map((axle) => <ToKeep key={axle.name} axle={axle} quotes={quotes} words={words} />)}</ul>
      <div class="cells">
        <QuoteField name="reference" label={words.t("field_reference")} hint={words.t("quote_reference_hint")} most={200} value={quotes.ownReference} onInput={(text) => {
          quotes.reference = text;
          quotes.redraw();
        }} />
        <QuoteField name="remark" label={words.t("quote_remark")} most={2000} value={quotes.remark} onInput={(text) => {
          quotes.remark = text;
          quotes.redraw();
        }} />
      </div>
      <div class="acts">
        <button type="submit" class="main" data-go={open ? "keep_again" : "keep"} disabled={busy || !open && hindrance !== ""}>{words.t(open ? "quote_keep_again" : "quote_keep")}</button>
        {open && !busy && <button type="button" class="plain" data-go="give_up" onClick={() => quotes.giveUp()}>{words.t("quote_give_up")}</button>}
        {!open && hindrance !== "" && <span class="quiet">{hindrance}</span>}
      </div>
      <Result of={quotes.kept} words={words} />
    </form>
  );
}

/** What is chosen of an axle, and how many of it. */
function ToKeep({ axle, quotes, words }: { axle: Axle; quotes: Quotes; words: Words }) {
  const { name, choice, request } = axle;
  const id = `quantity-${name}`;
  return (
    <li>
      <b>{words.t(`counter_${name}`)}</b>
      {choice ? (
        <>
          <span class="code">{choice.damper.code}</span><Badge grade={choice.grade} words={words} />
          <label for={id}>{words.t("column_quantity")}</label>
          <input id={id} type="text" inputMode="numeric" maxLength={3} value={quotes.quantities[name] ?? (request.get("dampers") || "2")} onInput={(event) => {
            quotes.quantities[name] = event.currentTarget.value;
            quotes.redraw();
          }} />
          <button type="button" class="link" data-go="unchoose" aria-label={words.t("quote_without", { axle: words.t(`counter_${name}`) })} onClick={() => axle.choose("")}>{words.t("quote_leave_out")}</button>
        </>
      ) : <span class="quiet">{words.t("quote_none_chosen")}</span>}
    </li>
  );
}
