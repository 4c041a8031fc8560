/** The page as a whole: what is open, who answers, and where the answers go. */

import { AnswerBook } from "./answers.js";
import { Board } from "./board.js";
import { HitView } from "./detail.js";
import { el, pushButton, refill, setText, told } from "./dom.js";
import { isOpen, takenTrim } from "./filters.js";
import { answersName, answersText, saveFile } from "./handback.js";
import { Keys, openHelp } from "./keys.js";
import { Loading } from "./loading.js";
import { Notices } from "./notices.js";
import { Overview } from "./overview.js";
import { Sender } from "./sender.js";
import { Sound } from "./sound.js";
import { openSource } from "./source.js";
import { openStore } from "./store.js";
import { Taps } from "./taps.js";
import { ClipView } from "./watch.js";
import { answerWords } from "./words.js";

const WHO = "who";
const GOES_ON = "goes-on";
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
    /** @type {any} */
    this.view = null;
    /** @type {Board | null} */
    this.board = null;
    this.home = "";
    this.tapLast = false;
    /** @type {(() => void) | null} */
    this.unsigned = null;
    this.taps = new Taps(source, this.store, (tap, told) => this.tapped(tap, told));
    this.site = {
      source,
      store: this.store,
      book: this.book,
      notices: this.notices,
      sound: new Sound(),
      settings: {
        speed: 1,
        mode: "turn",
        sound: false,
        theatre: false,
        why: false,
        playsAtOnce: !window.matchMedia("(prefers-reduced-motion: reduce)").matches,
      },
      who: () => this.who.value.trim(),
      askWho: (then) => this.askWho(then),
      undo: () => this.undo(),
      say: (text) => this.say(text),
      tally: (hit) => this.tally(hit),
      answered: (hit, words) => this.answered(hit, words),
      tap: (clip, frame) => this.tap(clip, frame),
      theatre: () => this.theatre(!this.site.settings.theatre),
      goesOn: this.goesOnSwitch(),
    };
    document.addEventListener("fullscreenchange", () => {
      if (!document.fullscreenElement) this.theatre(false);
    });
    this.buildMast();
    if (source.served) this.startSending();
    else this.book.listen(() => this.drawHandback());
  }

  buildMast() {
    this.all = el("a", { class: "all", href: "#" }, "All hits");
    this.beats = el("a", { class: "all", href: "#beats" }, "Beats");
    this.before = pushButton("Before", () => this.go(-1));
    this.after = pushButton("Next", () => this.go(1));
    this.open = pushButton("Next undecided", () => this.goOpen());
    this.ways = el("nav", { class: "ways", "aria-label": "Hits" }, this.before, this.after, this.open);
    this.who = el("input", { type: "text", maxlength: "100", autocomplete: "name", required: true });
    this.who.value = this.store.read(WHO) ?? "";
    this.who.addEventListener("input", () => {
      this.store.write(WHO, this.who.value);
    });
    this.who.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.signed();
    });
    this.saved = el("p", { class: "saved", role: "status" });
    this.handback = this.source.served ? null : this.handbackButton();
    refill(
      byId("mast"),
      this.ways,
      el("nav", { class: "rooms", "aria-label": "Ways to look" }, this.all, this.beats, this.clipMenu()),
      el("label", { class: "who" }, el("span", {}, "Your name"), this.who),
      this.saved,
      this.handback,
      pushButton("Keys", () => this.help()),
    );
    if (!this.source.served) this.drawHandback();
  }

  /** The clips that can be watched whole, to tap what was not found. */
  clipMenu() {
    const { clips } = this.review;
    if (!clips?.length) return null;
    const menu = el("select", { "aria-label": "Tap along with a clip" },
      el("option", { value: "" }, "Tap along with …"),
      ...clips.map(({ id, name }) => el("option", { value: String(id) }, name)));
    menu.addEventListener("change", () => {
      if (menu.value) window.location.hash = `#clip-${menu.value}`;
      menu.value = "";
    });
    return menu;
  }

  /** Whether the next undecided hit comes by itself. */
  goesOnSwitch() {
    const button = pushButton("Go on by itself", () => {
      this.store.write(GOES_ON, !this.goesOn);
      button.setAttribute("aria-pressed", String(this.goesOn));
    }, { "aria-pressed": String(this.goesOn) });
    return button;
  }

  get goesOn() {
    return this.store.read(GOES_ON) !== false;
  }

  /** Asks for a name before the first answer, which waits for it: none is kept without one. */
  askWho(then) {
    this.unsigned = then;
    this.notices.warn("Fill in your name first, and press Enter: your answer is given then.");
    this.theatre(false);
    this.who.focus();
  }

  /** The name is there: what waited for it is done. */
  signed() {
    const { unsigned } = this;
    if (this.site.who() === "") return;
    this.unsigned = null;
    byId("notices").replaceChildren();
    (this.view?.heading ?? byId("main")).focus();
    unsigned?.();
  }

  /** Says something to those who look and to those who listen. */
  say(text) {
    const said = byId("said");
    setText(said, said.textContent === text ? `${text} ` : text);
  }

  tally(hit) {
    const order = this.order();
    const answered = order.filter((each) => !isOpen(this.book.decisionOf(each.id))).length;
    return `${order.indexOf(hit) + 1} of ${order.length}, ${answered} answered`;
  }

  /** An answer was given: it is said, and the next undecided hit comes. */
  answered(hit, words) {
    this.unsigned = null;
    this.tapLast = false;
    let said = `Hit ${hit.name}: ${words}.`;
    if (this.goesOn && this.view?.hit === hit && !this.goOpen()) {
      said += " No hit is left undecided.";
    }
    this.say(`${said} U takes it back.`);
  }

  /** Somebody saw a hit that was not found. */
  tap(clip, frame) {
    const who = this.site.who();
    if (who === "") {
      this.askWho(() => this.tap(clip, frame));
      return;
    }
    this.tapLast = true;
    this.changesHits(true);
    if (!this.taps.give(clip, frame, who)) {
      this.notices.warn("This browser has no room left to keep taps. Save what there is.");
    }
    this.say(`Tapped at frame ${frame}: ${this.source.served ? "it is being measured" : "kept for the file"}. U takes it back.`);
    this.drawHandback();
  }

  /** Whether this page itself changes the hits, by a tap, so that no scan is told of. */
  changesHits(does) {
    if (this.sender) this.sender.changesHits = does;
  }

  /** What came of a tap. */
  tapped({ frame }, { hit, reason }) {
    if (!hit) this.changesHits(false);
    const words = hit
      ? `Hit ${hit.name}: contact on frame ${hit.contact}, ${reason}. U takes it back.`
      : `No hit from the tap at frame ${frame}: ${reason}`;
    this.say(words);
    this.view?.tell?.(words);
  }

  /** Fills the screen with the picture, or no longer. */
  theatre(on) {
    const { settings } = this.site;
    if (settings.theatre === on) return;
    settings.theatre = on;
    document.body.dataset.theatre = String(on);
    if (on) document.documentElement.requestFullscreen?.().catch(() => null);
    else if (document.fullscreenElement) document.exitFullscreen().catch(() => null);
    if (!this.view?.hit) return;
    if (on) this.view.enlarge();
    this.view.draw();
  }

  handbackButton() {
    return pushButton("Save answers as a file", () => this.give(), { class: "give" });
  }

  give() {
    const name = answersName(this.review, this.site.who());
    saveFile(name, answersText(this.review, this.book, this.taps.pending()));
    this.given = this.book.pending().length;
    setText(this.saved, `Saved as ${name}. Send that file back.`);
  }

  drawHandback() {
    if (!this.handback) return;
    const count = this.book.pending().length + this.taps.pending().length;
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
    if (!this.sender) return;
    const { text, waiting, away } = this.sender.status();
    const count = waiting === 0 ? "" : waiting === 1 ? " (1 answer)" : ` (${waiting} answers)`;
    setText(this.saved, text + count);
    this.saved.dataset.away = String(away);
  }

  /** Shows what the address names: a hit, a clip, the beats, or all hits. */
  route() {
    const [, kind = "", number = ""] = /^#(hit|clip)-(\d+)$/.exec(window.location.hash) ?? [];
    const hit = kind === "hit" ? this.book.hits.get(Number(number)) : undefined;
    const clip = kind === "clip" ? this.review.clips?.find(({ id }) => id === Number(number)) : undefined;
    const left = this.view;
    if (hit && left?.hit === hit) return;
    left?.close();
    if (left?.tapped) window.location.reload();
    this.view = hit ? new HitView(hit, this.site) : clip ? new ClipView(clip, this.site) : null;
    document.body.dataset.view = hit ? "hit" : clip ? "clip" : "overview";
    refill(byId("below"), this.view?.more ?? null);
    if (!hit) this.theatre(false);
    if (this.view) this.showOpened(hit ? `Hit ${hit.name}` : clip?.name);
    else this.showAll(left?.hit?.id ?? null);
  }

  showOpened(title) {
    const { view } = this;
    document.title = `${title} – ${this.review.project}`;
    refill(byId("main"), view.node);
    window.scrollTo(0, 0);
    view.heading.focus({ preventScroll: true });
    view.open().then(() => view.hit && this.fetchNext(view.hit));
  }

  /** The overview or the beats, with what was left in view and in focus. */
  showAll(left) {
    this.home = window.location.hash === "#beats" ? "#beats" : "";
    document.title = `${this.review.project} – hits to judge`;
    if (this.home) {
      this.board ??= new Board(this.review, this.book, this.source);
      refill(byId("main"), this.board.node);
      this.board.open();
    } else {
      refill(byId("main"), this.overview.node);
      this.overview.draw();
    }
    const card = document.getElementById(`card-${left}`);
    if (card) {
      card.scrollIntoView({ block: "center" });
      card.focus({ preventScroll: true });
    }
  }

  /** Has the next two moments made ready while this one is looked at. */
  fetchNext(hit) {
    if (this.view?.hit !== hit) return;
    const after = this.goesOn ? this.openAfter(hit).map(({ id }) => id) : [];
    const beside = [1, 2].map((by) => this.neighbour(hit.id, by)).filter((id) => id !== null);
    this.source.ahead([...new Set([...after, ...beside])].slice(0, 2));
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
    const next = this.view?.hit ? this.neighbour(this.view.hit.id, by) : null;
    if (next !== null) this.goTo(next);
    return true;
  }

  /** Opens a hit at once, so that the next key is already meant for it. */
  goTo(id) {
    window.location.hash = `#hit-${id}`;
    this.route();
  }

  /** The other undecided hits, from a hit on and round again. */
  openAfter(hit) {
    const order = this.order();
    const here = order.indexOf(hit);
    const around = [...order.slice(here + 1), ...order.slice(0, Math.max(0, here))];
    return around.filter(({ id }) => isOpen(this.book.decisionOf(id)));
  }

  /** Goes to the next undecided hit; false where there is none. */
  goOpen() {
    const [next] = this.openAfter(this.view?.hit);
    if (next) this.goTo(next.id);
    return Boolean(next);
  }

  undo() {
    if (this.tapLast) {
      this.undoTap();
      return true;
    }
    if (!this.book.canUndo()) return false;
    if (this.site.who() === "") {
      this.askWho(() => this.undo());
      return true;
    }
    const undone = this.book.undo(this.site.who());
    if (undone === null) return false;
    const { hit, done } = undone;
    const { name } = this.book.hit(hit);
    if (done) this.say(`Hit ${name}: taken back`);
    else this.notices.warn(`Hit ${name} was answered otherwise since, so that was not undone.`);
    if (this.view?.hit && this.view.hit.id !== hit) this.goTo(hit);
    return true;
  }

  async undoTap() {
    this.changesHits(true);
    const reason = await this.taps.undo(this.site.who()).catch((error) => error.message);
    this.tapLast = this.taps.taken.length > 0;
    if (reason !== "") this.changesHits(false);
    const words = reason === null ? "No tap is left to take back" : reason ? `Not taken back: ${reason}` : "The tap is taken back";
    this.say(words);
    this.view?.tell?.(words);
    this.drawHandback();
  }

  help() {
    openHelp(byId("help"), this.keys);
    return true;
  }

  /** Does what a key asks for; false where it means nothing now. */
  carryOut(name) {
    if (name === "help") return this.help();
    if (name === "undo") return this.undo();
    if (name === "nextOpen") return this.goOpen() || true;
    if (name === "leave") return this.leave();
    if (!this.view) return this.answerCard(name);
    if (name === "next") return this.go(1);
    if (name === "previous") return this.go(-1);
    this.view.ask(name, perform);
    return true;
  }

  leave() {
    if (!this.view) return false;
    if (document.activeElement === this.view.answering?.field) this.view.heading.focus();
    else if (this.site.settings.theatre) this.theatre(false);
    else window.location.hash = this.home;
    return true;
  }

  /** A key on a card answers its hit, with the trim that the card shows. */
  answerCard(name) {
    const answer = { approve: "approved", decline: "declined", putOff: "later", refuse: "not-a-hit" }[name];
    const id = Number(/^card-(\d+)$/.exec(document.activeElement?.id ?? "")?.[1]);
    const hit = this.book.hits.get(id);
    if (!answer || !hit) return false;
    const decision = this.book.decisionOf(id);
    const trim = takenTrim(hit, decision);
    if (answer === "approved" && trim === null) {
      this.say("No trim is proposed to approve: open the hit, or answer as shot");
    } else if (this.site.who() === "") {
      this.askWho(() => null);
    } else {
      const { first, count } = trim ?? { first: null, count: null };
      this.book.give(id, { answer, first, count, note: decision?.note ?? "" }, this.site.who());
      this.say(`Hit ${hit.name}: ${answerWords(this.book.decisionOf(id))}. U takes it back.`);
    }
    return true;
  }
}

