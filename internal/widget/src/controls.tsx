// The controls of a form, each with its label and with what is wrong beside it.

import { type ComponentChildren, h } from "preact";
import { fieldOf, hasFigures, optionsOf } from "./fields";
import type { Form } from "./form";

interface Asked {
  form: Form;
  /** of the field */
  name: string;
  /** instead of the field's own */
  label?: string;
  required?: boolean;
}

/** What is wrong with a field, beside it. */
export function Fault({ id, text }: { id: string; text: string }) {
  return <p id={id} class="fault" part="fault" aria-live="polite">{text}</p>;
}

interface Typed extends Asked {
  /** its place in a list */
  at?: number;
  hint?: string;
  placeholder?: string;
  /** its label is read out and not seen, and it isn't repeated in the other unit */
  bare?: boolean;
  /** how many characters there is room for, with the length in the other unit */
  room?: number;
}

/** A field to type in. A length in inches has a keypad of fractions on a phone, whose own keypad has no slash. */
export function TextField({ form, name, at, label = form.words.label(name), hint, required, placeholder, bare, room = 34 }: Typed) {
  const key = at === undefined ? name : `${name}/${at}`;
  const id = `${form.name}${key.replace("/", "-")}`;
  const fault = form.fault(key, required);
  const value = form.value(key);
  const echo = form.echo(key);
  const fractions = fieldOf(name)?.kind === "length" && form.units === "in" && isTouched();
  return (
    <div class="field">
      <label for={id} class={bare ? "unseen" : undefined}>{label}</label>
      {hint && <p id={`${id}-hint`} class="hint">{hint}</p>}
      <div class="entry">
        <input
          id={id} part="input" type="text" data-key={key} data-required={required || undefined} value={value} placeholder={placeholder} maxLength={200}
          autocomplete="off" autocapitalize="off" autocorrect="off" spellcheck={false} enterkeyhint="next" inputMode={keypadOf(name)}
          aria-invalid={fault ? "true" : undefined} aria-required={required ? "true" : undefined}
          aria-describedby={hint ? `${id}-hint ${id}-fault` : `${id}-fault`}
          onInput={(event) => form.set(key, event.currentTarget.value)} onFocus={() => fractions && form.hold(key)} onBlur={() => form.leave(key)}
        />
        {!bare && <span class="echo">{value.length + echo.length <= room && echo}</span>}
      </div>
      <Fault id={`${id}-fault`} text={fault} />
      {fractions && form.held === key && <Fractions label={form.words.t("fractions")} onPick={(fraction) => form.set(key, withFraction(value, fraction))} />}
    </div>
  );
}

function isTouched(): boolean {
  return matchMedia("(pointer: coarse)").matches;
}

/** The keys that a phone shows for a field. */
function keypadOf(name: string): "decimal" | "numeric" | "text" {
  const field = fieldOf(name);
  if (field?.kind === "whole") return "numeric";
  // Not every decimal keypad has a minus, and a bolt and a unit have letters.
  return field && hasFigures(field) && field.kind !== "bolt" && field.kind !== "measure" && field.sign !== "any" ? "decimal" : "text";
}

/** Sixteenths of an inch in lowest terms. */
const SIXTEENTHS = ["1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16"];

/** The text with a fraction in place of the one that it has. */
function withFraction(text: string, fraction: string): string {
  const whole = /^\s*(\d+)(?![\d/])/.exec(text)?.[1] ?? "";
  return `${whole} ${fraction}`.trim();
}

function Fractions({ label, onPick }: { label: string; onPick: (fraction: string) => void }) {
  return (
    // A press must not take the keyboard from the field.
    <div class="fractions" role="group" aria-label={label} onPointerDown={(event) => event.preventDefault()} onMouseDown={(event) => event.preventDefault()}>
      {SIXTEENTHS.map((fraction) => <button type="button" class="plain" tabIndex={-1} data-fraction={fraction} onClick={() => onPick(fraction)}>{fraction}</button>)}
    </div>
  );
}

