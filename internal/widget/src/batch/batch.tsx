// The page for files: a spreadsheet of vehicles in, the same one with answers out.

import { h, render } from "preact";
import { drawing } from "../parts";
import { Refused, Service, Unreachable } from "../service";
import { addMessages, LANGUAGES, Words } from "../words";
import { answerName, Batch, follow, type Job, mediaOf, type Preview, type Said, save } from "./files";
import messages from "./messages.json";
import { Columns, FirstRows, HeaderFaults, outcomeWords, RowFaults } from "./preview";
import { Section } from "./section";
import { Shelf, ShelfForm, type Shelved } from "./shelf";

addMessages(messages);

/** Where the key stays until the page is closed. */
const KEY = "midstroke.key";

/** What has gone wrong, as a title and what is told of it. */
interface Trouble {
  title: string;
  faults: string[];
}

/** The page's state. */
export class Page {
  words: Words;
  key = sessionStorage.getItem(KEY) ?? "";
  file?: File;
  said: Said = { keep: [], readAs: new Map(), units: "" };
  /** What the page is doing, "" for nothing. */
  busy = "";
  preview?: Preview;
  job?: Job;
  shelved?: Shelved;
  trouble?: Trouble;
  told = "";
  #following = new AbortController();
  readonly #catalog = new URLSearchParams(location.search).get("catalog") ?? "";

  constructor() {
    this.words = new Words(new URLSearchParams(location.search).get("lang") || navigator.language);
    document.body.replaceChildren();
    this.draw();
  }

  readonly draw = drawing(() => {
    document.documentElement.lang = this.words.lang;
    document.title = this.words.t("batch_title");
    render(<Whole page={this} />, document.body);
  });

  get service(): Service {
    return new Service(location.origin, this.key, this.words.lang);
  }

  get batch(): Batch {
    return new Batch(this.file!, this.said, this.service, this.#catalog);
  }

  changeLanguage(lang: string): void {
    const address = new URL(location.href);
    address.searchParams.set("lang", lang);
    history.replaceState(null, "", address);
    this.words = new Words(lang);
    this.draw();
    if (this.preview) void this.look();
  }

  changeKey(key: string): void {
    this.key = key.trim();
    sessionStorage.setItem(KEY, this.key);
    if (this.file && !this.preview) void this.look();
    this.draw();
  }

  changeUnits(units: string): void {
    this.said.units = units;
    if (this.file) void this.look();
    this.draw();
  }

  choose(file: File): void {
    this.#following.abort();
    this.#following = new AbortController();
    Object.assign(this, { file, preview: undefined, job: undefined, shelved: undefined, trouble: undefined, told: "", busy: "" });
    this.said = { keep: [], readAs: new Map(), units: this.said.units };
    if (mediaOf(file)) void this.look();
    else this.trouble = { title: this.words.t("batch_other", { name: file.name }), faults: [] };
    this.draw();
  }

  readAs(header: string, name: string): void {
    this.said.readAs.set(header, name);
    void this.look();
  }

  keep(header: string): void {
    this.said.keep.push(header);
    void this.look();
  }

  /** Shows how the file is understood, with its first rows answered. */
  async look(): Promise<void> {
    if (!this.key) {
      this.trouble = { title: this.words.t("batch_key_missing"), faults: [] };
      this.draw();
      return;
    }
    await this.#during(this.words.t("batch_reading", { name: this.file!.name }), async () => {
      const { file } = this;
      const preview = await this.batch.preview();
      if (file === this.file) this.preview = preview;
    });
  }

  /** Has all rows answered. */
  async answer(): Promise<void> {
    await this.#during(this.words.t("batch_working"), async () => {
      const { signal } = this.#following;
      this.job = await this.batch.start();
      const tell = (job: Job) => {
        this.job = job;
        this.draw();
      };
      tell(this.job);
      const ended = await follow(this.job, this.service, tell, signal);
      if (signal.aborted) return;
      this.job = ended ?? undefined;
      if (!ended) this.told = this.words.t("batch_cancelled");
    });
  }

  async cancel(): Promise<void> {
    const id = this.job?.id;
    if (id) await this.service.ask(`/v1/batches/${id}`, { method: "DELETE" }).catch(() => {});
  }

  async download(): Promise<void> {
    await this.#during(this.words.t("loading"), async () => {
      const response = await this.service.ask(this.job!.result!, { accept: "*/*", patience: 600_000 });
      save(await response.blob(), answerName(this.file!));
    });
  }

  /** Finds what to stock. */
  async shelve(aim: URLSearchParams): Promise<void> {
    await this.#during(this.words.t("loading"), async () => {
      const { batch } = this;
      const coverage = await batch.coverage(aim);
      this.shelved = { aim, coverage, heat: await batch.heatMap(aim) };
    });
  }

  async downloadShelf(aim: URLSearchParams): Promise<void> {
    await this.#during(this.words.t("loading"), async () => save(await this.batch.stockList(aim), "dampers.csv"));
  }

  /** Does something that takes a while, and tells what goes wrong. */
  async #during(what: string, work: () => Promise<void>): Promise<void> {
    const { file } = this;
    Object.assign(this, { busy: what, trouble: undefined, told: "" });
    this.draw();
    try {
      await work();
    } catch (error) {
      if (file === this.file) this.trouble = this.#troubleOf(error);
    }
    if (file === this.file) this.busy = "";
    this.draw();
  }

  #troubleOf(error: unknown): Trouble | undefined {
    if (error instanceof Refused) return { title: error.message, faults: error.faults.map((fault) => faultText(fault, this.words)) };
    if (error instanceof Unreachable) return { title: this.words.t("batch_busy"), faults: [] };
    if (error instanceof DOMException && error.name === "AbortError") return undefined;
    throw error;
  }
}

