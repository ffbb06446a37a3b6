// Small components that have nothing to do with dampers.

import { Component, type ComponentChildren, h } from "preact";

interface Folding {
  summary: ComponentChildren;
  class?: string;
  open?: boolean;
  children: () => ComponentChildren;
}

/**
 * What opens. Its inside is drawn when it is first opened, for an answer that
 * changes with each key has no time for what nobody looks at.
 */
export class Folded extends Component<Folding, { opened: boolean }> {
  state = { opened: Boolean(this.props.open) };

  render({ summary, class: name, open, children }: Folding) {
    return (
      <details class={name} open={open} onToggle={(event) => event.currentTarget.open && this.setState({ opened: true })}>
        {summary}
        <div class="folded">{this.state.opened && children()}</div>
      </details>
    );
  }
}

interface Holding {
  /** what the children are made of */
  of: readonly unknown[];
  children: () => ComponentChildren;
}

/** Draws its children again only when one of the values that they are made of is another one. */
export class Kept extends Component<Holding> {
  shouldComponentUpdate(next: Holding): boolean {
    return next.of.some((value, at) => value !== this.props.of[at]);
  }

  render({ children }: Holding) {
    return children();
  }
}

/**
 * Makes a function that draws safe to call while it draws: it then draws once
 * more. An input that is taken away loses the focus, which may ask for that.
 */
export function drawing(draw: () => void): () => void {
  let [busy, again] = [false, false];
  return () => {
    again = true;
    if (busy) return;
    busy = true;
    try {
      while (again) {
        again = false;
        draw();
      }
    } finally {
      busy = false;
    }
  };
}

/** Text for those who hear the page. */
export function Unseen({ children }: { children: ComponentChildren }) {
  return <span class="unseen">{children}</span>;
}

let made = 0;

/** An id that nothing else on the page has. */
export function newId(kind: string): string {
  made += 1;
  return `midstroke-${kind}-${made}`;
}

/** Calls a handler for the first press of a double one. The second was meant for what stood there before. */
export function once(handle: () => void): (event: MouseEvent) => void {
  return (event) => {
    if (event.detail > 1) event.preventDefault();
    else handle();
  };
}

/** Calls when an element is given another size, and at once. The function that it gives ends that. */
export function onSize(element: Element | null, call: () => void): () => void {
  const observer = new ResizeObserver(call);
  if (element) observer.observe(element);
  return () => observer.disconnect();
}