interface Chosen extends Asked {
  /** instead of the field's own */
  options?: readonly string[];
  word?: (option: string) => string;
}

/** A list that opens to choose from. Where empty is given, its words stand for no choice. */
export function SelectField({ form, name, label = form.words.label(name), options = optionsOf(name), word, empty }: Chosen & { empty?: string }) {
  const id = `${form.name}${name}`;
  const fault = form.fault(name);
  const value = form.value(name);
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <select
        id={id} part="input" data-key={name} value={options.includes(value) || empty === undefined ? value || options[0] : ""} aria-describedby={`${id}-fault`} aria-invalid={fault ? "true" : undefined}
        onChange={(event) => form.set(name, event.currentTarget.value)}
      >
        {empty !== undefined && <option value="">{empty}</option>}
        {options.map((option) => <option key={option} value={option}>{word ? word(option) : form.words.option(name, option)}</option>)}
      </select>
      <Fault id={`${id}-fault`} text={fault} />
    </div>
  );
}

/** A choice with all its options in sight. The first one is preset unless an answer is required. */
export function RadioField({ form, name, label = form.words.label(name), options = optionsOf(name), word, about, required }: Chosen & { about?: (option: string) => string }) {
  const id = `${form.name}${name}`;
  const fault = form.fault(name, required);
  const given = form.value(name) || (required ? "" : options[0]);
  return (
    <fieldset class="field radios" aria-describedby={`${id}-fault`}>
      <legend>{label}</legend>
      {options.map((option, at) => (
        <label key={option} class="option">
          <input
            type="radio" name={id} value={option} data-key={name} data-required={required || undefined} checked={option === given}
            aria-invalid={fault && at === 0 ? "true" : undefined} onChange={() => form.set(name, option)}
          />
          <span>{word ? word(option) : form.words.option(name, option)}{about && <small>{about(option)}</small>}</span>
        </label>
      ))}
      <Fault id={`${id}-fault`} text={fault} />
    </fieldset>
  );
}

/** A yes, or nothing. */
export function FlagField({ form, name, label = form.words.label(name) }: Asked) {
  const id = `${form.name}${name}`;
  const fault = form.fault(name);
  return (
    <div class="field">
      <Tick form={form} name={name} describedBy={`${id}-fault`} checked={form.value(name) === "true"} onChange={(on) => form.set(name, on ? "true" : "")}>{label}</Tick>
      <Fault id={`${id}-fault`} text={fault} />
    </div>
  );
}

/** Any of some options. */
export function ChecksField({ form, name, label = form.words.label(name) }: Asked) {
  const id = `${form.name}${name}`;
  const options = optionsOf(name);
  const on = new Set(form.request.all(name));
  const toggle = (option: string) => (wanted: boolean) => form.setAll(name, options.filter((one) => one === option ? wanted : on.has(one)));
  return (
    <fieldset class="field checks">
      <legend>{label}</legend>
      {options.map((option) => (
        <Tick key={option} form={form} name={name} value={option} checked={on.has(option)} onChange={toggle(option)}>{form.words.option(name, option)}</Tick>
      ))}
      <Fault id={`${id}-fault`} text={form.fault(name)} />
    </fieldset>
  );
}

interface Ticked {
  form: Form;
  name: string;
  checked: boolean;
  onChange: (on: boolean) => void;
  value?: string;
  describedBy?: string;
  children?: ComponentChildren;
}

function Tick({ form, name, checked, onChange, value, describedBy, children }: Ticked) {
  return (
    <label class="option">
      <input
        type="checkbox" data-key={name} value={value} checked={checked} aria-describedby={describedBy} aria-invalid={form.fault(name) ? "true" : undefined}
        onChange={(event) => onChange(event.currentTarget.checked)}
      />
      <span>{children}</span>
    </label>
  );
}
