// A request as something to send to somebody.

import { Component, type ComponentChildren, createRef, Fragment, h } from "preact";
import { Folded } from "../parts";
import type { Request } from "../request";
import type { Service } from "../service";
import type { Words } from "../words";
import { GuideDrawing } from "./guidedrawing";

interface Props {
  request: Request;
  words: Words;
  service: Service;
  /** a link that opens the request on this page */
  link: () => string;
  /** what to tell the caller, line by line */
  message: () => string[];
}

/** The request as a message with the drawing of how to measure, as a link and as an address. */
export function Share({ request, words, service, link, message }: Props) {
  return (
    <Folded class="share" summary={<summary>{words.t("counter_share")}</summary>}>
      {() => (
        <>
          <Part label={words.t("counter_as_message")} name="message" text={message().join("\n")} words={words}>
            <GuideDrawing request={request} service={service} words={words} text={() => message().join("\n")} />
          </Part>
          <Part label={words.t("counter_as_link")} name="link" text={link()} words={words} />
          <Part label={words.t("counter_as_get")} name="get" text={`${location.origin}/v1/fits?${request.query(words.decimalComma)}`} words={words} />
        </>
      )}
    </Folded>
  );
}

interface PartProps {
  label: string;
  name: string;
  text: string;
  words: Words;
  children?: ComponentChildren;
}

class Part extends Component<PartProps, { copied: boolean }> {
  readonly #shown = createRef<HTMLPreElement>();

  render({ label, name, text, words, children }: PartProps, { copied }: { copied: boolean }) {
    return (
      <div class="share-part">
        <div class="share-head">
          <b>{label}</b><span role="status">{copied && words.t("counter_copied")}</span>
          <button type="button" class="plain small" aria-label={`${words.t("counter_copy")}: ${label}`} onClick={() => void this.#copy()}>{words.t("counter_copy")}</button>
        </div>
        <pre ref={this.#shown} class="code" tabindex={0} data-share={name} role="region" aria-label={label}>{text}</pre>
        {children}
      </div>
    );
  }

  async #copy(): Promise<void> {
    try {
      await navigator.clipboard.writeText(this.props.text);
      this.setState({ copied: true });
    } catch {
      // Not allowed here: the text is selected, for the reader to copy.
      if (this.#shown.current) getSelection()?.selectAllChildren(this.#shown.current);
    }
  }
}
