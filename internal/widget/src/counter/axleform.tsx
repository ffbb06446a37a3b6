// The whole of a request for fits as fields in groups.

import { Component, type ComponentChildren, Fragment, h } from "preact";
import { type End, ENDS } from "../api";
import { ChecksField, FlagField, SelectField, TextField } from "../controls";
import { FIELDS, IS_PLANAR, isAsked, optionsOf, planesOf, pointsOf } from "../fields";
import type { Form } from "../form";
import type { Service } from "../service";
import { LinkageDrawing } from "./linkage";

/** Readings a side. */
const READINGS_A_SIDE = 3;

/** Characters of a length that a narrow field shows beside the other unit. */
const ROOM = 7;

interface Props {
  form: Form;
}

export function AxleForm({ form, service }: Props & { service: Service }) {
  const { request, words } = form;
  const readings = (name: string, n: number) => Array.from({ length: n }, (_, at) =>
    <TextField key={`${name}${at}`} form={form} name={name} at={at} label={`${words.label(name)} ${at + 1}`} room={ROOM} />);
  return (
    <>
      {ENDS.map((end) => <Group form={form} name={end}><EndFields form={form} end={end} /></Group>)}
      <Group form={form} name="readings">
        {readings("readings", request.all("readings").length)}
        {readings("readings_left", READINGS_A_SIDE)}
        {readings("readings_right", READINGS_A_SIDE)}
        <Fields form={form} names={/^(reading_tolerance|tape|sideways_offset)$/} />
      </Group>
      <Group form={form} name="state">
        <Fields form={form} names={/^(condition|motion_ratio|planned_change|ride_height_range|lean_deg)/} />
        <Fields form={form} names={/^old_damper_/} />
      </Group>
      <Group form={form} name="travel">
        <Fields form={form} names={/^suspension$/} />
        <SelectField form={form} name="travel" options={optionsOf("travel").slice(1)} empty={words.option("travel", "rule")} />
        <Fields form={form} names={/^travel_(?!linkage)/} />
        {request.get("travel") === "linkage" && <><LinkageFields form={form} /><LinkageDrawing request={request} service={service} words={words} /></>}
      </Group>
      <FoldedGroup form={form} name="stops" names={/^(bump_stop|strap)_/} />
      <FoldedGroup form={form} name="limits" names={/^limits_/} />
      <FoldedGroup form={form} name="answer" names={/^(prefer_.*|top|near_misses|dampers|explain|codes|reference)$/} />
    </>
  );
}

interface Grouped extends Props {
  name: "upper" | "lower" | "readings" | "state" | "travel" | "stops" | "limits" | "answer";
}

function Group({ form, name, children }: Grouped & { children?: ComponentChildren }) {
  return <fieldset class={`group ${name}`}><legend>{form.words.t(`group_${name}`)}</legend><div class="cells">{children}</div></fieldset>;
}

/** A group that is open from the start only where something is said in it. */
class FoldedGroup extends Component<Grouped & { names: RegExp }> {
  readonly #open = FIELDS.some(({ name }) => this.props.names.test(name) && this.props.form.request.get(name) !== "");

  render({ form, name, names }: Grouped & { names: RegExp }) {
    return (
      <details class="group" open={this.#open}>
        <summary>{form.words.t(`group_${name}`)}</summary>
        <div class="cells"><Fields form={form} names={names} /></div>
      </details>
    );
  }
}

/** The fields of some names, each as its kind asks, as far as they have a meaning. */
function Fields({ form, names }: Props & { names: RegExp }) {
  return FIELDS.filter((field) => names.test(field.name) && isAsked(field, form.request)).map(({ name, kind, list }) => {
    switch (kind) {
      case "flag": return <FlagField key={name} form={form} name={name} />;
      case "choice": return list ? <ChecksField key={name} form={form} name={name} /> : <SelectField key={name} form={form} name={name} empty={form.words.t("not_said")} />;
      case "text": return list ? <TextFields key={name} form={form} name={name} /> : <TextField key={name} form={form} name={name} />;
      default: return <TextField key={name} form={form} name={name} room={ROOM} placeholder={kind === "bolt" ? "M12" : undefined} />;
    }
  });
}

/** A link may name several texts, and all that is sent is shown. */
function TextFields({ form, name }: Props & { name: string }) {
  const n = Math.max(1, form.request.all(name).length);
  const label = (at: number) => form.words.label(name) + (at ? ` ${at + 1}` : "");
  return <>{Array.from({ length: n }, (_, at) => <TextField form={form} name={name} at={at} label={label(at)} />)}</>;
}

function EndFields({ form, end }: Props & { end: End }) {
  const { request, words } = form;
  const planes = planesOf(request, end);
  return (
    <>
      <SelectField form={form} name={end} empty={words.t("choose_one")} />
      {planes.length > 0 && (
        <SelectField form={form} name={`${end}_measured_to`} options={planes.slice(1)} empty={words.option("measured_to", planes[0])} />
      )}
      <Fields form={form} names={new RegExp(`^${end}_(?!measured_to)`)} />
    </>
  );
}

/** The kind of a linkage, and its points, a line each. */
function LinkageFields({ form }: Props) {
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
            {points.map(({ name }) => <PointRow key={name} form={form} name={name} axes={axes} />)}
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
