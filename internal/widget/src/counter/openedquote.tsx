// One quote as it was kept: what it holds, what has changed since, and what is done
// with it next.

import { Component, createRef, h } from "preact";
import { PickTable } from "../answer";
import type { PickLine, Quote, QuoteToday } from "../api";
import { unbroken, type Words } from "../words";
import { QuoteField, Result } from "./quotefields";
import { NEXT, nameOf, type NextState, type Quotes } from "./quotes";

interface Props {
  quotes: Quotes;
  words: Words;
  /** fills the page with its requests */
  load: () => void;
}

export class OpenedQuote extends Component<Props> {
  readonly #head = createRef<HTMLHeadingElement>();
  #shown = "";

  /** Leads the keyboard to a quote that was opened. */
  componentDidUpdate(): void {
    const id = this.props.quotes.opened?.quote.id ?? "";
    if (id && id !== this.#shown) this.#head.current?.focus();
    this.#shown = id;
  }

  render({ quotes, words, load }: Props) {
    const { opened, today, done } = quotes;
    if (!opened) return <section class="opened"><Result of={done} words={words} /></section>;
    const { quote } = opened;
    return (
      <section class="opened" aria-labelledby="opened-quote" data-state={quote.state}>
        <div class="axle-head">
          <h3 id="opened-quote" ref={this.#head} tabindex={-1}>{words.t("quote_named", { name: nameOf(quote) })} <span class="quote-state">{words.t(`quote_state_${quote.state}`)}</span></h3>
          <button type="button" class="plain small" data-go="close_quote" onClick={() => quotes.hide()}>{words.t("quote_close")}</button>
        </div>
        {quote.remark && <p class="remark">{quote.remark}</p>}
        <ul class="to-keep">
          {quote.axles.map(({ axle, damper, quantity, answer }) => (
            <li><b>{words.t(`counter_${axle}`)}</b> <span>{words.number(quantity, 0)} × <span class="code">{damper}</span></span>{answer.fits[0] && <span class="quiet">{words.t(`grade_${answer.fits[0].grade}`)}</span>}</li>
          ))}
        </ul>
        <PickTable lines={stockedAs(quote.pick_list, today?.pick_list)} total={quote.total} language={quote.language} words={words} />
        <SheetLink quote={quote} words={words} />
        <Carry quotes={quotes} quote={quote} words={words} />
        <Result of={done} words={words} />
        <p><button type="button" class="plain" data-go="load_quote" onClick={load}>{words.t("quote_load")}</button></p>
        {/* It comes later, and moves no button. */}
        {today && <Since today={today} words={words} />}
        <History quote={quote} words={words} />
      </section>
    );
  }
}

/** The lines as they were kept, with the stock as it is now; with none until that is known. */
function stockedAs(kept: readonly PickLine[], now: readonly PickLine[] = []): PickLine[] {
  return kept.map((line) => {
    const { in_stock = null, stock } = now.find(({ code }) => code && code === line.code) ?? {};
    return { ...line, in_stock, stock };
  });
}

/** What would differ if it were kept today. */
function Since({ today: { changes, today }, words }: { today: QuoteToday; words: Words }) {
  return (
    <div class="since">
      <h4>{words.t("quote_since", { revision: today.revision })}</h4>
      {changes.length === 0 ? <p>{words.t("quote_same")}</p> : (
        <ul class="notes">{changes.map(({ axle, code, text }) => <li data-code={code}>{axle && `${words.t(`counter_${axle}`)}: `}{unbroken(text)}</li>)}</ul>
      )}
    </div>
  );
}

function SheetLink({ quote: { sheet }, words }: { quote: Quote; words: Words }) {
  if (!sheet) return null;
  const { href } = new URL(sheet.url, location.origin);
  return (
    <p class="sheet-link">
      <a href={href}>{words.t("quote_sheet")}</a> <span class="quiet">{words.t("quote_sheet_until", { date: words.moment(sheet.expires_at) })}</span>
      <input class="code" type="text" readonly aria-label={words.t("quote_sheet_link")} value={href} onFocus={(event) => event.currentTarget.select()} />
    </p>
  );
}

interface Carried {
  quotes: Quotes;
  quote: Quote;
  words: Words;
}

/** Orders, fits or cancels it. To cancel is final, and takes two presses. */
class Carry extends Component<Carried, { sure: string }> {
  state = { sure: "" };

  render({ quotes, quote, words }: Carried, { sure }: { sure: string }) {
    const next = NEXT[quote.state];
    if (next.length === 0) return null;
    const press = (state: NextState) => () => {
      if (state === "cancelled" && sure !== quote.id) {
        this.setState({ sure: quote.id });
        return;
      }
      this.setState({ sure: "" });
      void quotes.carry(state);
    };
    const set = (name: "by" | "location") => (text: string) => {
      quotes[name] = text;
      quotes.redraw();
    };
    return (
      <div class="carry">
        <div class="cells">
          <QuoteField name="by" label={words.t("quote_by")} most={100} value={quotes.by} onInput={set("by")} />
          {next.includes("ordered") && <QuoteField name="location" label={words.t("quote_location")} hint={words.t("quote_location_hint")} most={64} value={quotes.location} onInput={set("location")} />}
        </div>
        <div class="acts">
          {next.map((state) => (
            <button key={state} type="button" class={state === "cancelled" ? "plain" : "main"} data-go={state} disabled={quotes.busy} onClick={press(state)}>
              {words.t(state === "cancelled" && sure === quote.id ? "quote_do_cancelled_sure" : `quote_do_${state}`)}
            </button>
          ))}
        </div>
      </div>
    );
  }
}

/** Who has made it what it is, and when. */
function History({ quote: { history, catalog }, words }: { quote: Quote; words: Words }) {
  return (
    <ol class="history quiet small">
      {history.map(({ state, at, by, key }) => <li>{words.t(`quote_state_${state}`)}: {words.moment(at)}, {by || key}</li>)}
      <li>{words.t("quote_catalog", { name: catalog.name, revision: catalog.revision })}</li>
    </ol>
  );
}
