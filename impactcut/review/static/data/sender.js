/** Brings answers to the program, again and again until it has them, and hears what others say. */

import { answerWords, signature } from "../base/words.js";
import { asGiven } from "./answers.js";
import { isFinal } from "./loading.js";
import { Refusal } from "./source.js";

const LOOK_EVERY = 4000;
const FIRST_WAIT = 1000;
const LONGEST_WAIT = 15000;
const ABANDONED = 10000;
const ADDRESS = "address";

export class Sender {
  /** `page` hears of every change, and of later editions than the one that it shows. */
  constructor(page) {
    this.page = page;
    /** @type {import("./answers.js").AnswerBook} */
    this.book = page.book;
    /** @type {import("./source.js").Source & import("./source.js").Serving} */
    this.source = page.source;
    /** @type {import("../base/store.js").Store} */
    this.store = page.store;
    /** @type {import("../base/notices.js").Notices} */
    this.notices = page.notices;
    /** @type {import("./loading.js").Loading} */
    this.loading = page.loading;
    this.edition = page.review.edition;
    /** Whether this page itself changes the hits, which nobody has to be told. */
    this.changesHits = false;
    this.away = "";
    this.stuck = new Set();
    this.toldOf = new Set();
    this.wait = FIRST_WAIT;
    this.busy = false;
    this.settled = 0;
  }

  start() {
    this.store.write(ADDRESS, this.source.base);
    this.store.watch((name) => {
      if (name === ADDRESS || name === "") this.follow();
      this.pump().then(() => this.look());
    });
    this.book.listen(() => this.pump());
    this.loading.listen(() => this.page.drawSaved());
    window.addEventListener("online", () => this.pump());
    document.addEventListener("visibilitychange", () => this.look());
    window.setInterval(() => this.look(), LOOK_EVERY);
    this.pump().then(() => this.look());
  }

  /** What to say about answers that are not with the program yet. */
  status() {
    const waiting = this.book.pending().length;
    if (this.away) return { text: this.away, waiting, away: true };
    if (this.stuck.size > 0) {
      return { text: "An answer could not be stored yet; trying again", waiting, away: true };
    }
    if (this.loading.failing > 0) {
      return { text: "Pictures are not coming; asking for them again", waiting, away: true };
    }
    const text = waiting === 0 ? "All answers are saved" : "Saving …";
    return { text, waiting, away: false };
  }

  async pump() {
    if (this.busy) return;
    this.busy = true;
    this.stuck.clear();
    try {
      for (let entry = this.next(); entry; entry = this.next()) {
        if (!(await this.deliver(entry))) break;
      }
      if (this.stuck.size > 0) this.tryLater();
    } finally {
      this.busy = false;
      this.page.drawSaved();
    }
  }

  /**
   * What to send next. Other tabs send their own, so that each tells the one who answered. Where
   * the program failed at an answer, those about other hits go on, and later ones about it wait.
   */
  next() {
    const left = Date.now() + this.book.lead - ABANDONED;
    const ours = this.book
      .pending()
      .filter((entry) => entry.tab === this.book.tab || entry.at < left);
    return ours.find((entry) => !this.stuck.has(entry.hit)) ?? null;
  }

  /**
   * Sends an answer; false where nothing can be sent now.
   * @param {import("./answers.js").Entry} entry
   */
  async deliver(entry) {
    let told;
    try {
      told = await this.source.send(asGiven(entry));
    } catch (error) {
      return this.undelivered(entry, error);
    }
    this.settled += 1;
    this.reached();
    if (told.fate === "refused") this.book.refuse(entry);
    else this.book.settle(entry, told);
    this.report(entry, told);
    return true;
  }

  undelivered(entry, error) {
    const answered = error instanceof Refusal && error.status !== 403;
    if (!answered) {
      this.unreached(error);
      return false;
    }
    this.reached();
    if (isFinal(error)) {
      this.book.refuse(entry);
      this.notices.warn(`${this.called(entry)}: the answer could not be taken: ${error.message}`);
    } else {
      this.hold(entry, error);
    }
    return true;
  }

  /** The program failed at an answer: it is kept, said once, and tried again. */
  hold(entry, error) {
    this.stuck.add(entry.hit);
    if (this.toldOf.has(entry.id)) return;
    this.toldOf.add(entry.id);
    this.notices.warn(
      `${this.called(entry)}: “${answerWords(entry)}” could not be stored yet (${error.message}). ` +
        "It is kept, and will be tried again; other answers are not held up.",
    );
  }

  called(entry) {
    return `Hit ${this.book.hits.get(entry.hit)?.name ?? entry.hit}`;
  }

  report(entry, told) {
    const hit = this.called(entry);
    if (told.fate === "refused") {
      this.notices.warn(`${hit}: “${answerWords(entry)}” was not taken: ${told.reason}`);
    } else if (told.fate === "older") {
      this.notices.warn(
        `${hit}: your answer “${answerWords(entry)}” came after a later one. What stands: ` +
          `“${answerWords(told.unseen)}”, ${signature(told.unseen)}. Answer again to change it.`,
      );
    } else if (told.fate === "taken" && told.unseen) {
      this.notices.warn(
        `${hit}: your answer replaced one you had not seen: “${answerWords(told.unseen)}”, ` +
          `${signature(told.unseen)}.`,
      );
    }
  }

  async look() {
    if (document.visibilityState === "hidden") return;
    if (this.next() && !this.busy) {
      this.pump();
      return;
    }
    const settled = this.settled;
    try {
      const { edition, decisions } = await this.source.decisions();
      this.reached();
      if (edition !== this.edition) {
        if (!this.changesHits) this.page.tellOutdated();
        this.changesHits = false;
      }
      this.edition = edition;
      if (settled === this.settled) this.book.refresh(decisions);
    } catch (error) {
      this.unreached(error);
    }
  }

  reached() {
    if (this.stuck.size === 0) this.wait = FIRST_WAIT;
    if (this.away) {
      this.away = "";
      this.loading.wake();
      this.page.drawSaved();
    }
  }

  unreached(error) {
    this.follow();
    const kept = this.store.lasting ? "Answers are kept in this browser" : "Keep this page open";
    this.away =
      error instanceof Refusal && error.status === 403
        ? `${kept}: the review has been started again. Open the address it printed last.`
        : `${kept} and sent as soon as impactcut can be reached again.`;
    this.page.drawSaved();
    this.tryLater();
  }

  tryLater() {
    window.clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.pump(), this.wait);
    this.wait = Math.min(LONGEST_WAIT, this.wait * 2);
  }

  /** Another tab may have been opened at the address of a newer run. */
  follow() {
    const address = this.store.read(ADDRESS);
    if (typeof address === "string" && /^\/[\w-]+\/$/.test(address)) this.source.moveTo(address);
  }
}
