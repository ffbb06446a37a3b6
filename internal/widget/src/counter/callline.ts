// The call line: one line of words and figures, in about any order, becomes the
// fields of a request. What it takes each part for is told, and what it doesn't
// understand.

import { type End, ENDS, type Style, type Units } from "../api";
import { checkLength } from "../length";
import { LONGEST, type Meaning, meaningOf } from "./callwords";

/** A part of the line. */
export interface Piece {
  from: number;
  to: number;
  /** the fields that it filled; none for what isn't understood, and for words that say nothing by themselves */
  names: string[];
  understood: boolean;
}

export interface Line {
  axle?: "front" | "rear";
  /** by flat name */
  values: Map<string, string[]>;
  /** the parts in their order; blanks and commas are left out */
  pieces: Piece[];
}

interface Rules {
  /** those of a bare number */
  units: Units;
  decimalComma: boolean;
}

/** A length from here on is one between the mounts, in millimetres; a shorter one is of hardware. */
const LEAST_READING = 150;

/** Tokens that one length may take, as 1 ft 5 1/4 in does. */
const LENGTH_TOKENS = 5;

const METRIC_BOLT = /^m\d+(?:\.\d+)?(?:x\d+(?:\.\d+)?)?$/i;
const FRACTION = /[/¼½¾⅛⅜⅝⅞⁄]/;
const INCH_BOLT = /^(?:\d+-)?\d+\/\d+-\d+$/;

interface Token {
  from: number;
  to: number;
  text: string;
}

/** A style that was said, with the end that was said before it. */
interface Said {
  style: Style;
  end?: End;
  piece: Piece;
}

/** A value of an end that isn't known until the whole line is read. */
interface OfEnd {
  /** the field's name without the end and its value, by the end's style */
  values: Partial<Record<Style, readonly [name: string, value: string]>>;
  end?: End;
  /** the style that was said last before it */
  near?: Said;
  /** the bolt that it follows, whose end it shares */
  after?: OfEnd;
  piece: Piece;
}

/** What the next figure is for. */
type Waiting = Extract<Meaning, { kind: "figure" | "figure_of_end" }>;

/** One value under the name that each style has for it. */
function given(names: Partial<Record<Style, string>>, value: string): OfEnd["values"] {
  return Object.fromEntries(Object.entries(names).map(([style, name]) => [style, [name, value]]));
}

/** Reads a line. */
export function readLine(text: string, rules: Rules): Line {
  return new Reader(text, rules).read();
}

class Reader {
  readonly #tokens: Token[];
  readonly #line: Line = { values: new Map(), pieces: [] };
  readonly #said: Said[] = [];
  readonly #ofEnds: OfEnd[] = [];
  /** The lengths without a unit that were read last, which take the unit of the one that follows. */
  #bare: { name: string; at: number }[] = [];
  #units: Units;
  /** Whether it names millimetres anywhere. */
  readonly #saysMm: boolean;
  #end?: End;
  #side = "";
  #waiting?: Waiting;
  #bolt?: OfEnd;
  /** How many figures followed the bolt. */
  #afterBolt = 0;

  constructor(private readonly text: string, private readonly rules: Rules) {
    this.#units = rules.units;
    this.#saysMm = /mm(?![a-z])/i.test(text);
    this.#tokens = [...text.matchAll(/(?:[^\s,;]|,(?=\d))+/g)].map((m) => ({ from: m.index, to: m.index + m[0].length, text: m[0] }));
  }

  read(): Line {
    for (let at = 0; at < this.#tokens.length;) at += this.#word(at) || this.#figure(at) || this.#unknown(at);
    this.#settle();
    return this.#line;
  }

  #piece(at: number, tokens: number, names: string[], understood = true): Piece {
    const piece = { from: this.#tokens[at].from, to: this.#tokens[at + tokens - 1].to, names, understood };
    this.#line.pieces.push(piece);
    return piece;
  }

  #unknown(at: number): number {
    this.#piece(at, 1, [], false);
    return 1;
  }

