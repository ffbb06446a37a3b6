// What the counter page asks of the service about quotes.

import type { Quote, QuoteChange, QuotePage, QuoteToday } from "../api";
import type { Service } from "../service";
import type { Attempt } from "./storage";

/** A quote with the tag that a change of it needs (If-Match). */
export interface Tagged {
  quote: Quote;
  tag: string;
}

const ROOT = "/v1/quotes";

export class QuoteService {
  constructor(private readonly service: Service) {}

  /** Keeps a quote. The same attempt, sent again, gives the quote that is kept already. */
  keep({ key, body }: Attempt): Promise<Tagged> {
    return this.#quote(ROOT, { headers: { "Idempotency-Key": key }, body });
  }

  get(id: string): Promise<Tagged> {
    return this.#quote(pathOf(id), {});
  }

  change({ quote: { id }, tag }: Tagged, change: QuoteChange): Promise<Tagged> {
    return this.#quote(pathOf(id), { method: "PATCH", headers: { "If-Match": tag }, body: change });
  }

  /** What would differ if it were kept today. */
  async today(id: string): Promise<QuoteToday> {
    return (await this.service.ask(`${pathOf(id)}/today`, {})).json();
  }

  async find(query: URLSearchParams): Promise<QuotePage> {
    return (await this.service.ask(`${ROOT}?${query}`, {})).json();
  }

  async #quote(path: string, how: Parameters<Service["ask"]>[1]): Promise<Tagged> {
    const response = await this.service.ask(path, how);
    return { quote: await response.json(), tag: response.headers.get("ETag") ?? "" };
  }
}

function pathOf(id: string): string {
  return `${ROOT}/${encodeURIComponent(id)}`;
}
