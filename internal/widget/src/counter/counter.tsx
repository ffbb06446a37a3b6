// The page for an adviser at the counter: both axles of a vehicle side by side.

import { h, render } from "preact";
import type { Units } from "../api";
import { drawing } from "../parts";
import { keepMeaning, Request } from "../request";
import { Service } from "../service";
import { addMessages, LANGUAGES, Words } from "../words";
import { Axle, type Page } from "./axle";
import { AxleView } from "./axleview";
import { CallBar } from "./callbar";
import { type Line, readLine } from "./callline";
import { Comparison, MOST_COMPARED } from "./compare";
import type { KeyHolder } from "./keyfield";
import livingMessages from "./livingmessages.json";
import messages from "./messages.json";
import { Quotes, type QuotesPage } from "./quotes";
import { QuoteSection } from "./quoteview";
import { keepShopKey, shopKey } from "./storage";
import { Strip } from "./strip";

addMessages(messages);
addMessages(livingMessages);

/** The axles, and the keys that lead to them, with Alt. The call line has 0, the quotes 3, and the button that chooses the best fit 4. */
const AXLES = [["front", "1"], ["rear", "2"]] as const;

/** Milliseconds after the last key until the address is written. An answer is waited for, the address isn't. */
const ADDRESS_DELAY = 150;

/** The request of a first look, in flat names. */
const EXAMPLE = [
  "upper=stud&upper_measured_to=frame_face&upper_bushing_thickness=3/8&upper_washer_thickness=1/16",
  "lower=eye&lower_bolt=M12&lower_opening=1 1/2&lower_plate=3/16",
  "readings_left=16 5/8&readings_right=16 11/16&suspension=solid_axle",
].join("&");

/** The page's state is its address: units, language and the requests of both axles. */
class Counter implements Page, QuotesPage, KeyHolder {
  axles: Axle[] = [];
  current!: Axle;
  words = new Words("en");
  service = new Service(location.origin, "", "en");
  quotes!: Quotes;
  /** How often another address was shown. Each time the forms are made anew. */
  #opened = 0;
  /** What the call line filled in, by flat name, and of which axle. */
  #called: { axle?: Axle; values: Map<string, string[]> } = { values: new Map() };
  /** What the page itself wrote into the address, which is no reason to read it. */
  #written = "";
  #writing?: number;
  #printing = false;

  constructor() {
    globalThis.addEventListener("hashchange", () => {
      if (location.hash !== this.#written) this.#open();
    });
    globalThis.addEventListener("keydown", (event) => {
      if (!event.altKey || event.ctrlKey || event.metaKey) return;
      const digit = event.code.replace("Digit", "");
      const axle = AXLES.find(([, key]) => key === digit);
      if (axle) this.goToAxle(axle[0]);
      else if (digit === "0") document.getElementById("call")?.focus();
      else if (digit === "3") goToQuotes();
      else if (digit === "4") document.querySelector<HTMLElement>(".strip .current [data-go=choose]")?.focus();
      else return;
      event.preventDefault();
    });
    // What was asked is drawn for paper alone, for the fields show it on the screen.
    for (const [name, printing] of [["beforeprint", true], ["afterprint", false]] as const) {
      globalThis.addEventListener(name, () => {
        this.#printing = printing;
        this.draw();
      });
    }
    document.body.replaceChildren();
    this.#open();
  }

  /** Shows what the address's fragment says. */
  #open(): void {
    const state = new URLSearchParams(location.hash.slice(1));
    const { lang } = this.words;
    this.words = new Words(state.get("lang") || navigator.language);
    this.service = new Service(location.origin, shopKey(), this.words.lang);
    document.documentElement.lang = this.words.lang;
    document.title = this.words.t("counter_title");
    this.#called = { values: new Map() };
    for (const axle of this.axles) axle.close();
    this.#opened += 1;
    this.axles = AXLES.map(([name]) => new Axle(name, this, state));
    this.current = this.axles.find(({ used }) => used) ?? this.axles[0];
    // A quote that is being written stays while units and language change.
    this.quotes ??= new Quotes(this);
    this.draw();
    if (this.words.lang !== lang) this.quotes.retell();
    for (const axle of this.axles) void axle.ask();
    const id = state.get("quote");
    if (id && this.hasKey && id !== this.quotes.opened?.quote.id) void this.quotes.show(id);
  }

