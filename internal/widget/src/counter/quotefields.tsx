// What the parts of a quote are typed into, and what is said of them.

import { h } from "preact";
import type { Outcome } from "./quotes";

interface Typed {
  name: string;
  label: string;
  value: string;
  hint?: string;
  most?: number;
  /** it takes a day */
  date?: boolean;
  onInput: (text: string) => void;
}

/** A field of a quote to type in. */
export function QuoteField({ name, label, value, hint, most, date, onInput }: Typed) {
  const id = `quote-${name}`;
  const rest = {
    id, value, maxLength: most, autocomplete: "off", "aria-describedby": hint ? `${id}-hint` : undefined,
    onInput: (event: { currentTarget: HTMLInputElement }) => onInput(event.currentTarget.value),
  };
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {date ? <input type="date" {...rest} /> : <input type="text" {...rest} />}
      {hint && <small id={`${id}-hint`} class="hint">{hint}</small>}
    </div>
  );
}

/** What became of something, read out. */
export function Result({ of }: { of?: Outcome }) {
  return (
    <div class={of?.bad ? "outcome bad" : "outcome"} role="status">
      {of && <p>{of.text}</p>}
      {of?.list && of.list.length > 0 && <ul class="notes">{of.list.map((line) => <li>{line}</li>)}</ul>}
    </div>
  );
}
