// QR codes (ISO/IEC 18004:2015): bytes alone, error correction level L, the
// smallest version that holds the text.

/** Error correction codewords of one block, by version (table 9, level L). */
const CHECKS = [
  7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26, 28, 30, 30, 30, 30, 30, 30, 30, 30,
  30, 30, 30, 30, 30, 30,
];

/** Blocks, by version (table 9, level L). */
const BLOCKS = [
  1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12, 12, 12, 13, 14, 15, 16, 17, 18, 19, 19, 20, 21, 22, 24, 25,
];

/** Level L in the format information (table 12). */
const LEVEL_L = 1;

/** The masks, by row and column (table 10). @type {((i: number, j: number) => boolean)[]} */
const MASKS = [
  (i, j) => (i + j) % 2 === 0,
  (i) => i % 2 === 0,
  (_, j) => j % 3 === 0,
  (i, j) => (i + j) % 3 === 0,
  (i, j) => (Math.floor(i / 2) + Math.floor(j / 3)) % 2 === 0,
  (i, j) => ((i * j) % 2) + ((i * j) % 3) === 0,
  (i, j) => (((i * j) % 2) + ((i * j) % 3)) % 2 === 0,
  (i, j) => (((i + j) % 2) + ((i * j) % 3)) % 2 === 0,
];

/**
 * The modules of a text's symbol, row by row, true for dark, without the quiet
 * zone of four modules that belongs around it.
 * @param {string} text
 * @returns {boolean[][] | null} null where it is too long for any version
 */
export function qr(text) {
  const bytes = new TextEncoder().encode(text);
  const version = 1 + CHECKS.findIndex((_, at) => 4 + countBits(at + 1) + 8 * bytes.length <= 8 * dataWords(at + 1));
  if (version === 0) return null;
  const words = interleaved(dataOf(bytes, version), version);
  let best = null;
  let least = Infinity;
  for (let mask = 0; mask < MASKS.length; mask++) {
    const symbol = new Modules(version);
    symbol.place(words, mask);
    const penalty = symbol.penalty();
    if (penalty < least) [best, least] = [symbol.dark, penalty];
  }
  return best;
}

/** @param {number} version */
const countBits = (version) => (version < 10 ? 8 : 16);

/**
 * Modules that are left for codewords.
 * @param {number} version
 * @returns {number}
 */
function room(version) {
  const size = 17 + 4 * version;
  const aligned = alignment(version).length;
  const finders = 3 * 64;
  const timing = 2 * (size - 16);
  const patterns = aligned === 0 ? 0 : 25 * (aligned * aligned - 3) - 10 * (aligned - 2);
  return size * size - finders - timing - patterns - 31 - (version < 7 ? 0 : 36);
}

/** @param {number} version */
const dataWords = (version) => Math.floor(room(version) / 8) - CHECKS[version - 1] * BLOCKS[version - 1];

/**
 * Where the alignment patterns' centres are (annex E).
 * @param {number} version
 * @returns {number[]}
 */
function alignment(version) {
  if (version === 1) return [];
  const n = Math.floor(version / 7) + 2;
  const last = 10 + 4 * version;
  // Version 32 is the table's one exception.
  const step = version === 32 ? 26 : 2 * Math.ceil((last - 6) / (n - 1) / 2);
  return Array.from({ length: n }, (_, at) => (at === 0 ? 6 : last - (n - 1 - at) * step));
}

/**
 * The data codewords, padded.
 * @param {Uint8Array} bytes
 * @param {number} version
 * @returns {number[]}
 */
