// The pictures of a fit's damping beside what is wanted.

import { Component, type ComponentChildren, h } from "preact";
import { rebuild } from "./drawing";
import type { Service } from "./service";
import type { Words } from "./words";

export const PICTURES = ["forces", "response", "frequencies"] as const;

export type Picture = typeof PICTURES[number];

interface Props {
  /** the request in flat names */
  query: URLSearchParams;
  rank: number;
  service: Service;
  words: Words;
}

export class DampingPictures extends Component<Props, { inside: ComponentChildren }> {
  #fetching = new AbortController();
  /** What is drawn. */
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

  render({ words }: Props, { inside }: { inside: ComponentChildren }) {
    return <figure class="drawing damping" aria-label={words.t("damping_pictures")}>{inside}</figure>;
  }

  async #follow(): Promise<void> {
    const { query, rank, service, words } = this.props;
    const asked = `${rank} ${query}`;
    if (asked === this.#drawn) return;
    this.#drawn = asked;
    this.#fetching.abort();
    this.#fetching = new AbortController();
    const { signal } = this.#fetching;
    try {
      const drawings = await Promise.all(PICTURES.map((picture) => service.dampingPicture(query, picture, rank, signal)));
      if (signal.aborted) return;
      // On a narrow screen each keeps a size to be read at, and is scrolled.
      this.setState({ inside: drawings.map((drawing, at) => <div class="wide" key={PICTURES[at]} tabindex={0} role="group" aria-label={words.t(`damping_${PICTURES[at]}`)}>{rebuild(drawing)}</div>) });
    } catch {
      if (signal.aborted) return;
      this.#drawn = "";
      this.setState({ inside: <figcaption>{words.t("damping_no_pictures")}</figcaption> });
    }
  }
}
