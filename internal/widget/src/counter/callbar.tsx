// The call line at the head of the page: what is typed fills the fields below.

import { Component, createRef, h } from "preact";
import type { Units } from "../api";
import { Folded } from "../parts";
import type { Words } from "../words";
import type { Line, Piece } from "./callline";
import { ENTRIES, type Entry } from "./callwords";

interface Props {
  words: Words;
  /** of the page, in which the example is */
  units: Units;
  /** reads a line, without filling anything */
  read: (text: string) => Line;
  /** whether it takes the keyboard when it is shown */
  first: boolean;
  /** fills the fields with what a line says */
  fill: (line: Line) => void;
}

/** Milliseconds after a key until the fields are filled, so that half a figure is seldom asked about. */
const DELAY = 200;

/** Milliseconds after a key until the last word counts as typed, and what isn't understood is read out. */
const PAUSE = 1000;

const GROUPS: readonly Entry["group"][] = ["axle", "end", "tape", "hardware", "readings", "travel", "rest"];

interface State {
  text: string;
  scrolled: number;
  announced: string;
  /** whether the last word is typed to its end, as far as one can tell */
  finished: boolean;
}

export class CallBar extends Component<Props, State> {
  state: State = { text: "", scrolled: 0, announced: "", finished: false };
  readonly #input = createRef<HTMLInputElement>();
  #filling?: number;
  #pause?: number;

  /** An empty page waits for the caller. On a phone the keyboard would cover it. */
  componentDidMount(): void {
    if (this.props.first && !matchMedia("(pointer: coarse)").matches) this.#input.current?.focus();
  }

  componentWillUnmount(): void {
    clearTimeout(this.#filling);
    clearTimeout(this.#pause);
  }

  render({ words, units, read }: Props, { text, scrolled, announced, finished }: State) {
    const unknown = this.#unknown(read(text).pieces, text, finished);
    return (
      <form class="call" onSubmit={(event) => {
        event.preventDefault();
        this.#finish();
        this.#fill();
      }}>
        <label for="call">{words.t("call")} <kbd>Alt 0</kbd></label>
        <div class="call-entry">
          <div class="mirror wide" aria-hidden="true"><span style={{ marginLeft: `${-scrolled}px` }}>{marked(text, unknown)}</span></div>
          <input
            id="call" ref={this.#input} type="text" value={text} maxLength={300} autocomplete="off" autocapitalize="off" autocorrect="off" spellcheck={false}
            placeholder={words.t(`call_example_${units}`)} aria-describedby="call-unknown" aria-invalid={unknown.length > 0 ? "true" : undefined}
            onInput={(event) => this.#typed(event.currentTarget.value)} onScroll={(event) => this.setState({ scrolled: event.currentTarget.scrollLeft })}
            onBlur={() => this.#finish()}
          />
        </div>
        <p id="call-unknown" class="fault">{unknown.length > 0 && this.#told(unknown, text)}</p>
        <p class="unseen" role="status">{announced}</p>
        <Folded class="call-help" summary={<summary>{words.t("call_help")}</summary>}>{() => <Grammar words={words} />}</Folded>
      </form>
    );
  }

  /** What isn't understood, but for a last word that is still being typed. */
  #unknown(pieces: readonly Piece[], text: string, finished: boolean): Piece[] {
    return pieces.filter(({ understood, to }) => !understood && (finished || to < text.length));
  }

  #told(unknown: readonly Piece[], text: string): string {
    return this.props.words.t("call_unknown", { what: unknown.map(({ from, to }) => text.slice(from, to)).join(", ") });
  }

  #typed(text: string): void {
    this.setState({ text, scrolled: this.#input.current?.scrollLeft ?? 0, finished: false });
    clearTimeout(this.#filling);
    this.#filling = setTimeout(() => this.#fill(), DELAY);
    clearTimeout(this.#pause);
    this.#pause = setTimeout(() => this.#finish(), PAUSE);
  }

  /** Marks and tells the last word, too, if it isn't understood. */
  #finish(): void {
    clearTimeout(this.#pause);
    const { text } = this.state;
    const unknown = this.#unknown(this.props.read(text).pieces, text, true);
    this.setState({ finished: true, announced: unknown.length > 0 ? this.#told(unknown, text) : "" });
  }

  #fill(): void {
    clearTimeout(this.#filling);
    this.props.fill(this.props.read(this.state.text));
  }
}

/** The text again, with some pieces of it marked, to be seen through the field. */
function marked(text: string, pieces: readonly Piece[]) {
  let done = 0;
  const parts = pieces.flatMap(({ from, to }) => {
    const before = text.slice(done, from);
    done = to;
    return [before, <u>{text.slice(from, to)}</u>];
  });
  return [...parts, text.slice(done)];
}

/** The grammar, by its own table of words. */
function Grammar({ words }: { words: Words }) {
  return (
    <div class="grammar">
      <ul class="notes">{(["order", "units", "bolt", "sides"] as const).map((rule) => <li key={rule}>{words.t(`call_rule_${rule}`)}</li>)}</ul>
      <dl>
        {GROUPS.map((group) => (
          <div key={group}>
            <dt>{words.t(`call_group_${group}`)}</dt>
            <dd>{ENTRIES.filter((entry) => entry.group === group).map(({ en, es }) => (
              <span class="said-as"><span lang="en">{en.join(" / ")}</span>{es.length > 0 && [" · ", <span lang="es">{es.join(" / ")}</span>]}</span>
            ))}</dd>
          </div>
        ))}
      </dl>
    </div>
  );
}
