// What the parts of a quote are typed into, and what is said of them.

import { h } from "preact";
import type { Words } from "../words";
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
export function Result({ of, words }: { of?: Outcome; words: Words }) {
  const told = of?.told;
  return (
    <div class={of?.bad ? "outcome bad" : "outcome"} role="status">
      {of?.key && <p>{words.t(of.key, of.values)}</p>}
      {told && <p lang={told.lang}>{told.text}</p>}
      {told && told.details.length > 0 && <ul class="notes">{told.details.map(({ axle, text }) => <li>{axle && `${words.t(`counter_${axle}`)}: `}<span lang={told.lang}>{text}</span></li>)}</ul>}
    </div>
  );
}
