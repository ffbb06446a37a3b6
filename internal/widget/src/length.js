// Lengths as people write them: a check while they type. The service has the
// last word; it goes by the same rules and names faults by the same codes.

/**
 * @typedef {object} Checked
 * @property {number} [mm] what it comes to, where it is a length
 * @property {string} [fault] what is wrong with it, as a code
 * @property {boolean} [unfinished] more typing can still make it a length
 */

/**
 * @typedef {object} Asked
 * @property {"in" | "mm"} units those of a bare number
 * @property {boolean} [signed] it may be nought or less
 * @property {boolean} [nought] it may be nought
 * @property {boolean} [decimalComma] a comma may stand for the decimal point
 */

const INCH = 25.4;
const FOOT = 12 * INCH;
const LONGEST = 10000;
const MOST_CHARACTERS = 64;

/** Fractions of one character. @type {Record<string, number>} */
const GLYPHS = {
  "½": 1 / 2, "⅓": 1 / 3, "⅔": 2 / 3, "¼": 1 / 4, "¾": 3 / 4, "⅕": 1 / 5, "⅖": 2 / 5, "⅗": 3 / 5, "⅘": 4 / 5, "⅙": 1 / 6,
  "⅚": 5 / 6, "⅐": 1 / 7, "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8, "⅑": 1 / 9, "⅒": 1 / 10,
};

/** Words that a unit may turn out to be, for one that is still being typed. */
const UNITS = ["inches", "feet", "foot", "ft.", "millimetres", "millimeters", "cm", "centimetres", "centimeters", "metres", "meters"];

