// The shop's key: with it the page answers from the shop's own catalogue, tells its
// stock, and keeps quotes.

import { Component, h } from "preact";
import { Folded } from "../parts";
import { Refused, Service } from "../service";
import type { Words } from "../words";

/** Who holds the key. */
export interface KeyHolder {
  readonly hasKey: boolean;
  /** @param remember on this computer, and not only in this tab; "" forgets the key */
  changeKey(key: string, remember: boolean): void;
}

interface Props {
  keys: KeyHolder;
  words: Words;
}

interface State {
  text: string;
  remember: boolean;
  fault: string;
}

/** What a header can hold (RFC 9110, without blanks). */
const SENDABLE = /^[\x21-\x7e]+$/;

export class KeyField extends Component<Props, State> {
  state: State = { text: "", remember: false, fault: "" };

  render({ keys, words }: Props, { text, remember, fault }: State) {
    if (keys.hasKey) {
      return <button type="button" class="plain small" data-go="forget_key" onClick={() => keys.changeKey("", false)}>{words.t("key_forget")}</button>;
    }
    return (
      <Folded class="key" summary={<summary data-go="enter_key">{words.t("key_enter")}</summary>}>
        {() => (
          <form noValidate onSubmit={(event) => {
            event.preventDefault();
            void this.#take();
          }}>
            <div class="field">
              <label for="shop-key">{words.t("key_label")}</label>
              <small id="shop-key-hint" class="hint">{words.t("key_hint")}</small>
              <input
                id="shop-key" type="password" value={text} maxLength={200} autocomplete="off" aria-describedby="shop-key-hint shop-key-fault" aria-invalid={fault ? "true" : undefined}
                onInput={(event) => this.setState({ text: event.currentTarget.value, fault: "" })}
              />
              <p id="shop-key-fault" class="fault" role="status">{fault}</p>
            </div>
            <label class="option"><input type="checkbox" checked={remember} onChange={(event) => this.setState({ remember: event.currentTarget.checked })} /> <span>{words.t("key_remember")}</span></label>
            <button type="submit" class="main" data-go="use_key">{words.t("key_use")}</button>
          </form>
        )}
      </Folded>
    );
  }

  /** Takes the key, if the service does. */
  async #take(): Promise<void> {
    const { keys, words } = this.props;
    const { remember } = this.state;
    const text = this.state.text.trim();
    try {
      if (!SENDABLE.test(text)) throw new Refused(401, { detail: words.t("key_spelling") }, 0);
      await new Service(location.origin, text, words.lang).ask("/v1/catalogs?limit=1", {});
      keys.changeKey(text, remember);
    } catch (error) {
      this.setState({ fault: error instanceof Refused ? error.message : words.t("unreachable") });
    }
  }
}
