// What is on the shelf, as an answer to a shop's own key tells it.

import { h } from "preact";
import type { Fit, PickLine } from "../api";
import type { Words } from "../words";

/** How many of a fit's dampers are where, and whether a part of its hardware is short. */
export function StockOf({ fit, words }: { fit: Fit; words: Words }) {
  const [damper, ...parts] = fit.pick_list;
  if (!damper) return null;
  const short = isShort(damper);
  const partsShort = !short && parts.some(isShort);
  return (
    <small class={short ? "stock short" : "stock"}>
      {(short || damper.stock || !partsShort) && stockInWords(damper, words)}
      {partsShort && <span class="short"> {words.t("stock_parts_short")}</span>}
    </small>
  );
}

function isShort({ in_stock: inStock, stock, quantity }: PickLine): boolean {
  return stock ? stock.reduce((sum, level) => sum + level.quantity, 0) < quantity : inStock === false;
}

function stockInWords({ in_stock: inStock, stock }: PickLine, words: Words): string {
  const levels = (stock ?? []).filter(({ quantity }) => quantity > 0);
  if (levels.length > 0) return levels.map(({ location, quantity }) => `${words.number(quantity, 0)}\u00a0${location}`).join(", ");
  return words.t(stock || !inStock ? "not_in_stock" : "stock_there");
}
