// A part of the page with its title.

import { type ComponentChildren, h } from "preact";

export function Section({ title, name, children }: { title: string; name: string; children: ComponentChildren }) {
  return <section aria-labelledby={`${name}-title`} data-part={name}><h2 id={`${name}-title`}>{title}</h2>{children}</section>;
}
