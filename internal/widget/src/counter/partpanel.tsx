// The fields of one part of an axle, beside its drawing.

import { Component, createRef, h } from "preact";
import { SelectField } from "../controls";
import { isRefused, optionsOf } from "../fields";
import { FigureDrawing } from "../figuredrawing";
import { RatioOfDistances } from "../ratio";
import type { Axle } from "./axle";
import { asksRatio, Fields, FirstReadings, LinkageFields, MoreReadings, Plane } from "./axleform";
import { endOf, namesOf, type Part } from "./vehicleparts";

interface Props {
  axle: Axle;
  part: Part;
}

export class PartPanel extends Component<Props, { field: string }> {
  state = { field: "" };
  readonly #head = createRef<HTMLLegendElement>();

  componentDidMount(): void {
    this.#head.current?.focus();
  }

  componentDidUpdate({ part }: Props): void {
    if (part !== this.props.part) this.#head.current?.focus();
  }

  render({ axle, part }: Props, { field }: { field: string }) {
    const { page: { words, service }, request } = axle;
    return (
      <fieldset
        class="group part-panel" data-part-panel={part}
        onFocusIn={(event) => {
          const control = event.target instanceof HTMLElement ? event.target.closest<HTMLElement>("[data-key]") : null;
          if (control) this.setState({ field: control.dataset.key?.split("/")[0] ?? "" });
        }}
        onKeyDown={(event) => {
          if (event.key !== "Escape") return;
          axle.openPart(null);
          document.querySelector<SVGElement>(`#${axle.name}-form [data-part="${part}"]`)?.focus();
        }}
      >
        <legend ref={this.#head} tabindex={-1}>{words.t(`part_${part}`)}</legend>
        <div class="cells"><PartFields axle={axle} part={part} /></div>
        <FigureDrawing request={request} service={service} name={field} />
        <button type="button" class="plain small" data-go="all_fields" onClick={() => axle.openPart(null)}>{words.t("part_all")}</button>
      </fieldset>
    );
  }
}

function PartFields({ axle: { form, request, page: { words } }, part }: Props) {
  const end = endOf(part);
  const rest = <Fields form={form} names={namesOf(part)} />;
  if (end && part.endsWith("end")) {
    return [
      <SelectField form={form} name={end} empty={words.t("choose_one")} word={(option) => words.find(`alias_${option}`)} />,
      isRefused(request, end) && <p class="refused wide-cell" role="alert">{words.find(`refused_${request.get(end)}`)}</p>,
      <Plane form={form} end={end} />, rest,
    ];
  }
  if (end) return request.get(end) ? rest : <p class="hint wide-cell">{words.t("part_style_first")}</p>;
  if (part === "tape") return [<FirstReadings form={form} />, <MoreReadings form={form} />, rest];
  if (part === "stops") {
    return [
      <SelectField form={form} name="travel" options={optionsOf("travel").slice(1)} empty={words.option("travel", "rule")} />,
      rest, request.get("travel") === "linkage" && <LinkageFields form={form} />,
    ];
  }
  return [rest, part === "wheel" && asksRatio(request) && <RatioOfDistances form={form} />];
}
