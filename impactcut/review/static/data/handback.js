/** Answers as a small file, for the project they belong to. */

import { asGiven } from "./answers.js";

const SCHEMA = 1;
const KIND = "impactcut answers";

/** The text of the file (read by impactcut/workflow/hits/answers_file.py). */
export function answersText(review, book, taps) {
  const answers = book.pending().map(asGiven);
  const { project, made } = review;
  return `${JSON.stringify({ schema: SCHEMA, kind: KIND, project, made, answers, taps }, null, 1)}\n`;
}

/** A file name that says whose answers these are. */
export function answersName(review, who) {
  const plain = (text) => text.replace(/[^\p{L}\p{N}-]+/gu, "-").replace(/^-+|-+$/g, "");
  return ["answers", plain(review.project), plain(who)].filter(Boolean).join("_") + ".json";
}

/** Saves the file where the browser saves files. */
export function saveFile(name, text) {
  const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  window.setTimeout(() => URL.revokeObjectURL(address), 60000);
}