  get hasKey(): boolean {
    return this.service.key !== "";
  }

  changeKey(key: string, remember: boolean): void {
    keepShopKey(key, remember);
    this.quotes.close();
    this.quotes = new Quotes(this);
    this.#goTo({});
    // What had the keyboard is gone.
    goToQuotes();
  }

  /** Fills the page with the requests of the opened quote, each axle with the damper that was chosen. */
  loadQuote(): void {
    const quote = this.quotes.opened?.quote;
    if (!quote) return;
    const requests = quote.axles.map(({ axle, damper, request }) => ({ axle, damper, request: Request.of(request) }));
    const units = requests[0].request.units;
    const state = new URLSearchParams({ units, lang: this.words.lang, quote: quote.id });
    for (const { axle, damper, request } of requests) {
      keepMeaning(request, units);
      for (const [name, value] of request.query()) if (name !== "units") state.append(`${axle}.${name}`, value);
      state.append(`${axle}.choose`, damper);
    }
    this.#goTo({}, state);
    this.goToAxle(requests[0].axle);
  }

  /** Goes to the first field of an axle. */
  goToAxle(name: string): void {
    this.axles.find((axle) => axle.name === name)?.goTo("upper");
  }

  /** Reads the call line. */
  read(text: string): Line {
    return readLine(text, { units: this.#units, decimalComma: this.words.decimalComma });
  }

  /**
   * Fills in what the call line says. What it said before and says no more is
   * emptied, unless somebody has changed it in its field since.
   */
  fill(line: Line): void {
    const axle = this.axles.find(({ name }) => name === line.axle) ?? this.#called.axle ?? this.current;
    const before = this.#called;
    this.#called = { axle, values: line.values };
    if (before.axle && before.axle !== axle) before.axle.fill(before.values, new Map());
    axle.fill(before.axle === axle ? before.values : new Map(), line.values);
    if (before.axle !== axle) bringIntoSight(axle.name);
  }

  get #units(): Units {
    return this.axles[0].request.units;
  }

  readonly draw = drawing(() => render(<Whole counter={this} opened={this.#opened} printing={this.#printing} />, document.body));

  get full(): boolean {
    return this.axles.reduce((sum, axle) => sum + axle.compared.length, 0) >= MOST_COMPARED;
  }

  other(axle: Axle): Axle | undefined {
    return this.axles.find((one) => one !== axle);
  }

  link(): string {
    return `${location.href.replace(/#.*/s, "")}#${this.#state()}`;
  }

  /** All that is on the page. */
  #state(): URLSearchParams {
    const state = new URLSearchParams({ units: this.#units, lang: this.words.lang });
    for (const axle of this.axles) {
      for (const [name, value] of axle.request.query(this.words.decimalComma)) {
        if (name !== "units") state.append(`${axle.name}.${name}`, value);
      }
      for (const code of axle.codes) state.append(`${axle.name}.compare`, code);
      if (axle.chosen) state.append(`${axle.name}.choose`, axle.chosen);
    }
    const { opened } = this.quotes;
    if (opened) state.set("quote", opened.quote.id);
    return state;
  }

  /** Writes what is on the page into the address, so that it can be sent as a link. */
  changed(): void {
    clearTimeout(this.#writing);
    this.#writing = setTimeout(() => {
      this.#written = `#${this.#state()}`;
      history.replaceState(null, "", this.#written);
    }, ADDRESS_DELAY);
  }

  changeUnits(units: Units): void {
    for (const { request } of this.axles) keepMeaning(request, units, this.words.decimalComma);
    this.#goTo({ units });
  }

  changeLanguage(lang: string): void {
    this.#goTo({ lang });
  }

  showExample(): void {
    for (const { request } of this.axles) keepMeaning(request, "in", this.words.decimalComma);
    const state = this.#state();
    for (const name of [...state.keys()]) if (name.startsWith("rear.")) state.delete(name);
    for (const [name, value] of new URLSearchParams(EXAMPLE)) state.append(`rear.${name}`, value);
    this.#goTo({ units: "in" }, state);
  }

  clear(): void {
    this.#goTo({}, new URLSearchParams({ units: this.#units, lang: this.words.lang }));
  }

  #goTo(settings: Record<string, string>, state = this.#state()): void {
    for (const [name, value] of Object.entries(settings)) state.set(name, value);
    clearTimeout(this.#writing);
    this.#written = `#${state}`;
    location.hash = this.#written;
    this.#open();
  }
}

/** On a narrow screen the axles stand one below the other, and what a line fills in may be far below it. */
function bringIntoSight(axle: string): void {
  const section = document.getElementById(axle)?.closest("section");
  const top = section?.getBoundingClientRect().top ?? 0;
  if (top < 0 || top > innerHeight / 2) section?.scrollIntoView();
}

function goToQuotes(): void {
  const heading = document.getElementById("quotes");
  heading?.scrollIntoView();
  heading?.focus();
}

function Whole({ counter, opened, printing }: { counter: Counter; opened: number; printing: boolean }) {
  const { words, axles } = counter;
  const compared = axles.flatMap((axle) => axle.compared.map((fit) => ({ axle: axle.name, fit, answer: axle.answer })));
  return [
    <Head counter={counter} />,
    <main>
      <CallBar key={`call${opened}`} words={words} units={axles[0].request.units} first={opened === 1 && !axles.some(({ used }) => used)} read={(text) => counter.read(text)} fill={(line) => counter.fill(line)} />
      <div class="axles">{axles.map((axle) => <AxleView key={`${axle.name}${opened}`} axle={axle} printing={printing} />)}</div>
      <QuoteSection quotes={counter.quotes} axles={axles} words={words} keys={counter} load={() => counter.loadQuote()} />
      <section class="compared">{compared.length > 0 && <Comparison compared={compared} words={words} />}</section>
    </main>,
    <Foot words={words} />,
    <Strip axles={axles} current={counter.current} words={words} />,
  ];
}

function Head({ counter }: { counter: Counter }) {
  const { words } = counter;
  const { units } = counter.axles[0].request;
  return (
    <header class="top">
      <h1>midstroke</h1>
      <p class="quiet">{words.t("counter_about")}</p>
      <nav class="jump" aria-label={words.t("counter_jump")}>
        {AXLES.map(([name, key]) => (
          <a href={`#${name}`} onClick={(event) => {
            event.preventDefault();
            counter.goToAxle(name);
          }}>{words.t(`counter_${name}`)} <kbd>Alt {key}</kbd></a>
        ))}
        <a href="#quotes" onClick={(event) => {
          event.preventDefault();
          goToQuotes();
        }}>{words.t("quotes")} <kbd>Alt 3</kbd></a>
      </nav>
      <div class="settings">
        <select aria-label={words.t("units")} data-key="units" value={units} onChange={(event) => counter.changeUnits(event.currentTarget.value as Units)}>
          {(["in", "mm"] as const).map((unit) => <option value={unit}>{words.t(`unit_${unit}`)}</option>)}
        </select>
        <select aria-label={words.t("counter_language")} data-key="language" value={words.lang} onChange={(event) => counter.changeLanguage(event.currentTarget.value)}>
          {LANGUAGES.map((lang) => <option value={lang} lang={lang}>{words.t(`counter_language_${lang}`)}</option>)}
        </select>
        <button type="button" class="plain" data-go="example" onClick={() => counter.showExample()}>{words.t("counter_example")}</button>
        <button type="button" class="plain" data-go="clear" onClick={() => counter.clear()}>{words.t("counter_clear")}</button>
      </div>
    </header>
  );
}

function Foot({ words }: { words: Words }) {
  const links = [["/docs", "contract"], ["/docs/problems", "problems"], ["/v1/dampers?units=in&limit=20", "catalogue"], ["/readyz", "health"]] as const;
  return (
    <footer class="foot">
      <p>{words.t("counter_safety")}</p>
      <ul>{links.map(([href, name]) => <li><a href={href}>{words.t(`counter_${name}`)}</a></li>)}</ul>
    </footer>
  );
}

new Counter();
