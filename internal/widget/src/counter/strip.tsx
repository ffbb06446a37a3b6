// The strip at the edge of the screen: what to tell the caller and what to ask next.

import { Fragment, h } from "preact";
import { Badge } from "../answer";
import { type Answer, ENDS, type Fit, WAYS } from "../api";
import { plansOf } from "../plan";
import { capitalised, down, unbroken, type Words } from "../words";
import type { Axle } from "./axle";
import { ChooseButton } from "./choose";

/** A cell for each axle; on a narrow screen only that of the axle worked on. */
export function Strip({ axles, current, words }: { axles: Axle[]; current: Axle; words: Words }) {
  const asking = current.next ? current : axles.find((axle) => axle.used && axle.next);
  return (
    <section class="strip" aria-label={words.t("strip")}>
      {axles.map((axle) => <Cell key={axle.name} axle={axle} current={axle === current} asks={axle === asking} />)}
    </section>
  );
}

function Cell({ axle, current, asks }: { axle: Axle; current: boolean; asks: boolean }) {
  const { name, page: { words }, answer, outdated, next } = axle;
  const best = answer?.fits[0];
  const plans = plansOf(axle.request, words);
  return (
    <div class={`cell${current ? " current" : ""}${axle.used ? "" : " unused"}`} role="group" aria-labelledby={name} data-old={outdated && answer ? "true" : undefined}>
      <p class="status" data-outcome={outdated ? "" : answer?.outcome ?? ""}><b>{words.t(`counter_${name}`)}</b> {axle.status}{plans.length > 0 && <em> {words.t("strip_planned")}</em>}</p>
      <p class="unseen" role="status">{axle.announced && `${words.t(`counter_${name}`)}: ${axle.announced}`}</p>
      {best && axle.page.hasKey && <ChooseButton axle={axle} fit={best} chosen={axle.chosen === best.damper.code} shortcut={current ? "Alt 4" : undefined} />}
      {best && answer && <Best fit={best} answer={answer} words={words} />}
      {!best && answer?.reasons[0] && <p class="say" lang={answer.language}>{unbroken(capitalised(answer.reasons[0].text))}</p>}
      {axle.chosen && (
        <p class="picked"><a href="#quotes" data-go="quotes" onClick={(event) => {
          event.preventDefault();
          document.getElementById("quotes")?.focus();
        }}>{words.t("chosen_go", { code: axle.chosen })}</a></p>
      )}
      <p class="picked" role="status">
        {axle.compared.length > 0 && (
          // The comparison stands below both axles, mostly out of sight.
          <a href="#compared" onClick={(event) => {
            event.preventDefault();
            document.getElementById("compared")?.focus();
          }}>{words.count("counter_go_to_compared", axle.compared.length)}</a>
        )}
      </p>
      {asks && next && (
        <p class="next">
          <span>{words.t("strip_next")}</span> <a href={`#${name}-form`} data-go="next_question" lang={next.lang} onClick={(event) => {
            event.preventDefault();
            axle.goTo(next.name);
          }}>{unbroken(next.text)}</a>
        </p>
      )}
    </div>
  );
}

/** The best fit: its figures, and a sentence to read out. */
function Best({ fit, answer, words }: { fit: Fit; answer: Answer; words: Words }) {
  return (
    <>
      <p class="figures">
        <b class="code">{fit.damper.code}</b><Badge grade={fit.grade} words={words} />
        <span>{words.t("strip_chance", { chance: words.percent(fit.worst_case.likelihood) })}</span>
        {WAYS.map((way) => <span class="spare">{words.t(`strip_spare_${way}`)} <b>{words.length(fit.margin[way], answer.units, down)}</b></span>)}
      </p>
      <p class="say" lang={answer.language}>{unbroken(sentence(fit, words))}</p>
    </>
  );
}

/** What an adviser reads out. */
export function sentence(fit: Fit, words: Words): string {
  const ends = ENDS.map((end) => `${words.t(`strip_at_${end}`)} ${fit[end].text}.`);
  return [words.t(`strip_say_${fit.grade}`, { code: fit.damper.code }), ...ends].join(" ");
}
