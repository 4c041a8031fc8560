/** One hit in the overview: its splice strip, and what to know at a glance. */

import { el, refill, setText } from "../base/dom.js";
import { answerWords, doubtsOf, faster, shows } from "../base/words.js";
import { Strip } from "../hit/strip.js";
import { knowsTrim, takenTrim } from "./filters.js";

/** The cards of hits, each made once, which follow what is decided. */
export class Cards {
  constructor(book, source) {
    this.book = book;
    this.source = source;
    this.made = new Map();
    book.listen((id) => this.follow(id));
    this.follow(null);
  }

  /** The card of a hit. */
  of(id) {
    if (!this.made.has(id)) {
      this.made.set(id, makeCard(this.book.hit(id), this.source));
      this.draw(id);
    }
    return this.made.get(id).node;
  }

  draw(id) {
    this.made.get(id)?.update(this.book.stateOf(id));
  }

  /** Shows what is decided about a hit now, or about all for null. */
  follow(id) {
    for (const hit of id === null ? this.book.hits.values() : [this.book.hits.get(id)]) {
      if (hit && knowsTrim(hit, this.book.decisionOf(hit.id))) this.draw(hit.id);
      else if (hit) this.learn(hit);
    }
  }

  /** Fetches what a trim is worth that somebody approved and that was not proposed. */
  async learn(hit) {
    try {
      const { trims } = await this.source.detail(hit.id);
      hit.trims = trims.filter(({ vetoes }) => vetoes.length === 0);
    } catch {
      // The card says that these frames cannot go.
    }
    this.draw(hit.id);
  }
}

/** A card for a hit; `update` draws it again when its decision has changed. */
function makeCard(hit, source) {
  const strip = new Strip(hit, source.strip(hit.id), true);
  const seen = el("strong", { class: "card-seen" });
  const gain = el("span", { class: "card-gain" });
  const marks = el("span", { class: "tags" });
  const state = el("span", { class: "card-state" });
  const node = el(
    "a",
    { class: "card", href: `#hit-${hit.id}`, id: `card-${hit.id}` },
    strip.node,
    el(
      "span",
      { class: "card-words" },
      el("span", { class: "card-name" }, `Hit ${hit.name}`, el("span", { class: "card-place" }, ` ${hit.timecode ?? `frame ${hit.contact}`}`)),
      seen,
      gain,
      marks,
      state,
    ),
  );
  function update({ decision, waiting }) {
    const trim = decision?.answer === "declined" ? null : takenTrim(hit, decision);
    strip.show(trim);
    setText(seen, verdict(trim, decision));
    setText(gain, trim === null ? "" : `${faster(trim.gain)}, ${trim.count} out`);
    refill(marks, ...tags(hit, trim).map((tag) => el("span", { class: "tag" }, tag)));
    setText(state, answerWords(decision) + (waiting ? " …" : ""));
    state.dataset.answer = decision?.answer ?? "open";
    node.dataset.answer = state.dataset.answer;
  }
  return { node, update };
}

function verdict(trim, decision) {
  if (trim !== null) return shows(trim);
  if (decision?.answer === "declined") return "Nothing goes out";
  return decision?.answer === "approved" ? "These frames can no longer go" : "No trim proposed";
}

/** What is unusual about a hit and its trim, in a word or two each. */
function tags(hit, trim) {
  const found = trim === null ? [] : doubtsOf(trim);
  if (trim === null && hit.no_trim) found.push(hit.no_trim);
  if (hit.late && hit.lag) found.push(`late by ${hit.lag.ms} ms`);
  if (hit.early && hit.lag) found.push(`moves ${-hit.lag.ms} ms early`);
  if (hit.weak) found.push("reads weak");
  if (hit.circled) found.push("circled take");
  if (hit.by_hand) found.push(`by hand, ${hit.by_hand}`);
  else if (hit.confidence < 0.5) found.push(`confidence ${Math.round(hit.confidence * 100)} %`);
  return found;
}
