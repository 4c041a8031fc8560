/** One hit in the overview: its contact in a disc, and what to know at a glance. */

import { smallRing, seenMark } from "./dial.js";
import { el, refill, setText } from "./dom.js";
import { takenTrim } from "./filters.js";
import { answerWords, faster, place, shows } from "./words.js";

/** A card for a hit; `update` draws it again when its decision has changed. */
export function makeCard(hit, source) {
  const ring = el("span", { class: "ring-place" });
  const gain = el("span", { class: "card-gain" });
  const seen = el("span", { class: "card-seen" });
  const state = el("span", { class: "card-state" });
  const node = el(
    "a",
    { class: "card", href: `#hit-${hit.id}`, id: `card-${hit.id}` },
    el("span", { class: "disc" }, thumbnail(hit, source), ring),
    el(
      "span",
      { class: "card-words" },
      el("span", { class: "card-name" }, `Hit ${hit.name}`),
      el("span", { class: "card-place" }, place(hit)),
      gain,
      seen,
      el("span", { class: "tags" }, ...tags(hit).map((tag) => el("span", { class: "tag" }, tag))),
      state,
    ),
  );
  function update({ decision, waiting }) {
    const trim = takenTrim(hit, decision);
    refill(ring, smallRing(hit.shown, hit.contact, decision?.answer === "declined" ? null : trim));
    refill(gain, ...gained(trim, decision));
    refill(seen, ...seenAs(trim));
    setText(state, answerWords(decision) + (waiting ? " …" : ""));
    state.dataset.answer = decision?.answer ?? "open";
    node.dataset.answer = state.dataset.answer;
  }
  return { node, update };
}

function thumbnail(hit, source) {
  const picture = el("img", {
    src: source.contact(hit.id),
    alt: "",
    loading: "lazy",
    decoding: "async",
    draggable: "false",
    css: { "--at": `${Math.round(disc(hit) * 100)}%` },
  });
  picture.addEventListener("error", () => picture.classList.add("missing"));
  return picture;
}

/** Where to put a square in the picture so that the contact is in its middle, 0 left to 1 right. */
function disc(hit) {
  const [width, height] = hit.shape;
  const side = Math.min(1, height / width);
  return side >= 1 ? 0.5 : Math.min(1, Math.max(0, (hit.centre[0] - side / 2) / (1 - side)));
}

function gained(trim, decision) {
  if (trim === null && decision?.answer === "approved") return ["These frames cannot go any more"];
  if (trim === null) return ["No trim proposed"];
  return [el("strong", {}, faster(trim.gain)), ` ${trim.count} out`];
}

function seenAs(trim) {
  return trim === null ? [] : [seenMark(trim.verdict), el("span", {}, shows(trim))];
}

/** What is unusual about a hit, in a word or two each. */
export function tags(hit) {
  const found = [];
  if (hit.late && hit.lag) found.push(`late by ${hit.lag.ms} ms`);
  if (hit.early && hit.lag) found.push(`moves ${-hit.lag.ms} ms early`);
  if (hit.weak) found.push("reads weak");
  if (hit.circled) found.push("circled take");
  if (hit.confidence < 0.5) found.push(`a hit? ${Math.round(hit.confidence * 100)} % sure`);
  return found;
}
