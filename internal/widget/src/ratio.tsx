// A motion ratio worked out of two distances: how far the wheel was moved, and by how
// much that made the damper shorter.

import { Component, h } from "preact";
import type { Form } from "./form";
import { checkLength } from "./length";

type Distances = Record<"wheel" | "damper", string>;

/** To how many decimals the ratio is written. */
const DECIMALS = 4;

export class RatioOfDistances extends Component<{ form: Form }, Distances> {
  state: Distances = { wheel: "", damper: "" };

  #set(which: keyof Distances, text: string): void {
    const { form } = this.props;
    const distances = { ...this.state, [which]: text };
    this.setState(distances);
    const mm = (distance: string) => checkLength(distance, { units: form.units, decimalComma: form.words.decimalComma }).mm ?? 0;
    const [wheel, damper] = [mm(distances.wheel), mm(distances.damper)];
    if (wheel > 0 && damper > 0) form.set("motion_ratio", String(Number((damper / wheel).toFixed(DECIMALS))));
  }

  render({ form }: { form: Form }, state: Distances) {
    return (
      <fieldset class="field ratio">
        <legend>{form.words.t("ratio_legend")}</legend>
        {(["wheel", "damper"] as const).map((which) => {
          const id = `${form.name}ratio-${which}`;
          return (
            <div class="field">
              <label for={id}>{form.words.t(`ratio_${which}`)} ({form.units})</label>
              <input id={id} part="input" type="text" inputMode="decimal" autocomplete="off" maxLength={64} value={state[which]} onInput={(event) => this.#set(which, event.currentTarget.value)} />
            </div>
          );
        })}
      </fieldset>
    );
  }
}
