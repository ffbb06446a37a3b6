// The drawing of how a figure is measured.

import { Component, h, type VNode } from "preact";
import { rebuild } from "./drawing";
import { isWithinMethod } from "./fields";
import type { Request } from "./request";
import type { Service } from "./service";

interface Props {
  request: Request;
  service: Service;
  /** the flat name of the field; "" for none */
  name: string;
}

interface State {
  drawing: VNode | null;
}

/** The parameters of a guide that a request has. */
const OF_GUIDE = ["units", "upper", "lower", "upper_measured_to", "lower_measured_to"];

export class FigureDrawing extends Component<Props, State> {
  state: State = { drawing: null };
  #fetching = new AbortController();
  /** The figure and the pair of ends that are shown. */
  #asked = "";

  componentDidMount(): void {
    void this.#follow();
  }

  componentDidUpdate(): void {
    void this.#follow();
  }

  componentWillUnmount(): void {
    this.#fetching.abort();
  }

  async #follow(): Promise<void> {
    const { request, service, name } = this.props;
    const query = new URLSearchParams(OF_GUIDE.filter((one) => request.get(one)).map((one) => [one, request.get(one)]));
    const asked = name && isWithinMethod(request) ? `${query}&${name}&${service.lang}` : "";
    if (asked === this.#asked) return;
    this.#asked = asked;
    this.#fetching.abort();
    this.#fetching = new AbortController();
    const { signal } = this.#fetching;
    const drawing = asked ? await drawingOf(service, query, name, signal) : null;
    if (!signal.aborted) this.setState({ drawing });
  }

  render(_: Props, { drawing }: State) {
    return drawing && <figure class="figure-drawing">{drawing}</figure>;
  }
}

/** The drawing; null for a figure without one, and where it can't be had. */
async function drawingOf(service: Service, query: URLSearchParams, name: string, signal: AbortSignal): Promise<VNode | null> {
  try {
    const { figures } = await service.guide(query, signal);
    return figures.includes(name) ? rebuild(await service.figureDrawing(query, name, signal)) : null;
  } catch {
    return null;
  }
}
