// The pictures of a fit's damping beside what is wanted.

import { Component, type ComponentChildren, createRef, h } from "preact";
import { rebuild } from "./drawing";
import { onSize } from "./parts";
import type { Service } from "./service";
import type { Words } from "./words";

export const PICTURES = ["forces", "response", "frequencies"] as const;

export type Picture = typeof PICTURES[number];

/** What is wide enough for a wide picture, in pixels. */
const WIDE = 520;

interface Props {
  /** the request in flat names */
  query: URLSearchParams;
  rank: number;
  service: Service;
  words: Words;
  /** whether they are narrow even where there is room, to stand side by side */
  narrow?: boolean;
}

export class DampingPictures extends Component<Props, { inside: ComponentChildren }> {
  readonly #figure = createRef<HTMLElement>();
  #fetching = new AbortController();
  /** What is drawn. */
  #drawn = "";
  #unwatch?: () => void;

  componentDidMount(): void {
    this.#unwatch = onSize(this.#figure.current, () => void this.#follow());
  }

  componentDidUpdate(): void {
    void this.#follow();
  }

  componentWillUnmount(): void {
    this.#unwatch?.();
    this.#fetching.abort();
  }

  render({ words }: Props, { inside }: { inside: ComponentChildren }) {
    return <figure class="drawing damping" ref={this.#figure} aria-label={words.t("damping_pictures")}>{inside}</figure>;
  }

  async #follow(): Promise<void> {
    const { query, rank, service, words, narrow } = this.props;
    const room = this.#figure.current?.clientWidth ?? 0;
    // Folded away, they keep their form.
    if (room === 0 && this.#drawn) return;
    const width = !narrow && room >= WIDE ? "wide" : "narrow";
    const asked = `${rank} ${width} ${query}`;
    if (asked === this.#drawn) return;
    this.#drawn = asked;
    this.#fetching.abort();
    this.#fetching = new AbortController();
    const { signal } = this.#fetching;
    try {
      const drawings = await Promise.all(PICTURES.map((picture) => service.dampingPicture(query, picture, width, rank, signal)));
      if (signal.aborted) return;
      this.setState({ inside: drawings.map((drawing, at) => <div key={PICTURES[at]} role="group" aria-label={words.t(`damping_${PICTURES[at]}`)}>{rebuild(drawing)}</div>) });
    } catch {
      if (signal.aborted) return;
      this.#drawn = "";
      this.setState({ inside: <figcaption>{words.t("damping_no_pictures")}</figcaption> });
    }
  }
}
