// The sheet: an answer on paper, a page for each fit.

import { type ComponentChildren, h, render } from "preact";
import { Arithmetic, Badge, cautionsOf, Damped, FitFigures, HardwareList, Lengths, NoteList, PickList } from "../answer";
import { type Answer, ENDS, type Fit, type Quote } from "../api";
import { DampingPictures } from "../dampingpictures";
import { faultTexts } from "../faults";
import { Guide } from "../guide";
import { plansOf } from "../plan";
import { Request } from "../request";
import { Refused, Service } from "../service";
import { addMessages, Words } from "../words";
import messages from "./messages.json";
import { QRCode, symbolOf } from "./qrcode";
import { Stages } from "./stages";

addMessages(messages);

/** Names in the address that are the sheet's own, and no part of the request. */
const OWN = ["rank", "lang", "paper", "axle"];

const PAPERS = ["a4", "letter"] as const;

interface Told {
  answer: Answer;
  request: Request;
  words: Words;
  /** The quote that the answer was kept in, if it was. */
  quote?: Quote;
}

/** Shows what the address asks for. */
async function show(query: URLSearchParams): Promise<void> {
  const link = query.get("quote");
  if (link) return showQuote(link, query);
  if (query.has("guide")) return showGuide(query);
  const words = new Words(query.get("lang") || navigator.language);
  const rank = Number(query.get("rank") ?? 0);
  const axle = query.get("axle") === "rear" ? "rear" : "front";
  document.documentElement.lang = words.lang;
  document.title = words.t("sheet_title");
  document.body.dataset.paper = query.get("paper") ?? "";
  for (const name of OWN) query.delete(name);
  const request = Request.read(query);
  // No fit beyond the one that is wanted need be looked for.
  if (rank > 0) query.set("top", String(Math.max(rank, Number(query.get("top") ?? 0))));
  document.body.replaceChildren();
  const draw = (main: ComponentChildren) => render([<Toolbar request={request} axle={axle} words={words} />, <main>{main}</main>], document.body);
  draw(<p>{words.t("loading")}</p>);
  try {
    const answer = await new Service(location.origin, "", words.lang).fits(query);
    const fits = answer.fits.filter((fit) => rank === 0 || fit.rank === rank);
    const told = { answer, request, words };
    draw(fits.length > 0 ? fits.map((fit) => <Page fit={fit} {...told} />) : <WithoutFits {...told} />);
  } catch (error) {
    draw(<Failed error={error} words={words} />);
  }
}

/** Shows the quote that a link leads to, a page for each axle. */
async function showQuote(link: string, query: URLSearchParams): Promise<void> {
  let words = new Words(query.get("lang") || navigator.language);
  document.body.dataset.paper = query.get("paper") ?? "";
  document.body.replaceChildren();
  const draw = (main: ComponentChildren) => {
    document.documentElement.lang = words.lang;
    document.title = words.t("sheet_title");
    render([<Toolbar words={words} />, <main>{main}</main>], document.body);
  };
  draw(<p>{words.t("loading")}</p>);
  try {
    const quote = await new Service(location.origin, "", words.lang).quote(link);
    words = new Words(quote.language);
    draw(quote.axles.map(({ answer, request, damper, accepted_risk: risk }) => {
      const told = { answer: { ...answer, language: quote.language }, request: Request.of(request), words, quote };
      const [fit] = answer.fits;
      return fit ? <Page fit={fit} {...told} /> : <WithoutFits {...told} risk={risk && { damper, ...risk }} />;
    }));
  } catch (error) {
    draw(<Failed error={error} words={words} />);
  }
}

/** Shows how a pair of ends is measured, for a caller who was sent the link. */
function showGuide(query: URLSearchParams): void {
  const words = new Words(query.get("lang") || navigator.language);
  const title = words.t("sheet_measure_title");
  document.documentElement.lang = words.lang;
  document.title = title;
  document.body.dataset.paper = query.get("paper") ?? "";
  document.body.replaceChildren();
  const request = Request.read(query);
  render([
    <Toolbar words={words} />,
    <main><article class="page measuring"><header class="page-head"><h1>{title}</h1></header><Guide onPaper request={request} service={new Service(location.origin, "", words.lang)} words={words} /></article></main>,
  ], document.body);
}

/** What is on the screen and not on the paper. */
function Toolbar({ request, axle, words }: { request?: Request; axle?: string; words: Words }) {
  const back = new URLSearchParams({ units: request?.units ?? "", lang: words.lang });
  for (const [name, value] of request?.query() ?? []) if (name !== "units") back.append(`${axle}.${name}`, value);
  const paper = PAPERS.find((name) => name === document.body.dataset.paper) ?? "";
  const choose = (wanted: string) => {
    document.body.dataset.paper = wanted;
    const address = new URL(location.href);
    address.searchParams.set("paper", wanted);
    history.replaceState(null, "", address);
  };
  return (
    <header class="toolbar">
      <button type="button" class="main" onClick={() => print()}>{words.t("sheet_print")}</button>
      <select aria-label={words.t("sheet_paper")} value={paper} onChange={(event) => choose(event.currentTarget.value)}>
        <option value="">{words.t("sheet_paper_own")}</option>
        {PAPERS.map((name) => <option value={name}>{words.t(`sheet_paper_${name}`)}</option>)}
      </select>
      {request && <a href={`/#${back}`}>{words.t("sheet_back")}</a>}
    </header>
  );
}

