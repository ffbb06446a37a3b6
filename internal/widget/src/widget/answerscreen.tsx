// The widget's last screen: the answer, and what can be done with it.

import { Component, type ComponentChildren, createRef, Fragment, h } from "preact";
import { Arithmetic, AskNext, Badge, Cautions, Damped, FitFigures, HardwareList, headline, Lengths, NoteList, PickList, RemedyText } from "../answer";
import { type Answer, type Fit, type NearMiss, type Remedy, WAYS } from "../api";
import { byRemedy, lacksHardware } from "../misses";
import { Folded, once } from "../parts";
import { Plans, plansOf } from "../plan";
import { canTake } from "../remedy";
import type { Request } from "../request";
import { BarEnds, Legend, type Scale, scaleOf, StrokeBar } from "../stroke";
import { up, type Words } from "../words";
import type { Doing } from "./frame";
import { type StepName, STEPS } from "./steps";

interface Props {
  answer: Answer;
  request: Request;
  words: Words;
  doing: Doing;
}

/** The answer. Nothing is chosen before somebody has confirmed what to do before the work. */
export class AnswerScreen extends Component<Props, { confirmed: boolean }> {
  state = { confirmed: false };
  readonly #confirm = createRef<HTMLInputElement>();

  componentDidUpdate(before: Props): void {
    if (before.answer !== this.props.answer && this.state.confirmed && cautionsIn(before.answer) !== cautionsIn(this.props.answer)) this.setState({ confirmed: false });
  }

