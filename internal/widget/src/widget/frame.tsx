// What the widget shows: its head, and below it a question or the answer.

import { h } from "preact";
import type { Answer, Fit, Remedy, Units } from "../api";
import { isRefused, isWithinMethod } from "../fields";
import type { Form } from "../form";
import { once } from "../parts";
import type { Service } from "../service";
import type { Words } from "../words";
import { AnswerScreen } from "./answerscreen";
import { STEPS } from "./steps";

/** What stands above the buttons when something went wrong. */
export interface Message {
  text: string;
  list?: string[];
  /** the service's own words */
  detail?: string;
  /** whether a button asks again */
  retry?: boolean;
}

/** What can be done on a screen. */
export interface Doing {
  units(units: Units): void;
  /** goes to a step */
  go(step: number): void;
  /** goes to the question that a field is asked by */
  goToField(name: string): void;
  /** goes on, unless something is wrong in the form */
  next(form: HTMLFormElement): void;
  ask(): void;
  choose(fit: Fit): void;
  /** asks again with a remedy planned */
  take(remedy: Remedy): void;
  /** asks again without it */
  undo(): void;
  /** where a fit's sheet to print is */
  sheet(fit: Fit): string | undefined;
}

interface Props {
  form: Form;
  words: Words;
  service: Service;
  /** STEPS.length for the answer */
  step: number;
  answer: Answer | null;
  message: Message | null;
  busy: boolean;
  doing: Doing;
}

export function Frame(props: Props) {
  const { words, busy, step, answer, form, message, doing } = props;
  return (
    <section class="midstroke" part="frame" lang={words.lang} aria-busy={busy ? "true" : undefined}>
      <Head {...props} />
      {step < STEPS.length ? <Question key={step} {...props} /> : (
        <div key="answer" class="step" data-step="answer">
          <h2 tabindex={-1}>{words.t("step_answer")}</h2>
          <MessageBox message={message} words={words} doing={doing} />
          {answer && <AnswerScreen answer={answer} request={form.request} words={words} doing={doing} />}
        </div>
      )}
    </section>
  );
}

function Head({ words, step, form, doing }: Props) {
  const n = Math.min(step + 1, STEPS.length);
  return (
    <header class="head">
      <p class="count">{step < STEPS.length ? words.t("step_of", { n, all: STEPS.length }) : words.t("answered")}</p>
      <div class="units" role="group" aria-label={words.t("units")}>
        {(["in", "mm"] as const).map((unit) => (
          <button type="button" class="unit" data-key={`units-${unit}`} aria-pressed={form.units === unit ? "true" : "false"} onClick={() => doing.units(unit)}>
            {words.t(`unit_${unit}`)}
          </button>
        ))}
      </div>
      <div class="tape" aria-hidden="true"><div class="blade" style={{ width: `${(100 * n) / STEPS.length}%` }} /></div>
    </header>
  );
}

function Question({ form, words, service, step: at, message, doing }: Props) {
  const step = STEPS[at];
  const { request } = form;
  const stopped = step.name === "measure" && !isWithinMethod(request) || (step.name === "upper" || step.name === "lower") && isRefused(request, step.name);
  const next = !stopped && (!step.picks || form.request.get(step.name));
  return (
    <form class="step" noValidate data-step={step.name} onSubmit={(event) => {
      event.preventDefault();
      doing.next(event.currentTarget);
    }}>
      <h2 tabindex={-1}>{words.t(`step_${step.name}`)}</h2>
      <step.Body form={form} service={service} next={() => doing.go(at + 1)} />
      <MessageBox message={message} words={words} doing={doing} />
      <div class="nav">
        {at > 0 && <button type="button" class="plain" data-go="back" onClick={() => doing.go(at - 1)}>{words.t("back")}</button>}
        {next && (
          <button type="submit" class="main" part="button" data-go="next" onClick={once(() => undefined)}>
            {words.t(at === STEPS.length - 1 ? "find" : "next")}
          </button>
        )}
      </div>
    </form>
  );
}

function MessageBox({ message, words, doing }: Pick<Props, "message" | "words" | "doing">) {
  return (
    <div class="message" role="status">
      {message && [
        <p>{message.text}</p>,
        message.list && <ul>{message.list.map((line) => <li>{line}</li>)}</ul>,
        message.detail && <p>{message.detail}</p>,
        message.retry && <button type="button" class="plain" data-go="retry" onClick={() => doing.ask()}>{words.t("retry")}</button>,
      ]}
    </div>
  );
}
