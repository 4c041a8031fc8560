/** Numbers and states in words. */

/** How the splice of a trim shows, or first of all that this is uncertain. */
export function shows(trim) {
  return trim.uncertain ? "Uncertain: look at it" : `Shows ${trim.shows}`;
}

/** Why a trim is flagged, as far as `shows` has not said it already. */
export function doubtsOf(trim) {
  const said = [shows(trim).toLowerCase(), "uncertain: look at it"];
  const doubts = (trim.doubts ?? []).filter((doubt) => !said.includes(doubt));
  return doubts.map((doubt) => doubt.replace(/^uncertain: /, ""));
}

/** The first words of a reason, before those with numbers. */
export function brief(reason) {
  return reason.split(/[;:] /)[0];
}

export const CAMERAS = {
  locked: "camera locked off",
  handheld: "camera hand-held",
  panning: "camera panning",
  zooming: "camera zooming",
};

/** 1.239 as 1.24×. */
function times(gain) {
  return `${gain.toFixed(2)}×`;
}

/** How much faster, in words. */
export function faster(gain) {
  if (gain < 0.995) return `${times(gain)}: slower`;
  return gain < 1.005 ? "no faster" : `${times(gain)} faster`;
}

export function counted(number, thing) {
  return number === 1 ? `1 ${thing}` : `${number} ${thing}s`;
}

export function frames(count) {
  return counted(count, "frame");
}

/** Section, take and angle, as far as known. */
export function place(hit) {
  const parts = [
    hit.section && `section ${hit.section}`,
    hit.take && `take ${hit.take}`,
    hit.angle && `angle ${hit.angle}`,
  ].filter(Boolean);
  const text = parts.join(", ");
  return text ? text[0].toUpperCase() + text.slice(1) : "Section not known";
}

/** When the receiver reacts. */
export function reaction(lag) {
  if (lag === null) return "no reaction seen";
  if (lag.frames === 0) return "reacts on contact";
  const side = lag.frames < 0 ? "before" : "after";
  return `reacts ${frames(Math.abs(lag.frames))} (${Math.abs(lag.ms)} ms) ${side} contact`;
}

/** Where a frame lies, counted from the contact. */
export function offset(frame, contact) {
  const away = frame - contact;
  if (away === 0) return "contact";
  return away < 0 ? `contact −${-away}` : `contact +${away}`;
}

/** Where so many frames lie, counted from the contact. */
export function span(first, count, contact) {
  const from = offset(first, contact);
  if (count === 1) return from;
  return `${from} to ${offset(first + count - 1, contact).replace("contact ", "")}`;
}

const ANSWERS = {
  declined: "As shot",
  later: "Later",
  "not-a-hit": "Not a hit",
  open: "Undecided",
  cleared: "Cleared",
};

/** What is decided; with the contact frame, also where. */
export function answerWords(decision, contact = null) {
  if (decision === null) return "Undecided";
  if (decision.answer === "approved") {
    const { first, count } = decision;
    const place = contact === null ? "" : `, ${span(first, count, contact)},`;
    return `Approved: ${frames(count)} out${place}`;
  }
  return ANSWERS[decision.answer];
}

/** Who decided, and when, in the reader's own time. */
export function signature(decision) {
  const who = decision.who || "somebody";
  return decision.when ? `${who}, ${moment(decision.when)}` : who;
}

/** A note, and first of all whose it is. */
export function noteWords(decision) {
  return decision?.note ? `${decision.note_who || "somebody"}: ${decision.note}` : "";
}

/** A UTC time as the reader's clock shows it. */
export function moment(when) {
  const date = new Date(when);
  if (Number.isNaN(date.getTime())) return when;
  return date.toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
}

/**
 * Why a moment must not play by itself, or nothing where it may.
 * @param {import("../data/source.js").Flashes} flashes
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
