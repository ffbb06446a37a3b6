// What nearly fits, by what would make it fit.

import { Fragment, h } from "preact";
import { Badge, Damped, RemedyText } from "../answer";
import { type Answer, type NearMiss, type Remedy, WAYS } from "../api";
import { byRemedy, lacksHardware } from "../misses";
import { Folded } from "../parts";
import { canTake } from "../remedy";
import { Legend, type Scale, scaleOf, StrokeBar } from "../stroke";
import { up } from "../words";
import type { Axle } from "./axle";

export function MissRows({ answer, axle }: { answer: Answer; axle: Axle }) {
  const { words } = axle.page;
  const { near_misses: misses, fits } = answer;
  if (misses.length === 0) return null;
  return (
    <Folded class="misses" open={fits.length === 0} summary={<summary>{words.t("near_misses")} ({misses.length})</summary>}>
      {() => {
        const scale = scaleOf(answer);
        return (
          <>
            {fits.length === 0 && !misses.every(lacksHardware) && <Legend words={words} />}
            {byRemedy(misses).map(({ kind, misses: group }, at) => (
              <Folded key={kind} class="remedy-group" open={at === 0} summary={<summary data-group={kind}>{words.t(`remedy_${kind}`)} ({group.length})</summary>}>
                {() => <ul class="rows">{group.map((one) => <MissRow key={one.miss.damper.code} {...one} answer={answer} axle={axle} scale={scale} />)}</ul>}
              </Folded>
            ))}
          </>
        );
      }}
    </Folded>
  );
}

interface Missed {
  miss: NearMiss;
  remedy?: Remedy;
  answer: Answer;
  axle: Axle;
  scale: Scale;
}

/** One of them with one remedy. Where only hardware is missing there is no bar, which would look like that of a fit. */
function MissRow({ miss, remedy, answer, axle, scale }: Missed) {
  const { words } = axle.page;
  const bolting = lacksHardware(miss);
  return (
    <li class="row miss" data-code={miss.damper.code}>
      <div class="line">
        <span class="what"><b class="code">{miss.damper.code}</b><Badge grade={bolting ? "hardware" : "near"} words={words} /><Damped damping={miss.damping} words={words} /></span>
        {bolting ? <span class="lengths-fit">{words.t("short_of_hardware")}</span> : <StrokeBar of={miss} answer={answer} scale={scale} words={words} />}
        {!bolting && WAYS.map((way) => (
          <span class="figure">
            {miss.short_by[way] > 0 ? `\u2212${words.bare(miss.short_by[way], answer.units, up)}` : "0"}<small>{words.t(`counter_short_${way}`)}</small>
          </span>
        ))}
      </div>
      {remedy && (
        <div class="remedies" data-kind={remedy.kind}>
          <RemedyText remedy={remedy} answer={answer} />
          {canTake(remedy, answer, axle.request) && <button type="button" class="plain small" data-go="take" onClick={() => axle.take(remedy)}>{words.t("take_remedy")}</button>}
        </div>
      )}
    </li>
  );
}
