// What people read: messages of one language, and numbers and lengths as that
// language writes them.

import lengthFaultsEn from "../../note/en/faults_unit.json";
import lengthFaultsEs from "../../note/es/faults_unit.json";
import type { Money, Units } from "./api";
import shared from "./messages.json";

type Shared = typeof shared["en"];
type Counter = typeof import("./counter/messages.json")["en"];
type Living = typeof import("./counter/livingmessages.json")["en"];
type Sheet = typeof import("./sheet/messages.json")["en"];
type Batch = typeof import("./batch/messages.json")["en"];
type Widget = typeof import("./widget/messages.json")["en"];
export type Key = keyof (Shared & Batch & Counter & Living & Sheet & Widget);

type Texts = Record<string, Record<string, string>>;

export const NO_BREAK = "\u00a0";
export const MINUS = "\u2212";

/** The fraction of an inch that people say, and the finest that is written as one. */
const SAID = 32;
export const FINEST = 64;

/** What the sixth decimal of an answer may be off by, in the parts that a length is shown in. */
const ROUNDED = 1e-4;

/** Rounds what is to spare. */
export const down = (value: number) => Math.floor(value + ROUNDED);

/** Rounds what is needed. */
export const up = (value: number) => Math.ceil(value - ROUNDED);

const texts: Texts = shared;

/** The service's own words for texts that are no length, by code. */
const lengthFaults: Texts = { en: lengthFaultsEn, es: lengthFaultsEs };

/** The languages that there are messages in. */
export const LANGUAGES = Object.keys(shared) as (keyof typeof shared)[];

/** Adds the messages that only one page has. */
export function addMessages(own: Texts): void {
  for (const lang of LANGUAGES) texts[lang] = { ...texts[lang], ...own[lang] };
}

export class Words {
  /** The language of the messages. */
  readonly lang: string;
  /** The tag by which numbers are written, with its region. */
  readonly locale: string;
  /** Whether a comma may stand before decimals: some regions write Spanish with a point and type it with either. */
  readonly decimalComma: boolean;
  readonly #plurals: Intl.PluralRules;
  readonly #decimalSign: string;
  /** By their number of decimals, for making one takes longer than using it. */
  readonly #formats: Intl.NumberFormat[] = [];

  /** @param wanted a language tag (BCP 47); English where there are no messages in it */
  constructor(wanted: string) {
    const base = wanted.toLowerCase().split("-")[0];
    this.lang = Object.hasOwn(texts, base) ? base : "en";
    this.locale = base === this.lang && isLocale(wanted) ? wanted : this.lang;
    this.#plurals = new Intl.PluralRules(this.locale);
    this.#decimalSign = this.number(1.5, 1).charAt(1);
    this.decimalComma = this.lang === "es" || this.#decimalSign === ",";
  }

  /** The message of a key, with {name} replaced by values. */
  t(key: Key, values?: Record<string, string | number>): string {
    const template = texts[this.lang][key] ?? texts.en[key] ?? key;
    return template.replace(/\{(\w+)\}/g, (all, name: string) => String(values?.[name] ?? all));
  }

  /** The message of a key that isn't known until now, "" where there is none. */
  find(key: string): string {
    return Object.hasOwn(texts.en, key) ? this.t(key as Key) : "";
  }

  /** The message for a count, which is its value {n}. Its keys end in _one and _other. */
  count(key: "outcome_fits" | "outcome_best" | "counter_go_to_compared", n: number): string {
    const form = this.#plurals.select(n) === "one" ? "one" : "other";
    return this.t(`${key}_${form}`, { n: this.number(n, 0) });
  }

  /** What is wrong with a text, by the fault's code; "" for one that has no words here. */
  fault(code: string): string {
    return unbroken(this.find(`fault_${code}`) || lengthFaults[this.lang][code] || "");
  }

  /** A field's label, by its flat name. */
  label(name: string): string {
    return this.find(`field_${withoutEnd(name)}`) || name;
  }

  /** A field's label together with the end that it belongs to, if it belongs to one. */
  fullLabel(name: string): string {
    const end = /^(upper|lower)(?![a-z])/.exec(name)?.[0];
    return end ? `${this.find(`${end}_end`)}: ${this.label(name)}` : this.label(name);
  }

  /** What a field's option is called. */
  option(name: string, option: string): string {
    return this.find(`option_${withoutEnd(name)}_${option}`) || option;
  }

