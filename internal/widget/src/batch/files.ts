// Files of vehicles, as the service takes them and gives them back.

import type { components } from "../contract";
import { Refused, type Service } from "../service";

type Schemas = components["schemas"];

export type Preview = Schemas["BatchPreview"];
export type Job = Schemas["BatchJob"];
export type Coverage = Schemas["Coverage"];

/** The media types of files, by their ending. */
const MEDIA: Record<string, string> = {
  csv: "text/csv", tsv: "text/csv", ndjson: "application/x-ndjson", jsonl: "application/x-ndjson",
  xlsx: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", xlsm: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
};

/** A large file takes a while to arrive. In milliseconds. */
const PATIENCE = 10 * 60 * 1000;

/** The values that the first rows show. */
export const SHOWN = ["outcome", "grade", "damper.code", "worst_case.likelihood", "total.amount", "total.currency"] as const;

/** What a person has said of a file's columns and rows. */
export interface Said {
  keep: string[];
  /** the flat name by the header */
  readAs: Map<string, string>;
  units: string;
}

/** The media type of a file, "" for one of another kind. */
export function mediaOf(file: File): string {
  return MEDIA[file.name.split(".").pop()?.toLowerCase() ?? ""] ?? "";
}

/** A file together with what is said of it. */
export class Batch {
  constructor(readonly file: File, readonly said: Said, readonly service: Service, readonly catalog: string) {}

  async preview(): Promise<Preview> {
    return (await this.#send("/v1/batches/preview", this.#query(SHOWN), "application/json")).json();
  }

  /** Has all rows answered in the background. */
  async start(): Promise<Job> {
    return (await this.#send("/v1/batches", this.#query(), "*/*", "respond-async")).json();
  }

  /** What to stock: as JSON, as the heat map, or as CSV. */
  async coverage(aim: URLSearchParams): Promise<Coverage> {
    return (await this.#send("/v1/coverage", this.#query([], aim), "application/json")).json();
  }

  async heatMap(aim: URLSearchParams): Promise<string> {
    return (await this.#send("/v1/coverage", this.#query([], aim), "image/svg+xml")).text();
  }

  async stockList(aim: URLSearchParams): Promise<Blob> {
    return (await this.#send("/v1/coverage", this.#query([], aim), "text/csv")).blob();
  }

  #query(picks: readonly string[] = [], more = new URLSearchParams()): URLSearchParams {
    const query = new URLSearchParams(more);
    for (const path of picks) query.append("pick", path);
    for (const header of this.said.keep) query.append("keep", header);
    for (const [header, name] of this.said.readAs) query.append("read_as", `${header}=${name}`);
    if (this.said.units) query.set("units", this.said.units);
    if (this.catalog) query.set("catalog", this.catalog);
    return query;
  }

  #send(path: string, query: URLSearchParams, accept: string, prefer?: string): Promise<Response> {
    return this.service.ask(`${path}?${query}`, { accept, prefer, body: new Blob([this.file], { type: mediaOf(this.file) }), patience: PATIENCE });
  }
}

/** Follows a job until it has ended. Gives null where it was deleted. */
export async function follow(job: Job, service: Service, tell: (job: Job) => void, signal: AbortSignal): Promise<Job | null> {
  for (let now = job; ;) {
    if (now.state === "done" || now.state === "failed") return now;
    try {
      const response = await service.ask(now.events, { accept: "text/event-stream", signal, patience: PATIENCE });
      for await (const { name, data } of eventsOf(response)) {
        if (name === "gone") return null;
        now = JSON.parse(data);
        tell(now);
      }
    } catch (error) {
      if (signal.aborted) throw error;
      if (error instanceof Refused && error.status === 404) return null;
      if (error instanceof Refused && error.status < 500 && error.status !== 429) throw error;
      // The service may be starting again: another one goes on with the job.
      await new Promise((done) => setTimeout(done, 1000));
    }
  }
}

/** The server-sent events of a response (WHATWG HTML, section 9.2). */
async function* eventsOf(response: Response): AsyncGenerator<{ name: string; data: string }> {
  const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
  let text = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    text += value;
    for (let end = text.indexOf("\n\n"); end >= 0; end = text.indexOf("\n\n")) {
      const fields = new Map(text.slice(0, end).split("\n").map((line) => [line.slice(0, line.indexOf(":")), line.slice(line.indexOf(":") + 2)] as const));
      text = text.slice(end + 2);
      const data = fields.get("data");
      if (data) yield { name: fields.get("event") ?? "", data };
    }
  }
}

/** Saves something under a name. */
export function save(blob: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** The name of the answer to a file. */
export function answerName(file: File): string {
  return file.name.replace(/(\.[a-z]+)$/i, "-answers$1").replace(/\.(xlsm)$/i, ".xlsx");
}
