/** What to take out: how many frames, and where the splice lies. */

import { el, pushButton, setText, setUsable } from "../base/dom.js";
import { span } from "../base/words.js";

/** The trims of one hit and the one of them that is chosen. */
export class Choice {
  /** Before the hit's detail is there, only the trim `taken` is known. */
  constructor(hit, taken) {
    this.proposed = hit.proposed;
    this.trims = taken === null ? [] : [taken];
    this.firsts = {};
    this.count = 0;
    if (taken) this.pick(taken);
  }

  /** Takes every trim with its price. */
  learn({ trims, best }) {
    this.trims = trims;
    this.firsts = { ...best, ...(this.count > 0 ? { [this.count]: this.firsts[this.count] } : {}) };
    if (this.count > 0 && this.trim === null) this.count = 0;
  }

  /** The trim chosen, or null for the hit as shot. */
  get trim() {
    return this.count === 0 ? null : this.find(this.firsts[this.count], this.count);
  }

  find(first, count) {
    return this.trims.find((trim) => trim.first === first && trim.count === count) ?? null;
  }

  setCount(count) {
    const [some] = this.trims.filter((trim) => trim.count === count);
    if (count > 0 && !some) return false;
    this.count = count;
    if (count > 0) this.firsts[count] ??= some.first;
    return true;
  }

  /** Chooses a trim; false where there is none. */
  pick(trim) {
    if (!trim) return false;
    this.firsts[trim.count] = trim.first;
    this.count = trim.count;
    return true;
  }

  /** The trim so many frames earlier or later, or null where none was judged. */
  beside(by) {
    return this.trim === null ? null : this.find(this.trim.first + by, this.count);
  }

  /** The trim with one frame more or less at either end, the one that shows less; or null. */
  sized(by) {
    if (this.trim === null) {
      const { first, count } = this.proposed ?? { first: this.firsts[1], count: 1 };
      return by > 0 ? this.find(first, count) : null;
    }
    const { first, count } = this.trim;
    const firsts = by > 0 ? [first, first - 1] : [first, first + 1];
    const found = firsts.map((each) => this.find(each, count + by)).filter(Boolean);
    return found.sort((one, other) => price(one) - price(other))[0] ?? null;
  }

  /** Narrower or wider by a frame; narrower than one frame is the hit as shot. */
  resize(by) {
    if (by < 0 && this.count === 1) return this.setCount(0);
    return this.pick(this.sized(by));
  }

  /** Moves the gap so that it begins at a frame, as near as was judged. */
  slide(first) {
    const same = this.trims.filter((trim) => trim.count === this.count);
    same.sort((one, other) => Math.abs(one.first - first) - Math.abs(other.first - first));
    return same.length > 0 && same[0].first !== this.trim?.first && this.pick(same[0]);
  }

  /** Lifts a frame out of the row or puts it back, beside the gap; elsewhere the gap goes there. */
  lift(frame) {
    const { trim } = this;
    if (trim === null) return this.pick(this.find(frame, 1));
    const last = trim.first + trim.count - 1;
    if (frame === trim.first && trim.count === 1) return this.setCount(0);
    if (frame === trim.first) return this.pick(this.find(frame + 1, trim.count - 1));
    if (frame === last) return this.pick(this.find(trim.first, trim.count - 1));
    if (frame === trim.first - 1) return this.pick(this.find(frame, trim.count + 1));
    if (frame === last + 1) return this.pick(this.find(trim.first, trim.count + 1));
    return frame < trim.first || frame > last ? this.slide(frame) : false;
  }

  isProposed(trim) {
    return trim !== null && this.proposed?.first === trim.first && this.proposed.count === trim.count;
  }
}

function price(trim) {
  return trim.vetoes?.length > 0 ? Infinity : trim.visibility;
}

/** The buttons that move and size the gap. */
export class Steps {
  /** `act` has `nudge(by)`, `resize(by)` and `reset()`. */
  constructor(hit, choice, act) {
    this.hit = hit;
    this.choice = choice;
    this.where = el("p", { class: "where" });
    this.earlier = pushButton("Gap earlier", () => act.nudge(-1));
    this.narrower = pushButton("Narrower", () => act.resize(-1));
    this.wider = pushButton("Wider", () => act.resize(1));
    this.later = pushButton("Gap later", () => act.nudge(1));
    this.reset = pushButton("Proposed", act.reset);
    this.node = el(
      "div",
      { class: "steps", role: "group", "aria-label": "What goes out" },
      el("div", { class: "gap" }, this.where, this.reset),
      el("div", { class: "row" }, this.earlier, this.narrower, this.wider, this.later),
    );
  }

  draw() {
    const { choice, hit } = this;
    const { trim, proposed } = choice;
    const named = choice.isProposed(trim) ? ", as proposed" : "";
    setText(this.where, trim === null ? "Nothing goes out" : `Out: ${span(trim.first, trim.count, hit.contact)}${named}`);
    setUsable(this.earlier, choice.beside(-1) !== null);
    setUsable(this.later, choice.beside(1) !== null);
    setUsable(this.narrower, trim !== null);
    setUsable(this.wider, choice.sized(1) !== null);
    setUsable(this.reset, proposed !== null && !choice.isProposed(trim));
  }
}
