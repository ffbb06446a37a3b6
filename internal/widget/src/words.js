// What people read: messages of one language, numbers and lengths as that
// language writes them.

import messages from "./messages.json" with { type: "json" };

/** @typedef {"in" | "mm"} Units */

const NO_BREAK = "\u00a0";
const MINUS = "\u2212";

/** The finest fraction of an inch that is written as one. */
const FINEST = 64;

/** @type {Record<string, Record<string, string>>} */
const texts = messages;

/** The languages that there are messages in. */
export const LANGUAGES = Object.keys(texts);

export class Words {
  /** @param {string} wanted a language tag (BCP 47); English where there are no words in it */
  constructor(wanted) {
    const base = wanted.toLowerCase().split("-")[0];
    /** The language of the messages. */
    this.lang = Object.hasOwn(texts, base) ? base : "en";
    /** The tag by which numbers are written, region and all. */
    this.locale = base === this.lang ? wanted : this.lang;
    try {
      Intl.getCanonicalLocales(this.locale);
    } catch {
      this.locale = this.lang;
    }
    this.#plurals = new Intl.PluralRules(this.locale);
    /** Whether a comma may stand before decimals: in some regions Spanish is written with a point, and typed with either. */
    this.decimalComma = this.lang === "es" || this.number(1.5, 1).includes(",");
  }

  /** @type {Intl.PluralRules} */
  #plurals;

  /**
   * The message of a key, with {name} replaced by values.
   * @param {string} key
   * @param {Record<string, string | number>} [values]
   * @returns {string}
   */
  t(key, values) {
    const template = texts[this.lang][key] ?? texts.en[key] ?? key;
    return template.replace(/\{(\w+)\}/g, (/** @type {string} */ all, /** @type {string} */ name) => String(values?.[name] ?? all));
  }

  /**
   * Whether there is a message of this key.
   * @param {string} key
   * @returns {boolean}
   */
  has(key) {
    return Object.hasOwn(texts.en, key);
  }

  /**
   * The message for a count, which is its value {n}: key + "_one" or key +
   * "_other".
   * @param {string} key
   * @param {number} n
   * @returns {string}
   */
  count(key, n) {
    const form = this.#plurals.select(n) === "one" ? "_one" : "_other";
    return this.t(key + form, { n: this.number(n, 0) });
  }

  /**
   * @param {number} value
   * @param {number} digits at most so many decimals
   * @returns {string}
   */
  number(value, digits) {
    const text = new Intl.NumberFormat(this.locale, { maximumFractionDigits: digits, useGrouping: false }).format(value);
    return text.replace(/^-/, MINUS);
  }

  /**
   * A length without its unit: inches as whole and fraction where they are
   * whole 64ths, millimetres to a tenth.
   * @param {number} value in units
   * @param {Units} units
   * @returns {string}
   */
  bare(value, units) {
    if (units === "mm") return this.number(value, 1);
    const parts = Math.round(Math.abs(value) * FINEST);
    // Answers are rounded to six decimals.
    if (Math.abs(Math.abs(value) * FINEST - parts) > FINEST * 1e-6) return this.number(value, 3);
    const sign = value < 0 && parts > 0 ? MINUS : "";
    const whole = Math.floor(parts / FINEST);
    let over = parts % FINEST;
    if (over === 0) return sign + whole;
    let under = FINEST;
    while (over % 2 === 0) {
      over /= 2;
      under /= 2;
    }
    return sign + (whole > 0 ? whole + NO_BREAK : "") + over + "/" + under;
  }

  /**
   * A length with its unit.
   * @param {number} value in units
   * @param {Units} units
   * @returns {string}
   */
  length(value, units) {
    return this.bare(value, units) + NO_BREAK + units;
  }

  /**
   * @param {number} part of 1
   * @returns {string}
   */
  percent(part) {
    // 99.97 % is not certainty.
    const shown = part < 1 ? Math.min(part, 0.999) : part;
    return new Intl.NumberFormat(this.locale, { style: "percent", maximumFractionDigits: 1 }).format(shown);
  }

  /**
   * @param {{amount: string, currency: string} | null} price
   * @returns {string}
   */
  money(price) {
    if (!price) return this.t("no_price");
    return new Intl.NumberFormat(this.locale, { style: "currency", currency: price.currency }).format(Number(price.amount));
  }
}
