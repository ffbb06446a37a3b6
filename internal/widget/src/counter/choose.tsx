// The button that chooses a fit for a quote.

import { Component, h } from "preact";
import type { Fit } from "../api";
import { once } from "../parts";
import type { Axle } from "./axle";

interface Props {
  axle: Axle;
  fit: Fit;
  /** of the page's settings, so that it is drawn again when the choice changes */
  chosen: boolean;
  /** the keys that lead to it, to be shown */
  shortcut?: string;
}

/** Chooses a fit, or takes the choice back. A marginal one is only chosen after a warning. */
export class ChooseButton extends Component<Props, { warned: string }> {
  state = { warned: "" };

  render({ axle, fit, chosen, shortcut }: Props, { warned }: { warned: string }) {
    const { words } = axle.page;
    const { code } = fit.damper;
    const again = !chosen && fit.grade === "marginal" && warned === code;
    const press = once(() => {
      if (chosen) axle.choose("");
      else if (fit.grade !== "marginal" || again) axle.choose(code);
      this.setState({ warned: chosen || again ? "" : code });
    });
    return (
      <span class="choose">
        <button type="button" class={chosen ? "main small" : "plain small"} data-go="choose" aria-pressed={chosen ? "true" : "false"} aria-label={words.t(chosen ? "chosen_code" : again ? "choose_code_anyway" : "choose_code", { code })} onClick={press}>
          {words.t(chosen ? "chosen_here" : again ? "choose_anyway" : "choose")}
        </button>
        {shortcut && <kbd>{shortcut}</kbd>}
        {again && <span class="warning" role="alert">{words.t("marginal_warning")}</span>}
      </span>
    );
  }
}
