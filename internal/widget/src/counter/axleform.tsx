// The whole of a request for fits as fields in groups.

import { Component, type ComponentChildren, Fragment, h } from "preact";
import { type End, ENDS } from "../api";
import { ChecksField, FlagField, SelectField, TextField } from "../controls";
import { fieldOf, FIELDS, firstOf, IS_PLANAR, isAsked, isDirection, isRefused, optionsOf, planesOf, pointsOf } from "../fields";
import type { Form } from "../form";
import { RatioOfDistances } from "../ratio";
import type { Request } from "../request";

/** The sides, by their fields. */
const SIDES = ["readings_left", "readings_right"] as const;

/** Readings a side, and at most without sides. */
const READINGS_A_SIDE = 3;
const MOST_READINGS = 8;

/** How many characters a narrow field has room for, with the length in the other unit, and a narrower one above. */
const ROOM = 17;
const ROOM_ABOVE = 11;

interface Props {
  form: Form;
}

/** What is needed first. */
export function FirstFields({ form }: Props) {
  return (
    <div class="first">
      {ENDS.map((end) => <EndFields form={form} end={end} />)}
      <fieldset class="group readings">
        <legend>{form.words.t("group_readings")}</legend>
        <div class="cells"><Fields form={form} names={/^suspension$/} /><FirstReadings form={form} /></div>
      </fieldset>
    </div>
  );
}

/** The names of the fields that are needed first, but for the readings. */
function firstNames({ request }: Form): ReadonlySet<string> {
  return new Set(["suspension", ...ENDS.flatMap((end) => [end, `${end}_measured_to`, ...firstOf(request, end)])]);
}

/** An end: what it is, what the tape was held to, and the figures that matter most. */
function EndFields({ form, end }: Props & { end: End }) {
  const { request, words } = form;
  const style = request.get(end);
  const given = new RegExp(`^(${firstOf(request, end).join("|")})$`);
  return (
    <fieldset class={`group ${end}`}>
      <legend>{words.t(`group_${end}`)}</legend>
      <div class="cells">
        <SelectField form={form} name={end} empty={words.t("choose_one")} word={(option) => words.find(`alias_${option}`)} />
        {isRefused(request, end) && <p class="refused wide-cell" role="alert">{words.find(`refused_${style}`)}</p>}
        {style !== "eye" && <Plane form={form} end={end} />}
        <Fields form={form} names={given} room={ROOM_ABOVE} />
      </div>
    </fieldset>
  );
}

/** What the tape was held to. An eye's is nearly always the centre of its bolt. */
export function Plane({ form, end }: Props & { end: End }) {
  const [own, ...others] = planesOf(form.request, end);
  return own ? <SelectField form={form} name={`${end}_measured_to`} options={others} empty={form.words.option("measured_to", own)} /> : null;
}

/** One reading a side, or as many as are there of readings whose side wasn't told. */
export function FirstReadings({ form }: Props) {
  // One that is emptied to be typed anew doesn't give way to the sides.
  const held = document.activeElement?.id.startsWith(`${form.name}readings-`) ? 1 : 0;
  const unsided = Math.max(form.request.all("readings").length, held);
  if (unsided > 0) return <Readings form={form} name="readings" from={0} to={unsided} room={ROOM_ABOVE} />;
  return <>{SIDES.map((name) => <TextField key={name} form={form} name={name} at={0} room={ROOM_ABOVE} />)}</>;
}

function Readings({ form, name, from, to, room = ROOM }: Props & { name: string; from: number; to: number; room?: number }) {
  const label = (at: number) => `${form.words.label(name)} ${at + 1}`;
  return <>{Array.from({ length: to - from }, (_, at) => <TextField key={`${name}${from + at}`} form={form} name={name} at={from + at} label={label(from + at)} room={room} />)}</>;
}

/** The readings after the first ones. */
export function MoreReadings({ form }: Props) {
  const unsided = form.request.all("readings").length;
  if (unsided > 0) return <Readings form={form} name="readings" from={unsided} to={Math.min(MOST_READINGS, unsided + 1)} />;
  return <>{SIDES.map((name) => <Readings key={name} form={form} name={name} from={1} to={READINGS_A_SIDE} />)}</>;
}

/** All other fields in groups. It is open from the start only where something is said in it. */
export class More extends Component<Props> {
  readonly #open = FIELDS.some(({ name }) => name !== "units" && !name.startsWith("readings") && !firstNames(this.props.form).has(name) && this.props.form.request.get(name) !== "")
    || SIDES.some((name) => this.props.form.request.all(name).length > 1);

