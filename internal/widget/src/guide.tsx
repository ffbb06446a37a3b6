// How a pair of ends is measured, as the service tells and draws it.

import { Component, type ComponentChildren, createRef, Fragment, h, type VNode } from "preact";
import { ENDS, type Guide as Told } from "./api";
import { rebuild } from "./drawing";
import { faultTexts } from "./faults";
import { isRefused, isWithinMethod } from "./fields";
import { onSize } from "./parts";
import type { Request } from "./request";
import { Refused, type Service } from "./service";
import { capitalised, unbroken, type Words } from "./words";

interface Props {
  request: Request;
  service: Service;
  words: Words;
  /** whether it is for paper, which takes the drawing with its words beside it whatever the screen is, and all steps */
  onPaper?: boolean;
  /** what stands between the drawing and the steps */
  children?: ComponentChildren;
}

interface State {
  /** whether the service has answered, or failed to */
  done: boolean;
  told?: Told;
  /** why it told nothing */
  refused?: Refused;
  drawing?: VNode | null;
  /** the drawing for paper, where that on the screen is another */
  paper?: VNode | null;
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
    const { request, service, onPaper } = this.props;
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
    const [told, drawing, paper] = await Promise.allSettled([
      service.guide(query, signal), service.guideDrawing(query, labels, signal),
      onPaper && labels === "numbered" ? service.guideDrawing(query, "beside", signal) : null,
    ]);
    if (signal.aborted) return;
    this.setState({
      done: true, labels, told: told.status === "fulfilled" ? told.value : undefined,
      refused: told.status === "rejected" && told.reason instanceof Refused ? told.reason : undefined,
      drawing: drawing.status === "fulfilled" ? rebuilt(drawing.value) : null,
      paper: paper.status === "fulfilled" && paper.value ? rebuilt(paper.value) : null,
    });
  }

  render({ words, request, onPaper, children }: Props, { done, told, refused, drawing, paper, labels }: State) {
    return (
      <>
        <div ref={this.#box}>{drawing && <figure class={`drawing ${labels}${paper ? " on-screen" : ""}`}>{drawing}</figure>}{paper && <figure class="drawing beside on-paper">{paper}</figure>}</div>
        {children}
        <div class="guide">
          {!done && <p class="quiet">{words.t("loading")}</p>}
          {done && told && <Steps told={told} words={words} onPaper={onPaper} />}
          {done && !told && <Untold request={request} refused={refused} words={words} />}
        </div>
      </>
    );
  }
}

/** What stands in place of the steps: what is wrong with the request, or what goes without the service. */
function Untold({ request, refused, words }: { request: Request; refused?: Refused; words: Words }) {
  if (refused && refused.faults.length > 0) return <ul class="warning">{faultTexts(refused, words).map((text) => <li>{text}</li>)}</ul>;
  if (isWithinMethod(request)) return <p>{words.t("measure_plainly")}</p>;
  return <p>{ENDS.some((end) => isRefused(request, end)) ? words.t("outcome_outside_method") : refused?.message ?? words.t("unreachable")}</p>;
}

/** The drawing; none where the page's policy forbids parsing. */
function rebuilt(text: string): VNode | null {
  try {
    return rebuild(text);
  } catch {
    return null;
  }
}

function Steps({ told, words, onPaper }: { told: Told; words: Words; onPaper?: boolean }) {
  const { now, later } = split(told.steps);
  const list = (steps: Told["steps"]) => <ol class="guide-steps" lang={told.language}>{steps.map((step) => <li>{unbroken(step.text)}</li>)}</ol>;
  return (
    <>
      {told.cautions.length > 0 && <ul class="warning" lang={told.language}>{told.cautions.map((note) => <li>{unbroken(capitalised(note.text))}</li>)}</ul>}
      {told.outside_method && <p class="warning" lang={told.language}>{capitalised(told.outside_method.text)}</p>}
      {now.length > 0 && list(now)}
      {later.length > 0 && <details open={onPaper}><summary>{words.t("guide_later")}</summary>{list(later)}</details>}
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
