// What the widget asks, one thing at a time.

import { Component, type ComponentChildren, Fragment, type FunctionComponent, h } from "preact";
import { type End, ENDS } from "../api";
import { FlagField, RadioField, TextField } from "../controls";
import { bracketOf, fieldOf, isAsked, isRefused, isWithinMethod, planesOf, STYLES } from "../fields";
import type { Form } from "../form";
import { Guide } from "../guide";
import { Folded, once } from "../parts";
import type { Request } from "../request";
import type { Service } from "../service";
import { EndIcon } from "./icons";

export type StepName = "upper" | "lower" | "measure" | "readings" | "brackets" | "movement";

/** What a step needs to ask. */
interface Asking {
  form: Form;
  service: Service;
  /** goes on */
  next: () => void;
}

interface Step {
  name: StepName;
  /** the names of the fields that it asks for */
  fields: RegExp;
  Body: FunctionComponent<Asking>;
  /** picking an answer goes on, so that it needs no button for that */
  picks?: boolean;
}

/** The readings that there is room for at first, and at most, a side. */
const READINGS = 2;
const MOST_READINGS = 4;

/** What is asked only of those who want more. */
const MORE = ["limits_max_body_diameter", "planned_change", "limits_in_stock"];

export const STEPS: readonly Step[] = [
  { name: "upper", fields: /^upper$/, Body: (asking) => <Styles end="upper" {...asking} />, picks: true },
  { name: "lower", fields: /^lower$/, Body: (asking) => <Styles end="lower" {...asking} />, picks: true },
  { name: "measure", fields: /_measured_to$/, Body: Measure },
  {
    name: "readings",
    fields: /^(readings.*|condition.*|old_damper.*|motion_ratio.*|(upper|lower)_(bushing_thickness|washer_thickness|stud_length|bar_offset|plate))$/,
    Body: Readings,
  },
  { name: "brackets", fields: /^(upper|lower)_/, Body: Brackets },
  { name: "movement", fields: /./, Body: Movement },
];

/** The step in which a field is asked for, as things stand. */
export function stepOf(name: string, request: Request): Step | undefined {
  const elsewhere = name.startsWith("motion_ratio") && request.get("condition") !== "not_at_ride" ? "readings" : "";
  return STEPS.find((step) => step.name !== elsewhere && step.fields.test(name));
}

function Styles({ end, form, next }: Asking & { end: End }) {
  const { request, words } = form;
  return (
    <>
      <ul class="tiles">
        {STYLES.map((style) => (
          <li key={style}>
            <button type="button" class="tile" part="tile" data-style={style} aria-pressed={request.get(end) === style ? "true" : "false"} onClick={once(() => {
              form.set(end, style);
              if (!isRefused(request, end)) next();
            })}>
              <EndIcon style={style} end={end} />
              <span><b>{words.find(`alias_${style}`)}</b><small>{words.t(`style_${style}_about`)}</small></span>
            </button>
          </li>
        ))}
      </ul>
      {isRefused(request, end) && <p class="warning refused" role="alert">{words.find(`refused_${request.get(end)}`)}</p>}
    </>
  );
}

function Measure({ form, service }: Asking) {
  const { request, words } = form;
  const ends = ENDS.filter((end) => planesOf(request, end).length > 1);
  for (const end of ends) {
    const planes: readonly string[] = planesOf(request, end);
    if (!planes.includes(request.get(`${end}_measured_to`))) request.set(`${end}_measured_to`, planes[0]);
  }
  return (
    <Guide request={request} words={words} service={service}>
      {isWithinMethod(request) && (
        <div class="pair">{ends.map((end) => <RadioField form={form} name={`${end}_measured_to`} label={words.t(`tape_at_${end}`)} options={planesOf(request, end)} />)}</div>
      )}
    </Guide>
  );
}

function Readings({ form }: Asking) {
  const { request, words } = form;
  return (
    <>
      <p class="hint">{words.t("readings_hint")}</p>
      <div class="pair"><Side form={form} name="readings_left" /><Side form={form} name="readings_right" /></div>
      {ENDS.map((end) => <PlaneFigures form={form} end={end} />)}
      <RadioField form={form} name="condition" />
      {request.get("condition") === "not_at_ride" && (
        <div class="only">
          <p class="hint">{words.t("gaps_hint")}</p>
          <div class="pair"><TextField form={form} name="condition_arch_gap" required /><TextField form={form} name="condition_arch_gap_at_ride" required /></div>
          <MotionRatio form={form} />
        </div>
      )}
      <FlagField form={form} name="old_damper_at_stop" />
      <FlagField form={form} name="old_damper_carries_load" />
    </>
  );
}

function MotionRatio({ form }: { form: Form }) {
  return <TextField form={form} name="motion_ratio" hint={form.words.t("motion_ratio_hint")} required />;
}

interface SideProps {
  form: Form;
  name: "readings_left" | "readings_right";
}

