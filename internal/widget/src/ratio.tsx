// A motion ratio worked out of two distances: how far the wheel was moved, and by how
// much that made the damper shorter.

import { Component, h } from "preact";
import type { Form } from "./form";
import { Fault } from "./controls";
import { type Checked, checkLength } from "./length";
import { capitalised } from "./words";

type Distances = Record<"wheel" | "damper", string>;

interface State extends Distances {
  /** the one that is being typed in, where half a figure is no fault */
  held?: keyof Distances;
}

/** To how many decimals the ratio is written. */
const DECIMALS = 4;

export class RatioOfDistances extends Component<{ form: Form }, State> {
  state: State = { wheel: "", damper: "" };

  #set(which: keyof Distances, text: string): void {
    const { form } = this.props;
    const distances = { ...this.state, [which]: text };
    this.setState({ ...distances, held: which });
    const [wheel, damper] = [this.#check(distances.wheel).mm ?? 0, this.#check(distances.damper).mm ?? 0];
    if (wheel > 0 && damper > 0) form.set("motion_ratio", String(Number((damper / wheel).toFixed(DECIMALS))));
  }

  #check(distance: string): Checked {
    const { units, words } = this.props.form;
    return checkLength(distance, { units, decimalComma: words.decimalComma });
  }

  /** What is to be shown beside a distance, "" for nothing. */
  #fault(which: keyof Distances): string {
    const text = this.state[which];
    const { fault, unfinished } = text.trim() === "" ? {} as Checked : this.#check(text);
    return fault === undefined || (unfinished && this.state.held === which) ? "" : capitalised(this.props.form.words.fault(fault));
  }

  render({ form }: { form: Form }, state: State) {
    return (
      <fieldset class="field ratio">
        <legend>{form.words.t("ratio_legend")}</legend>
        {(["wheel", "damper"] as const).map((which) => {
          const id = `${form.name}ratio-${which}`;
          const fault = this.#fault(which);
          return (
            <div class="field">
              <label for={id}>{form.words.t(`ratio_${which}`)} ({form.units})</label>
              <input
                id={id} part="input" type="text" inputMode="decimal" autocomplete="off" maxLength={64} value={state[which]} aria-describedby={`${id}-fault`} aria-invalid={fault ? "true" : undefined}
                onInput={(event) => this.#set(which, event.currentTarget.value)} onBlur={() => this.setState({ held: undefined })}
              />
              <Fault id={`${id}-fault`} text={fault} />
            </div>
          );
        })}
      </fieldset>
    );
  }
}
