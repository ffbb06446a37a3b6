// What to put on the shelf for the vehicles of a file.

import { cloneElement, Component, h, type VNode } from "preact";
import { Badge } from "../answer";
import { rebuild } from "../drawing";
import type { Words } from "../words";
import type { Coverage } from "./files";
import { Section } from "./section";

export interface Shelved {
  aim: URLSearchParams;
  coverage: Coverage;
  /** the heat map as SVG */
  heat: string;
}

/** How many rows a coverage takes. */
const MOST_ROWS = 10_000;

const SHARES = [0.5, 0.75, 0.8, 0.9, 0.95, 0.99, 1];

interface Asking {
  rows: number;
  busy: boolean;
  words: Words;
  onFind: (aim: URLSearchParams) => void;
}

/** Asks which part is to be served, or by how many dampers. */
export class ShelfForm extends Component<Asking, { share: number; most: string }> {
  state = { share: 0.9, most: "" };

  render({ rows, busy, words }: Asking, { share, most }: { share: number; most: string }) {
    return (
      <Section title={words.t("batch_stock")} name="shelf">
        <p class="quiet">{words.t("batch_stock_about")}</p>
        {rows > MOST_ROWS ? <p class="told planned">{words.t("batch_too_many_rows")}</p> : (
          <form class="asked" onSubmit={(event) => this.#find(event)}>
            <div class="field">
              <label for="share">{words.t("batch_share")}</label>
              <select id="share" value={share} disabled={most !== ""} onChange={(event) => this.setState({ share: Number(event.currentTarget.value) })}>
                {SHARES.map((part) => <option value={part}>{words.percent(part)}</option>)}
              </select>
            </div>
            <div class="field">
              <label for="most">{words.t("batch_most")}</label>
              <input id="most" type="number" min={1} max={10000} step={1} inputMode="numeric" value={most} onInput={(event) => this.setState({ most: event.currentTarget.value })} />
            </div>
            <div class="field"><button type="submit" class="main" data-go="shelf" disabled={busy}>{words.t("batch_stock_find")}</button></div>
          </form>
        )}
      </Section>
    );
  }

  #find(event: Event): void {
    event.preventDefault();
    const { share, most } = this.state;
    this.props.onFind(new URLSearchParams(most ? { most } : { share: String(share) }));
  }
}

interface Found {
  shelved: Shelved;
  words: Words;
  onDownload: () => void;
}

/** Which part is served, what is missing, and what to stock. */
export function Shelf({ shelved: { aim, coverage, heat }, words, onDownload }: Found) {
  const { served, weight, set } = coverage;
  const count = (n: number) => words.number(n, 0);
  const reached = words.percent(set.share);
  const wanted = words.percent(Number(aim.get("share")));
  const title = aim.has("most") ? words.t("batch_set_most", { n: set.dampers.length }) : set.reached ? words.t("batch_set", { share: wanted }) : words.t("batch_set_short", { share: reached });
  return (
    <section data-part="shelved" aria-labelledby="shelved-title">
      <h2 id="shelved-title">{words.t("batch_served", { share: words.percent(served.share) })}</h2>
      <p>{words.t("batch_unserved", { n: count(weight - served.weight), all: count(weight) })}</p>
      <Grades coverage={coverage} words={words} />
      <h3>{words.t("batch_heat")}</h3>
      <div class="drawing heat wide" tabindex={0} role="group" aria-label={words.t("batch_heat")}>{atFullSize(rebuild(heat))}</div>
      <h3>{title}</h3>
      <p>{set.method === "exact" ? words.t("batch_set_exact") : words.t("batch_set_greedy", { least: set.least_dampers, most: count(set.most_weight), all: count(weight) })} {!set.reached && words.t("batch_not_reached", { wanted, share: reached })}</p>
      <StockTable coverage={coverage} words={words} />
      {coverage.order.length > 0 && <p data-part="order"><strong>{words.t("batch_order")}:</strong> <span class="code">{coverage.order.join(", ")}</span></p>}
      <div class="actions"><button type="button" class="plain" data-go="shelf-csv" onClick={onDownload}>{words.t("batch_stock_csv")}</button></div>
    </section>
  );
}

/** A drawing as wide as it was made, so that its words stay legible; it moves within its frame. */
function atFullSize(drawing: VNode | null): VNode | null {
  const [, , width] = String((drawing?.props as { viewBox?: string } | undefined)?.viewBox ?? "").split(" ");
  return drawing && width ? cloneElement(drawing, { width }) : drawing;
}

/** How long the bar of grades is, in its own units. */
const LONG = 1000;

/** What is served at which grade, as a bar with its legend. */
function Grades({ coverage, words }: { coverage: Coverage; words: Words }) {
  let from = 0;
  return (
    <div>
      <div class="bar">
        <svg viewBox={`0 0 ${LONG} 10`} preserveAspectRatio="none" aria-hidden="true">
          {coverage.served.grades.map(({ grade, share }) => {
            const at = from;
            from += share * LONG;
            return <rect class={grade} x={at} y={0} width={share * LONG} height={10} />;
          })}
        </svg>
      </div>
      <ul class="legend">
        {coverage.served.grades.map(({ grade, share, weight }) => <li><Badge grade={grade} words={words} /> {words.percent(share)} <span class="quiet">({words.number(weight, 0)})</span></li>)}
      </ul>
    </div>
  );
}

/** The dampers of the set, the one that adds most first. */
function StockTable({ coverage: { set, weight }, words }: { coverage: Coverage; words: Words }) {
  let together = 0;
  return (
    <div class="wide" tabindex={0} role="group" aria-label={words.t("batch_stock")}>
      <table class="stock-table">
        <thead>
          <tr>
            <th scope="col" class="number">#</th><th scope="col">{words.t("batch_damper")}</th><th scope="col">{words.t("batch_in_stock")}</th>
            <th scope="col" class="number">{words.t("batch_adds")}</th><th scope="col" class="number">{words.t("batch_together")}</th>
          </tr>
        </thead>
        <tbody>
          {set.dampers.map(({ code, in_stock: inStock, adds }, at) => {
            together += adds;
            return (
              <tr data-code={code}>
                <td class="number">{at + 1}</td><th scope="row" class="code">{code}</th><td>{words.t(inStock ? "batch_yes" : "batch_no")}</td>
                <td class="number">{words.number(adds, 0)}</td><td class="number">{words.percent(weight > 0 ? together / weight : 0)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}
