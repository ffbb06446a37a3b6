// The quotes at the counter: what is chosen becomes one, and those that were kept are
// found, opened and carried through.

import type { Quote, QuoteChange, QuoteItem, QuoteRequest, QuoteState, QuoteToday } from "../api";
import { Refused, type Service, Unreachable } from "../service";
import type { Key, Words } from "../words";
import type { Axle } from "./axle";
import { QuoteService, type Tagged } from "./quoteservice";
import { type Attempt, beginAttempt, endAttempt, openAttempt } from "./storage";

/** What they stand on. */
export interface QuotesPage {
  readonly words: Words;
  readonly service: Service;
  readonly axles: readonly Axle[];
  draw(): void;
  /** Called when another quote is opened. */
  changed(): void;
}

/** What became of something. It is put in words when it is shown, for the language may change meanwhile. */
export interface Outcome {
  key?: Key;
  values?: Record<string, string | number>;
  /** what the service said, in its own words */
  told?: Told;
  bad?: boolean;
}

/** A text of the service, with details, each about an axle or about the whole. */
export interface Told {
  text: string;
  /** of the texts */
  lang: string;
  details: readonly { axle?: Axle["name"]; text: string }[];
}

/** How quotes are searched for. */
export const FILTERS = ["reference", "code", "state", "from", "to"] as const;
export type Filter = (typeof FILTERS)[number];

/** What a quote can be made after it is kept. */
export type NextState = Exclude<QuoteState, "kept">;

/** The states that may follow each. */
export const NEXT: Record<QuoteState, readonly NextState[]> = {
  kept: ["ordered", "cancelled"], ordered: ["fitted", "cancelled"], fitted: [], cancelled: [],
};

/** Quotes on a page of the list. */
const PAGE = "20";

/** Milliseconds after which what reached nobody is sent again. */
const RETRY = 5000;

export class Quotes {
  /** Counts what changes, for they are drawn again only then. */
  changes = 0;
  /** undefined while nobody has written one; then it is the axles' own */
  reference?: string;
  remark = "";
  /** How many dampers, by axle; "" for as many as the request says. */
  readonly quantities: Partial<Record<Axle["name"], string>> = {};
  /** What was sent and isn't confirmed. */
  open?: Attempt = openAttempt();
  busy = false;
  /** What became of keeping, of searching, and of what was done to the opened quote. */
  kept?: Outcome;
  searched?: Outcome;
  done?: Outcome;
  readonly filter: Record<Filter, string> = { reference: "", code: "", state: "", from: "", to: "" };
  found?: readonly QuoteItem[];
  /** leads to more of them */
  cursor: string | null = null;
  opened?: Tagged;
  today?: QuoteToday;
  /** who works at the counter, for the history of what is changed */
  by = "";
  /** where an order takes its parts from, "" for anywhere */
  location = "";
  #asking = new AbortController();
  #retry?: number;

  constructor(private readonly page: QuotesPage) {
    if (this.open) this.kept = { key: "quote_unconfirmed", bad: true };
  }

