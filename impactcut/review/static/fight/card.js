/** One hit in the overview: its splice strip, and what to know at a glance. */

import { el, refill, setText } from "../base/dom.js";
import { answerWords, brief, doubtsOf, faster, noteWords, shows } from "../base/words.js";
import { Strip } from "../hit/strip.js";
import { isHit, knowsTrim, takenTrim } from "./filters.js";

/** Within a screen of the window a card is filled, so that nobody scrolls to an empty one. */
const NEAR = "100% 0px";

/** The cards of hits, each made once, which follow what is decided. */
export class Cards {
  constructor(book, source) {
    this.book = book;
    this.source = source;
    this.made = new Map();
    this.near = new IntersectionObserver((seen) => this.fill(seen), { rootMargin: NEAR });
    book.listen((id) => this.follow(id));
    this.follow(null);
  }

  /** The card of a hit, with its name; the rest comes as it nears the window. */
  of(id) {
    if (!this.made.has(id)) {
      const card = makeCard(this.book.hit(id), this.source);
      this.made.set(id, card);
      this.near.observe(card.node);
      this.draw(id);
    }
    return this.made.get(id).node;
  }

  fill(seen) {
    for (const { target } of seen.filter(({ isIntersecting }) => isIntersecting)) {
      const id = Number(target.dataset.hit);
      this.near.unobserve(target);
      this.made.get(id).fill();
      this.draw(id);
    }
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

/**
 * A card for a hit: its name, and once it was filled, its strip and what to know. `update` draws it
 * again when its decision has changed.
 */
function makeCard(hit, source) {
  const place = ` ${hit.timecode ?? `frame ${hit.contact}`}`;
  const name = el("span", { class: "card-name" }, `Hit ${hit.name}`, el("span", { class: "card-place" }, place));
  const words = el("span", { class: "card-words" }, name);
  const node = el("a", { class: "card", href: `#hit-${hit.id}`, id: `card-${hit.id}`, "data-hit": hit.id }, words);
  /** @type {((shown: any) => void) | null} */
  let tell = null;
  function fill() {
    const strip = new Strip(hit, source.strip(hit.id), true);
    node.prepend(strip.node);
    tell = tellTrim(hit, strip, words);
  }
  function update(shown) {
    node.dataset.answer = shown.decision?.answer ?? "open";
    tell?.(shown);
  }
  return { node, fill, update };
}

/** Puts into a card what is known of a hit's trim; gives what draws it for a decision. */
function tellTrim(hit, strip, words) {
  const seen = el("strong", { class: "card-seen" });
  const gain = el("span", { class: "card-gain" });
  const marks = el("span", { class: "tags" });
  const state = el("span", { class: "card-state" });
  const note = el("span", { class: "card-note" });
  words.append(seen, gain, marks, state, note);
  return ({ decision, waiting }) => {
    const whole = ["declined", "not-a-hit"].includes(decision?.answer);
    const trim = whole ? null : takenTrim(hit, decision);
    strip.show(trim);
    setText(seen, verdict(trim, decision));
    setText(gain, trim === null ? "" : `${faster(trim.gain)}, ${trim.count} out`);
    refill(marks, ...tags(hit, trim).map((tag) => el("span", { class: "tag" }, tag)));
    setText(state, answerWords(decision) + (waiting ? " …" : ""));
    state.dataset.answer = decision?.answer ?? "open";
    setText(note, noteWords(decision));
  };
}

function verdict(trim, decision) {
  if (trim !== null) return shows(trim);
  if (decision?.answer === "declined") return "Nothing goes out";
  if (!isHit(decision)) return "Left out of the lists";
  return decision?.answer === "approved" ? "These frames can no longer go" : "No trim proposed";
}

/** What is unusual about a hit and its trim, in a word or two each. */
function tags(hit, trim) {
  const found = trim === null ? [] : doubtsOf(trim);
  if (trim === null && hit.no_trim) found.push(brief(hit.no_trim));
  if (hit.late && hit.lag) found.push(`late by ${hit.lag.ms} ms`);
  if (hit.early && hit.lag) found.push(`moves ${-hit.lag.ms} ms early`);
  if (hit.weak) found.push("reads weak");
  if (hit.circled) found.push("circled take");
  if (hit.by_hand) found.push(`by hand, ${hit.by_hand}`);
  else if (hit.confidence < 0.5) found.push(`confidence ${Math.round(hit.confidence * 100)} %`);
  return found;
}
