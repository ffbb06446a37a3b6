// What this page keeps in the browser: the shop's key, and a quote whose keeping
// isn't confirmed yet. Neither stands in an address.

const KEY = "midstroke|key";
const ATTEMPT = "midstroke|quote";

/** In place of a storage that the browser forbids: it holds until the page is left. */
const unstored = new Map<string, string>();

function read(storage: () => Storage, name: string): string {
  try {
    return storage().getItem(name) ?? "";
  } catch {
    return unstored.get(name) ?? "";
  }
}

function write(storage: () => Storage, name: string, value: string): void {
  try {
    if (value) storage().setItem(name, value);
    else storage().removeItem(name);
  } catch {
    unstored.set(name, value);
  }
}

const tab = () => sessionStorage;
const computer = () => localStorage;

/** The shop's key, "" for none. */
export function shopKey(): string {
  return read(tab, KEY) || read(computer, KEY);
}

/**
 * Keeps the shop's key; "" forgets it everywhere.
 * @param remember on this computer, and not only in this tab
 */
export function keepShopKey(key: string, remember: boolean): void {
  write(tab, KEY, remember ? "" : key);
  write(computer, KEY, remember ? key : "");
}

/** What was sent to be kept as a quote, with the key that makes it be kept once (Idempotency-Key). */
export interface Attempt {
  key: string;
  body: string;
}

/** The attempt that nobody has confirmed, which outlives a reload of the page. */
export function openAttempt(): Attempt | undefined {
  try {
    const { key, body } = JSON.parse(read(tab, ATTEMPT));
    return typeof key === "string" && typeof body === "string" ? { key, body } : undefined;
  } catch {
    return undefined;
  }
}

/** Begins an attempt to keep a quote. */
export function beginAttempt(body: string): Attempt {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const attempt = { key: `counter-${[...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("")}`, body };
  write(tab, ATTEMPT, JSON.stringify(attempt));
  return attempt;
}

/** Ends the attempt: it was confirmed, refused, or given up. */
export function endAttempt(): void {
  write(tab, ATTEMPT, "");
}
