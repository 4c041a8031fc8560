/** Which hits are shown, and in which order. */

export const FILTERS = {
  undecided: { label: "Undecided", takes: (hit, decision) => isOpen(decision) },
  flagged: { label: "Flagged", takes: (hit, decision) => hit.flagged && decision?.answer !== "declined" },
  weak: { label: "Weak", takes: (hit) => hit.weak },
  late: { label: "Late reaction", takes: (hit) => hit.late },
};

export const ORDERS = {
  fight: { label: "Order of the fight", key: () => 0 },
  gain: { label: "Most gained first", key: (hit) => -(hit.proposed?.gain ?? 0) },
  shows: { label: "Most visible first", key: (hit) => -(hit.proposed?.visibility ?? Infinity) },
  speed: { label: "Weakest first", key: (hit) => hit.speed },
  lag: { label: "Latest reaction first", key: (hit) => -(hit.lag?.ms ?? -Infinity) },
  sure: { label: "Least sure first", key: (hit) => hit.confidence },
};

/** Whether nobody has approved or declined. */
export function isOpen(decision) {
  return decision === null || decision.answer === "later";
}

/** The sections of the fight, in natural order; empty for clips of which it is not known. */
export function sections(hits) {
  const names = [...new Set(hits.map((hit) => hit.section))];
  return names.sort((one, other) => one.localeCompare(other, "en", { numeric: true }));
}

/**
 * The hits to show.
 * @param {object[]} hits in the order of the fight
 * @param {{on: string[], section: string|null, order: string}} wanted
 * @param {(hit: object) => object|null} decisionOf
 */
export function chosenHits(hits, wanted, decisionOf) {
  const taken = hits.filter(
    (hit) =>
      (wanted.section === null || hit.section === wanted.section) &&
      wanted.on.every((name) => FILTERS[name].takes(hit, decisionOf(hit))),
  );
  const { key } = ORDERS[wanted.order];
  const keyed = taken.map((hit, index) => ({ hit, index, key: key(hit) }));
  keyed.sort((one, other) => one.key - other.key || one.index - other.index);
  return keyed.map(({ hit }) => hit);
}