function Failed({ error, words }: { error: unknown; words: Words }) {
  const faults = error instanceof Refused && error.faults.length > 0 ? faultTexts(error, words).map((text) => <li>{text}</li>) : [];
  const told = error instanceof Refused && faults.length === 0 ? error.message : words.t(error instanceof Refused ? "refused" : "unreachable");
  return (
    <article class="page">
      <h1>{words.t("sheet_title")}</h1>
      <p>{told}</p>
      <ul>{faults}</ul>
    </article>
  );
}

function WithoutFits({ answer, words, quote, risk }: Told & { risk?: { damper: string; by: string; reason: string } | null }) {
  return (
    <article class="page">
      <h1>{answer.outcome === "fits" ? words.t("sheet_no_such_rank") : words.t(`outcome_${answer.outcome}`)}</h1>
      {quote && <p class="reference">{quote.reference}</p>}
      {risk && <p class="risk">{words.t("sheet_risk", risk)}</p>}
      <NoteList notes={answer.reasons} answer={answer} />
      <Lengths answer={answer} words={words} />
    </article>
  );
}

function Page({ fit, answer, request, words, quote }: Told & { fit: Fit }) {
  const link = new URL(location.href);
  if (!quote) link.searchParams.set("rank", String(fit.rank));
  const code = <QRCode text={link.href} label={words.t("sheet_qr")} />;
  return (
    <article class="page" data-code={fit.damper.code}>
      <header class="page-head">
        <div><h1>{words.t("sheet_title")}</h1><p class="reference">{quote?.reference || answer.reference}</p></div>
        <dl class="stamp">
          <Pair term={words.t("sheet_date")}>{new Intl.DateTimeFormat(words.locale, { dateStyle: "long" }).format(quote ? new Date(quote.created_at) : new Date())}</Pair>
          <Pair term={words.t("sheet_catalog")}>{answer.catalog.name}, {words.t("sheet_revision", { revision: answer.catalog.revision })}</Pair>
        </dl>
      </header>
      <div class="columns">
        <section><h2>{words.t("sheet_vehicle")}</h2><Measured request={request} words={words} /><Arithmetic answer={answer} /></section>
        <section>
          <h2>{words.t("sheet_damper")}</h2>
          <p class="chosen"><b class="code">{fit.damper.code}</b> <Badge grade={fit.grade} words={words} /> <Damped damping={fit.damping} words={words} /></p>
          <Lengths answer={answer} words={words} />
          <FitFigures fit={fit} answer={answer} words={words} />
        </section>
      </div>
      <section><h2>{words.t("sheet_drawing")}</h2><div class="drawn"><div><Stages fit={fit} answer={answer} request={request} words={words} /><Stages narrow fit={fit} answer={answer} request={request} words={words} /></div>{code}</div></section>
      <div class="columns shelf">
        <section><h2>{words.t("sheet_pick_list")}</h2><PickList fit={fit} answer={answer} words={words} /></section>
        <section><h2>{words.t("sheet_bolting")}</h2><HardwareList fit={fit} answer={answer} words={words} /></section>
      </div>
      <section><h2>{words.t("sheet_checks")}</h2><NoteList notes={cautionsOf(fit, answer)} answer={answer} class="checks-list" /></section>
      <footer class="page-foot">
        <div class="signed">{(["done", "day", "checked"] as const).map((line) => <span>{words.t(`sheet_signed_${line}`)}</span>)}</div>
        <p class="address">{symbolOf(link.href) ? link.origin : link.href}</p>
      </footer>
      {fit.damping && !quote && (
        <section class="damping-section">
          <h2>{words.t("damping_pictures")}</h2>
          <DampingPictures narrow query={request.query(words.decimalComma)} rank={fit.rank} service={new Service(location.origin, "", words.lang)} words={words} />
        </section>
      )}
    </article>
  );
}

function Pair({ term, children }: { term: string; children?: ComponentChildren }) {
  return <div><dt>{term}</dt><dd>{children}</dd></div>;
}

/** What was measured, and on what. */
function Measured({ request, words }: Pick<Told, "request" | "words">) {
  const plans = plansOf(request, words);
  const withUnits = (text: string) => /[a-z"']/i.test(text) ? text : `${text} ${request.units}`;
  return (
    <dl class="said">
      {ENDS.map((end) => {
        const plane = request.get(`${end}_measured_to`);
        return (
          <Pair term={words.t(`${end}_end`)}>
            {words.option("style", request.get(end))}{plane && `, ${words.t("sheet_measured_to", { plane: words.option("measured_to", plane) })}`}
          </Pair>
        );
      })}
      {["readings", "readings_left", "readings_right"].map((name) => request.some(name).length > 0
        && <Pair term={words.label(name)}>{request.some(name).map(withUnits).join(", ")}</Pair>)}
      {plans.length > 0 && <Pair term={words.t("planned")}><strong>{plans.map(({ text }) => text).join("; ")}</strong></Pair>}
    </dl>
  );
}

void show(new URLSearchParams(location.search));
