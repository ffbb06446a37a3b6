// One axle at the counter: its request, and the answer to it.

import type { Answer, End, Fit, Remedy } from "../api";
import { headline } from "../answer";
import { faultsByKey } from "../faults";
import { fieldAtPath, FIELDS, IS_PLANAR, isAsked, isDirection, isPoint } from "../fields";
import { Form, goToField } from "../form";
import { withoutPlans } from "../plan";
import { taken } from "../remedy";
import { Request } from "../request";
import { Refused, type Service, Unreachable } from "../service";
import { capitalised, type Words } from "../words";
import type { Part } from "./vehicleparts";

/** What an axle stands on. */
export interface Page {
  readonly words: Words;
  readonly service: Service;
  /** The axle that was worked on last. */
  current: Axle;
  draw(): void;
  /** Whether as many fits are compared as there is room for. */
  readonly full: boolean;
  /** Called after each change of a request. */
  changed(): void;
  /** A link to the page as it stands. */
  link(): string;
  other(axle: Axle): Axle | undefined;
  /** Whether it asks with a shop's key, for the shop's own catalogue and stock. */
  readonly hasKey: boolean;
}

/** A question to put to the caller. */
export interface Question {
  text: string;
  lang: string;
  /** of the field that takes the answer */
  name: string;
}

const READINGS = ["readings", "readings_left", "readings_right"];

/** Milliseconds without a change after which the status is read out. */
const PAUSE = 1000;

/** Milliseconds after which an unreachable service is asked again. */
const RETRY = 5000;

export class Axle {
  request: Request;
  form: Form;
  /** Counts what changes in the form, which is drawn again only then. */
  formChanges = 0;
  answer: Answer | null = null;
  /** One line on how things stand. */
  status = "";
  /** The same as it is read out, once nobody types any more. */
  announced = "";
  /** Whether the answer belongs to an earlier request than the one that is typed. */
  outdated = false;
  /** Codes of the fits to compare, kept from answer to answer. */
  readonly codes = new Set<string>();
  /** The part of the drawing whose fields alone are shown; null for all fields. */
  part: Part | null = null;
  /** Code of the fit that is chosen for a quote, "" for none. */
  chosen: string;
  /** The requests before each remedy that was taken, the last one at the end. */
  readonly #before: Request[] = [];
  /** The question and the answer that are shown. */
  #shown = "";
  readonly #life = new AbortController();
  #asking = false;
  /** A question that waits for the answer to the one before it, with the form that asks it. */
  #waiting: { form?: ParentNode } | null = null;
  #retry?: number;
  #pause?: number;
  /** The first field that the service found wrong. */
  #faulty = "";

  /** @param state of the page, of which it takes its own part */
  constructor(readonly name: "front" | "rear", readonly page: Page, state: URLSearchParams) {
    this.request = Request.read(state, `${name}.`);
    this.request.set("units", state.get("units") === "mm" ? "mm" : "in");
    this.form = this.#newForm();
    for (const code of state.getAll(`${name}.compare`)) this.codes.add(code);
    this.chosen = state.get(`${name}.choose`) ?? "";
  }