/** A fault with its place in the file. */
function faultText(fault: Refused["faults"][number], words: Words): string {
  const { line, column, cell, code, detail, cure } = fault as Refused["faults"][number] & { line?: number; column?: string; cell?: string; cure?: string };
  // "lower is missing" names its column itself.
  const place = cell || column || "";
  const at = [line ? `${words.t("batch_row")} ${line}` : "", code === "missing" ? "" : place].filter(Boolean).join(", ");
  return `${at ? `${at}: ` : ""}${detail}${cure ? ` (${cure})` : ""}`;
}

function Whole({ page }: { page: Page }) {
  const { words, preview, job } = page;
  const ended = job?.state === "done" || job?.state === "failed";
  return [
    <Head page={page} />,
    <main>
      <Ask page={page} />
      <div aria-live="polite">
        {page.busy && <p class="quiet" data-busy>{page.busy}</p>}
        {page.told && <p class="told planned">{page.told}</p>}
        {page.trouble && (
          <div class="told" data-trouble>
            <p><strong>{page.trouble.title}</strong></p>
            <ul class="notes">{page.trouble.faults.map((text) => <li>{text}</li>)}</ul>
          </div>
        )}
      </div>
      {preview && <Facts page={page} preview={preview} />}
      {preview && !preview.ready && <HeaderFaults preview={preview} words={words} />}
      {preview && <Columns preview={preview} words={words} onReadAs={(header, name) => page.readAs(header, name)} onKeep={(header) => page.keep(header)} />}
      {preview && <FirstRows preview={preview} words={words} />}
      {preview?.ready && !job && (
        <div class="actions">
          <button type="button" class="main" data-go="answer" disabled={Boolean(page.busy)} onClick={() => void page.answer()}>{words.t("batch_answer_all", { n: words.number(preview.rows, 0) })}</button>
        </div>
      )}
      {job && !ended && <Working page={page} job={job} />}
      {job && ended && <Ended page={page} job={job} />}
      {preview?.ready && <ShelfForm rows={preview.rows} busy={Boolean(page.busy)} words={words} onFind={(aim) => void page.shelve(aim)} />}
      {page.shelved && <Shelf shelved={page.shelved} words={words} onDownload={() => void page.downloadShelf(page.shelved!.aim)} />}
    </main>,
  ];
}

function Head({ page }: { page: Page }) {
  const { words } = page;
  return (
    <header class="top">
      <h1>midstroke</h1>
      <p class="quiet">{words.t("batch_about")}</p>
      <div class="settings">
        <a href={`/#lang=${words.lang}`}>{words.t("batch_counter")}</a>
        <select aria-label={words.t("batch_language")} data-key="language" value={words.lang} onChange={(event) => page.changeLanguage(event.currentTarget.value)}>
          {LANGUAGES.map((lang) => <option value={lang} lang={lang}>{words.t(`batch_language_${lang}`)}</option>)}
        </select>
      </div>
    </header>
  );
}