function dataOf(bytes, version) {
  /** @type {number[]} */
  const bits = [];
  const push = (/** @type {number} */ value, /** @type {number} */ n) => {
    for (let at = n - 1; at >= 0; at--) bits.push((value >>> at) & 1);
  };
  push(4, 4); // byte mode
  push(bytes.length, countBits(version));
  for (const byte of bytes) push(byte, 8);
  const all = dataWords(version);
  push(0, Math.min(4, 8 * all - bits.length));
  push(0, (8 - (bits.length % 8)) % 8);
  for (let pad = 0xec; bits.length < 8 * all; pad ^= 0xec ^ 0x11) push(pad, 8);
  return Array.from({ length: all }, (_, at) => bits.slice(8 * at, 8 * at + 8).reduce((word, bit) => 2 * word + bit, 0));
}

/**
 * The codewords in the order in which they are placed: block by block the
 * data, the longer blocks last, and then the checks.
 * @param {number[]} data
 * @param {number} version
 * @returns {number[]}
 */
function interleaved(data, version) {
  const n = BLOCKS[version - 1];
  const short = Math.floor(data.length / n);
  const longer = data.length % n;
  let from = 0;
  const blocks = Array.from({ length: n }, (_, at) => {
    const to = from + short + (at >= n - longer ? 1 : 0);
    const block = data.slice(from, to);
    from = to;
    return block;
  });
  const checks = blocks.map((block) => checksOf(block, CHECKS[version - 1]));
  const out = [];
  for (let at = 0; at <= short; at++) for (const block of blocks) if (at < block.length) out.push(block[at]);
  for (let at = 0; at < CHECKS[version - 1]; at++) for (const check of checks) out.push(check[at]);
  return out;
}

/**
 * The product in GF(256) over x^8 + x^4 + x^3 + x^2 + 1.
 * @param {number} a
 * @param {number} b
 * @returns {number}
 */
function times(a, b) {
  let product = 0;
  for (; b > 0; b >>= 1) {
    if (b & 1) product ^= a;
    a = a & 0x80 ? ((a << 1) & 0xff) ^ 0x1d : a << 1;
  }
  return product;
}

/**
 * Reed-Solomon checks: the remainder by the generator with the roots 2^0 to
 * 2^(n-1).
 * @param {number[]} block
 * @param {number} n
 * @returns {number[]}
 */
function checksOf(block, n) {
  let generator = [1];
  for (let at = 0, root = 1; at < n; at++, root = times(root, 2)) {
    const next = [...generator, 0];
    generator.forEach((factor, power) => {
      next[power + 1] ^= times(factor, root);
    });
    generator = next;
  }
  const rest = [...block, ...Array.from({ length: n }, () => 0)];
  for (let at = 0; at < block.length; at++) {
    const factor = rest[at];
    generator.forEach((g, power) => {
      rest[at + power] ^= times(g, factor);
    });
  }
  return rest.slice(block.length);
}

/**
 * A value with its BCH checks behind it.
 * @param {number} value
 * @param {number} generator
 * @param {number} bits of the checks
 * @returns {number}
 */
function withChecks(value, generator, bits) {
  let rest = value << bits;
  const top = 31 - Math.clz32(generator);
  for (let at = 31 - Math.clz32(rest); at >= top; at = 31 - Math.clz32(rest)) rest ^= generator << (at - top);
  return (value << bits) | rest;
}

class Modules {
  /** @param {number} version */
  constructor(version) {
    this.version = version;
    this.size = 17 + 4 * version;
    /** @type {boolean[][]} */
    this.dark = Array.from({ length: this.size }, () => Array.from({ length: this.size }, () => false));
    /** Modules that hold no codewords. @type {boolean[][]} */
    this.fixed = this.dark.map((row) => [...row]);
    this.#patterns();
  }

