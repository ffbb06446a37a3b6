// <midstroke-fit>: the web component.

import { h, render } from "preact";
import type { Answer, Fit, Remedy } from "../api";
import { faultsByKey } from "../faults";
import { optionsOf } from "../fields";
import { Form, goToField } from "../form";
import { drawing } from "../parts";
import { plansOf, withoutPlans } from "../plan";
import { taken } from "../remedy";
import { keepMeaning, Request } from "../request";
import { Refused, Service, Unreachable } from "../service";
import { addMessages, Words } from "../words";
import { Frame, type Message } from "./frame";
import messages from "./messages.json";
import { STEPS, stepOf } from "./steps";
import styles from "./widget.css";

addMessages(messages);

/** The step after the last question. */
const ANSWER = STEPS.length;

/** Milliseconds after which an unreachable service is asked again. */
const RETRY = 5000;

/** How many fits are shown unless the page asks for more: a phone is small. */
const FITS = "5";

/** Attributes that fill in a field. */
const PRESETS = ["units", "reference", "upper", "lower", "suspension", "catalog", "dampers", "top"];

/** Where this script came from, which is where the service is. */
const HOME = new URL((document.currentScript as HTMLScriptElement | null)?.src || document.baseURI).origin;

const sheet = new CSSStyleSheet();
sheet.replaceSync(styles);

class MidstrokeFit extends HTMLElement {
  static observedAttributes = ["key", "lang", "service", "theme", "preset", ...PRESETS];

  #request = new Request();
  #words = new Words("en");
  #form = this.#newForm();
  #step = 0;
  #answer: Answer | null = null;
  #message: Message | null = null;
  /** The requests before each remedy that was taken, the last one at the end. */
  readonly #before: Request[] = [];
  #busy = false;
  #connected = new AbortController();
  /** Ends the question to the service that is being asked. */
  #asking = new AbortController();
  #retry?: number;
  /** What its place in the tab's storage is called. */
  #place = "";
  readonly #root = this.attachShadow({ mode: "open" });

  constructor() {
    super();
    this.#root.adoptedStyleSheets = [sheet];
  }

