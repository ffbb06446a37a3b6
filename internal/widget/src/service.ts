// Requests to the service.

import type { Answer, Guide, Problem, Quote, Travel, TravelRequest } from "./api";

/** How long an answer may take, in milliseconds. */
const TIMEOUT = 15000;

/** The service didn't answer, or can't at present. */
export class Unreachable extends Error {}

/** The service answered with a problem (RFC 9457). */
export class Refused extends Error {
  readonly faults: NonNullable<Problem["errors"]>;

  /** @param retryAfter seconds after which to ask again, 0 where the service didn't say */
  constructor(readonly status: number, problem: Partial<Problem>, readonly retryAfter: number) {
    super(problem.detail || `status ${status}`);
    this.faults = problem.errors ?? [];
  }
}

interface How {
  signal?: AbortSignal;
  accept?: string;
  /** an object is sent as JSON, a file or a text as it is */
  body?: object | Blob | string;
  /** POST with a body, else GET, unless it is given */
  method?: string;
  /** of RFC 7240 */
  prefer?: string;
  /** how long the answer may take, in milliseconds */
  patience?: number;
  /** beside those that every request has */
  headers?: Record<string, string>;
}

export class Service {
  readonly base: string;

  /**
   * @param base the service's own address, without a path
   * @param key the shop's; "" for none
   * @param lang the language in which texts are wanted
   */
  constructor(base: string, readonly key: string, readonly lang: string) {
    this.base = base.replace(/\/+$/, "");
  }

  /** The answer to a request in flat names. */
  async fits(query: URLSearchParams, signal?: AbortSignal): Promise<Answer> {
    const response = await this.ask(`/v1/fits?${query}`, { signal });
    return { ...await response.json(), language: response.headers.get("Content-Language") ?? "en" };
  }

  /** The quote that a link leads to. */
  async quote(link: string, signal?: AbortSignal): Promise<Quote> {
    return (await this.ask(`/v1/sheets/${encodeURIComponent(link)}`, { signal })).json();
  }

  /** How a pair of ends is measured. */
  async guide(query: URLSearchParams, signal?: AbortSignal): Promise<Guide> {
    return (await this.ask(`/v1/guide?${query}`, { signal })).json();
  }

  /** The drawing for it, as SVG, with its labels beside the parts or as numbers. */
  guideDrawing(query: URLSearchParams, labels: "beside" | "numbered", signal?: AbortSignal): Promise<string> {
    return this.#drawing(`/v1/guide?${query}&labels=${labels}`, { signal });
  }

  /** The drawing of how one figure of a request is measured, as SVG. */
  figureDrawing(query: URLSearchParams, figure: string, signal?: AbortSignal): Promise<string> {
    return this.#drawing(`/v1/guide?${query}&figure=${figure}`, { signal });
  }

  /** How a linkage moves over the wheel's travel. */
  async travel(body: Pick<TravelRequest, "units" | "linkage" | "range" | "places">, signal?: AbortSignal): Promise<Travel> {
    return (await this.ask("/v1/travel", { signal, body })).json();
  }

  /** A picture of the damping of the fit of a rank, as SVG. */
  dampingPicture(query: URLSearchParams, picture: string, width: "wide" | "narrow", rank: number, signal?: AbortSignal): Promise<string> {
    const asked = new URLSearchParams(query);
    asked.set("drawing", picture);
    asked.set("drawing_width", width);
    asked.set("rank", String(rank));
    return this.#drawing(`/v1/fits?${asked}`, { signal });
  }

  async #drawing(path: string, how: How): Promise<string> {
    return (await this.ask(path, { ...how, accept: "image/svg+xml" })).text();
  }

  /**
   * Sends a request.
   * @throws Unreachable or Refused
   */
  async ask(path: string, { signal, accept = "application/json", body, method = body ? "POST" : "GET", prefer, patience = TIMEOUT, headers: more }: How): Promise<Response> {
    const headers: Record<string, string> = { Accept: accept, "Accept-Language": this.lang, ...more };
    if (this.key) headers.Authorization = `Bearer ${this.key}`;
    if (body) headers["Content-Type"] = body instanceof Blob ? body.type : "application/json";
    if (prefer) headers.Prefer = prefer;
    const timeout = AbortSignal.timeout(patience);
    let response;
    try {
      response = await fetch(this.base + path, {
        method, headers, body: body instanceof Blob || typeof body !== "object" ? body : JSON.stringify(body),
        credentials: "omit", referrerPolicy: "no-referrer", signal: signal ? AbortSignal.any([signal, timeout]) : timeout,
      });
    } catch (error) {
      if (signal?.aborted) throw error;
      throw new Unreachable(String(error));
    }
    if (response.ok) return response;
    if (response.status >= 500) throw new Unreachable(`status ${response.status}`);
    // A proxy may answer with something that isn't JSON.
    const problem = await response.json().catch(() => ({}));
    throw new Refused(response.status, problem, Number(response.headers.get("Retry-After")) || 0);
  }
}
