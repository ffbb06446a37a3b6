// Small line drawings of the styles of an end, as it is mounted above.

import { h } from "preact";
import type { End, Style } from "../api";

/** What a line belongs to: the damper is drawn thick, the vehicle thin, and metal parts are filled. */
type Part = "damper" | "vehicle" | "metal";

/** The frame that an end hangs from, hatched as a cut face is. */
const FRAME = "M14 8H82M20 8l6-6M34 8l6-6M48 8l6-6M62 8l6-6M76 8l6-6";
const TUBE = "M38 84V50q0-4 4-4H54q4 0 4 4V84";

/** The lines of each style, the first at the back. */
const LINES: Record<Style, [Part, string][]> = {
  eye: [
    ["vehicle", FRAME], ["vehicle", "M32 8L36 32M64 8L60 32"],
    ["damper", "M48 18a13 13 0 1 1-.01 0Z"], ["metal", "M48 26a5 5 0 1 1-.01 0Z"], ["damper", "M44 44v6M52 44v6"],
    ["damper", "M36 84V54q0-4 4-4H56q4 0 4 4V84"],
  ],
  stud: [
    ["vehicle", "M10 26H34M62 26H86M10 32H34M62 32H86M16 32l6-6M26 32l6-6M64 32l6-6M76 32l6-6"],
    ["damper", "M45 48V4h6V48"], ["damper", "M45 8h6M45 12h6"], ["metal", "M41 14h14v5H41Z"],
    ["damper", "M34 19H62v3H34Z"], ["damper", "M36 22H60v4H36Z"], ["damper", "M36 32H60v6H36Z"], ["damper", "M34 38H62v3H34Z"], ["damper", TUBE],
  ],
  bar_pin: [
    ["vehicle", "M12 8H36M60 8H84M14 8l6-6M26 8l6-6M62 8l6-6M74 8l6-6"],
    ["damper", "M12 20H36M60 20H84M12 26H36M60 26H84M12 20v6M84 20v6"], ["damper", "M36 14H60V36H36Z"],
    ["metal", "M21 8V32M27 8V32M18 32H30M69 8V32M75 8V32M66 32H78"], ["damper", "M44 36v10M52 36v10"], ["damper", TUBE],
  ],
  fork: [
    ["vehicle", FRAME], ["vehicle", "M43 8V34q0 4 5 4t5-4V8"],
    ["damper", "M33 14h7V42H56V14h7V50H33Z"], ["metal", "M28 24H68M28 20v8M68 20v8"], ["damper", TUBE],
  ],
  spindle_strut: [
    ["damper", "M28 84V14q0-4 4-4H42q4 0 4 4V84"], ["damper", "M35 10V2M39 10V2"],
    ["metal", "M46 36H60V60H46M60 44H72V52H60"], ["vehicle", "M72 20h6q4 0 4 4V72q0 4-4 4H72Z"],
  ],
};

/**
 * The icon of a style. The lower end is the upper one upside down, except for a
 * strut, which has a wheel beside it either way.
 */
export function EndIcon({ style, end }: { style: Style; end: End }) {
  const turned = end === "lower" && style !== "spindle_strut" ? "matrix(1 0 0 -1 0 86)" : undefined;
  return (
    <svg class="end-icon" viewBox="0 0 96 86" aria-hidden="true">
      <g transform={turned}>{LINES[style].map(([part, d]) => <path class={part} d={d} />)}</g>
    </svg>
  );
}
