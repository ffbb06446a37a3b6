// A text as a QR code (ISO/IEC 18004), for a phone to read.

import { h } from "preact";
import { encode } from "uqr";

/** The empty modules around a symbol (ISO/IEC 18004, 6.3.8). */
const QUIET_ZONE = 4;

/** The modules of a text's symbol, row by row, true for dark; null where no symbol holds so much. */
export function symbolOf(text: string): boolean[][] | null {
  try {
    return encode(text, { ecc: "L", border: QUIET_ZONE }).data;
  } catch {
    return null;
  }
}

export function QRCode({ text, label }: { text: string; label: string }) {
  const rows = symbolOf(text);
  if (!rows) return null;
  const size = rows.length;
  const dark = rows.flatMap((row, y) => row.map((on, x) => on ? `M${x} ${y}h1v1h-1Z` : "")).join("");
  return (
    <svg class="qr" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={label} shape-rendering="crispEdges">
      <path class="qr-ground" d={`M0 0H${size}V${size}H0Z`} /><path class="qr-ink" d={dark} />
    </svg>
  );
}