  /** The text of some tokens with what stands between them. */
  #slice(at: number, tokens: number): string {
    return this.text.slice(this.#tokens[at].from, this.#tokens[at + tokens - 1].to);
  }

  /** @returns how many tokens a word or several take; 0 for none that is known */
  #word(at: number): number {
    for (let tokens = Math.min(LONGEST, this.#tokens.length - at); tokens > 0; tokens--) {
      const meaning = meaningOf(this.#slice(at, tokens));
      if (meaning) {
        this.#take(meaning, at, tokens);
        return tokens;
      }
    }
    return 0;
  }

  #take(meaning: Meaning, at: number, tokens: number): void {
    const piece = this.#piece(at, tokens, []);
    switch (meaning.kind) {
      case "axle":
        // An r after an l is the right side.
        if (tokens === 1 && /^r$/i.test(this.#tokens[at].text) && this.#side) this.#side = "_right";
        else this.#line.axle = meaning.axle;
        break;
      case "style":
        this.#said.push({ style: meaning.style, end: this.#end, piece });
        this.#end = undefined;
        break;
      case "end":
        this.#end = meaning.end;
        break;
      case "side":
        this.#side = `_${meaning.side}`;
        break;
      case "units":
        this.#units = meaning.units;
        this.#giveUnits(meaning.units);
        break;
      case "value":
        this.#set(meaning.name, meaning.value, piece);
        break;
      case "of_end":
        this.#ofEnds.push({ ...this.#place(piece), values: meaning.values });
        break;
      case "figure":
      case "figure_of_end":
        this.#waiting = meaning;
        break;
      case "filler":
        break;
    }
  }

  #place(piece: Piece): Pick<OfEnd, "end" | "near" | "piece"> {
    return { end: this.#end, near: this.#said.at(-1), piece };
  }

  #set(name: string, value: string, piece: Piece): void {
    this.#line.values.set(name, [value]);
    piece.names.push(name);
  }

  /** @returns how many tokens a figure takes; 0 where there is none */
  #figure(at: number): number {
    const { text } = this.#tokens[at];
    const waiting = this.#waiting;
    this.#waiting = undefined;
    if (waiting?.kind === "figure" && waiting.name === "reference") {
      this.#set(waiting.name, text, this.#piece(at, 1, []));
      return 1;
    }
    if (METRIC_BOLT.test(text) || INCH_BOLT.test(text)) {
      this.#addBolt(text, this.#piece(at, 1, []));
      return 1;
    }
    const number = /^\d*[.,]?\d+$/.test(text);
    if (waiting?.kind === "figure" && number && ["motion_ratio", "lean_deg"].includes(waiting.name)) {
      this.#set(waiting.name, text.replace(",", "."), this.#piece(at, 1, []));
      return 1;
    }
    const length = this.#length(at);
    if (!length) return 0;
    this.#assign(length.value, length.mm, length.bare, waiting, this.#piece(at, length.tokens, []));
    return length.tokens;
  }

  /** The longest length that begins at a token, and its text as the request has it. */
  #length(at: number): { tokens: number; mm: number; value: string; bare: boolean } | undefined {
    for (let tokens = Math.min(LENGTH_TOKENS, this.#tokens.length - at); tokens > 0; tokens--) {
      // The in of "in stock" is no unit.
      if (tokens > 1 && at + tokens < this.#tokens.length && meaningOf(this.#slice(at + tokens - 1, 2))) continue;
      const text = this.#slice(at, tokens);
      const mm = (units: Units) => checkLength(text, { units, decimalComma: this.rules.decimalComma }).mm;
      const inches = mm("in");
      // A fraction is of an inch, and what is too long in inches is millimetres where the line speaks of them.
      const units = inches !== undefined && FRACTION.test(text) ? "in" : inches === undefined && this.#saysMm ? "mm" : this.#units;
      const meant = mm(units);
      if (meant === undefined) continue;
      const bare = inches !== mm("mm");
      return { tokens, mm: meant, value: bare && units !== this.rules.units ? `${text} ${units}` : text, bare };
    }
    return undefined;
  }

  #assign(value: string, mm: number, bare: boolean, waiting: Waiting | undefined, piece: Piece): void {
    if (waiting?.kind === "figure") {
      this.#set(waiting.name, waiting.negative ? `-${value}` : value, piece);
      if (waiting.also) this.#set(waiting.also[0], waiting.also[1], piece);
    } else if (waiting) {
      if (waiting.names.eye === "bolt") this.#addBolt(value, piece);
      else this.#ofEnds.push({ ...this.#place(piece), values: given(waiting.names, value) });
    } else if (mm >= LEAST_READING) {
      this.#reading(value, bare, piece);
    } else if (this.#bolt && this.#afterBolt < 2) {
      const names = this.#afterBolt === 0 ? { eye: "opening", bar_pin: "hole_spacing" } : { eye: "plate", bar_pin: "plate" };
      this.#afterBolt += 1;
      this.#ofEnds.push({ values: given(names, value), after: this.#bolt, piece });
    } else {
      piece.understood = false;
    }
  }

