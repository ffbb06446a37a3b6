// What is asked of the service.

/**
 * @typedef {object} Fault
 * @property {string} [pointer]
 * @property {string} [parameter]
 * @property {string} code
 * @property {string} detail
 */

/** How long an answer may take, in milliseconds. */
const PATIENCE = 15000;

/** The service didn't answer, or can't at present. */
export class Unreachable extends Error {}

/** The service answered with a problem (RFC 9457). */
export class Refused extends Error {
  /**
   * @param {number} status
   * @param {{detail?: string, errors?: Fault[]}} problem
   * @param {number} after seconds after which to ask again, 0 where nothing was said
   */
  constructor(status, problem, after) {
    super(problem.detail || "status " + status);
    this.status = status;
    this.after = after;
    this.faults = problem.errors ?? [];
  }
}

export class Service {
  /**
   * @param {string} base the service's own address, without a path
   * @param {string} key the shop's; "" for none
   * @param {string} lang in which texts are wanted
   */
  constructor(base, key, lang) {
    this.base = base.replace(/\/+$/, "");
    this.key = key;
    this.lang = lang;
  }

  /**
   * @param {URLSearchParams} query a request in flat names
   * @param {AbortSignal} [signal]
   * @returns {Promise<any>}
   */
  async fits(query, signal) {
    return withLanguage(await this.#ask("/v1/fits?" + query, { signal }));
  }

  /**
   * How a pair of ends is measured.
   * @param {URLSearchParams} query
   * @param {AbortSignal} [signal]
   * @returns {Promise<any>}
   */
  async guide(query, signal) {
    return withLanguage(await this.#ask("/v1/guide?" + query, { signal }));
  }

  /**
   * The drawing for it.
   * @param {URLSearchParams} query
   * @param {"beside" | "numbered"} labels how it names the parts
   * @param {AbortSignal} [signal]
   * @returns {Promise<string>} SVG
   */
  async guideDrawing(query, labels, signal) {
    return (await this.#ask("/v1/guide?" + query + "&labels=" + labels, { signal, accept: "image/svg+xml" })).text();
  }

  /**
   * The drawing of a linkage's travel.
   * @param {object} body
   * @param {AbortSignal} [signal]
   * @returns {Promise<string>} SVG
   */
  async travelDrawing(body, signal) {
    return (await this.#ask("/v1/travel", { signal, accept: "image/svg+xml", body })).text();
  }

  /**
   * @param {string} path
   * @param {{signal?: AbortSignal, accept?: string, body?: object}} how
   * @returns {Promise<Response>}
   */
  async #ask(path, { signal, accept = "application/json", body }) {
    /** @type {Record<string, string>} */
    const headers = { Accept: accept, "Accept-Language": this.lang };
    if (this.key) headers.Authorization = "Bearer " + this.key;
    if (body) headers["Content-Type"] = "application/json";
    const patience = AbortSignal.timeout(PATIENCE);
    let response;
    try {
      response = await fetch(this.base + path, {
        method: body ? "POST" : "GET", headers, body: body && JSON.stringify(body),
        credentials: "omit", referrerPolicy: "no-referrer", signal: signal ? AbortSignal.any([signal, patience]) : patience,
      });
    } catch (error) {
      if (signal?.aborted) throw error;
      throw new Unreachable(String(error));
    }
    if (response.ok) return response;
    if (response.status >= 500) throw new Unreachable("status " + response.status);
    let problem = {};
    try {
      problem = await response.json();
    } catch {
      // Something between here and the service answered in its own words.
    }
    throw new Refused(response.status, problem, Number(response.headers.get("Retry-After")) || 0);
  }
}

/**
 * An answer, and in "language" that of its texts.
 * @param {Response} response
 * @returns {Promise<any>}
 */
async function withLanguage(response) {
  return { ...await response.json(), language: response.headers.get("Content-Language") ?? "en" };
}
