/** The page as a whole: what is open, who answers, and where the answers go. */

import { AnswerBook } from "./answers.js";
import { HitView } from "./detail.js";
import { el, pushButton, refill, setText } from "./dom.js";
import { isOpen } from "./filters.js";
import { answersName, answersText, saveFile } from "./handback.js";
import { Keys, openHelp } from "./keys.js";
import { Loading } from "./loading.js";
import { Notices } from "./notices.js";
import { Overview } from "./overview.js";
import { Sender } from "./sender.js";
import { Sound } from "./sound.js";
import { openSource } from "./source.js";
import { openStore } from "./store.js";

const WHO = "who";
const SKEW = 5000;
/** An element that the page's frame holds. */
function byId(id) {
  const node = document.getElementById(id);
  if (!node) throw new Error(`the page lacks #${id}`);
  return node;
}

class Page {
  constructor(review, loading) {
    const { source } = loading;
    const key = source.served ? review.key : `${review.key}-${review.made}`;
    const away = new Date(review.made).getTime() - Date.now();
    const lead = source.served && Math.abs(away) > SKEW ? away : 0;
    this.review = review;
    this.source = source;
    this.loading = loading;
    this.store = openStore(key);
    this.book = new AnswerBook(review, this.store, { onePerHit: !source.served, lead });
    this.notices = new Notices(byId("notices"));
    this.overview = new Overview(review, this.book, source, this.store);
    this.keys = new Keys(this.store, (act) => this.carryOut(act));
    this.view = null;
    this.site = {
      source,
      store: this.store,
      book: this.book,
      notices: this.notices,
      sound: new Sound(),
      settings: {
        speed: 1,
        alternating: false,
        sound: false,
        playsAtOnce: !window.matchMedia("(prefers-reduced-motion: reduce)").matches,
      },
      who: () => this.who.value.trim(),
      askWho: () => this.askWho(),
      undo: () => this.undo(),
      perform: (view, name) => this.perform(view, name),
    };
    this.buildMast();
    if (source.served) this.startSending();
    else this.book.listen(() => this.drawHandback());
  }

  buildMast() {
    this.all = el("a", { class: "all", href: "#" }, "All hits");
    this.before = pushButton("Before", () => this.go(-1));
    this.after = pushButton("Next", () => this.go(1));
    this.open = pushButton("Next undecided", () => this.goOpen());
    this.ways = el("nav", { "aria-label": "Hits" }, this.all, this.before, this.after, this.open);
    this.who = el("input", { type: "text", maxlength: "100", autocomplete: "name" });
    this.who.value = this.store.read(WHO) ?? "";
    this.who.addEventListener("input", () => {
      this.store.write(WHO, this.who.value);
    });
    this.saved = el("p", { class: "saved", role: "status" });
    this.handback = this.source.served ? null : this.handbackButton();
    this.signing = el("label", { class: "who" }, el("span", {}, "Your name"), this.who);
    this.site.signing = this.signing;
    refill(
      byId("mast"),
      this.ways,
      this.signing,
      this.saved,
      this.handback,
      pushButton("Keys", () => this.help()),
    );
    if (!this.source.served) this.drawHandback();
  }

  /** Asks for a name, before the first answer: an answer without one is not kept. */
  askWho() {
    this.notices.warn("Fill in your name first, then answer again.");
    this.who.focus();
  }

  handbackButton() {
    return pushButton("Save answers as a file", () => this.give(), { class: "give" });
  }

  give() {
    const name = answersName(this.review, this.site.who());
    saveFile(name, answersText(this.review, this.book));
    this.given = this.book.pending().length;
    setText(this.saved, `Saved as ${name}. Send that file back.`);
  }

  drawHandback() {
    const count = this.book.pending().length;
    const kept = this.store.lasting
      ? "kept in this browser"
      : "not kept when the page is closed: save them as a file";
    const answers = count === 1 ? "1 answer" : `${count} answers`;
    setText(this.saved, count === 0 ? "No answers yet" : `${answers}, ${kept}`);
    this.handback.setAttribute("aria-disabled", String(count === 0));
  }

  startSending() {
    const { book, source, store, notices, loading } = this;
    this.sender = new Sender(
      { book, source, store, notices, loading, edition: this.review.edition },
      { changed: () => this.drawSaved(), outdated: () => this.tellOutdated() },
    );
    this.book.listen(() => this.drawSaved());
    this.sender.start();
  }

  /** The hits were measured again, or others have come: answers are kept, and so are notes begun. */
  tellOutdated() {
    this.notices.warn("The footage was scanned again, or what is known of it has changed.", {
      text: "Show the hits as they are now",
      act: () => window.location.reload(),
    });
  }

  drawSaved() {
    const { text, waiting, away } = this.sender.status();
    const count = waiting === 0 ? "" : waiting === 1 ? " (1 answer)" : ` (${waiting} answers)`;
    setText(this.saved, text + count);
    this.saved.dataset.away = String(away);
  }