  render({ form }: Props) {
    const { request, words } = form;
    const first = firstNames(form);
    return (
      <details class="more" open={this.#open}>
        <summary>{words.t("counter_more")}</summary>
        <div class="groups">
          {ENDS.map((end) => <Group form={form} name={end}>
            {request.get(end) === "eye" && <Plane form={form} end={end} />}
            <Fields form={form} names={new RegExp(`^${end}_(?!measured_to)`)} without={first} />
          </Group>)}
          <Group form={form} name="readings">
            <MoreReadings form={form} />
            <Fields form={form} names={/^(reading_tolerance|tape|sideways_offset)$/} />
          </Group>
          <Group form={form} name="state">
            <Fields form={form} names={/^(condition|motion_ratio|planned_|ride_height_range|lean_deg)/} />
            <Fields form={form} names={/^old_damper_/} />
            {asksRatio(request) && <RatioOfDistances form={form} />}
          </Group>
          <Group form={form} name="travel">
            <SelectField form={form} name="travel" options={optionsOf("travel").slice(1)} empty={words.option("travel", "rule")} />
            <Fields form={form} names={/^travel_(?!linkage)/} />
            {request.get("travel") === "linkage" && <LinkageFields form={form} />}
          </Group>
          <Group form={form} name="corner"><Fields form={form} names={/^(corner|targets)_/} /></Group>
          <Group form={form} name="stops"><Fields form={form} names={/^(bump_stop|strap|droop_limit)_/} /></Group>
          <Group form={form} name="limits"><Fields form={form} names={/^limits_/} /></Group>
          <Group form={form} name="answer"><Fields form={form} names={/^(prefer_.*|top|near_misses|dampers|explain|codes|reference)$/} /></Group>
        </div>
      </details>
    );
  }
}

/** Whether a motion ratio is asked for. */
export function asksRatio(request: Request): boolean {
  const field = fieldOf("motion_ratio");
  return field !== undefined && isAsked(field, request);
}

interface Grouped extends Props {
  name: "upper" | "lower" | "readings" | "state" | "travel" | "corner" | "stops" | "limits" | "answer";
}

function Group({ form, name, children }: Grouped & { children?: ComponentChildren }) {
  return <fieldset class={`group ${name}`}><legend>{form.words.t(`group_${name}`)}</legend><div class="cells">{children}</div></fieldset>;
}

/** The fields of some names, each as its kind asks, as far as they have a meaning. */
export function Fields({ form, names, without, room = ROOM }: Props & { names: RegExp; without?: ReadonlySet<string>; room?: number }) {
  return FIELDS.filter((field) => names.test(field.name) && !without?.has(field.name) && isAsked(field, form.request)).map(({ name, kind, list }) => {
    switch (kind) {
      case "flag": return <FlagField key={name} form={form} name={name} />;
      case "choice": return list ? <ChecksField key={name} form={form} name={name} /> : <SelectField key={name} form={form} name={name} empty={form.words.t("not_said")} />;
      case "text": return list ? <TextFields key={name} form={form} name={name} /> : <TextField key={name} form={form} name={name} />;
      default: return <TextField key={name} form={form} name={name} room={room} placeholder={kind === "bolt" ? "M12" : undefined} />;
    }
  });
}

/** A link may name several texts, and all that is sent is shown. */
function TextFields({ form, name }: Props & { name: string }) {
  const n = Math.max(1, form.request.all(name).length);
  const label = (at: number) => form.words.label(name) + (at ? ` ${at + 1}` : "");
  return <>{Array.from({ length: n }, (_, at) => <TextField form={form} name={name} at={at} label={label(at)} />)}</>;
}

/** The kind of a linkage, and its points, a line each. */
export function LinkageFields({ form }: Props) {
  const { request, words } = form;
  const double = request.get("travel_linkage_kind") === "double_wishbone";
  const axes = double && request.get(IS_PLANAR) ? ["y", "z"] : ["x", "y", "z"];
  const points = pointsOf(request);
  return (
    <>
      <SelectField form={form} name="travel_linkage_kind" empty={words.t("choose_one")} />
      {double && <SelectField form={form} name={IS_PLANAR} options={["true"]} empty={words.option(IS_PLANAR, "false")} />}
      {double && <SelectField form={form} name="travel_linkage_damper_on" options={["upper_arm", "upright"]} empty={words.option("travel_linkage_damper_on", "lower_arm")} />}
      {points.length > 0 && (
        <table class="points">
          <thead><tr><th scope="col">{words.t("counter_point")}</th>{axes.map((axis) => <th scope="col">{axis} ({form.units})</th>)}</tr></thead>
          <tbody>
            {points.map((field) => <PointRow key={field.name} form={form} name={field.name} axes={isDirection(field) ? ["x", "y", "z"] : axes} />)}
          </tbody>
        </table>
      )}
      <p class="hint">{words.t("counter_axes_hint")}</p>
    </>
  );
}

function PointRow({ form, name, axes }: Props & { name: string; axes: string[] }) {
  const label = form.words.label(name);
  return (
    <tr>
      <th scope="row">{label}</th>
      {axes.map((axis, at) => <td><TextField form={form} name={name} label={`${label} ${axis}`} at={at} bare /></td>)}
    </tr>
  );
}