/** What the page needs: a key, and a file. */
function Ask({ page }: { page: Page }) {
  const { words } = page;
  const over = (on: boolean) => (event: DragEvent) => {
    event.preventDefault();
    (event.currentTarget as HTMLElement).classList.toggle("over", on);
  };
  const take = (files: FileList | null | undefined) => files?.[0] && page.choose(files[0]);
  return (
    <section aria-label={words.t("batch_choose")}>
      <div class="asked">
        <div class="field">
          <label for="key">{words.t("batch_key")}</label>
          <input id="key" type="password" autocomplete="off" spellcheck={false} value={page.key} aria-describedby="key-hint" onChange={(event) => page.changeKey(event.currentTarget.value)} />
          <p id="key-hint" class="hint">{words.t("batch_key_hint")}</p>
        </div>
        <div class="field">
          <label for="units">{words.t("batch_units")}</label>
          <select id="units" value={page.said.units} onChange={(event) => page.changeUnits(event.currentTarget.value)}>
            <option value="">{words.t("batch_units_none")}</option>
            {(["in", "mm"] as const).map((unit) => <option value={unit}>{words.t(`unit_${unit}`)}</option>)}
          </select>
          <p class="hint"><a href={`/v1/templates/vehicles.xlsx?lang=${words.lang}${page.said.units && `&units=${page.said.units}`}`} download>{words.t("batch_template")}</a></p>
        </div>
      </div>
      <label class="drop" onDragOver={over(true)} onDragLeave={over(false)} onDrop={(event) => {
        over(false)(event);
        take(event.dataTransfer?.files);
      }}>
        <b>{words.t("batch_choose")}</b>
        <span class="quiet">{words.t("batch_drop")}</span>
        <input type="file" data-key="file" accept=".csv,.tsv,.xlsx,.xlsm,.ndjson,.jsonl" aria-label={words.t("batch_choose")} onChange={(event) => {
          take(event.currentTarget.files);
          event.currentTarget.value = ""; // so that the same file can be chosen again
        }} />
      </label>
    </section>
  );
}

function Facts({ page, preview }: { page: Page; preview: Preview }) {
  const { words } = page;
  return (
    <p class="facts" data-facts>
      <strong>{page.file!.name}</strong>
      <span>{words.t("batch_rows", { n: words.number(preview.rows, 0) })}</span>
      {preview.sheet && <span>{words.t("batch_sheet", { name: preview.sheet })}</span>}
      <span class="quiet">{words.t("batch_catalog", { name: preview.catalog.name, revision: preview.catalog.revision })}</span>
    </p>
  );
}

function Working({ page, job }: { page: Page; job: Job }) {
  const { words } = page;
  const left = job.seconds_left;
  const time = left === null ? "" : left < 90 ? words.t("batch_seconds", { n: left }) : words.t("batch_minutes", { n: Math.round(left / 60) });
  return (
    <Section title={words.t("batch_working")} name="working">
      <progress max={job.rows} value={job.rows_done} aria-label={words.t("batch_working")} />
      <p class="facts">
        <span>{words.t("batch_done_rows", { done: words.number(job.rows_done, 0), all: words.number(job.rows, 0) })}</span>
        {job.state === "waiting" && <span>{words.t("batch_waiting")}</span>}
        {job.rate !== null && <span>{words.t("batch_rate", { n: words.number(job.rate, 0) })}</span>}
        {time && <span>{words.t("batch_left", { time })}</span>}
      </p>
      <div class="actions"><button type="button" class="plain" data-go="cancel" onClick={() => void page.cancel()}>{words.t("batch_cancel")}</button></div>
    </Section>
  );
}

const OUTCOMES = ["fits", "no_fit", "measure_again", "outside_method"] as const;

function Ended({ page, job }: { page: Page; job: Job }) {
  const { words } = page;
  if (job.state === "failed") return <Section title={words.t("batch_failed")} name="ended"><p class="told">{job.problem}</p></Section>;
  const until = job.expires_at && new Intl.DateTimeFormat(words.locale, { dateStyle: "long" }).format(new Date(job.expires_at));
  return (
    <Section title={words.t("batch_finished")} name="ended">
      {job.repeated && <p class="quiet">{words.t("batch_same")}</p>}
      <dl class="outcomes">
        {OUTCOMES.filter((outcome) => job.outcomes[outcome] > 0).map((outcome) => <div><dt>{outcomeWords(outcome, words)}</dt><dd>{words.number(job.outcomes[outcome], 0)}</dd></div>)}
      </dl>
      <div class="actions">
        <button type="button" class="main" data-go="download" disabled={Boolean(page.busy)} onClick={() => void page.download()}>{words.t("batch_download")}</button>
        {until && <span class="quiet">{words.t("batch_kept_until", { date: until })}</span>}
      </div>
      {job.rows_with_faults > 0 && <RowFaults job={job} words={words} />}
    </Section>
  );
}

new Page();