  /** Shows what the address names: a hit, or all of them. */
  route() {
    const id = Number(/^#hit-(\d+)$/.exec(window.location.hash)?.[1]);
    const hit = this.book.hits.get(id) ?? null;
    const left = this.view?.hit.id ?? null;
    if (hit !== null && left === id) return;
    this.view?.close();
    this.view = hit === null ? null : new HitView(hit, this.site);
    document.body.dataset.view = hit === null ? "overview" : "hit";
    refill(byId("main"), this.view ? this.view.node : this.overview.node);
    if (this.view) this.showHit(hit);
    else this.showAll(left);
  }

  showHit(hit) {
    document.title = `Hit ${hit.name} – ${this.review.project}`;
    window.scrollTo(0, 0);
    this.view.heading.focus({ preventScroll: true });
    this.view.open().then(() => this.fetchNext(hit));
  }

  showAll(left) {
    document.title = `${this.review.project} – hits to judge`;
    this.ways.after(this.signing);
    this.overview.draw();
    const card = document.getElementById(`card-${left}`);
    if (card) {
      card.scrollIntoView({ block: "center" });
      card.focus({ preventScroll: true });
    }
  }

  /** Has the next two moments made ready while this one is looked at. */
  fetchNext(hit) {
    if (this.view?.hit !== hit) return;
    const next = [1, 2].map((by) => this.neighbour(hit.id, by));
    this.source.ahead(next.filter((id) => id !== null));
  }

  /** The hit so many places on in the order shown, or null. */
  neighbour(id, by) {
    const order = this.order();
    const place = order.findIndex((hit) => hit.id === id);
    return order[place + by]?.id ?? null;
  }

  /** The hits in the order of the overview, with the one that is open even if it is filtered out. */
  order() {
    const order = this.overview.order();
    const open = this.view?.hit;
    if (!open || order.includes(open)) return order;
    const later = this.review.hits.slice(this.review.hits.indexOf(open));
    const place = order.findIndex((hit) => later.includes(hit));
    return order.toSpliced(place < 0 ? order.length : place, 0, open);
  }

  go(by) {
    const next = this.view ? this.neighbour(this.view.hit.id, by) : null;
    if (next !== null) window.location.hash = `#hit-${next}`;
    return true;
  }

  goOpen() {
    const order = this.overview.order();
    const here = order.findIndex((hit) => hit.id === this.view?.hit.id);
    const around = [...order.slice(here + 1), ...order.slice(0, Math.max(0, here))];
    const next = around.find((hit) => isOpen(this.book.decisionOf(hit.id)));
    if (next) window.location.hash = `#hit-${next.id}`;
    return true;
  }

  undo() {
    if (!this.book.canUndo()) return false;
    if (this.site.who() === "") {
      this.askWho();
      return true;
    }
    const undone = this.book.undo(this.site.who());
    if (undone === null) return false;
    const { hit, done } = undone;
    if (!done) {
      const { name } = this.book.hit(hit);
      this.notices.warn(`Hit ${name} was answered otherwise since, so that was not undone.`);
    }
    if (this.view && this.view.hit.id !== hit) window.location.hash = `#hit-${hit}`;
    return true;
  }

  help() {
    openHelp(byId("help"), this.keys);
    return true;
  }

  /** Does what a key asks for; false where it means nothing now. */
  carryOut(name) {
    if (name === "help") return this.help();
    if (name === "undo") return this.undo();
    if (name === "nextOpen") return this.goOpen();
    if (name === "leave") return this.leave();
    if (!this.view) return false;
    if (name === "next") return this.go(1);
    if (name === "previous") return this.go(-1);
    if (this.view.act) this.perform(this.view, name);
    else this.view.wait(name);
    return true;
  }

  /** Does what a key asks of an opened hit. */
  perform(view, name) {
    const { act } = view;
    const acts = {
      toggle: act.toggle,
      back: () => act.step(-1),
      on: () => act.step(1),
      earlier: () => act.nudge(-1),
      later: () => act.nudge(1),
      count0: () => act.count(0),
      count1: () => act.count(1),
      count2: () => act.count(2),
      count3: () => act.count(3),
      reset: act.reset,
      swap: act.swap,
      alternate: act.alternate,
      slower: act.slower,
      sound: act.sound,
      contact: act.contact,
      approve: () => act.answer("approved"),
      decline: () => act.answer("declined"),
      putOff: () => act.answer("later"),
      refuse: () => act.answer("not-a-hit"),
      note: act.write,
    };
    acts[name]();
  }

  leave() {
    if (!this.view) return false;
    const field = this.view.answering?.field;
    if (field && document.activeElement === field) this.view.heading.focus();
    else window.location.hash = "";
    return true;
  }
}

async function begin() {
  try {
    const loading = new Loading(openSource());
    const page = new Page(await loading.source.review(), loading);
    window.addEventListener("hashchange", () => page.route());
    document.querySelector(".skip").addEventListener("click", (event) => {
      event.preventDefault();
      byId("main").focus();
    });
    page.route();
  } catch (error) {
    setText(byId("main"), `The hits cannot be shown: ${error.message}`);
  }
}

begin();