  /**
   * @param {number} row
   * @param {number} column
   * @param {boolean} dark
   */
  #fix(row, column, dark) {
    if (row < 0 || column < 0 || row >= this.size || column >= this.size) return;
    this.dark[row][column] = dark;
    this.fixed[row][column] = true;
  }

  /**
   * Rings around a centre.
   * @param {number} row
   * @param {number} column
   * @param {number} reach
   * @param {(ring: number) => boolean} dark
   */
  #rings(row, column, reach, dark) {
    for (let i = -reach; i <= reach; i++) {
      for (let j = -reach; j <= reach; j++) this.#fix(row + i, column + j, dark(Math.max(Math.abs(i), Math.abs(j))));
    }
  }

  #patterns() {
    const { size, version } = this;
    for (let at = 0; at < size; at++) {
      this.#fix(6, at, at % 2 === 0);
      this.#fix(at, 6, at % 2 === 0);
    }
    for (const [row, column] of [[3, 3], [3, size - 4], [size - 4, 3]]) this.#rings(row, column, 4, (ring) => ring !== 2 && ring !== 4);
    const centres = alignment(version);
    const last = centres.length - 1;
    centres.forEach((row, i) => centres.forEach((column, j) => {
      const finder = (i === 0 && (j === 0 || j === last)) || (i === last && j === 0);
      if (!finder) this.#rings(row, column, 2, (ring) => ring !== 1);
    }));
    this.#format(0);
    if (version < 7) return;
    const bits = withChecks(version, 0x1f25, 12);
    for (let at = 0; at < 18; at++) {
      const [near, far] = [Math.floor(at / 3), size - 11 + (at % 3)];
      this.#fix(near, far, Boolean((bits >> at) & 1));
      this.#fix(far, near, Boolean((bits >> at) & 1));
    }
  }

  /** @param {number} mask */
  #format(mask) {
    const bits = withChecks((LEVEL_L << 3) | mask, 0x537, 10) ^ 0x5412;
    const { size } = this;
    for (let at = 0; at < 15; at++) {
      const dark = Boolean((bits >> at) & 1);
      // Around the upper left finder, the timing pattern passed over, and again
      // beside the two others.
      if (at < 8) {
        this.#fix(at < 6 ? at : at + 1, 8, dark);
        this.#fix(8, size - 1 - at, dark);
      } else {
        this.#fix(8, at === 8 ? 7 : 14 - at, dark);
        this.#fix(size - 15 + at, 8, dark);
      }
    }
    this.#fix(size - 8, 8, true);
  }

  /**
   * Places the codewords, from the lower right in columns of two, up and down,
   * under a mask.
   * @param {number[]} words
   * @param {number} mask
   */
  place(words, mask) {
    this.#format(mask);
    const { size } = this;
    let bit = 0;
    let up = true;
    for (let right = size - 1; right > 0; right -= 2) {
      if (right === 6) right = 5; // the timing pattern's column
      for (let step = 0; step < size; step++) {
        const row = up ? size - 1 - step : step;
        for (const column of [right, right - 1]) {
          if (this.fixed[row][column]) continue;
          const word = words[bit >> 3] ?? 0;
          this.dark[row][column] = Boolean((word >> (7 - (bit & 7))) & 1) !== MASKS[mask](row, column);
          bit += 1;
        }
      }
      up = !up;
    }
  }

  /**
   * How hard the symbol is to read (7.8.3.1): the mask with the least is taken.
   * @returns {number}
   */
  penalty() {
    const { size, dark } = this;
    let sum = 0;
    const columns = dark.map((_, j) => dark.map((row) => row[j]));
    for (const lines of [dark, columns]) {
      for (const line of lines) {
        const text = line.map(Number).join("");
        for (const run of text.match(/0{5,}|1{5,}/g) ?? []) sum += run.length - 2;
        for (let at = 0; at + 11 <= size; at++) {
          const part = text.slice(at, at + 11);
          if (part === "10111010000" || part === "00001011101") sum += 40;
        }
      }
    }
    for (let i = 1; i < size; i++) {
      for (let j = 1; j < size; j++) {
        if (dark[i][j] === dark[i - 1][j] && dark[i][j] === dark[i][j - 1] && dark[i][j] === dark[i - 1][j - 1]) sum += 3;
      }
    }
    const share = dark.flat().filter(Boolean).length / (size * size);
    return sum + 10 * Math.floor(Math.abs(20 * share - 10));
  }
}