  #newForm(): Form {
    return new Form(`${this.name}-`, this.request, this.page.words, () => this.#typed(), () => {
      this.formChanges += 1;
      this.page.draw();
    });
  }

  #typed(): void {
    this.page.current = this;
    this.#before.length = 0;
    this.#changed();
  }

  #changed(): void {
    this.formChanges += 1;
    this.page.draw();
    this.page.changed();
    void this.ask();
  }

  /** Ends it. */
  close(): void {
    clearTimeout(this.#retry);
    clearTimeout(this.#pause);
    this.#life.abort();
  }

  /** The fits to compare, as far as the answer has them. */
  get compared(): Fit[] {
    return this.answer?.fits.filter((fit) => this.codes.has(fit.damper.code)) ?? [];
  }

  compare(code: string, wanted: boolean): void {
    if (wanted) this.codes.add(code);
    else this.codes.delete(code);
    this.page.draw();
    this.page.changed();
  }

  /** Shows the fields of a part of the drawing alone, or all fields. */
  openPart(part: Part | null): void {
    this.part = part;
    this.page.draw();
  }

  /** Goes to a field, which may be one that the open part doesn't have. */
  goTo(name: string): void {
    this.openPart(null);
    const form = document.getElementById(`${this.name}-form`);
    if (form) goToField(form, name);
  }

  /** The fit that is chosen, as far as the answer has it. */
  get choice(): Fit | undefined {
    return this.answer?.fits.find((fit) => fit.damper.code === this.chosen);
  }

  /** Chooses a fit for a quote; "" for none. */
  choose(code: string): void {
    this.chosen = code;
    this.page.draw();
    this.page.changed();
  }

  /** Whether the answer is that to the request as it stands. */
  get settled(): boolean {
    return !this.outdated && !this.#asking;
  }

  copyOther(): void {
    const other = this.page.other(this);
    if (!other) return;
    this.#before.length = 0;
    this.#replace(other.request.copy());
  }

  /** Fills in values in place of others that were filled in before and weren't changed since. */
  fill(before: ReadonlyMap<string, string[]>, values: ReadonlyMap<string, string[]>): void {
    const same = (a: readonly string[], b: readonly string[] = []) => a.join("\n") === b.join("\n");
    let changed = false;
    const set = (name: string, ...to: string[]) => {
      changed = true;
      this.request.set(name, ...to);
    };
    for (const [name, was] of before) if (!values.has(name) && same(this.request.all(name), was)) set(name);
    for (const [name, to] of values) if (!same(to, before.get(name)) && !same(to, this.request.all(name))) set(name, ...to);
    if (changed) this.#typed();
  }

  /** Asks with a remedy planned. */
  take(remedy: Remedy): void {
    if (!this.answer) return;
    this.#before.push(this.request);
    this.#replace(taken(this.request, remedy, this.answer, this.page.words.decimalComma));
  }

  /** Drops the last plan that was made, or all that were there when the page was opened. */
  undo(): void {
    this.#replace(this.#before.pop() ?? withoutPlans(this.request, this.page.words.decimalComma));
  }

  /** Changes how much is planned. Undo leads back to before the plan. */
  slide(field: string, amount: string): void {
    this.request.set(field, amount);
    this.#changed();
  }

  #replace(request: Request): void {
    this.request = request;
    this.form = this.#newForm();
    this.#changed();
  }

  /** Whether enough is said for a question. */
  get ready(): boolean {
    return this.#needed() === undefined;
  }

  /** The first field that a question can't do without. */
  #needed(): "upper" | "lower" | "suspension" | "readings" | undefined {
    if (!this.request.get("upper")) return "upper";
    if (!this.request.get("lower")) return "lower";
    if (["", "rule", "road"].includes(this.request.get("travel")) && !this.request.get("suspension")) return "suspension";
    return READINGS.some((name) => this.request.some(name).length > 0) ? undefined : "readings";
  }

  /** The one question to ask next, with the field that takes its answer. */
  get next(): Question | null {
    const { words } = this.page;
    const needed = this.#needed();
    if (needed) return { text: words.t(`ask_${needed}`), lang: words.lang, name: needed === "readings" ? this.#readings : needed };
    if (this.#faulty) return { text: words.t("ask_again", { field: this.#called(this.#faulty) }), lang: words.lang, name: this.#faulty.split("/")[0] };
    const asked = this.answer?.ask_next;
    const name = asked && fieldAtPath(asked.field)?.name;
    return asked && name ? { text: capitalised(asked.text), lang: this.answer?.language ?? words.lang, name } : null;
  }

  /** The field of readings that is in sight. */
  get #readings(): string {
    return this.request.all("readings").length > 0 ? "readings" : "readings_left";
  }

  /** Whether anything is said of it. */
  get used(): boolean {
    return this.request.said(false).some(({ field }) => field.name !== "units");
  }

  /**
   * Asks as things stand, at once or as soon as the question before it is
   * answered, so that the newest request is answered last.
   * @param form where faults are shown beside their fields; without one only the status tells them
   */
  async ask(form?: ParentNode): Promise<void> {
    const { words, service } = this.page;
    if (this.#asking) {
      this.#waiting = { form: form ?? this.#waiting?.form };
      return;
    }
    clearTimeout(this.#retry);
    if (!this.ready) {
      if (form) this.#tellNeeded(form);
      // An answer stays while a field is typed anew.
      if (this.answer && this.used) this.#outdate(words.t("counter_waiting"));
      else this.#show(null, "", words.t("counter_waiting"));
      return;
    }
    if (!this.form.sound) {
      this.#outdate(this.form.unfinished && this.status ? this.status : words.t("refused"));
      return;
    }
    this.#asking = true;
    const query = this.request.query(words.decimalComma);
    try {
      const answer = await service.fits(query, this.#life.signal);
      this.#faulty = "";
      this.form.show(new Map());
      this.#show(answer, String(query), headline(answer, words));
    } catch (error) {
      if (this.#life.signal.aborted) return;
      this.#failed(error, form);
    } finally {
      this.#asking = false;
    }
    const waiting = this.#waiting;
    this.#waiting = null;
    if (waiting) void this.ask(waiting.form);
  }

  /** Leads to the first field that is needed, and says there that it is. */
  #tellNeeded(form: ParentNode): void {
    const { words } = this.page;
    const needed = this.#needed();
    if (!needed) return;
    // The part that is open may not have the field.
    this.openPart(null);
    const key = needed === "readings" ? `${this.#readings}/0` : needed;
    this.form.tell(new Map([[key, words.t(needed === "readings" ? "fault_empty" : "fault_choose")]]), form);
  }

  #show(answer: Answer | null, question: string, status: string): void {
    // The same answer again is left as it stands, for somebody may be reading it.
    const shown = question + JSON.stringify(answer);
    if (shown !== this.#shown) this.answer = answer;
    this.#shown = shown;
    this.#say(status, false);
  }

  /** Says what prevents a new answer. The last one stays in sight, marked as old. */
  #outdate(status: string, found?: Map<string, string>): void {
    this.#say(status, true, found);
  }

  /** @param found what the service found wrong. It moves the form, so it waits for a pause. */
  #say(status: string, outdated: boolean, found?: Map<string, string>): void {
    this.status = status;
    this.outdated = outdated;
    this.page.draw();
    clearTimeout(this.#pause);
    const { form } = this;
    this.#pause = setTimeout(() => {
      this.announced = this.status;
      if (found) form.show(found);
      this.page.draw();
    }, PAUSE);
  }

  #failed(error: unknown, form?: ParentNode): void {
    const { words } = this.page;
    if (error instanceof Refused && (error.status === 401 || error.status === 403)) {
      this.#outdate(error.message);
      return;
    }
    if (error instanceof Unreachable) {
      this.#outdate(words.t("unreachable"));
      this.#retry = setTimeout(() => void this.ask(), RETRY);
      return;
    }
    if (!(error instanceof Refused)) throw error;
    const found = faultsByKey(error, this.request, words);
    this.#faulty = [...found.keys()][0] ?? "";
    const untold = form ? this.form.tell(found, form) : [...found.keys()];
    // Of a linkage or a road that isn't complete yet, labels of what is missing
    // say more than the names of all that the service would take.
    const missing = untold.some((key) => this.#unsaid(key)) ? this.#missing() : [];
    const told = untold.filter((key) => missing.length === 0 || !this.#unsaid(key)).map((key) => `${this.#called(key)}: ${found.get(key)}`);
    if (missing.length > 0) told.push(words.t("counter_still_missing", { what: missing.join(", ") }));
    // What is still missing is marked once somebody asks with the form.
    const written = new Map([...found].filter(([key]) => this.form.value(key) !== ""));
    this.#outdate(told.join("; ") || words.t("refused"), form ? undefined : written);
  }

  /** Whether a key is about a part of a linkage or of a road that isn't said. */
  #unsaid(key: string): boolean {
    const [name] = key.split("/");
    return ["linkage", "road"].includes(this.request.get("travel")) && name.startsWith("travel_") && this.request.some(name).length === 0;
  }

  /** The labels of what is missing of a linkage or of a road. */
  #missing(): string[] {
    const axes = this.request.get(IS_PLANAR) ? 2 : 3;
    return FIELDS
      .filter((field) => /^travel_/.test(field.name) && !/_(reserve|damper_on)$/.test(field.name) && !isDirection(field) && isAsked(field, this.request))
      .filter((field) => this.request.some(field.name).length < (isPoint(field) ? axes : 1))
      .map(({ name }) => this.page.words.label(name));
  }

  /** What the form calls a field. */
  #called(key: string): string {
    const { words } = this.page;
    const [name, at] = key.split("/");
    const [, end] = /^(upper|lower)_/.exec(name) ?? [];
    return (end ? `${words.t(`${end as End}_end`)}, ` : "") + words.label(name) + (at && name.startsWith("readings") ? ` ${Number(at) + 1}` : "");
  }
}
