// The drawing of a linkage's travel, which follows the points as they are typed.

import { Component, type ComponentChildren, h } from "preact";
import { rebuild } from "../drawing";
import { isDirection, pointsOf } from "../fields";
import type { Request } from "../request";
import { Refused, type Service } from "../service";
import type { Words } from "../words";

interface Props {
  request: Request;
  service: Service;
  words: Words;
}

export class LinkageDrawing extends Component<Props, { inside: ComponentChildren }> {
  #fetching = new AbortController();
  /** The body of the request that is drawn. */
  #drawn = "";

  componentDidMount(): void {
    void this.#follow();
  }

  componentDidUpdate(): void {
    void this.#follow();
  }

  componentWillUnmount(): void {
    this.#fetching.abort();
  }

  render(_: Props, { inside }: { inside: ComponentChildren }) {
    return <figure class="drawing">{inside}</figure>;
  }

  async #follow(): Promise<void> {
    const { request, service, words } = this.props;
    const { units, travel } = request.body(words.decimalComma);
    const body = isWhole(request) ? { units, linkage: travel.linkage, range: travel.range } : null;
    const asked = JSON.stringify(body);
    if (asked === this.#drawn) return;
    this.#drawn = asked;
    this.#fetching.abort();
    this.#fetching = new AbortController();
    const { signal } = this.#fetching;
    try {
      const drawing = body && rebuild(await service.travelDrawing(body, signal));
      if (signal.aborted) return;
      // On a narrow screen it keeps a size to be read at, and is scrolled.
      this.setState({ inside: drawing && <div class="wide" tabindex={0} role="group" aria-label={words.t("counter_drawing")}>{drawing}</div> });
    } catch (error) {
      if (signal.aborted) return;
      // A service that can't be reached is asked again with the next change.
      if (!(error instanceof Refused)) this.#drawn = "";
      this.setState({ inside: <Failed error={error} words={words} /> });
    }
  }
}

function Failed({ error, words }: { error: unknown; words: Words }) {
  if (!(error instanceof Refused)) return <figcaption>{words.t("unreachable")}</figcaption>;
  const faults = error.faults.map(({ pointer, detail }) => <li>{pointer}: {detail}</li>);
  return <figcaption>{words.t("counter_no_drawing")}<ul>{faults}</ul></figcaption>;
}

/** Whether all points and both ends of the wheel's travel are there. */
function isWhole(request: Request): boolean {
  const points = pointsOf(request).filter((field) => !isDirection(field));
  return request.get("travel") === "linkage" && points.length > 0
    && points.every(({ name }) => request.some(name).length >= 2)
    && request.get("travel_range_bump") !== "" && request.get("travel_range_droop") !== "";
}
