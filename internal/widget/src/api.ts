// Short names for the parts of the contract that the pages use.

import type { components } from "./contract";

type Schemas = components["schemas"];

export type Units = Schemas["Units"];
export type Style = Schemas["Style"];
export type Plane = Schemas["Plane"];
export type Note = Schemas["Note"];
export type Step = Schemas["Step"];
export type Both = Schemas["Both"];
export type Money = Schemas["Money"];
export type Fit = Schemas["Fit"];
export type NearMiss = Schemas["NearMiss"];
export type Remedy = Schemas["Remedy"];
export type Problem = Schemas["Problem"];
export type TravelRequest = Schemas["TravelRequest"];
export type Travel = Schemas["TravelAnswer"];
export type PickLine = Schemas["PickLine"];
export type Quote = Schemas["Quote"];
export type QuoteState = Schemas["QuoteState"];
export type QuoteItem = Schemas["QuoteItem"];
export type QuotePage = Schemas["QuotePage"];
export type QuoteRequest = Schemas["QuoteRequest"];
export type QuoteChange = Schemas["QuoteChange"];
export type QuoteToday = Schemas["QuoteToday"];
export type Guide = Schemas["GuideAnswer"];

/** An answer to a request for fits, with the language of its texts. */
export type Answer = Schemas["FitsAnswer"] & { language: string };

/** The two ways from ride height, in the order in which they are shown. */
export const WAYS = ["compression", "extension"] as const;
export type Way = (typeof WAYS)[number];

/** The two ends, from the top down. */
export const ENDS = ["upper", "lower"] as const;
export type End = (typeof ENDS)[number];
