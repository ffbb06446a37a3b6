// The parts of an answer that every page shows.

import { type ComponentChildren, Fragment, h } from "preact";
import { type Answer, type End, ENDS, type Fit, type Note, type Remedy, WAYS } from "./api";
import { fieldAtPath } from "./fields";
import { capitalised, down, unbroken, up, type Words } from "./words";

interface Told {
  answer: Answer;
  words: Words;
}

/** What became of the request, in one line. */
export function headline(answer: Answer, words: Words): string {
  if (answer.outcome !== "fits") return words.t(`outcome_${answer.outcome}`);
  return words.count(answer.more ? "outcome_best" : "outcome_fits", answer.fits.length);
}

/** The figure to measure next, which leads to its field. */
export function AskNext({ answer, goTo }: { answer: Answer; goTo: (name: string) => void }) {
  const { ask_next: next, language } = answer;
  const name = next && fieldAtPath(next.field)?.name;
  return name ? <p class="ask-next"><button type="button" class="link" data-go="ask_next" lang={language} onClick={() => goTo(name)}>{unbroken(capitalised(next.text))}</button></p> : null;
}

/** The cautions of one fit: those of the answer and of both ends. */
export function cautionsOf(fit: Fit, answer: Answer): Note[] {
  return [...answer.cautions, ...ENDS.flatMap((end) => answer.hardware[fit[end].hardware]?.cautions ?? [])];
}

/** Texts of the answer as a list, in its own language. */
export function NoteList({ notes, answer, class: name = "notes" }: { notes: readonly Note[]; answer: Answer; class?: string }) {
  if (notes.length === 0) return null;
  return <ul class={name} lang={answer.language}>{notes.map((note) => <li data-code={note.code}>{unbroken(note.text)}</li>)}</ul>;
}

/** The cautions, all of them and in full. */
export function Cautions({ answer, words, children }: Told & { children?: ComponentChildren }) {
  if (answer.cautions.length === 0) return null;
  return (
    <section class="cautions" part="cautions">
      <h3><span class="sign" aria-hidden="true">!</span>{words.t("cautions")}</h3>
      <NoteList notes={answer.cautions} answer={answer} />
      {children}
    </section>
  );
}

/** The working length with its bounds, and the travel that is needed. */
export function Lengths({ answer, words }: Told) {
  const { working_length: length, required, units } = answer;
  if (!length && !required) return null;
  const l = (value: number, round?: (value: number) => number) => words.length(value, units, round);
  return (
    <dl class="lengths">
      {length && (
        <div>
          <dt>{words.t("working_length")}</dt>
          <dd><strong>{l(length.value)}</strong> <span class="quiet">{words.t("between", { low: l(length.low, down), high: l(length.high, up) })}</span></dd>
        </div>
      )}
      {required && WAYS.map((way) => (
        <div>
          <dt>{words.t(`needed_${way}`)}</dt>
          <dd>
            <strong>{l(required[way].least, up)}</strong>
            {required[way].wanted > required[way].least && <span class="quiet"> {words.t("wanted", { wanted: l(required[way].wanted, up) })}</span>}
          </dd>
        </div>
      ))}
    </dl>
  );
}

/** The arithmetic, line by line. */
export function Arithmetic({ answer }: Pick<Told, "answer">) {
  const steps = [...answer.working_length?.steps ?? [], ...answer.required?.steps ?? []];
  if (steps.length === 0) return null;
  return (
    <ol class="steps" lang={answer.language}>
      {steps.map((step) => (
        <li>
          <span>{unbroken(step.text)}{step.source && <small class="source"> ({step.source})</small>}</span>
          <b>{unbroken(step.value_text ?? "")}</b>
        </li>
      ))}
    </ol>
  );
}

/** How good a fit is, by a word and a shape. */
export function Badge({ grade, words }: { grade: Fit["grade"] | "near" | "hardware"; words: Words }) {
  return <span class={`badge ${grade}`} part="grade">{words.t(`grade_${grade}`)}</span>;
}

/** Whether a damper is soft, in range or firm on the vehicle's corner, with its damping ratio. Nothing where no corner was given. */
export function Damped({ damping, words }: { damping: Fit["damping"]; words: Words }) {
  if (damping === undefined) return null;
  const verdict = damping?.verdict ?? "unknown";
  return <span class={`damped ${verdict}`} part="damping">{words.t(`damped_${verdict}`)}{damping?.verdict && ` ${ratio(damping.damping_ratio, words)}`}</span>;
}

function ratio(value: number, words: Words): string {
  return words.number(value, 2);
}

/** The damping ratio beside the wanted one, with the load, and where to start adjusting. */
function DampingFigures({ fit: { damping }, answer, words }: Told & { fit: Fit }) {
  const wanted = answer.damping?.damping_ratio;
  if (!damping || !wanted) return null;
  const { damping_ratio: unladen, laden_damping_ratio: laden, start_from: position } = damping;
  const said = [
    words.t("damping_says", { ratio: ratio(unladen, words), low: ratio(wanted.low, words), high: ratio(wanted.high, words) }),
    laden !== null && words.t("damping_laden", { ratio: ratio(laden, words) }),
    position !== null && words.t("damping_start", { position, least: ratio(damping.least_damping_ratio, words), most: ratio(damping.greatest_damping_ratio, words) }),
  ].filter(Boolean);
  return <p class="quiet small">{said.join(" ")}</p>;
}

