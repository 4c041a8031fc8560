/**
 * Flashes of a moment, as they were measured from its pictures before anything plays: opposing
 * changes of light, and to and from a saturated red, in its worst second as it plays over and over.
 * @typedef {{general: number, red: number, tooMany: boolean}} Flashes
 */

/**
 * Why a moment must not play by itself, or nothing where it may.
 * @param {Flashes} flashes
 */
export function flashWords({ general, red, tooMany }) {
  if (!tooMany) return "";
  const often = Math.ceil(Math.max(general, red) / 2);
  return (
    `It flashes ${often} times a second${red > general ? " in red" : ""}, more than the 3 of WCAG ` +
    "2.3.1, and does not play by itself: flashes can harm people who are sensitive to them. This is " +
    "a first screen, not a compliance test; ask those who are qualified, and follow local rules."
  );
}