  get #service(): QuoteService {
    return new QuoteService(this.page.service);
  }

  /** Ends what is under way. */
  close(): void {
    clearTimeout(this.#retry);
    this.#asking.abort();
  }

  redraw(): void {
    this.changes += 1;
    this.page.draw();
  }

  /** The axles with a fit that is chosen. */
  get chosen(): Axle[] {
    return this.page.axles.filter((axle) => axle.choice);
  }

  /** What the next quote's reference is. */
  get ownReference(): string {
    return this.reference ?? this.chosen.map(({ request }) => request.get("reference")).find(Boolean) ?? "";
  }

  /** Why nothing can be kept as things are, "" where something can. */
  get hindrance(): string {
    const { axles, words } = this.page;
    const gone = axles.find(({ chosen, choice, answer }) => chosen && !choice && answer);
    if (gone) return words.t("quote_gone", { code: gone.chosen });
    if (this.chosen.length === 0) return words.t("quote_nothing_chosen");
    if (!this.chosen.every(({ settled }) => settled)) return words.t("quote_wait");
    return "";
  }

  #request(): QuoteRequest {
    const { words } = this.page;
    return {
      reference: this.ownReference, remark: this.remark,
      axles: this.chosen.map(({ name, chosen, request }) => ({
        axle: name, damper: chosen, request: request.body(words.decimalComma) as QuoteRequest["axles"][number]["request"],
        ...Number(this.quantities[name]) > 0 ? { quantity: Number(this.quantities[name]) } : {},
      })),
    };
  }

  /** Keeps what is chosen as one quote, or sends again what isn't confirmed. */
  async keep(): Promise<void> {
    if (this.busy || !this.open && this.hindrance) return;
    clearTimeout(this.#retry);
    const attempt = this.open ??= beginAttempt(JSON.stringify(this.#request()));
    this.busy = true;
    this.kept = undefined;
    this.redraw();
    try {
      this.#confirmed(await this.#service.keep(attempt));
    } catch (error) {
      this.#unkept(error);
    }
    this.busy = false;
    this.redraw();
  }

  #confirmed(tagged: Tagged): void {
    endAttempt();
    this.open = undefined;
    this.reference = undefined;
    this.remark = "";
    for (const axle of this.page.axles) {
      delete this.quantities[axle.name];
      axle.choose("");
    }
    this.kept = { key: "quote_kept", values: { name: nameOf(tagged.quote) } };
    this.#show(tagged);
  }

  #unkept(error: unknown): void {
    // The first sending of the same attempt may still be under way.
    const inFlight = error instanceof Refused && error.status === 409;
    if (inFlight || error instanceof Unreachable || error instanceof Refused && error.status === 429) {
      this.kept = { key: "quote_unconfirmed", bad: true };
      const seconds = error instanceof Refused && error.retryAfter;
      this.#retry = setTimeout(() => void this.keep(), seconds ? 1000 * seconds : RETRY);
      return;
    }
    // Nothing was kept.
    endAttempt();
    this.open = undefined;
    this.kept = this.#told(error);
  }

  /** Stops sending what isn't confirmed, which may be kept or not. */
  giveUp(): void {
    clearTimeout(this.#retry);
    endAttempt();
    this.open = undefined;
    this.kept = undefined;
    this.redraw();
  }

  /** Searches by the filter. */
  async search(): Promise<void> {
    this.found = undefined;
    this.cursor = null;
    await this.more();
  }

  /** Fetches the next page of what is searched for. */
  async more(): Promise<void> {
    this.#asking.abort();
    const mine = this.#asking = new AbortController();
    const query = new URLSearchParams({ limit: PAGE });
    for (const name of FILTERS) if (this.filter[name].trim()) query.set(name, this.filter[name].trim());
    if (this.cursor) query.set("cursor", this.cursor);
    this.searched = { key: "loading" };
    this.redraw();
    try {
      const { items, next_cursor: cursor } = await this.#service.find(query);
      if (mine.signal.aborted) return;
      this.found = [...this.found ?? [], ...items];
      this.cursor = cursor;
      this.searched = { key: this.found.length > 0 ? "quotes_found" : "quotes_none", values: { n: this.found.length } };
    } catch (error) {
      if (mine.signal.aborted) return;
      this.searched = this.#told(error);
    }
    this.redraw();
  }

  /** Opens a quote, and asks what has changed since it was kept. */
  async show(id: string): Promise<void> {
    this.done = { key: "loading" };
    this.redraw();
    try {
      this.#show(await this.#service.get(id));
    } catch (error) {
      this.done = this.#told(error);
      this.redraw();
    }
  }

  #show(tagged: Tagged): void {
    // What is said of the same quote stays until it is said anew, so that nothing moves.
    if (this.opened?.quote.id !== tagged.quote.id) this.today = undefined;
    this.opened = tagged;
    this.done = undefined;
    this.page.changed();
    this.redraw();
    void this.#compare(tagged.quote.id);
  }

  async #compare(id: string): Promise<void> {
    try {
      const today = await this.#service.today(id);
      if (this.opened?.quote.id === id) this.today = today;
    } catch (error) {
      // A widget's key may keep a quote and not read it.
      if (this.opened?.quote.id === id && !(error instanceof Refused && error.status === 403)) this.done = this.#told(error);
    }
    this.redraw();
  }

  /** Asks again for what the service said of the opened quote, after a change of the language. */
  retell(): void {
    if (this.opened) void this.#compare(this.opened.quote.id);
  }

  hide(): void {
    this.opened = this.today = this.done = undefined;
    this.page.changed();
    this.redraw();
  }

  /** Orders, fits or cancels the opened quote. */
  async carry(state: NextState): Promise<void> {
    if (!this.opened || this.busy) return;
    const change: QuoteChange = { state };
    if (this.by.trim()) change.by = this.by.trim();
    if (state === "ordered" && this.location.trim()) change.location = this.location.trim();
    this.busy = true;
    this.redraw();
    const { id } = this.opened.quote;
    try {
      this.#show(await this.#service.change(this.opened, change));
      this.done = { key: `quote_now_${state}` };
      this.#inList(id, state);
    } catch (error) {
      this.busy = false;
      // Somebody else has changed it, or no answer came: it is shown as it is now.
      if (!(error instanceof Refused) || error.status === 412) await this.show(id);
      else if (error.status === 409) void this.#compare(id); // what is left in stock
      this.done = error instanceof Refused && error.status === 412 ? { key: "quote_changed", bad: true } : this.#told(error);
    }
    this.busy = false;
    this.redraw();
  }

  #inList(id: string, state: QuoteState): void {
    this.found = this.found?.map((item) => item.id === id ? { ...item, state } : item);
  }

  /** What the service refused, in its own words. */
  #told(error: unknown): Outcome {
    if (error instanceof Unreachable) return { key: "quote_unreachable", bad: true };
    if (!(error instanceof Refused)) throw error;
    const details = error.faults.map(({ pointer, detail }) => ({ axle: axleOf(pointer ?? "", this.chosen), text: detail ?? "" }));
    return { told: { text: error.message, lang: this.page.words.lang, details }, bad: true };
  }
}

/** What people call a quote, isolated from the text around it, which its direction must not turn. */
export function nameOf({ reference, id }: Pick<Quote, "reference" | "id">): string {
  return `\u2068${reference || id}\u2069`;
}

/** The axle that a fault of a quote is about; undefined for one of the whole quote. */
function axleOf(pointer: string, axles: readonly Axle[]): Axle["name"] | undefined {
  return axles[Number(/^\/axles\/(\d+)/.exec(pointer)?.[1])]?.name;
}
