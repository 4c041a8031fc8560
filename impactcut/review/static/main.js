/**
 * The page as a whole: what is open, who answers, and where the answers go.
 *
 * base/ is what all of the page uses; data/ comes from the program and goes back to it; fight/ shows
 * all hits at a glance; hit/ is one of them opened; moment/ plays it, or a whole clip.
 */

import {
  choiceMenu, el, pushButton, refill, setPressed, setText, setUsable, told,
} from "./base/dom.js";
import { Keys, openHelp } from "./base/keys.js";
import { Notices } from "./base/notices.js";
import { openStore } from "./base/store.js";
import { answerWords, counted } from "./base/words.js";
import { AnswerBook } from "./data/answers.js";
import { answersName, answersText, saveFile } from "./data/handback.js";
import { Loading } from "./data/loading.js";
import { Sender } from "./data/sender.js";
import { Refusal, openSource } from "./data/source.js";
import { Taps } from "./data/taps.js";
import { Board } from "./fight/board.js";
import { isOpen, takenTrim } from "./fight/filters.js";
import { Overview } from "./fight/overview.js";
import { HitView } from "./hit/detail.js";
import { ClipView } from "./moment/clip.js";
import { Sound } from "./moment/sound.js";

const WHO = "who";
const GOES_ON = "goes-on";
const SKEW = 5000;
const SLOW = 8000;
const LATE =
  "Still opening the hits: with hundreds of clips this takes a while the first time. If nothing comes, see " +
  "what stands where 'impactcut review' was started.";
const SILENT =
  "The hits do not come: impactcut does not answer. This page goes on asking. If 'impactcut review' was " +
  "stopped, start it again and open the address that it prints; answers given before are kept in this browser.";