/** What a fit offers: the damper, its travel each way, and how sure that is. */
export function FitFigures({ fit, answer, words }: Told & { fit: Fit }) {
  return (
    <>
      <p class="about">{fit.damper.description}</p>
      <TravelTable fit={fit} answer={answer} words={words} />
      <p class="quiet small">{words.t("sits_at", { position: words.percent(fit.ride_position), likelihood: words.percent(fit.worst_case.likelihood) })}</p>
      <DampingFigures fit={fit} answer={answer} words={words} />
      <NoteList notes={fit.notes} answer={answer} class="notes small" />
    </>
  );
}

/** Travel, need, spare and worst case each way. */
function TravelTable({ fit, answer: { units, required }, words }: Told & { fit: Fit }) {
  const rows = [
    ["travel", fit.travel, down], ["needed", { compression: required?.compression.least, extension: required?.extension.least }, up],
    ["spare", fit.margin, down], ["worst", fit.worst_case.margin, down],
  ] as const;
  return (
    <table class="ways">
      <thead><tr><td>{units}</td>{WAYS.map((way) => <th scope="col">{words.t(way)}</th>)}</tr></thead>
      <tbody>
        {rows.map(([name, both, round]) => (
          <tr class={`row-${name}`}><th scope="row">{words.t(`row_${name}`)}</th>{WAYS.map((way) => <td>{words.bare(both[way] ?? 0, units, round)}</td>)}</tr>
        ))}
      </tbody>
    </table>
  );
}

/** How both ends bolt up. */
export function HardwareList({ fit, answer, words }: Told & { fit: Fit }) {
  return (
    <dl class="hardware">
      {ENDS.map((end) => (
        <div>
          <dt>{words.t(`${end}_end`)}</dt>
          <dd><ul>{hardwareLines(fit[end], answer, words).map((line) => <li>{line}</li>)}</ul></dd>
        </div>
      ))}
    </dl>
  );
}

function hardwareLines({ hardware: place, text }: Fit[End], answer: Answer, words: Words): ComponentChildren[] {
  const hardware = answer.hardware[place];
  const own = (told: string) => <span lang={answer.language}>{unbroken(told)}</span>;
  const lines: ComponentChildren[] = [own(text)];
  if (!hardware) return lines;
  const { spacers, bolt, reasons } = hardware;
  if (spacers && spacers.left_over > 0) lines.push(words.t("left_over", { length: words.exact(spacers.left_over, answer.units) }));
  if (bolt?.torque_nm && bolt.torque_lbf_ft) {
    lines.push(words.t("torque", { nm: words.number(bolt.torque_nm, 0), lbf_ft: words.number(bolt.torque_lbf_ft, 0), grade: bolt.grade ?? "" }));
  }
  // What is left open is told by the line above.
  return hardware.open ? lines : [...lines, ...reasons.map((note) => own(note.text))];
}

/** All that is needed for the axle: what to take off the shelf, and the bolts, nuts and washers to order. */
export function PickList({ fit: { pick_list: lines, total }, answer: { language }, words }: Told & { fit: Fit }) {
  return <PickTable lines={lines} total={total} language={language} words={words} />;
}

interface Picked {
  lines: Fit["pick_list"];
  total: Fit["total"];
  /** of the texts */
  language: string;
  words: Words;
}

/** A pick list with its total. */
export function PickTable({ lines, total, language, words }: Picked) {
  const money = (amount?: string | null) => amount ? words.money({ amount, currency: total.currency }) : "–";
  return (
    <table class="pick">
      <thead><tr>{(["part", "quantity", "amount"] as const).map((column) => <th scope="col">{words.t(`column_${column}`)}</th>)}</tr></thead>
      <tbody>
        {lines.map((line) => (
          <tr>
            <td>
              {line.code ? <>{words.t(`kind_${line.kind}`)} <span class="code">{line.code}</span></> : <span lang={language}>{unbroken(capitalised(line.text) + (line.standard ? `, ${line.standard}` : ""))}</span>}
              {line.stock ? <small class="quiet"> {line.stock.map(({ location, quantity }) => `${location} ${words.number(quantity, 0)}`).join(", ")}</small>
                : line.in_stock === false && <small class="quiet"> {words.t("not_in_stock")}</small>}
            </td>
            <td>{words.number(line.quantity, 0)}{line.each && <small> × {money(line.each)}</small>}</td><td>{money(line.amount)}</td>
          </tr>
        ))}
      </tbody>
      {lines.some((line) => line.amount) && (
        <tfoot><tr><th scope="row" colSpan={2}>{words.t(total.complete ? "total" : "total_priced")}</th><td>{words.money(total)}</td></tr></tfoot>
      )}
    </table>
  );
}

/** What would make a near miss fit, in words. */
export function RemedyText({ remedy, answer }: { remedy: Remedy; answer: Answer }) {
  return <span lang={answer.language}>{unbroken(capitalised(remedy.text))}</span>;
}