  connectedCallback(): void {
    this.#connected = new AbortController();
    const { signal } = this.#connected;
    // Two of them on one page, or on two, are two conversations.
    this.#place = ["midstroke", location.pathname, this.id || [...document.querySelectorAll(this.localName)].indexOf(this),
      this.getAttribute("reference") ?? "", this.getAttribute("preset") ?? ""].join("|");
    this.#request = this.#kept();
    this.#preset();
    this.#step = STEPS.findIndex((step) => !step.picks || !this.#request.get(step.name));
    globalThis.addEventListener("online", () => this.#askAgain(), { signal });
    globalThis.addEventListener("beforeprint", () => {
      for (const details of this.#root.querySelectorAll("details")) details.open = true;
    }, { signal });
    this.#show();
    if (this.#wasAnswered) void this.#ask(false);
  }

  disconnectedCallback(): void {
    clearTimeout(this.#retry);
    this.#connected.abort();
    render(null, this.#root);
  }

  attributeChangedCallback(name: string): void {
    if (!this.isConnected || this.#connected.signal.aborted || name === "theme") return;
    if (name === "preset" || PRESETS.includes(name)) this.#preset(name);
    if (name === "lang" && this.#step === ANSWER) void this.#ask(false);
    else this.#show();
  }

  /** The request as it stands, in flat names. */
  get request(): string {
    return this.#request.query(this.#words.decimalComma).toString();
  }

  /**
   * Fills in what attributes preset.
   * @param changed the one that was changed; without it all of them count, for what isn't answered yet
   */
  #preset(changed?: string): void {
    const answered = this.#request.copy();
    const set = (name: string, values: readonly string[]) => {
      if (!changed && answered.all(name).length > 0) return;
      const options = optionsOf(name);
      if (PRESETS.includes(name) && options.length > 0 && !options.includes(values[0])) return;
      this.#request.set(name, ...values);
    };
    if (!changed || changed === "preset") {
      const preset = Request.read(new URLSearchParams(this.getAttribute("preset") ?? ""));
      // It asks for readings by sides. One side is enough.
      for (const { field, values } of preset.said(false)) set(field.name === "readings" ? "readings_left" : field.name, values);
    }
    for (const name of PRESETS) {
      const value = this.getAttribute(name);
      if (value !== null && (!changed || changed === name)) set(name, [value]);
    }
    if (!this.#request.get("units")) this.#request.set("units", "in");
    if (!this.#request.get("top")) this.#request.set("top", FITS);
  }

  /** What was typed in this tab, so that a phone that drops the page doesn't lose it. */
  #kept(): Request {
    try {
      return Request.read(new URLSearchParams(sessionStorage.getItem(this.#place) ?? ""));
    } catch {
      return new Request(); // a page may be forbidden to keep anything
    }
  }

  /** Whether the page was left with an answer in sight. */
  get #wasAnswered(): boolean {
    try {
      return sessionStorage.getItem(`${this.#place}|answered`) !== null;
    } catch {
      return false;
    }
  }

  #keep(): void {
    try {
      sessionStorage.setItem(this.#place, this.#request.query().toString());
      if (this.#step === ANSWER) sessionStorage.setItem(`${this.#place}|answered`, "");
      else sessionStorage.removeItem(`${this.#place}|answered`);
    } catch {
      // It lasts as long as the page does.
    }
  }

  /** The reader's language tag. */
  get #language(): string {
    return this.closest("[lang]")?.getAttribute("lang") || document.documentElement.lang || navigator.language;
  }

  get #service(): Service {
    return new Service(this.getAttribute("service") || HOME, this.getAttribute("key") ?? "", this.#words.lang);
  }

  #newForm(): Form {
    return new Form("midstroke-", this.#request, this.#words, () => this.#typed(), () => this.#draw());
  }

  #typed(): void {
    this.#before.length = 0;
    // Nobody is sent away from what is being typed.
    this.#stopRetrying();
    this.#keep();
    this.#draw();
  }

  #stopRetrying(): void {
    clearTimeout(this.#retry);
    this.#retry = undefined;
  }

  /** Shows the present step anew, in the reader's language and without faults. */
  #show(): void {
    this.#words = new Words(this.#language);
    this.#form = this.#newForm();
    this.#message = null;
    this.#draw();
  }

  readonly #draw = drawing(() => {
    if (this.#connected.signal.aborted) return;
    render(<Frame
      form={this.#form} words={this.#words} service={this.#service} step={this.#step} answer={this.#answer} message={this.#message} busy={this.#busy}
      doing={{
        units: (units) => this.#changeUnits(units),
        go: (step) => this.#go(step),
        goToField: (name) => this.#goToField(name),
        next: (form) => this.#next(form),
        ask: () => void this.#ask(),
        choose: (fit) => this.#choose(fit),
        take: (remedy) => this.#take(remedy),
        undo: () => this.#undo(),
        sheet: (fit) => this.#sheet(fit),
      }}
    />, this.#root);
  });

  /** What was answered keeps its meaning; what is in sight now is what the change is about, and is read anew. */
  #changeUnits(units: "in" | "mm"): void {
    const before = this.#request.copy();
    this.#before.length = 0;
    keepMeaning(this.#request, units, this.#words.decimalComma);
    for (const field of this.#root.querySelectorAll<HTMLElement>("form [data-key]")) {
      const [name] = field.dataset.key?.split("/") ?? [];
      if (name) this.#request.set(name, ...before.all(name));
    }
    this.#request.set("units", units);
    this.#keep();
    if (this.#step === ANSWER) void this.#ask(false);
    else this.#show();
  }

  #go(step: number): void {
    this.#stopRetrying();
    this.#asking.abort();
    this.#step = step;
    this.#keep();
    this.#showNew();
  }

  #goToField(name: string): void {
    this.#go(STEPS.findIndex((step) => step === stepOf(name, this.#request)));
    goToField(this.#root, name);
  }

  /** Shows a step that has just come, with the keyboard on its heading. */
  #showNew(): void {
    this.#show();
    this.#root.querySelector("h2")?.focus();
  }

  #next(form: HTMLFormElement): void {
    if (!this.#form.settle(form)) return;
    if (this.#step === STEPS.length - 1) void this.#ask();
    else this.#go(this.#step + 1);
  }

  /**
   * Asks; only the last question that was asked is answered.
   * @param pressed whether somebody asked for an answer, and not only for the same one in other units or another language
   */
  async #ask(pressed = true): Promise<void> {
    this.#stopRetrying();
    this.#asking.abort();
    const mine = this.#asking = new AbortController();
    const query = this.#request.query(this.#words.decimalComma);
    if (!pressed) this.#words = new Words(this.#language);
    this.#busy = true;
    this.#draw();
    try {
      this.#answer = await this.#service.fits(query, AbortSignal.any([this.#connected.signal, mine.signal]));
      this.#step = ANSWER;
      this.#busy = false;
      this.#keep();
      if (!pressed) {
        this.#show();
        return;
      }
      this.#showNew();
      this.#tell("midstroke:answer", summary(this.#answer, query));
    } catch (error) {
      if (!this.#connected.signal.aborted && !mine.signal.aborted) this.#failed(error);
    } finally {
      if (this.#asking === mine && this.#busy) {
        this.#busy = false;
        this.#draw();
      }
    }
  }

  #failed(error: unknown): void {
    const words = this.#words;
    if (error instanceof Unreachable) {
      this.#message = { text: words.t("unreachable"), retry: true };
      this.#retry = setTimeout(() => this.#askAgain(), RETRY);
    } else if (!(error instanceof Refused)) {
      throw error;
    } else if (error.status === 401 || error.status === 403) {
      this.#message = { text: words.t("key_refused") };
    } else if (error.status === 429) {
      const seconds = error.retryAfter || RETRY / 1000;
      this.#message = { text: words.t("too_many", { seconds: words.number(seconds, 0) }) };
      this.#retry = setTimeout(() => this.#askAgain(), 1000 * seconds);
    } else {
      this.#pointOut(error);
    }
  }

  /** Goes to the first question whose answer was refused, and tells all that is wrong beside the fields. */
  #pointOut(refused: Refused): void {
    const found = faultsByKey(refused, this.#request, this.#words);
    const step = STEPS.findIndex((one) => [...found.keys()].some((key) => one === stepOf(key.split("/")[0], this.#request)));
    if (step >= 0) {
      this.#step = step;
      this.#showNew();
    }
    const elsewhere = this.#form.tell(found, this.#root);
    this.#message = {
      text: this.#words.t("refused"),
      list: elsewhere.map((key) => `${this.#words.label(key.split("/")[0])}: ${found.get(key)}`),
      detail: found.size === 0 ? refused.message : undefined,
    };
  }

  /** Asks again where the last question reached nobody. */
  #askAgain(): void {
    if (this.#retry !== undefined) void this.#ask();
  }

  #take(remedy: Remedy): void {
    if (!this.#answer) return;
    this.#before.push(this.#request);
    this.#askFor(taken(this.#request, remedy, this.#answer, this.#words.decimalComma));
  }

  /** Drops the last plan that was made, or all that are there after the page was loaded anew. */
  #undo(): void {
    this.#askFor(this.#before.pop() ?? withoutPlans(this.#request, this.#words.decimalComma));
  }

  #askFor(request: Request): void {
    this.#request = request;
    this.#keep();
    this.#form = this.#newForm();
    void this.#ask();
  }

  /** The address of a fit's sheet; none for a shop's own catalogue, since the sheet knows no key. */
  #sheet(fit: Fit): string | undefined {
    if (this.getAttribute("key")) return undefined;
    const query = this.#request.query(this.#words.decimalComma);
    query.set("rank", String(fit.rank));
    query.set("lang", this.#words.lang);
    return `${this.#service.base}/sheet?${query}`;
  }

  #choose(fit: Fit): void {
    this.#tell("midstroke:choose", {
      reference: this.#answer?.reference, catalog: this.#answer?.catalog, request: this.request,
      planned: plansOf(this.#request, this.#words), rank: fit.rank, code: fit.damper.code, mounted: fit.mounted, price: fit.price, pick_list: fit.pick_list,
    });
  }

  #tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

/** What the page is told of an answer. */
function summary(answer: Answer, query: URLSearchParams): object {
  const { outcome, reference, catalog, fits, near_misses: misses } = answer;
  return { outcome, reference, catalog, request: query.toString(), fits: fits.length, near_misses: misses.length, best: fits[0]?.damper.code ?? null };
}

if (!customElements.get("midstroke-fit")) customElements.define("midstroke-fit", MidstrokeFit);
