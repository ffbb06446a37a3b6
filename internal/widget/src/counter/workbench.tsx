// The fields of an axle around its drawing. A part of the drawing that is tapped shows
// its own fields alone.

import { Component, createRef, Fragment, h } from "preact";
import type { Answer, Fit, NearMiss } from "../api";
import { Kept } from "../parts";
import { strokeOf } from "../stroke";
import type { Axle } from "./axle";
import { FirstFields, More } from "./axleform";
import { type Linkage, LinkageSource } from "./linkagesource";
import { LinkageViews } from "./linkageviews";
import { LivingAxle } from "./livingaxle";
import { Motion, type Movement, type Position } from "./motion";
import { Mover } from "./mover";
import { PartPanel } from "./partpanel";
import type { Part } from "./vehicleparts";

interface State {
  /** the code of the damper that is drawn; "" for the best one */
  code: string;
  linkage: Linkage | null;
}

export class Workbench extends Component<{ axle: Axle }, State> {
  state: State = { code: "", linkage: null };
  readonly #axle = createRef<LivingAxle>();
  readonly #views = createRef<LinkageViews>();
  readonly #source = new LinkageSource((linkage) => this.setState({ linkage }));
  #position: Position = 0;
  /** Whether the drawing has moved by itself. */
  #moved = false;

  componentDidMount(): void {
    this.componentDidUpdate();
  }

  componentDidUpdate(): void {
    const { request, page: { service, words } } = this.props.axle;
    void this.#source.follow(request, service, words);
  }

  componentWillUnmount(): void {
    this.#source.close();
  }

  #show = (position: Position): void => {
    this.#position = position;
    this.#axle.current?.show(position);
    this.#views.current?.show(position);
  };

  #play = (movement: Movement | null): void => {
    if (movement) this.#axle.current?.play(movement);
    else this.#axle.current?.stop();
  };

  #open = (part: Part): void => {
    const { axle } = this.props;
    axle.openPart(axle.part === part ? null : part);
  };

  render({ axle }: { axle: Axle }, { code, linkage }: State) {
    const { answer, page: { words }, part, request } = axle;
    const shown = answer && chosen(answer, code);
    const stroke = shown && answer && strokeOf(shown, answer);
    const travel = request.get("travel") === "linkage" ? linkage : null;
    const motion = stroke ? new Motion(stroke, travel?.curve) : null;
    const damper = shown?.damper;
    if (motion && !this.#moved) queueMicrotask(() => this.#moved = true);
    return (
      <>
        <Kept of={[axle, axle.formChanges, part]}>
          {() => part ? <PartPanel axle={axle} part={part} /> : <FirstFields form={axle.form} />}
        </Kept>
        <figure class="living-axle" data-old={axle.outdated && answer ? "true" : undefined}>
          <LivingAxle
            self={this.#axle} request={request} answer={answer} motion={motion} body={damper?.body_diameter ?? null} inverted={shown ? "mounted" in shown && shown.mounted === "inverted" : false}
            words={words} part={part} open={this.#open}
          />
          <figcaption class="hint">{words.t("living_hint")}</figcaption>
        </figure>
        <div class="living-tools" data-old={axle.outdated && answer ? "true" : undefined}>
          {motion && answer && (
            <>
              <label class="drawn-damper">
                <span class="unseen">{words.t("living_damper")}</span>
                <select data-drawn value={damper?.code} onChange={(event) => this.setState({ code: event.currentTarget.value })}>
                  {[...answer.fits, ...answer.near_misses].map((one) => <option value={one.damper.code}>{"rank" in one ? `${one.rank}. ${one.damper.code}` : `${one.damper.code} (${words.t("living_miss")})`}</option>)}
                </select>
              </label>
              <Mover key="mover" motion={motion} units={answer.units} words={words} show={this.#show} play={this.#play} once={!this.#moved} typed={axle.formChanges} />
            </>
          )}
        </div>
        {request.get("travel") === "linkage" && linkage && (
          <LinkageViews self={this.#views} linkage={linkage} answer={answer} chosen={shown ?? null} motion={motion} words={words} position={this.#position} />
        )}
        <Kept of={[axle, axle.formChanges, part]}>{() => !part && <More form={axle.form} />}</Kept>
      </>
    );
  }
}

/** The damper of a code, else the best one. */
function chosen({ fits, near_misses: misses }: Answer, code: string): Fit | NearMiss | undefined {
  const all = [...fits, ...misses];
  return all.find(({ damper }) => damper.code === code) ?? all[0];
}