/** Does what a key asks of an opened hit. */
function perform({ act }, name) {
  const acts = {
    toggle: act.toggle,
    back: () => act.step(-1),
    on: () => act.step(1),
    earlier: () => act.nudge(-1),
    later: () => act.nudge(1),
    wider: () => act.resize(1),
    narrower: () => act.resize(-1),
    count0: () => act.count(0),
    count1: () => act.count(1),
    count2: () => act.count(2),
    count3: () => act.count(3),
    reset: act.reset,
    hold: () => act.hold(true),
    release: () => act.hold(false),
    alternate: act.alternate,
    slower: act.slower,
    sound: act.sound,
    theatre: act.theatre,
    tap: act.tap,
    contact: act.contact,
    approve: () => act.answer("approved"),
    decline: () => act.answer("declined"),
    putOff: () => act.answer("later"),
    refuse: () => act.answer("not-a-hit"),
    note: act.write,
  };
  acts[name]();
}

async function begin() {
  try {
    const loading = new Loading(openSource());
    const page = new Page(await loading.source.review(), loading);
    window.addEventListener("hashchange", () => page.route());
    document.querySelector(".skip")?.addEventListener("click", (event) => {
      event.preventDefault();
      byId("main").focus();
    });
    page.route();
  } catch (error) {
    setText(byId("main"), `The hits cannot be shown: ${told(error)}`);
  }
}

begin();
