/** What to take out: how many frames, and where the splice lies. */

import { smallRing, seenMark } from "./dial.js";
import { el, pushButton, refill, setText } from "./dom.js";
import { faster, shows, span } from "./words.js";

export const COUNTS = [0, 1, 2, 3];

/** The trims of one hit and the one of them that is chosen. */
export class Choice {
  constructor(hit, detail, decision) {
    this.trims = detail.trims;
    this.best = detail.best;
    this.proposed = hit.proposed;
    this.firsts = { ...detail.best };
    this.count = 0;
    const start = decision?.answer === "approved" ? decision : hit.proposed;
    if (start && this.find(start.first, start.count)) this.pick(start);
  }

  /** The trim chosen, or null for the hit as shot. */
  get trim() {
    return this.count === 0 ? null : this.at(this.count);
  }

  /** The trim of so many frames that would be played, or null where there is none. */
  at(count) {
    return this.find(this.firsts[count], count);
  }

  find(first, count) {
    return this.trims.find((trim) => trim.first === first && trim.count === count) ?? null;
  }

  /** Whether so many frames can be taken out at all. */
  has(count) {
    return count === 0 || this.trims.some((trim) => trim.count === count);
  }

  setCount(count) {
    if (!this.has(count)) return false;
    this.count = count;
    if (count > 0 && this.firsts[count] === undefined) {
      this.firsts[count] = this.trims.find((trim) => trim.count === count).first;
    }
    return true;
  }

  pick({ first, count }) {
    this.firsts[count] = first;
    this.count = count;
  }

  /** The trim so many frames earlier or later, or null where none was judged. */
  beside(by) {
    return this.trim === null ? null : this.find(this.trim.first + by, this.count);
  }

  nudge(by) {
    const trim = this.beside(by);
    if (trim) this.firsts[this.count] = trim.first;
    return trim !== null;
  }

  isProposed(trim) {
    return trim !== null && this.proposed?.first === trim.first && this.proposed.count === trim.count;
  }
}

/** The row of discs that chooses how many frames go, and the buttons that move the splice. */
export class ChoiceRow {
  /** `act` has `count(n)`, `nudge(by)` and `reset()`. */
  constructor(hit, choice, act) {
    this.hit = hit;
    this.choice = choice;
    this.options = COUNTS.map((count) => this.option(count, act));
    this.where = el("p", { class: "where" });
    this.earlier = pushButton("Splice earlier", () => act.nudge(-1));
    this.later = pushButton("Splice later", () => act.nudge(1));
    this.reset = pushButton("Proposed", () => act.reset());
    this.node = el(
      "div",
      { class: "choice" },
      el(
        "fieldset",
        { class: "counts" },
        el("legend", {}, "Frames out"),
        ...this.options.map(({ node }) => node),
      ),
      el("div", { class: "nudge", role: "group", "aria-label": "Splice" },
        this.earlier, this.where, this.later, this.reset),
    );
  }

  draw() {
    this.options.forEach((option) => this.drawOption(option));
    const { trim } = this.choice;
    const { contact } = this.hit;
    setText(this.where, trim === null ? "Nothing is taken out" : `Out: ${span(trim.first, trim.count, contact)}`);
    setUsable(this.earlier, this.choice.beside(-1) !== null);
    setUsable(this.later, this.choice.beside(1) !== null);
    const proposed = this.choice.proposed;
    this.reset.hidden = proposed === null;
    setUsable(this.reset, proposed !== null && !this.choice.isProposed(trim));
  }

  option(count, act) {
    const input = el("input", {
      type: "radio",
      name: "count",
      value: String(count),
      on: { change: () => act.count(count) },
    });
    const ring = el("span", { class: "option-ring" });
    const proposed = el("span", { class: "option-proposed" });
    const gain = el("span", { class: "option-gain" });
    const seen = el("span", { class: "option-seen" });
    const node = el(
      "label",
      { class: "option" },
      input,
      el("span", { class: "option-disc" }, ring, el("span", { class: "option-number" }, String(count))),
      el("span", { class: "option-words" }, el("span", { class: "option-name" }, count === 0 ? "As shot" : `${count} out`, proposed), gain, seen),
    );
    return { count, input, node, ring, proposed, gain, seen };
  }

  drawOption({ count, input, node, ring, proposed, gain, seen }) {
    const trim = count === 0 ? null : this.choice.at(count);
    const usable = this.choice.has(count);
    input.disabled = !usable;
    input.checked = this.choice.count === count;
    node.classList.toggle("missing", !usable);
    refill(ring, smallRing(this.hit.shown, this.hit.contact, trim));
    setText(proposed, this.choice.isProposed(trim) ? " proposed" : "");
    setText(gain, this.gainWords(count, trim, usable));
    refill(seen, ...this.seenWords(trim));
  }

  gainWords(count, trim, usable) {
    if (!usable) return "too near the end";
    if (count === 0) return "nothing gained";
    return trim === null ? "must not go" : faster(trim.gain);
  }

  seenWords(trim) {
    if (trim === null) return [];
    if (trim.vetoes.length > 0) return [el("span", {}, "must not go")];
    return [seenMark(trim.verdict), el("span", {}, shows(trim))];
  }
}

/** A button that cannot be used keeps its focus, and says so. */
function setUsable(node, usable) {
  node.setAttribute("aria-disabled", String(!usable));
}
