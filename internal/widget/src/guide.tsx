// How a pair of ends is measured, as the service tells and draws it.

import { Component, type ComponentChildren, createRef, Fragment, h, type VNode } from "preact";
import type { Guide as Told } from "./api";
import { rebuild } from "./drawing";
import { isWithinMethod } from "./fields";
import { onSize } from "./parts";
import type { Request } from "./request";
import type { Service } from "./service";
import { unbroken, type Words } from "./words";

interface Props {
  request: Request;
  service: Service;
  words: Words;
  /** what stands between the drawing and the steps */
  children?: ComponentChildren;
}

interface State {
  /** whether the service has answered, or failed to */
  done: boolean;
  told?: Told;
  drawing?: VNode | null;
  labels?: "numbered" | "beside";
}

/** What a guide is asked by. */
export function guideQuery(request: Request): URLSearchParams {
  const query = new URLSearchParams();
  for (const name of ["units", "upper", "lower", "upper_measured_to", "lower_measured_to"]) {
    if (request.get(name)) query.set(name, request.get(name));
  }
  return query;
}

/** With less room than this, in pixels, a drawing has its words below it. */
const NARROW = 480;

export class Guide extends Component<Props, State> {
  state: State = { done: false };
  readonly #box = createRef<HTMLDivElement>();
  #fetching = new AbortController();
  /** The query that is shown, and how its drawing is labelled. */
  #asked = "";
  #labels?: State["labels"];
  #unwatch?: () => void;

  componentDidMount(): void {
    this.#unwatch = onSize(this.#box.current, () => void this.#follow());
  }

  componentDidUpdate(): void {
    void this.#follow();
  }

  componentWillUnmount(): void {
    this.#unwatch?.();
    this.#fetching.abort();
  }

  async #follow(): Promise<void> {
    const { request, service } = this.props;
    const query = guideQuery(request);
    const labels = (this.#box.current?.clientWidth ?? 0) < NARROW ? "numbered" : "beside";
    const asked = `${service.lang} ${query}`;
    if (asked === this.#asked && labels === this.#labels) return;
    // The steps stay while the same drawing comes in another form.
    if (asked !== this.#asked) this.setState({ done: false });
    this.#asked = asked;
    this.#labels = labels;
    this.#fetching.abort();
    this.#fetching = new AbortController();
    const { signal } = this.#fetching;
    const [told, drawing] = await Promise.allSettled([service.guide(query, signal), service.guideDrawing(query, labels, signal)]);
    if (signal.aborted) return;
    this.setState({
      done: true, labels, told: told.status === "fulfilled" ? told.value : undefined, drawing: drawing.status === "fulfilled" ? rebuilt(drawing.value) : null,
    });
  }

  render({ words, request, children }: Props, { done, told, drawing, labels }: State) {
    return (
      <>
        <div ref={this.#box}>{drawing && <figure class={`drawing ${labels}`}>{drawing}</figure>}</div>
        {children}
        <div class="guide">
          {!done && <p class="quiet">{words.t("loading")}</p>}
          {done && told && <Steps told={told} words={words} />}
          {done && !told && <p>{words.t(isWithinMethod(request) ? "measure_plainly" : "outcome_outside_method")}</p>}
        </div>
      </>
    );
  }
}

/** The drawing; none where the page's policy forbids parsing. */
function rebuilt(text: string): VNode | null {
  try {
    return rebuild(text);
  } catch {
    return null;
  }
}

function Steps({ told, words }: { told: Told; words: Words }) {
  const { now, later } = split(told.steps);
  const list = (steps: Told["steps"]) => <ol class="guide-steps" lang={told.language}>{steps.map((step) => <li>{unbroken(step.text)}</li>)}</ol>;
  return (
    <>
      {told.cautions.length > 0 && <ul class="warning" lang={told.language}>{told.cautions.map((note) => <li>{unbroken(note.text)}</li>)}</ul>}
      {told.outside_method && <p class="warning" lang={told.language}>{told.outside_method.text}</p>}
      {now.length > 0 && list(now)}
      {later.length > 0 && <details><summary>{words.t("guide_later")}</summary>{list(later)}</details>}
    </>
  );
}

/**
 * The steps until the readings are taken, and the others, which may be noted
 * meanwhile. Looking at the ends has been done, and is left out.
 */
function split(steps: Told["steps"]): { now: Told["steps"]; later: Told["steps"] } {
  const last = steps.findLastIndex((step) => step.fields.includes("readings"));
  if (last < 0) return { now: steps, later: [] };
  const isLooking = ({ fields }: Told["steps"][number]) => fields.length > 0 && fields.every((name) => name.endsWith(".style"));
  return { now: steps.slice(0, last + 1).filter((step) => !isLooking(step)), later: steps.slice(last + 1) };
}