const ENDED =
  "This address belongs to a review that has ended. Open the one that 'impactcut review' printed last, or " +
  "start it again; answers given before are kept in this browser.";
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
    this.keys = new Keys(this.store, (act, by) => this.carryOut(act, by));
    /** @type {any} */
    this.view = null;
    /** @type {Board | null} */
    this.board = null;
    this.home = "";
    /** Whether hits have come or gone by taps since the page was read. */
    this.tapped = false;
    /** @type {(() => void) | null} */
    this.unsigned = null;
    /** @type {Element | null} */
    this.asked = null;
    this.taps = new Taps(source, this.store, (tap, told) => this.tellTap(tap, told));
    this.sound = new Sound();
    this.settings = {
      speed: 1,
      mode: "turn",
      sound: false,
      screening: false,
      why: false,
      playsAtOnce: !window.matchMedia("(prefers-reduced-motion: reduce)").matches,
    };
    this.goesOnSwitch = this.makeGoesOnSwitch();
    document.addEventListener("fullscreenchange", () => {
      if (!document.fullscreenElement) this.screening(false);
    });
    this.buildMast();
    if (source.served) this.startSending();
    else this.book.listen(() => this.drawHandback());
  }

  buildMast() {
    this.who = el("input", { type: "text", maxlength: "100", autocomplete: "name", required: true, pattern: ".*\\S.*" });
    this.who.value = this.store.read(WHO) ?? "";
    this.who.addEventListener("input", () => {
      this.store.write(WHO, this.who.value);
    });
    this.who.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.signed();
    });
    this.saved = el("p", { class: "saved", role: "status" });
    this.handback = this.source.served
      ? null
      : pushButton("Save answers as a file", () => this.give(), { class: "give" });
    const room = (href, text) => el("a", { class: "all", href }, text);
    refill(
      byId("mast"),
      el("nav", { class: "ways", "aria-label": "Hits" },
        pushButton("Previous", () => this.go(-1)),
        pushButton("Next", () => this.go(1)),
        pushButton("Next undecided", () => this.seekOpen())),
      el("nav", { class: "rooms", "aria-label": "Ways to look" },
        room("#", "All hits"), room("#beats", "Beats"), this.clipMenu()),
      el("label", { class: "who" }, el("span", {}, "Your name"), this.who),
      this.saved,
      this.handback,
      pushButton("Keys", () => this.help()),
    );
    if (!this.source.served) this.drawHandback();
  }

  /** The clips that can be watched whole, to tap what was not found. */
  clipMenu() {
    const clips = (this.review.clips ?? []).map(({ id, name }) => [String(id), name]);
    const open = (id) => {
      if (id) window.location.hash = `#clip-${id}`;
      menu.value = "";
    };
    const named = { "aria-label": "Tap along with a clip" };
    const menu = choiceMenu([["", "Tap along with …"], ...clips], "", open, named);
    return clips.length > 0 ? menu : null;
  }

  /** Whether the next undecided hit comes by itself. */
  makeGoesOnSwitch() {
    const button = pushButton("Auto-advance", () => {
      this.store.write(GOES_ON, !this.goesOn);
      setPressed(button, this.goesOn);
    }, { "aria-pressed": String(this.goesOn) });
    return button;
  }

  get goesOn() {
    return this.store.read(GOES_ON) !== false;
  }

  /** Does something in somebody's name, for which it waits: nothing is kept without one. */
  named(act) {
    const who = this.who.value.trim();
    if (who !== "") {
      act(who);
      return;
    }
    this.unsigned = () => this.named(act);
    this.asked = this.notices.warn("Fill in your name first, then press Enter: your answer goes in under it.");
    this.screening(false);
    this.who.focus();
  }

  /** The name is there: what waited for it is done. */
  signed() {
    const { unsigned } = this;
    if (this.who.value.trim() === "") return;
    this.unsigned = null;
    this.notices.drop(this.asked);
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
    let said = `Hit ${hit.name}: ${words}.`;
    if (this.goesOn && this.view?.hit === hit && !this.goOpen()) {
      const open = isOpen(this.book.decisionOf(hit.id));
      said += ` ${this.noneOpen(open ? undefined : "No hits are left undecided")}.`;
    }
    this.say(`${said} U takes it back.`);
  }

  /** Why there is no other hit to go on to: the filters may leave undecided ones out. */
  noneOpen(none = "No other hit is left undecided") {
    const open = this.review.hits.filter((hit) => isOpen(this.book.decisionOf(hit.id)) && hit !== this.view?.hit);
    if (open.length === 0) return none;
    return `No hit shown is left undecided; the filters leave out ${open.length} that ${open.length === 1 ? "is" : "are"}`;
  }

  /** Somebody saw a hit that was not found. */
  tap(clip, frame) {
    this.named((who) => {
      this.changesHits(true);
      if (!this.taps.give(clip, frame, who)) {
        this.notices.warn("This browser has no room left for taps. Save the answers now.");
      }
      this.say(`Tapped at frame ${frame}: ${this.source.served ? "it is being measured" : "kept for the file"}. U takes it back.`);
      this.drawHandback();
    });
  }

  /** Whether this page itself changes the hits, by a tap, so that no scan is told of. */
  changesHits(does) {
    if (this.sender) this.sender.changesHits = does;
  }

  /** What came of a tap. */
  tellTap({ frame }, { hit, reason }) {
    if (!hit) this.changesHits(false);
    const place = hit?.timecode ? ` (${hit.timecode})` : "";
    this.tellHits(
      Boolean(hit),
      hit
        ? `Hit ${hit.name}: contact on frame ${hit.contact}${place}, ${reason}. U takes it back.`
        : `No hit from the tap at frame ${frame}: ${reason}`,
    );
  }

  /** Says what came of a tap; hits that changed by it are read anew where all of them are shown. */
  tellHits(changed, words) {
    this.tapped ||= changed && this.source.served;
    this.say(words);
    this.view?.tell?.(words);
    this.view?.draw?.();
    window.setTimeout(() => this.readAnew());
  }

  /** Where all hits are shown, reads them anew once taps have changed them and none is on its way. */
  readAnew() {
    if (this.tapped && !this.view && !this.taps.atWork) window.location.reload();
  }

  /** Fills the screen with the picture, or no longer. */
  screening(on) {
    const { settings } = this;
    if (settings.screening === on) return;
    settings.screening = on;
    document.body.dataset.screening = String(on);
    if (on) document.documentElement.requestFullscreen?.().catch(() => null);
    else if (document.fullscreenElement) document.exitFullscreen().catch(() => null);
    if (!this.view?.hit) return;
    if (document.activeElement?.getClientRects().length === 0) this.view.heading.focus();
    if (on) {
      window.scrollTo(0, 0);
      this.view.enlarge();
    }
    this.view.draw();
  }

  give() {
    const name = answersName(this.review, this.who.value);
    saveFile(name, answersText(this.review, this.book, this.taps.pending()));
    setText(this.saved, `Saved as ${name}. Send that file back.`);
  }

  drawHandback() {
    if (!this.handback) return;
    const kinds = { answer: this.book.pending().length, tap: this.taps.pending().length };
    const held = Object.entries(kinds).filter(([, count]) => count > 0);
    const kept = this.store.lasting
      ? "kept in this browser"
      : "not kept when the page is closed: save them as a file";
    const given = held.map(([kind, count]) => counted(count, kind)).join(" and ");
    setText(this.saved, given ? `${given}, ${kept}` : "No answers yet");
    setUsable(this.handback, given !== "");
  }

  startSending() {
    this.sender = new Sender(this);
    this.book.listen(() => this.drawSaved());
    this.sender.start();
  }

  /** The hits were measured again, or others have come: answers are kept, and so are notes begun. */
  tellOutdated() {
    this.notices.warn("The footage has been scanned again, or what is known about it has changed.", {
      text: "Show the hits as they are now",
      act: () => window.location.reload(),
    });
  }

  drawSaved() {
    if (!this.sender) return;
    const { text, waiting, away } = this.sender.status();
    setText(this.saved, waiting === 0 ? text : `${text} (${counted(waiting, "answer")})`);
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
    this.view = hit ? new HitView(hit, this) : clip ? new ClipView(clip, this) : null;
    document.body.dataset.view = hit ? "hit" : clip ? "clip" : "overview";
    refill(byId("below"), this.view?.more ?? null);
    if (!hit) this.screening(false);
    if (this.view) this.showOpened(hit ? `Hit ${hit.name}` : clip?.name);
    else this.showAll(left);
    this.readAnew();
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
    if (!left) return;
    const card = document.getElementById(`card-${left.hit?.id}`);
    card?.scrollIntoView({ block: "center" });
    (card ?? byId("main").querySelector("h1"))?.focus({ preventScroll: true });
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

  seekOpen() {
    if (!this.goOpen()) this.say(this.noneOpen());
    return true;
  }

  get canUndo() {
    return this.book.canUndo() || this.taps.lastAt > 0;
  }

  /** Takes back what was done last, a tap or an answer. */
  undo() {
    if (!this.canUndo) {
      this.say("There is nothing to take back");
      return true;
    }
    this.named((who) => (this.taps.lastAt > this.book.lastAt ? this.undoTap(who) : this.undoAnswer(who)));
    return true;
  }

  undoAnswer(who) {
    const undone = this.book.undo(who);
    if (undone === null) return;
    const { hit, name, done } = undone;
    if (done) this.say(`Hit ${name}: taken back`);
    else {
      this.say("");
      this.notices.warn(`Hit ${name} has been answered differently since, so nothing was undone.`);
    }
    if (!this.book.hits.has(hit)) this.tellOutdated();
    else if (this.view?.hit && this.view.hit.id !== hit) this.goTo(hit);
  }

  async undoTap(who) {
    this.changesHits(true);
    if (this.taps.atWork) this.say("The tap is taken back as soon as it is measured");
    const reason = await this.taps.undo(who).catch((error) => error.message);
    if (reason !== "") this.changesHits(false);
    this.tellHits(reason === "", reason === null ? "There is no tap left to take back" : reason ? `Not taken back: ${reason}` : "The tap is taken back");
    this.drawHandback();
  }

  help() {
    openHelp(byId("help"), this.keys);
    return true;
  }

  /** Does what a key asks for; false where it means nothing now. */
  carryOut(act, by) {
    if (act === "help") return this.help();
    if (act === "undo" && !this.view?.hit) return this.undo();
    if (act === "goOpen") return this.seekOpen();
    if (act === "leave") return this.leave();
    if (!this.view) return act === "answer" && this.answerCard(by);
    if (act === "go") return this.go(by);
    this.view.ask(act, by);
    return true;
  }

  leave() {
    if (!this.view) return false;
    if (document.activeElement?.matches("input, textarea")) this.view.heading.focus();
    else if (this.settings.screening) this.screening(false);
    else window.location.hash = this.home;
    return true;
  }

  /** A key on a card answers its hit, with the trim that the card shows. */
  answerCard(answer) {
    const id = Number(/^card-(\d+)$/.exec(document.activeElement?.id ?? "")?.[1]);
    const hit = this.book.hits.get(id);
    if (!hit) return false;
    const decision = this.book.decisionOf(id);
    const trim = takenTrim(hit, decision);
    if (answer === "approved" && trim === null) {
      this.say("No trim is proposed to approve: open the hit, or answer as shot");
      return true;
    }
    this.named((who) => {
      const { first, count } = trim ?? { first: null, count: null };
      this.book.give(id, { answer, first, count, note: decision?.note ?? "" }, who);
      this.say(`Hit ${hit.name}: ${answerWords(this.book.decisionOf(id))}. U takes it back.`);
    });
    return true;
  }
}

/** Says why the hits do not come yet; they are asked for again until they do. */
function tellWaiting(error) {
  const opening = document.getElementById("opening");
  if (!opening) return;
  const ended = error instanceof Refusal && error.status === 403;
  const said = error instanceof Refusal && !ended ? ` It says: ${error.message}.` : "";
  setText(opening, ended ? ENDED : `${SILENT}${said}`);
  opening.setAttribute("role", "alert");
}

/** A program that is asked and says nothing may be at work, or stuck. */
function tellSlow() {
  const opening = document.getElementById("opening");
  if (opening && !opening.hasAttribute("role")) setText(opening, LATE);
}

async function begin() {
  try {
    const loading = new Loading(openSource());
    loading.listen((failing, error) => failing && tellWaiting(error));
    window.setTimeout(() => tellSlow(), SLOW);
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
