// Near misses by what would make them fit.

import { type NearMiss, type Remedy, WAYS } from "./api";

/** The kinds of remedies in the order in which they are shown; none for what no single change helps. */
const KINDS = [
  "move_mounts_apart", "move_mounts_together", "raise_body", "lower_body", "less_travel", "add_adapter", "add_sleeve", "open_bracket", "none",
] as const;

export interface RemedyGroup {
  kind: (typeof KINDS)[number];
  /** the one of the least amount first */
  misses: { miss: NearMiss; remedy?: Remedy }[];
}

/** The near misses in groups, each in that of every remedy that helps it by itself. */
export function byRemedy(misses: readonly NearMiss[]): RemedyGroup[] {
  return KINDS.map((kind) => ({
    kind,
    misses: misses.flatMap((miss) => {
      const remedy = miss.remedies.find((one) => one.kind === kind);
      return remedy || kind === "none" && miss.remedies.length === 0 ? [{ miss, remedy }] : [];
    }).sort((a, b) => (a.remedy?.by ?? 0) - (b.remedy?.by ?? 0)),
  })).filter((group) => group.misses.length > 0);
}

/** Whether a near miss has the lengths that are wanted and only can't be bolted up. */
export function lacksHardware({ short_by: short }: NearMiss): boolean {
  return WAYS.every((way) => short[way] <= 0);
}
