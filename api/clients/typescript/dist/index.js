// A client of the service. Its types are made of the contract, ../../../openapi.yaml, by
// "npm run build"; this file lets in a shop's key and sends requests again.
import createClient from "openapi-fetch";
/** Gives a client of the service at a URL that sends a shop's key with every request. */
export function connect(url, key, again = { times: 5, pause: 200 }) {
    return createClient({
        baseUrl: url,
        headers: key ? { Authorization: `Bearer ${key}` } : {},
        fetch: (request) => repeat(request, again),
    });
}
/** Gives an Idempotency-Key that no other request has. Keep it with the request until there is an answer. */
export const newKey = () => crypto.randomUUID();
// There was too much to do, or what the request needs was out of reach.
const toSendAgain = [429, 502, 503, 504];
// Requests that only read, and those with an Idempotency-Key, which are carried out once however often
// they are sent, are sent again where no answer came.
async function repeat(request, { times, pause }) {
    if (request.method !== "GET" && !request.headers.has("Idempotency-Key")) {
        times = 0;
    }
    for (;; times--, pause *= 2) {
        const answer = await fetch(request.clone()).catch((error) => {
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
