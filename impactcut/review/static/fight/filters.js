/** Which hits are shown, and in which order. */

export const FILTERS = {
  undecided: { label: "Undecided", takes: (hit, decision) => isOpen(decision) },
  flagged: { label: "Flagged", takes: isFlagged },
  weak: { label: "Weak", takes: (hit) => hit.weak },
  late: { label: "Late reaction", takes: (hit) => hit.late },
  early: { label: "Early reaction", takes: (hit) => hit.early, rare: true },
  circled: { label: "Circled takes", takes: (hit) => hit.circled, rare: true },
  noted: { label: "With a note", takes: (_hit, decision) => Boolean(decision?.note), rare: true },
  denied: { label: "Not a hit", takes: (_hit, decision) => !isHit(decision), rare: true },
};

export const ORDERS = {
  fight: { label: "Order of the fight", key: () => 0 },
  gain: { label: "Most gained first", key: (hit, decision) => -(takenTrim(hit, decision)?.gain ?? 0) },
  shows: { label: "Most visible first", key: (hit, decision) => -(takenTrim(hit, decision)?.visibility ?? Infinity) },
  speed: { label: "Weakest first", key: (hit) => hit.speed },
  lag: { label: "Latest reaction first", key: (hit) => -(hit.lag?.ms ?? -Infinity) },
  sure: { label: "Least sure first", key: (hit) => hit.confidence },
};

/** Whether it is still to be said what becomes of the hit. */
export function isOpen(decision) {
  return decision === null || decision.answer === "later" || decision.answer === "open";
}

/** Whether the find counts as a hit, as far as anybody has said. */
export function isHit(decision) {
  return decision?.answer !== "not-a-hit";
}

/** The approved trim, or the one proposed where none is approved; null where there is none. */
export function takenTrim(hit, decision) {
  if (decision?.answer !== "approved") return hit.proposed;
  return trimOf(hit, decision);
}

/** Whether an approved trim is among those that are known of a hit, or all are known. */
export function knowsTrim(hit, decision) {
  return decision?.answer !== "approved" || Boolean(hit.trims) || trimOf(hit, decision) !== null;
}

/** Of the trims proposed and approved when the page was opened, or of all once they were needed. */
function trimOf(hit, { first, count }) {
  const known = hit.trims ?? [hit.proposed, hit.approved];
  return known.find((trim) => trim?.first === first && trim.count === count) ?? null;
}

/** Whether there is no trim to make, or the one to make is doubtful. */
function isFlagged(hit, decision) {
  if (decision?.answer === "declined") return false;
  const trim = takenTrim(hit, decision);
  return trim === null || trim.flagged;
}

/** What one can choose by, and what its names are called. */
export const PLACES = {
  section: { label: "Section", all: "All sections", unknown: "Section not known" },
  take: { label: "Take", all: "All takes", unknown: "Take not known" },
  angle: { label: "Angle", all: "All angles", unknown: "Angle not known" },
};

/** The filters that can leave something, by name: a rare one only where some hit meets it. */
export function usefulFilters(hits, decisionOf) {
  const names = Object.keys(FILTERS);
  return names.filter((name) => !FILTERS[name].rare || hits.some((hit) => isShown(hit, [name], decisionOf(hit))));
}

/** Whether a find meets all of the filters; what is no hit is shown where it is asked for, alone. */
function isShown(hit, on, decision) {
  if (isHit(decision) === on.includes("denied")) return false;
  return on.every((name) => FILTERS[name].takes(hit, decision));
}

/** The sections, takes or angles of the fight, in natural order; empty where it is not known. */
export function placeNames(hits, kind) {
  const names = [...new Set(hits.map((hit) => hit[kind]))];
  return names.sort((one, other) => one.localeCompare(other, "en", { numeric: true }));
}

/**
 * The hits to show.
 * @param {import("../data/source.js").Hit[]} hits in the order of the fight
 * @param {{on: string[], section: string|null, take: string|null, angle: string|null, order: string}} wanted
 * @param {(hit: import("../data/source.js").Hit) => import("../data/source.js").Decision | null} decisionOf
 */
export function chosenHits(hits, wanted, decisionOf) {
  const taken = hits.filter(
    (hit) =>
      isShown(hit, wanted.on, decisionOf(hit)) &&
      Object.keys(PLACES).every((kind) => wanted[kind] === null || hit[kind] === wanted[kind]),
  );
  const { key } = ORDERS[wanted.order];
  const keyed = taken.map((hit, index) => ({ hit, index, key: key(hit, decisionOf(hit)) }));
  keyed.sort((one, other) => one.key - other.key || one.index - other.index);
  return keyed.map(({ hit }) => hit);
}
