// One axle at the counter as it is shown: the form, the answer and what can be done with it.

import { Component, createRef, Fragment, h } from "preact";
import { Arithmetic, Cautions, Lengths, NoteList } from "../answer";
import type { Answer, End } from "../api";
import { type Field, isWithinMethod } from "../fields";
import { guideQuery } from "../guide";
import { Folded, Kept } from "../parts";
import { Plans, plansOf } from "../plan";
import type { Request } from "../request";
import { asSentence, down, unbroken, up, type Words } from "../words";
import type { Axle } from "./axle";
import { MissRows } from "./misses";
import { FitRows, RuledOut } from "./rows";
import { Share } from "./share";
import { sentence } from "./strip";
import { Workbench } from "./workbench";

interface Props {
  axle: Axle;
  /** whether it is drawn for paper */
  printing: boolean;
}

export class AxleView extends Component<Props> {
  readonly #head = createRef<HTMLDivElement>();
  readonly #result = createRef<HTMLDivElement>();

  /** Whether the keyboard is in the answer or on a plan, and on what. */
  getSnapshotBeforeUpdate(): Element | null {
    const held = document.activeElement;
    // A press of the mouse on a plan's button must not lead away from it.
    const planned = held?.matches(":focus-visible") && this.#head.current?.contains(held);
    return planned || this.#result.current?.contains(held) ? held : null;
  }

  /** Keeps the keyboard in the answer where what it was on is gone or was moved. */
  componentDidUpdate(_props: Props, _state: unknown, held: HTMLElement | null): void {
    if (!held || held === document.activeElement) return;
    (held.isConnected ? held : this.#best)?.focus();
  }

  /** Where the answer is read first: at its best fit, or where there is none, at what would make one fit. */
  get #best(): HTMLElement | null | undefined {
    const found = ["summary.line", "[data-go=take]", "summary"].map((selector) => this.#result.current?.querySelector<HTMLElement>(selector));
    return found.find(Boolean);
  }

  render({ axle, printing }: Props) {
    const { name, page: { words }, answer } = axle;
    return (
      <section class={axle.used ? "axle" : "axle unused"} aria-labelledby={name}>
        <div class="axle-head">
          <h2 tabindex={-1} id={name}>{words.t(`counter_${name}`)}</h2>
          {answer && <small class="quiet to-answer">{words.t("counter_to_answer")} <kbd>Ctrl ⏎</kbd></small>}
          <button type="button" class="plain small" data-key="copy_other" onClick={() => axle.copyOther()}>{words.t("counter_copy_other")}</button>
        </div>
        <div class="planned" ref={this.#head}><Plans plans={plansOf(axle.request, words)} words={words} units={axle.request.units} undo={() => axle.undo()} slide={(field, amount) => axle.slide(field, amount)} /></div>
        {printing && <Asked request={axle.request} words={words} />}
        <form
          id={`${name}-form`} class="ask" noValidate
          onSubmit={(event) => {
            event.preventDefault();
            if (axle.form.settle(event.currentTarget)) void axle.ask(event.currentTarget);
          }}
          onKeyDown={(event) => {
            if (event.key === "Enter" && event.ctrlKey) this.#result.current?.querySelector("summary")?.focus();
          }}
        >
          <Kept of={[axle, axle.formChanges, answer, axle.outdated, axle.part]}>{() => <Workbench axle={axle} />}</Kept>
          <div class="acts">
            <button type="submit" class="main" data-go="ask">{words.t("find")}</button>
          </div>
        </form>
        <div class="result" ref={this.#result} data-old={axle.outdated && answer ? "true" : undefined}>
          <Kept of={[answer, axle.chosen, ...axle.codes, axle.compared.length, axle.page.full]}>{() => answer && <Result axle={axle} />}</Kept>
        </div>
        <div>{(axle.ready || isWithinMethod(axle.request)) && <Share request={axle.request} words={words} service={axle.page.service} link={() => axle.page.link()} message={() => messageOf(axle)} />}</div>
      </section>
    );
  }
}

/**
 * What a caller is told in writing: the best fit and its figures, what it assumes, what
 * is to be asked, and how to measure. A shop's own answer is no link for everybody.
 */
function messageOf(axle: Axle): string[] {
  const { answer, next, page, request } = axle;
  const { words } = page;
  const best = answer?.fits[0];
  const plans = plansOf(request, words);
  const measuring = new URLSearchParams({ guide: "1", lang: words.lang, ...Object.fromEntries(guideQuery(request)) });
  return [
    ...answer ? [best ? sentence(best, words) : [axle.status, ...reasonsFor(answer, words)].map(asSentence).join(" ")] : [],
    ...plans.length > 0 ? [words.t("message_planned", { what: plans.map(({ text }) => text).join("; ") })] : [],
    ...next ? [next.text] : [],
    ...isWithinMethod(request) ? [words.t("message_measure", { link: `${location.origin}/sheet?${measuring}` })] : [],
    ...answer && !page.hasKey ? [words.t("message_open", { link: page.link() })] : [],
  ];
}

/** Why no damper is named, for a caller. The status has said already that none fits, and a caller sees no near misses. */
function reasonsFor({ reasons, units }: Answer, words: Words): string[] {
  return reasons.flatMap(({ code, text, values }) => {
    if (!code.startsWith("no_fit")) return text;
    const { compressed_most: most, extended_least: least } = values;
    if (typeof most !== "number" || typeof least !== "number") return [];
    return words.t("message_needed", { compressed: words.length(most, units, down), extended: words.length(least, units, up) });
  });
}

/** What was asked, as text for paper. */
function Asked({ request, words }: { request: Request; words: Words }) {
  const asked = request.said(words.decimalComma).filter(({ field }) => field.name !== "units");
  if (asked.length === 0) return null;
  const value = (field: Field, text: string) => {
    if (field.kind === "choice") return words.option(field.name, text);
    if (field.kind === "flag") return text === "true" ? "✓" : "–";
    return unbroken(field.kind === "length" && /\d\s*$/.test(text) ? `${text.trim()} ${request.units}` : text);
  };
  const label = (name: string) => {
    const [, end] = /^(upper|lower)(?:_|$)/.exec(name) ?? [];
    return (end ? `${words.t(`${end as End}_end`)}: ` : "") + words.label(name);
  };
  return (
    <section class="asked">
      <h3>{words.t("counter_asked")}</h3>
      <dl>{asked.map(({ field }) => <div><dt>{label(field.name)}:</dt> <dd>{request.some(field.name).map((text) => value(field, text)).join("; ")}</dd></div>)}</dl>
    </section>
  );
}

function Result({ axle }: { axle: Axle }) {
  const { answer, page: { words } } = axle;
  if (!answer) return null;
  return (
    <>
      <NoteList notes={answer.reasons} answer={answer} class="notes reasons" />
      <Lengths answer={answer} words={words} />
      <FitRows answer={answer} axle={axle} />
      <MissRows answer={answer} axle={axle} />
      <RuledOut answer={answer} words={words} />
      <Folded summary={<summary>{words.t("arithmetic")}</summary>}>{() => <Arithmetic answer={answer} />}</Folded>
      <Cautions answer={answer} words={words} />
    </>
  );
}