/** The readings of one side. */
class Side extends Component<SideProps, { room: number }> {
  state = { room: Math.min(MOST_READINGS, Math.max(READINGS, this.props.form.request.all(this.props.name).length)) };

  render({ form, name }: SideProps, { room }: { room: number }) {
    const { request, words } = form;
    // One reading is enough, whichever it is.
    const needed = name === "readings_left" && !["readings_left", "readings_right"].some((side) => request.some(side).length > 0);
    const another = (event: MouseEvent) => {
      const side = (event.currentTarget as Element).closest("fieldset");
      this.setState({ room: room + 1 }, () => side?.querySelector<HTMLElement>(`[data-key="${name}/${room}"]`)?.focus());
    };
    return (
      <fieldset class="side">
        <legend>{words.label(name)}</legend>
        {Array.from({ length: room }, (_, at) => (
          <TextField
            key={at} form={form} name={name} at={at} label={words.t("reading_n", { n: at + 1 })}
            placeholder={at === 0 ? words.t(`reading_like_${form.units}`) : undefined} required={at === 0 && needed}
          />
        ))}
        {room < MOST_READINGS && <button type="button" class="plain" data-go="another" onClick={another}>{words.t("another_reading")}</button>}
      </fieldset>
    );
  }
}

/** What the service assumes for a bushing and its washer together. */
const ASSUMED_STACK = { in: 0.5, mm: 12.7 };

/** The figures that correct a reading for the plane that it was taken to. */
function PlaneFigures({ form, end }: { form: Form; end: End }) {
  const { request, words } = form;
  const ask = (name: string, required?: boolean, hint?: string) => <TextField form={form} name={`${end}_${name}`} required={required} hint={hint} />;
  const stack = () => [ask("bushing_thickness", false, words.t("stack_hint", { assumed: words.length(ASSUMED_STACK[form.units], form.units) })), ask("washer_thickness")];
  const bolt = () => [ask("bolt", true, words.t("bolt_hint"))];
  const figures: Record<string, () => ComponentChildren[]> = {
    frame_face: stack,
    frame_far_face: () => [...stack(), ask("plate", true)],
    stud_tip: () => [ask("stud_length", true, words.t("stud_length_hint"))],
    seat_face: () => [ask("bar_offset", true, words.t("bar_offset_hint"))],
    near_edge: bolt,
    far_edge: bolt,
  };
  const asked = figures[request.get(`${end}_measured_to`)]?.();
  return asked && <fieldset class="side"><legend>{words.t(`${end}_end`)}</legend><div class="pair">{asked}</div></fieldset>;
}

function Brackets({ form }: Asking) {
  const { request, words } = form;
  return (
    <>
      <p class="hint">{words.t("brackets_hint")}</p>
      <div class="pair">
        {ENDS.map((end) => {
          const asked = bracketOf(request, end).map((name) => `${end}_${name}`).filter((name) => isAsked(fieldOf(name)!, request));
          return (
            <fieldset class="side">
              <legend>{words.t(`${end}_end`)}: {words.option("style", request.get(end))}</legend>
              {asked.map((name) => <TextField form={form} name={name} hint={name === `${end}_bolt` ? words.t("bolt_hint") : undefined} />)}
            </fieldset>
          );
        })}
      </div>
    </>
  );
}

function Movement({ form }: Asking) {
  const { request, words } = form;
  const basis = request.get("travel") || "rule";
  const pair = (...names: string[]) => <div class="pair">{names.map((name) => <TextField form={form} name={`travel_${name}`} required />)}</div>;
  // A vehicle that wasn't at ride height has been asked for it.
  const ratio = request.get("condition") !== "not_at_ride" && <MotionRatio form={form} />;
  const pairs: Record<string, () => ComponentChildren> = {
    measured: () => pair("at_bump", "at_droop"),
    wheel: () => [pair("bump", "droop"), ratio],
    stated: () => pair("compression", "extension"),
  };
  const asked = pairs[basis]?.();
  return (
    <>
      <RadioField form={form} name="suspension" label={words.t("suspension")} about={(kind) => words.find(`suspension_${kind}_about`)} required />
      <RadioField
        form={form} name="travel" label={words.t("travel")} options={["rule", "measured", "wheel", "stated"]}
        word={(name) => words.find(`basis_${name}`)} about={(name) => words.find(`basis_${name}_about`)}
      />
      {asked && <div class="only">{asked}</div>}
      <Folded open={MORE.some((name) => request.get(name) !== "")} summary={<summary>{words.t("more")}</summary>}>
        {() => (
          <>
            <TextField form={form} name="limits_max_body_diameter" />
            <TextField form={form} name="planned_change" hint={words.t("planned_change_hint")} />
            {request.get("planned_change").trim() !== "" && basis !== "wheel" && ratio && <div class="only">{ratio}</div>}
            <FlagField form={form} name="limits_in_stock" />
          </>
        )}
      </Folded>
    </>
  );
}
