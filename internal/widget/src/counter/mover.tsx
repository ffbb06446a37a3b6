// What moves an axle's drawing: a slider, a button, and once by itself.

import { Component, createRef, h } from "preact";
import type { Units } from "../api";
import { down, type Words } from "../words";
import { LASTS, type Motion, type Movement, type Position, positionAt } from "./motion";

/** Steps of the slider from ride height to either end. */
const STEPS = 100;

/** The positions of a movement by itself, close enough to run straight between them. */
const POSITIONS = Array.from({ length: 91 }, (_, step) => positionAt(step / 90));

interface Props {
  motion: Motion;
  units: Units;
  words: Words;
  /** called with each position, as often as the screen is painted */
  show: (position: Position) => void;
  /** called when it begins to move by itself, and with null when that ends */
  play: (movement: Movement | null) => void;
  /** whether it moves by itself when it first comes */
  once: boolean;
  /** counts what is typed, which ends the movement: an answer comes first */
  typed: number;
}

export class Mover extends Component<Props> {
  readonly #slider = createRef<HTMLInputElement>();
  readonly #compression = createRef<HTMLElement>();
  readonly #extension = createRef<HTMLElement>();
  #frame = 0;
  #position: Position = 0;

  componentDidMount(): void {
    if (this.props.once && !matchMedia("(prefers-reduced-motion: reduce)").matches) this.#play();
    else this.#move(this.#position);
  }

  componentDidUpdate({ typed }: Props): void {
    if (typed !== this.props.typed && this.#frame) {
      this.#move(0);
      this.#stop();
    }
    this.#move(this.#position);
  }

  componentWillUnmount(): void {
    this.#stop();
  }

  #stop(): void {
    if (!this.#frame) return;
    cancelAnimationFrame(this.#frame);
    this.#frame = 0;
    this.props.play(null);
  }

  /** Moves through the whole travel, and ends at ride height. */
  #play(): void {
    this.#stop();
    this.#frame = requestAnimationFrame((start) => {
      this.props.play({ positions: POSITIONS, start, lasts: LASTS });
      const step = (now: number) => {
        const time = (now - start) / LASTS;
        if (time >= 1) {
          this.#move(0);
          this.#stop();
          return;
        }
        this.#frame = requestAnimationFrame(step);
        this.#move(positionAt(time));
      };
      step(start);
    });
  }

  #move(position: Position): void {
    this.#position = position;
    const slider = this.#slider.current;
    if (slider && this.#frame) slider.value = String(Math.round(position * STEPS));
    this.#tell(this.#compression.current, "compression");
    this.#tell(this.#extension.current, "extension");
    this.props.show(position);
  }

  #tell(at: HTMLElement | null, way: "compression" | "extension"): void {
    const text = this.#left(way);
    if (!at?.firstChild || at.firstChild.nodeValue === text) return;
    at.firstChild.nodeValue = text;
    at.dataset.short = String(this.props.motion.leftAt(this.#position)[way] < 0);
  }

  #left(way: "compression" | "extension"): string {
    const { motion, units, words } = this.props;
    return words.length(motion.leftAt(this.#position)[way], units, down);
  }

  /** What a slider's position means, for those who hear it. */
  #inWords(): string {
    const { motion, units, words } = this.props;
    const limit = motion.limitAt(this.#position);
    const { shorter, longer } = motion.sidesAt(this.#position);
    const length = words.t("living_length", { length: words.range(shorter, longer, units) });
    return limit ? `${words.t(`living_${limit}`)}, ${length}` : length;
  }

  render({ words }: Props) {
    return (
      <div class="mover">
        <button type="button" class="plain small" data-go="move" onClick={() => this.#play()}>{words.t("living_move")}</button>
        <label class="travel-slider">
          <span class="unseen">{words.t("living_slider")}</span>
          <input
            ref={this.#slider} type="range" min={-STEPS} max={STEPS} step={1} defaultValue="0" data-slider="travel" aria-valuetext={this.#inWords()}
            onInput={(event) => {
              this.#stop();
              this.#move(Number(event.currentTarget.value) / STEPS);
              event.currentTarget.setAttribute("aria-valuetext", this.#inWords());
            }}
          />
          <span class="stations" aria-hidden="true"><i>{words.t("living_droop")}</i><i>{words.t("living_ride")}</i><i>{words.t("living_bump")}</i></span>
        </label>
        <dl class="left-over">
          <div><dt>{words.t("living_left_compression")}</dt><dd ref={this.#compression}>{this.#left("compression")}</dd></div>
          <div><dt>{words.t("living_left_extension")}</dt><dd ref={this.#extension}>{this.#left("extension")}</dd></div>
        </dl>
      </div>
    );
  }
}
