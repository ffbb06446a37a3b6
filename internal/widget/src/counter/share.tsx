// A request as something to paste elsewhere.

import { Component, Fragment, h } from "preact";
import { Folded } from "../parts";
import type { Request } from "../request";
import type { Words } from "../words";

interface Props {
  request: Request;
  words: Words;
  /** a link that opens the request on this page */
  link: () => string;
  /** what to tell the caller, line by line */
  message: () => string[];
}

/** The request as a message, as a link, as a command and as an address. */
export function Share({ request, words, link, message }: Props) {
  return (
    <Folded class="share" summary={<summary>{words.t("counter_share")}</summary>}>
      {() => (
        <>
          <Part label={words.t("counter_as_message")} name="message" text={[...message(), words.t("message_open", { link: link() })].join("\n")} words={words} />
          <Part label={words.t("counter_as_link")} name="link" text={link()} words={words} />
          <Part label={words.t("counter_as_post")} name="curl" text={curl(JSON.stringify(request.body(words.decimalComma), null, 2))} words={words} />
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
}

class Part extends Component<PartProps, { copied: boolean }> {
  render({ label, name, text, words }: PartProps, { copied }: { copied: boolean }) {
    return (
      <div class="share-part">
        <div class="share-head">
          <b>{label}</b><span role="status">{copied && words.t("counter_copied")}</span>
          <button type="button" class="plain small" aria-label={`${words.t("counter_copy")}: ${label}`} onClick={() => void this.#copy()}>{words.t("counter_copy")}</button>
        </div>
        <pre class="code" tabindex={0} data-share={name} role="region" aria-label={label}>{text}</pre>
      </div>
    );
  }

  async #copy(): Promise<void> {
    try {
      await navigator.clipboard.writeText(this.props.text);
      this.setState({ copied: true });
    } catch {
      // Not allowed here: the text is selected, for the reader to copy.
      const shown = document.querySelector(`[data-share=${this.props.name}]`);
      if (shown) getSelection()?.selectAllChildren(shown);
    }
  }
}

/** A command for a shell (POSIX) that sends a body. */
function curl(body: string): string {
  return `curl '${location.origin}/v1/fits' -H 'Content-Type: application/json' -d '${body.replaceAll("'", "'\\''")}'`;
}
