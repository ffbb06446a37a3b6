// Finds quotes that were kept.

import { h } from "preact";
import type { QuoteState } from "../api";
import type { Words } from "../words";
import { QuoteField, Result } from "./quotefields";
import { NEXT, nameOf, type Quotes } from "./quotes";

const STATES = Object.keys(NEXT) as QuoteState[];

interface Props {
  quotes: Quotes;
  words: Words;
}

export function Finder({ quotes, words }: Props) {
  const { filter, found, cursor } = quotes;
  const set = (name: keyof typeof filter) => (text: string) => {
    filter[name] = text;
    quotes.redraw();
  };
  return (
    <section class="finder" aria-labelledby="find-quotes">
      <h3 id="find-quotes">{words.t("quotes_kept")}</h3>
      <form noValidate onSubmit={(event) => {
        event.preventDefault();
        void quotes.search();
      }}>
        <div class="cells">
          <QuoteField name="find-reference" label={words.t("field_reference")} most={100} value={filter.reference} onInput={set("reference")} />
          <QuoteField name="find-code" label={words.t("column_code")} most={64} value={filter.code} onInput={set("code")} />
          <div class="field">
            <label for="quote-find-state">{words.t("quote_state")}</label>
            <select id="quote-find-state" value={filter.state} onChange={(event) => set("state")(event.currentTarget.value)}>
              <option value="">{words.t("quote_state_any")}</option>
              {STATES.map((state) => <option value={state}>{words.t(`quote_state_${state}`)}</option>)}
            </select>
          </div>
          <QuoteField name="find-from" date label={words.t("quote_from")} value={filter.from} onInput={set("from")} />
          <QuoteField name="find-to" date label={words.t("quote_to")} value={filter.to} onInput={set("to")} />
        </div>
        <button type="submit" class="plain" data-go="find_quotes">{words.t("quotes_find")}</button>
      </form>
      <Result of={quotes.searched} words={words} />
      {found && found.length > 0 && (
        <ul class="found">
          {found.map((item) => (
            <li key={item.id} data-quote={item.id}>
              <button type="button" class="link" data-go="open_quote" onClick={() => void quotes.show(item.id)}>{nameOf(item)}</button>
              <span class="quote-state">{words.t(`quote_state_${item.state}`)}</span>
              <span class="quiet">{words.moment(item.created_at)}</span>
              <span class="code">{item.dampers.join(", ")}</span>
              <span class="figure">{words.money(item.total)}</span>
            </li>
          ))}
        </ul>
      )}
      {found && cursor && <button type="button" class="plain small" data-go="more_quotes" onClick={() => void quotes.more()}>{words.t("quotes_more")}</button>}
    </section>
  );
}