  #addBolt(value: string, piece: Piece): void {
    this.#bolt = { ...this.#place(piece), values: given({ eye: "bolt", bar_pin: "bolt" }, value) };
    this.#afterBolt = 0;
    this.#ofEnds.push(this.#bolt);
  }

  #reading(value: string, bare: boolean, piece: Piece): void {
    const name = `readings${this.#side}`;
    const readings = [...this.#line.values.get(name) ?? [], value];
    this.#line.values.set(name, readings);
    piece.names.push(name);
    if (bare) {
      this.#bare.push({ name, at: readings.length - 1 });
      return;
    }
    const unit = /mm$/i.test(value) ? "mm" : /(?:in|")$/i.test(value) ? "in" : "";
    if (unit) this.#giveUnits(unit);
    this.#bare = [];
  }

  /** A unit that is said once counts for the readings before it: 430 428 mm. */
  #giveUnits(units: Units): void {
    for (const { name, at } of this.#bare) {
      const values = this.#line.values.get(name);
      if (values && /^[\d.,]+$/.test(values[at])) values[at] = `${values[at]} ${units}`;
    }
    this.#bare = [];
  }

  /** Finds the end of what was said of one. */
  #settle(): void {
    const styles: Partial<Record<End, Said>> = {};
    for (const said of this.#said.filter(({ end }) => end)) styles[said.end as End] ??= said;
    for (const said of this.#said.filter(({ end }) => !end)) {
      const free = ENDS.find((end) => !styles[end]);
      if (free) styles[free] = said;
    }
    for (const said of this.#said) {
      const end = ENDS.find((one) => styles[one] === said);
      if (end) this.#set(end, said.style, said.piece);
      else said.piece.understood = false;
    }
    const endOf = new Map<OfEnd, End>();
    for (const one of this.#ofEnds) this.#settleOne(one, styles, endOf);
    // Readings whose side was told and others can't be averaged together: the first ones were on the left.
    const unsided = this.#line.values.get("readings");
    if (unsided && (this.#line.values.has("readings_left") || this.#line.values.has("readings_right"))) {
      const other = this.#line.values.has("readings_left") ? "readings_right" : "readings_left";
      this.#line.values.delete("readings");
      this.#line.values.set(other, [...unsided, ...this.#line.values.get(other) ?? []]);
      for (const { names } of this.#line.pieces) {
        const at = names.indexOf("readings");
        if (at >= 0) names[at] = other;
      }
    }
  }

  #settleOne(one: OfEnd, styles: Partial<Record<End, Said>>, endOf: Map<OfEnd, End>): void {
    const at = (end: End) => {
      const style = styles[end]?.style;
      return style && one.values[style];
    };
    const near = ENDS.find((end) => one.near !== undefined && styles[end] === one.near);
    const wanted = one.after ? [endOf.get(one.after)] : one.end ? [one.end] : [near, ...ENDS];
    for (const end of wanted) {
      const found = end && at(end);
      if (!end || !found || this.#line.values.has(`${end}_${found[0]}`)) continue;
      endOf.set(one, end);
      this.#set(`${end}_${found[0]}`, found[1], one.piece);
      return;
    }
    one.piece.understood = false;
  }
}
