// Lengths as people write them, checked while they type. The service decides in
// the end; it follows the same rules and names faults by the same codes.

import type { Units } from "./api";

export interface Checked {
  /** the length, where the text is one */
  mm?: number;
  /** the code of what is wrong with it */
  fault?: string;
  /** more typing can still make it a length */
  unfinished?: boolean;
}

export interface Rules {
  /** those of a bare number */
  units: Units;
  /** it may be zero or less */
  signed?: boolean;
  /** it may be zero */
  zero?: boolean;
  /** a comma may stand for the decimal point */
  decimalComma?: boolean;
}

const INCH = 25.4;
const FOOT = 12 * INCH;
const LONGEST = 10000;
const MOST_CHARACTERS = 64;

/** Fractions of one character. */
const FRACTIONS: Record<string, number> = {
  "½": 1 / 2, "⅓": 1 / 3, "⅔": 2 / 3, "¼": 1 / 4, "¾": 3 / 4, "⅕": 1 / 5, "⅖": 2 / 5, "⅗": 3 / 5, "⅘": 4 / 5, "⅙": 1 / 6,
  "⅚": 5 / 6, "⅐": 1 / 7, "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8, "⅑": 1 / 9, "⅒": 1 / 10,
};

const UNIT_SIZES: [RegExp, number][] = [
  [/^(?:in\.?|inch|inches|"|'')$/i, INCH],
  [/^(?:ft\.?|foot|feet|')$/i, FOOT],
  [/^(?:mm|millimet(?:re|er)s?)$/i, 1],
  [/^(?:cm|centimet(?:re|er)s?)$/i, 10],
  [/^(?:m|met(?:re|er)s?)$/i, 1000],
];

/** Units that a word may still become while it is typed. */
const UNIT_WORDS = ["inches", "feet", "foot", "ft.", "millimetres", "millimeters", "cm", "centimetres", "centimeters", "metres", "meters"];

const ONE_FRACTION = `[${Object.keys(FRACTIONS).join("")}]`;
const NUMBER = /^(?:(\d+)(?:[ \t]+|-))?(\d+)\/(\d+)|^(\d+(?:\.\d+)?|\.\d+)/;
const NUMBER_WITH_GLYPH = new RegExp(`^(?:(\\d+)(?:[ \\t]*|-))?(${ONE_FRACTION})`);
const NUMBER_START = new RegExp(`^[\\d.]|^${ONE_FRACTION}`);
/** A fraction after a number that isn't written as one with it. */
const LOOSE_FRACTION = new RegExp(`^[ \\t]*-?[ \\t]*(?:\\d+[ \\t]*/|${ONE_FRACTION})`);
const UNIT = /^(?:''|'|"|[a-zA-Z]+\.?)/;
const DECIMAL_COMMA = /^[^.,]*\d,\d[^.,]*$/;

/** A text as it is sent: with a decimal comma turned into a point. */
export function sent(text: string, decimalComma: boolean | undefined): string {
  const trimmed = text.trim();
  return decimalComma && DECIMAL_COMMA.test(trimmed) ? trimmed.replace(",", ".") : trimmed;
}

/** The text with plain blanks, quotes, slashes and hyphens. */
function plain(text: string, decimalComma: boolean | undefined): string {
  const out = text.trim()
    .replace(/[\u00a0\u2007\u2009\u200a\u202f]/g, " ")
    .replace(/[\u2032\u2019]/g, "'").replace(/[\u2033\u201d]/g, "\"")
    .replace(/\u2044/g, "/").replace(/[\u2212\u2010\u2011\u2013]/g, "-");
  return sent(out, decimalComma);
}

/** Reads a length. */
export function checkLength(text: string, rules: Rules): Checked {
  if (text.trim().length > MOST_CHARACTERS) return { fault: "too_long" };
  const rest = plain(text, rules.decimalComma);
  if (rest === "") return { fault: "empty", unfinished: true };
  if (rest.includes(",")) return { fault: "comma", unfinished: Boolean(rules.decimalComma) && /^[^.,]*\d,$/.test(rest) };
  const sign = /^[+-]/.exec(rest)?.[0] ?? "";
  const read = quantity(rest.slice(sign.length), rules.units);
  if (read.mm === undefined) return read;
  const mm = sign === "-" ? -read.mm : read.mm;
  if (!rules.signed && (mm < 0 || (mm === 0 && !rules.zero))) return { fault: "not_positive", unfinished: mm === 0 && sign === "" };
  return Math.abs(mm) > LONGEST ? { fault: "too_large" } : { mm };
}

/** Reads a length without a sign. */
function quantity(text: string, units: Units): Checked {
  const first = number(text);
  if ("fault" in first) return first;
  const unit = unitAt(text.slice(first.size).trimStart());
  const rest = unit.after;
  if (unit.word !== "" && unit.mm === 0) return { fault: "unit_unknown", unfinished: rest === "" && mayBecomeUnit(unit.word) };
  if (unit.mm === FOOT && rest !== "") return feetAndInches(first, rest);
  if (rest !== "") return leftover(rest, unit.word !== "");
  const mm = unit.mm || (units === "in" ? INCH : 1);
  if (first.fraction && mm !== INCH && mm !== FOOT) return { fault: "fraction_metric" };
  return { mm: first.value * mm };
}

interface ReadNumber {
  value: number;
  /** in characters */
  size: number;
  fraction: boolean;
  whole: boolean;
}

type Fault = Checked & { fault: string };

/** Reads the number that a text begins with. */
function number(text: string): ReadNumber | Fault {
  const glyph = NUMBER_WITH_GLYPH.exec(text);
  if (glyph) {
    const after = text.slice(glyph[0].length);
    if (after.startsWith("/") || NUMBER_START.test(after)) return { fault: "leftover" };
    return { value: Number(glyph[1] ?? 0) + FRACTIONS[glyph[2]], size: glyph[0].length, fraction: true, whole: false };
  }
  const m = NUMBER.exec(text);
  if (!m) return noNumber(text);
  const rest = text.slice(m[0].length);
  if (m[4] !== undefined) return decimal(m[4], rest);
  if (/^[/.]/.test(rest)) return { fault: "leftover" };
  const [over, under] = [Number(m[2]), Number(m[3])];
  if (under === 0) return { fault: "fraction_zero_denominator" };
  // 17 5/1 may go on as 17 5/16, 17 5/3 as 17 5/32 and 17 7/6 as 17 7/64.
  if (m[1] !== undefined && over >= under) return { fault: "fraction_improper", unfinished: rest === "" && /^[136]$/.test(m[3]) };
  return { value: Number(m[1] ?? 0) + over / under, size: m[0].length, fraction: true, whole: false };
}

/** A number without a fraction, unless what follows shows that one was meant. */
function decimal(digits: string, rest: string): ReadNumber | Fault {
  const point = digits.includes(".");
  if (/^\.(?!\d)/.test(rest) && !point) return { fault: "digits_missing", unfinished: rest === "." };
  if (/^e[+-]?\d/i.test(rest)) return { fault: "exponent" };
  if (/^[ \t]*-?[ \t]*\//.test(rest)) {
    if (!rest.startsWith("/") || /^\/[ \t]+\d/.test(rest) || point) return { fault: "fraction_blanks" };
    return { fault: "digits_missing", unfinished: rest === "/" };
  }
  if (LOOSE_FRACTION.test(rest)) return looseFraction(point, rest);
  return { value: Number(digits), size: digits.length, fraction: false, whole: !point };
}

function looseFraction(point: boolean, rest: string): Fault {
  if (/^[ \t]*-[ \t]|^[ \t]+-/.test(rest)) return { fault: "subtraction" };
  if (/\d[ \t]+\/|\/[ \t]+\d/.test(rest)) return { fault: "fraction_blanks" };
  if (point) return { fault: "fraction_after_decimal" };
  return { fault: "digits_missing", unfinished: /\/$/.test(rest) };
}

function noNumber(text: string): Fault {
  if (/^[+-]/.test(text)) return { fault: "sign_twice" };
  if (/^\s+[\d.]/.test(text)) return { fault: "sign_blank" };
  if (/^(?:nan|inf|infinity)(?![a-z])/i.test(text)) return { fault: "not_finite" };
  if (/^\p{Nd}/u.test(text)) return { fault: "digit_foreign" };
  if (text.startsWith(".")) return { fault: "digits_missing", unfinished: text === "." };
  return { fault: "number_missing", unfinished: text === "" };
}

/** The unit that a text begins with and what follows it; mm is 0 for no unit and for one that isn't known. */
function unitAt(text: string): { word: string; mm: number; after: string } {
  let word = UNIT.exec(text)?.[0] ?? "";
  // Only in. and ft. take a full stop.
  if (word.endsWith(".") && !/^(?:in|ft)\.$/i.test(word)) word = word.slice(0, -1);
  const mm = UNIT_SIZES.find(([form]) => form.test(word))?.[1] ?? 0;
  return { word, mm, after: text.slice(word.length).trimStart() };
}

function mayBecomeUnit(word: string): boolean {
  return UNIT_WORDS.some((unit) => unit.startsWith(word.toLowerCase()));
}

/** @param text what follows the feet's unit */
function feetAndInches(feet: ReadNumber, text: string): Checked {
  const rest = text.replace(/^-[ \t]*(?=[\d.])/, "");
  if (!/^[\d.]/.test(rest)) return leftover(text, true);
  if (!feet.whole) return { fault: "feet_not_whole" };
  const inches = number(rest);
  if ("fault" in inches) return inches;
  const { word, mm, after } = unitAt(rest.slice(inches.size).trimStart());
  if (word === "") return after === "" ? { fault: "inch_mark_missing", unfinished: true } : leftover(after, true);
  if (mm === 0) return { fault: "unit_unknown", unfinished: after === "" && mayBecomeUnit(word) };
  if (mm !== INCH) return { fault: "compound" };
  if (inches.value >= 12) return { fault: "inches_out_of_range" };
  return after === "" ? { mm: feet.value * FOOT + inches.value * INCH } : leftover(after, true);
}

/** @param rest what stands where the text should have ended */
function leftover(rest: string, afterUnit: boolean): Checked {
  if (/^-[ \t]*[\d.]/.test(rest)) return { fault: "subtraction", unfinished: !afterUnit && /^-\d+$/.test(rest) };
  if (/^\p{Nd}/u.test(rest) && !/^\d/.test(rest)) return { fault: "digit_foreign" };
  // 16 5 may go on as 16 5/8.
  if (/^(?:\d|\.\d)/.test(rest)) return { fault: "compound", unfinished: !afterUnit && /^\d+$/.test(rest) };
  return { fault: "leftover", unfinished: !afterUnit && rest === "-" };
}