/** @type {[RegExp, number][]} */
const SIZES = [
  [/^(?:in\.?|inch|inches|"|'')$/i, INCH],
  [/^(?:ft\.?|foot|feet|')$/i, FOOT],
  [/^(?:mm|millimet(?:re|er)s?)$/i, 1],
  [/^(?:cm|centimet(?:re|er)s?)$/i, 10],
  [/^(?:m|met(?:re|er)s?)$/i, 1000],
];

const FIGURE = /^(?:(\d+)(?:[ \t]+|-))?(\d+)\/(\d+)|^(\d+(?:\.\d+)?|\.\d+)/;
const ANY_GLYPH = "[" + Object.keys(GLYPHS).join("") + "]";
const GLYPH = new RegExp("^(?:(\\d+)(?:[ \\t]*|-))?(" + ANY_GLYPH + ")");

/** What a number may begin with. */
const START = new RegExp("^[\\d.]|^" + ANY_GLYPH);

/** A fraction behind a number that it isn't well joined to. */
const FRACTION_AFTER = new RegExp("^[ \\t]*-?[ \\t]*(?:\\d+[ \\t]*/|" + ANY_GLYPH + ")");

const UNIT = /^(?:''|'|"|[a-zA-Z]+\.?)/;

/**
 * Takes the typography out of a text, and a decimal comma where one may stand.
 * @param {string} text
 * @param {boolean | undefined} decimalComma
 * @returns {string}
 */
function plain(text, decimalComma) {
  let out = text.trim()
    .replace(/[\u00a0\u2007\u2009\u200a\u202f]/g, " ")
    .replace(/[\u2032\u2019]/g, "'").replace(/[\u2033\u201d]/g, "\"")
    .replace(/\u2044/g, "/").replace(/[\u2212\u2010\u2011\u2013]/g, "-")
    .trim();
  if (decimalComma && /^[^.,]*\d,\d[^.,]*$/.test(out)) out = out.replace(",", ".");
  return out;
}

/**
 * A text as it is sent: with a decimal comma turned into a point.
 * @param {string} text
 * @param {boolean} decimalComma
 * @returns {string}
 */
export function sent(text, decimalComma) {
  const trimmed = text.trim();
  return decimalComma && /^[^.,]*\d,\d[^.,]*$/.test(trimmed) ? trimmed.replace(",", ".") : trimmed;
}

/**
 * Reads a length.
 * @param {string} text
 * @param {Asked} asked
 * @returns {Checked}
 */
export function checkLength(text, asked) {
  if (text.trim().length > MOST_CHARACTERS) return { fault: "too_long" };
  const rest = plain(text, asked.decimalComma);
  if (rest === "") return { fault: "empty", unfinished: true };
  if (rest.includes(",")) return { fault: "comma", unfinished: Boolean(asked.decimalComma) && /^[^.,]*\d,$/.test(rest) };
  const sign = /^[+-]/.exec(rest)?.[0] ?? "";
  const read = quantity(rest.slice(sign.length), asked.units);
  if (read.mm === undefined) return read;
  const mm = sign === "-" ? -read.mm : read.mm;
  if (!asked.signed && (mm < 0 || (mm === 0 && !asked.nought))) return { fault: "not_positive", unfinished: mm === 0 && sign === "" };
  if (Math.abs(mm) > LONGEST) return { fault: "too_large" };
  return { mm };
}

/**
 * @param {string} text without its sign
 * @param {"in" | "mm"} units
 * @returns {Checked}
 */
function quantity(text, units) {
  const first = number(text);
  if (first.fault !== undefined) return first;
  let rest = text.slice(first.size).trimStart();
  const unit = unitAt(rest);
  rest = rest.slice(unit.size).trimStart();
  if (unit.size > 0 && unit.mm === 0) return { fault: "unit_unknown", unfinished: rest === "" && begun(unit.text) };
  if (unit.mm === FOOT && rest !== "") return feetAndInches(first, rest);
  if (rest !== "") return afterNumber(rest, unit.size > 0);
  const mm = unit.mm || (units === "in" ? INCH : 1);
  if (first.fraction && mm !== INCH && mm !== FOOT) return { fault: "fraction_metric" };
  return { mm: first.value * mm };
}

/**
 * @typedef {{value: number, size: number, fraction: boolean, whole: boolean, fault?: undefined}} ReadNumber
 */

/**
 * Reads the number that text begins with.
 * @param {string} text
 * @returns {ReadNumber | {fault: string, unfinished?: boolean}}
 */
function number(text) {
  const glyph = GLYPH.exec(text);
  if (glyph) {
    const after = text.slice(glyph[0].length);
    if (after.startsWith("/") || START.test(after)) return { fault: "leftover" };
    return { value: Number(glyph[1] ?? 0) + GLYPHS[glyph[2]], size: glyph[0].length, fraction: true, whole: false };
  }
  const m = FIGURE.exec(text);
  if (!m) return noNumber(text);
  const rest = text.slice(m[0].length);
  if (m[4] !== undefined) {
    if (/^\.(?!\d)/.test(rest) && !m[4].includes(".")) return { fault: "digits_missing", unfinished: rest === "." };
    if (/^e[+-]?\d/i.test(rest)) return { fault: "exponent" };
    if (/^[ \t]*-?[ \t]*\//.test(rest)) return slash(m[4], rest);
    if (FRACTION_AFTER.test(rest)) return mixedFault(m[4], rest);
    return { value: Number(m[4]), size: m[0].length, fraction: false, whole: !m[4].includes(".") };
  }
  if (/^[/.]/.test(rest)) return { fault: "leftover" };
  const [over, under] = [Number(m[2]), Number(m[3])];
  if (under === 0) return { fault: "fraction_zero_denominator" };
  // 17 5/1 may go on as 17 5/16, 17 5/3 as 17 5/32 and 17 7/6 as 17 7/64.
  if (m[1] !== undefined && over >= under) return { fault: "fraction_improper", unfinished: rest === "" && /^[136]$/.test(m[3]) };
  return { value: Number(m[1] ?? 0) + over / under, size: m[0].length, fraction: true, whole: false };
}

/**
 * @param {string} before the number that a slash follows
 * @param {string} rest
 * @returns {{fault: string, unfinished?: boolean}}
 */
function slash(before, rest) {
  if (!rest.startsWith("/") || /^\/[ \t]+\d/.test(rest) || before.includes(".")) return { fault: "fraction_blanks" };
  return { fault: "digits_missing", unfinished: rest === "/" };
}

/**
 * @param {string} whole
 * @param {string} rest what follows it: a fraction that isn't well joined to it
 * @returns {{fault: string, unfinished?: boolean}}
 */
function mixedFault(whole, rest) {
  if (/^[ \t]*-[ \t]|^[ \t]+-/.test(rest)) return { fault: "subtraction" };
  if (/\d[ \t]+\/|\/[ \t]+\d/.test(rest)) return { fault: "fraction_blanks" };
  if (whole.includes(".")) return { fault: "fraction_after_decimal" };
  return { fault: "digits_missing", unfinished: /\/$/.test(rest) };
}

/**
 * @param {string} text that doesn't begin with a number
 * @returns {{fault: string, unfinished?: boolean}}
 */
function noNumber(text) {
  if (/^[+-]/.test(text)) return { fault: "sign_twice" };
  if (/^\s+[\d.]/.test(text)) return { fault: "sign_blank" };
  if (/^(?:nan|inf|infinity)(?![a-z])/i.test(text)) return { fault: "not_finite" };
  if (/^\p{Nd}/u.test(text)) return { fault: "digit_foreign" };
  if (text.startsWith(".")) return { fault: "digits_missing", unfinished: text === "." };
  return { fault: "number_missing", unfinished: text === "" };
}

/**
 * @param {string} text
 * @returns {{text: string, size: number, mm: number}} mm is 0 for no unit and for one that isn't known
 */
function unitAt(text) {
  let word = UNIT.exec(text)?.[0] ?? "";
  // Only in. and ft. take a full stop.
  if (word.endsWith(".") && !/^(?:in|ft)\.$/i.test(word)) word = word.slice(0, -1);
  const size = SIZES.find(([form]) => form.test(word))?.[1] ?? 0;
  return { text: word, size: word.length, mm: size };
}

/**
 * Whether a word may still become a unit.
 * @param {string} word
 * @returns {boolean}
 */
function begun(word) {
  return UNITS.some((unit) => unit.startsWith(word.toLowerCase()));
}

/**
 * @param {ReadNumber} feet
 * @param {string} text what follows the feet's unit
 * @returns {Checked}
 */
function feetAndInches(feet, text) {
  const rest = text.replace(/^-[ \t]*(?=[\d.])/, "");
  if (!/^[\d.]/.test(rest)) return afterNumber(text, true);
  if (!feet.whole) return { fault: "feet_not_whole" };
  const inches = number(rest);
  if (inches.fault !== undefined) return inches;
  const after = rest.slice(inches.size).trimStart();
  const unit = unitAt(after);
  const over = after.slice(unit.size).trimStart();
  if (unit.size === 0 && over === "") return { fault: "inch_mark_missing", unfinished: true };
  if (unit.size > 0 && unit.mm === 0) return { fault: "unit_unknown", unfinished: over === "" && begun(unit.text) };
  if (unit.size === 0) return afterNumber(over, true);
  if (unit.mm !== INCH) return { fault: "compound" };
  if (inches.value >= 12) return { fault: "inches_out_of_range" };
  return over === "" ? { mm: feet.value * FOOT + inches.value * INCH } : afterNumber(over, true);
}

/**
 * @param {string} rest what stands where the text should have ended
 * @param {boolean} afterUnit
 * @returns {Checked}
 */
function afterNumber(rest, afterUnit) {
  if (/^-[ \t]*[\d.]/.test(rest)) return { fault: "subtraction", unfinished: !afterUnit && /^-\d+$/.test(rest) };
  if (/^\p{Nd}/u.test(rest) && !/^\d/.test(rest)) return { fault: "digit_foreign" };
  // 16 5 may go on as 16 5/8.
  if (/^(?:\d|\.\d)/.test(rest)) return { fault: "compound", unfinished: !afterUnit && /^\d+$/.test(rest) };
  return { fault: "leftover", unfinished: !afterUnit && rest === "-" };
}
