import type { components, paths } from "./contract.js";
export type { components, paths } from "./contract.js";
export type Schemas = components["schemas"];
type Media = "application/json" | "application/problem+json";
/** How often a request is sent again, and the milliseconds before the first time, which double. */
export type Again = {
    times: number;
    pause: number;
};
/** Gives a client of the service at a URL that sends a shop's key with every request. */
export declare function connect(url: string, key?: string, again?: Again): import("openapi-fetch").Client<paths, Media>;
/** Gives an Idempotency-Key that no other request has. Keep it with the request until there is an answer. */
export declare const newKey: () => string;