  render(props: Props, { confirmed }: { confirmed: boolean }) {
    const mayChoose = () => {
      if (!confirmed) this.#confirm.current?.focus();
      return confirmed;
    };
    return (
      <Shown {...props} mayChoose={mayChoose}>
        <Cautions answer={props.answer} words={props.words}>
          {props.answer.fits.length > 0 && (
            <label class="option confirm">
              <input ref={this.#confirm} type="checkbox" data-go="confirm" checked={confirmed} onChange={(event) => this.setState({ confirmed: event.currentTarget.checked })} />
              <span>{props.words.t("confirm_cautions")}</span>
            </label>
          )}
        </Cautions>
      </Shown>
    );
  }
}

function cautionsIn(answer: Answer): string {
  return answer.cautions.map(({ code }) => code).join();
}

interface ShownProps extends Props {
  /** whether a fit may be chosen; leads to what is still to be confirmed */
  mayChoose: () => boolean;
  /** the cautions */
  children?: ComponentChildren;
}

function Shown(props: ShownProps) {
  const { answer, words, children } = props;
  const { fits, near_misses: misses, catalog } = answer;
  const scale = scaleOf(answer);
  return (
    <div class="answer" data-outcome={answer.outcome}>
      <p class={`headline ${answer.outcome}`}>
        {headline(answer, words)}
      </p>
      <Plans plans={plansOf(props.request, words)} words={words} units={props.request.units} undo={() => props.doing.undo()} />
      <NoteList notes={answer.reasons} answer={answer} class="notes reasons" />
      <AskNext answer={answer} goTo={props.doing.goToField} />
      {fits.length > 0 && (
        <>
          <h3 class="fits" tabindex={-1}>{words.t("fits")}</h3>
          <Legend words={words} />
          <ol class="cards">{fits.slice(0, 1).map((fit) => <FitCard key={fit.damper.code} fit={fit} scale={scale} {...props} />)}</ol>
        </>
      )}
      {children}
      {fits.length > 1 && <ol class="cards" start={2}>{fits.slice(1).map((fit) => <FitCard key={fit.damper.code} fit={fit} scale={scale} {...props} />)}</ol>}
      <Lengths answer={answer} words={words} />
      <details><summary>{words.t("arithmetic")}</summary><Arithmetic answer={answer} /></details>
      {misses.length > 0 && (
        <details class="misses" open={fits.length === 0}>
          <summary><h3>{words.t("near_misses")} ({misses.length})</h3></summary>
          <p class="hint">{words.t("near_misses_hint")}</p>
          {fits.length === 0 && !misses.every(lacksHardware) && <Legend words={words} />}
          {byRemedy(misses).map(({ kind, misses: group }, at) => (
            <Folded key={kind} class="remedy-group" open={at === 0} summary={<summary data-group={kind}>{words.t(`remedy_${kind}`)} ({group.length})</summary>}>
              {() => <ul class="cards">{group.map((one) => <MissCard key={one.miss.damper.code} {...one} scale={scale} {...props} />)}</ul>}
            </Folded>
          ))}
        </details>
      )}
      <Asked {...props} />
      <p class="quiet small">
        {words.t("from_catalog", { name: catalog.name, revision: catalog.revision })}{catalog.stale && ` ${words.t("stale")}`}{answer.reference && ` · ${answer.reference}`}
      </p>
    </div>
  );
}

interface FitProps extends ShownProps {
  fit: Fit;
  scale: Scale;
}

interface Choice {
  /** whether the customer was told how small the margins are */
  warned: boolean;
  chosen: boolean;
}

/** One fit with what can be done with it. A marginal one is only chosen after a warning. */
class FitCard extends Component<FitProps, Choice> {
  render({ fit, answer, words, doing, scale, mayChoose }: FitProps, { warned, chosen }: Choice) {
    const { code } = fit.damper;
    const sheet = doing.sheet(fit);
    const again = fit.grade === "marginal" && warned;
    const sure = fit.grade !== "marginal" || warned;
    const choose = once(() => {
      if (sure && !mayChoose()) return;
      if (sure) doing.choose(fit);
      this.setState({ warned: true, chosen: sure });
    });
    return (
      <li class="card fit" part="fit" data-code={code}>
        <div class="card-head">
          <h4><span class="rank">{fit.rank}</span> <span class="code">{code}</span></h4>
          <Badge grade={fit.grade} words={words} />
          <Damped damping={fit.damping} words={words} />
          <span class="price">{words.money(fit.price)}</span>
        </div>
        <StrokeBar of={fit} answer={answer} scale={scale} words={words} />
        <BarEnds fit={fit} answer={answer} scale={scale} words={words} />
        <FitFigures fit={fit} answer={answer} words={words} />
        <details><summary>{words.t("hardware_and_parts")}</summary><HardwareList fit={fit} answer={answer} words={words} /><PickList fit={fit} answer={answer} words={words} /></details>
        <div class="actions">
          {again && <p class="warning" role="alert">{words.t("marginal_warning")}</p>}
          <button type="button" class="main" part="button" data-go="choose" aria-label={words.t(again ? "choose_code_anyway" : "choose_code", { code })} onClick={choose}>
            {words.t(again ? "choose_anyway" : "choose")}
          </button>
          {sheet && <a href={sheet} target="_blank" rel="noopener" aria-label={words.t("sheet_of", { code })}>{words.t("sheet")}</a>}
          <p class="chosen" role="status">{chosen && words.t("chosen", { code })}</p>
        </div>
      </li>
    );
  }
}

interface Missed extends Props {
  miss: NearMiss;
  remedy?: Remedy;
  scale: Scale;
}

/** One near miss with one remedy. Where only hardware is missing there is no bar, which would look like that of a fit. */
function MissCard({ miss, remedy, answer, request, words, doing, scale }: Missed) {
  const short = WAYS.filter((way) => miss.short_by[way] > 0).map((way) => words.t(`short_${way}`, { length: words.length(miss.short_by[way], answer.units, up) }));
  const bolting = lacksHardware(miss);
  return (
    <li class="card miss" part="miss" data-code={miss.damper.code}>
      <div class="card-head"><h4><span class="code">{miss.damper.code}</span></h4><Badge grade={bolting ? "hardware" : "near"} words={words} /><Damped damping={miss.damping} words={words} /></div>
      <p class="about">{miss.damper.description}</p>
      {!bolting && <StrokeBar of={miss} answer={answer} scale={scale} words={words} />}
      <p>{short.join("; ") || words.t("short_of_hardware")}</p>
      {remedy && (
        <div class="remedies" data-kind={remedy.kind}>
          <RemedyText remedy={remedy} answer={answer} />
          {canTake(remedy, answer, request) && <button type="button" class="plain" data-go="take" onClick={() => doing.take(remedy)}>{words.t("take_remedy")}</button>}
        </div>
      )}
    </li>
  );
}

/** What was asked, each part with a way back to it. */
function Asked({ request, words, doing }: Props) {
  const readings = (["left", "right"] as const).flatMap((side) => {
    const texts = request.some(`readings_${side}`);
    return texts.length > 0 ? [`${words.label(`readings_${side}`)}: ${texts.join(", ")}`] : [];
  });
  const parts: [Exclude<StepName, "measure">, string][] = [
    ["upper", words.option("style", request.get("upper"))], ["lower", words.option("style", request.get("lower"))],
    ["readings", `${readings.join("; ")} (${request.units})`],
    ["brackets", words.t("brackets_given", { upper: request.get("upper_bolt") || "–", lower: request.get("lower_bolt") || "–" })],
    ["movement", words.find(`basis_${request.get("travel") || "rule"}`)],
  ];
  return (
    <section class="asked">
      <h3>{words.t("asked")}</h3>
      <dl>
        {parts.map(([step, text]) => (
          <div>
            <dt>{words.t(`asked_${step}`)}</dt>
            <dd>
              {text} <button
                type="button" class="link" data-change={step} aria-label={words.t("change_part", { part: words.t(`asked_${step}`) })}
                onClick={() => doing.go(STEPS.findIndex(({ name }) => name === step))}
              >{words.t("change")}</button>
            </dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