  /** @param decimals at most */
  number(value: number, decimals: number): string {
    const format = this.#formats[decimals] ??= new Intl.NumberFormat(this.locale, { maximumFractionDigits: decimals, useGrouping: false });
    return format.format(value).replace(/^-/, MINUS);
  }

  /** A length without its unit as people say it: inches to a 32nd, millimetres to a tenth. */
  bare(value: number, units: Units, round = Math.round): string {
    if (units === "in") return fraction(round(value * SAID), SAID);
    const tenths = round(value * 10) / 10;
    return this.number(tenths, 1) + (Number.isInteger(tenths) ? `${this.#decimalSign}0` : "");
  }

  /** The same with its unit. */
  length(value: number, units: Units, round = Math.round): string {
    return this.bare(value, units, round) + NO_BREAK + units;
  }

  /** From one length to another one; a single length where both are told alike. */
  range(from: number, to: number, units: Units): string {
    const last = this.length(to, units);
    return this.length(from, units) === last ? last : this.t("range", { from: this.bare(from, units), to: last });
  }

  /** A length that isn't rounded to how people say it, such as one to calculate with or to buy by. */
  exact(value: number, units: Units): string {
    const parts = Math.round(value * FINEST);
    // Answers are rounded to six decimals.
    const isFraction = units === "in" && Math.abs(value * FINEST - parts) < FINEST * 1e-6;
    return (isFraction ? fraction(parts, FINEST) : this.number(value, units === "in" ? 3 : 2)) + NO_BREAK + units;
  }

  /** A part of 1 as a percentage. What isn't certain is never shown as 100 %. */
  percent(part: number): string {
    const shown = part < 1 ? Math.min(part, 0.999) : part;
    return new Intl.NumberFormat(this.locale, { style: "percent", maximumFractionDigits: 1 }).format(shown);
  }

  /** A moment (RFC 3339) by the reader's own clock. */
  moment(at: string): string {
    return new Intl.DateTimeFormat(this.locale, { dateStyle: "medium", timeStyle: "short" }).format(new Date(at));
  }

  money(price: Money | null): string {
    if (!price) return this.t("no_price");
    return new Intl.NumberFormat(this.locale, { style: "currency", currency: price.currency }).format(Number(price.amount));
  }
}

/** A whole number of parts of an inch as whole inches and a fraction. */
export function fraction(parts: number, of: number): string {
  const sign = parts < 0 ? MINUS : "";
  const whole = Math.floor(Math.abs(parts) / of);
  let [over, under] = [Math.abs(parts) % of, of];
  if (over === 0) return sign + whole;
  while (over % 2 === 0) [over, under] = [over / 2, under / 2];
  return `${sign}${whole > 0 ? whole + NO_BREAK : ""}${over}/${under}`;
}

function isLocale(tag: string): boolean {
  try {
    return Intl.getCanonicalLocales(tag).length > 0;
  } catch {
    return false;
  }
}

/** Both ends have the same fields, and one word for each. */
function withoutEnd(name: string): string {
  return name.replace(/^(upper|lower)_/, "").replace(/^(upper|lower)$/, "style");
}

/** The units that the service writes after a figure. */
const UNITS_SAID = [
  "in", "mm", "m", "mm²", "in²", "kg", "lb", "s", "Hz", "°", "°C", "°F", "%", "MPa", "psi", "W", "in·lbf/s", "N", "lbf", "N·m", "lbf·ft", "N/mm", "lbf/in",
  "N·s/m", "lbf·s/in", "m/s", "in/s", "mm/s", "km/h", "mph",
];

/** The spaces within a figure: before its fraction and its unit, around what it is multiplied by, and in a standard's number. */
const WITHIN_FIGURE = new RegExp(`(?<=\\d) (?=\\d+/\\d|×|(?:${UNITS_SAID.join("|")})(?![\\p{L}/·]))|(?<=×|ISO) (?=\\d)`, "gu");

/** A text of the service in which no line ends within a figure. */
export function unbroken(text: string): string {
  return text.replace(WITHIN_FIGURE, NO_BREAK);
}

/** A text as a sentence begins. */
export function capitalised(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A text as a sentence of its own. */
export function asSentence(text: string): string {
  return capitalised(text) + (/[.!?…]$/.test(text) ? "" : ".");
}
