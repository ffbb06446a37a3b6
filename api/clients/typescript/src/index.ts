// A client of the service. Its types are made of the contract, ../../../openapi.yaml, by
// "npm run build"; this file lets in a shop's key and sends requests again.
import createClient from "openapi-fetch";
import type { components, paths } from "./contract.js";

export type { components, paths } from "./contract.js";
export type Schemas = components["schemas"];

// An answer comes as JSON unless a request asks for another form. Without the media
// types here, each answer might also be a text.
type Media = "application/json" | "application/problem+json";

/** How often a request is sent again, and the milliseconds before the first time, which double. */
export type Again = { times: number; pause: number };

/** Gives a client of the service at a URL that sends a shop's key with every request. */
export function connect(url: string, key?: string, again: Again = { times: 5, pause: 200 }) {
  return createClient<paths, Media>({
    baseUrl: url,
    headers: key ? { Authorization: `Bearer ${key}` } : {},
    fetch: (request) => repeat(request, again),
  });
}

/** Gives an Idempotency-Key that no other request has. Keep it with the request until there is an answer. */
export const newKey = (): string => crypto.randomUUID();

// There was too much to do, or what the request needs was out of reach.
const toSendAgain = [429, 502, 503, 504];

// Requests that only read, and those with an Idempotency-Key, which are carried out once however often
// they are sent, are sent again where no answer came.
async function repeat(request: Request, { times, pause }: Again): Promise<Response> {
  if (request.method !== "GET" && !request.headers.has("Idempotency-Key")) {
    times = 0;
  }
  for (; ; times--, pause *= 2) {
    const answer = await fetch(request.clone()).catch((error: unknown) => {
      if (times === 0 || request.signal.aborted) {
        throw error;
      }
    });
    if (answer && (times === 0 || !toSendAgain.includes(answer.status))) {
      return answer;
    }
    await new Promise((done) => setTimeout(done, pause));
  }
}
