/** One hit, opened: its moment plays, and what to take out of it is chosen and answered. */

import { el, setText, told } from "../base/dom.js";
import { answerWords, faster, flashWords, frames, offset, place, shows } from "../base/words.js";
import { decodePack } from "../data/pack.js";
import { takenTrim } from "../fight/filters.js";
import { nextSpeed } from "../moment/clock.js";
import { Player } from "../moment/player.js";
import { soundPlan } from "../moment/sound.js";
import { Answering } from "./answering.js";
import { Choice, Steps } from "./choices.js";
import { Controls, nextMode } from "./controls.js";
import { Judgement, hitFacts, motionTable } from "./facts.js";
import { OpenStrip } from "./strip.js";

const DRAFT = "draft:";
const STAY = 120;
/** Acts that mean something before every trim of the hit is known. */
const AT_ONCE = ["answer", "undo", "write", "hold", "screening"];

export class HitView {
  /**
   * @param {import("../data/source.js").Hit} hit from the overview
   * @param {any} site the page
   */
  constructor(hit, site) {
    this.hit = hit;
    this.site = site;
    /** @type {import("../data/source.js").Detail | null} */
    this.detail = null;
    /** @type {[string, any][]} */
    this.waiting = [];
    this.closed = false;
    /** @type {any} */
    this.heard = null;
    this.enlarged = false;
    this.canvas = el("canvas", { role: "img", class: "picture" });
    this.word = el("strong", {}, "AS SHOT");
    this.much = el("span", {});
    this.shownNow = el("p", { class: "shown-now" }, this.word, this.much);
    this.frameNow = el("p", { class: "frame-now", "aria-hidden": "true" });
    this.trouble = el("p", { class: "trouble", role: "alert" });
    this.player = new Player(this.canvas, {
      frame: (frame) => this.onFrame(frame),
      round: (start, kept, at, anew) => this.onRound(start, kept, at, anew),
      state: () => this.draw(),
    });
    this.choice = new Choice(hit, takenTrim(hit, site.book.decisionOf(hit.id)));
    this.act = this.acts();
    this.heading = el("h1", { tabindex: "-1" }, `Hit ${hit.name}`);
    this.tally = el("p", { class: "tally" });
    this.frame = el("div", { class: "frame" }, this.canvas, this.shownNow);
    this.strip = new OpenStrip(hit, site.source.strip(hit.id), this.act);
    this.steps = new Steps(hit, this.choice, this.act);
    this.controls = new Controls(this.act);
    this.judgement = new Judgement(hit, site.settings);
    this.answering = new Answering(this.act, site.store.read(DRAFT + hit.id), site.goesOnSwitch);
    this.more = el("div", { class: "more" });
    this.node = this.lay();
    this.forget = site.book.listen((id) => {
      if (id === null || id === hit.id) this.draw();
    });
    this.choose();
  }

  lay() {
    const { hit } = this;
    const [width, height] = hit.shape;
    return el(
      "article",
      { class: "hit", css: { "--shape": `${width} / ${height}`, "--wide": String(width / height) } },
      el(
        "header",
        { class: "hit-head" },
        this.heading,
        el("p", { class: "place" }, `${place(hit)}, contact ${hit.timecode ?? `frame ${hit.contact}`}`),
        this.tally,
      ),
      el("div", { class: "stage" }, this.frame, this.trouble),
      el("div", { class: "strip-place" }, this.strip.node, this.frameNow),
      el(
        "div",
        { class: "judge" },
        this.judgement.node,
        this.steps.node,
        this.controls.node,
        this.answering.node,
      ),
    );
  }

  /** Does what a key asks for, or keeps it until the hit is there. */
  ask(act, by) {
    if (this.waiting.length === 0 && (this.detail || AT_ONCE.includes(act))) {
      this.act[act](by);
      return;
    }
    this.waiting.push([act, by]);
    this.site.say("This hit is still loading; what you asked for is done once it is here");
  }

  /** Fetches what the hit needs, does what waits for it, and plays it. */
  async open() {
    const { source, notices } = this.site;
    try {
      if (!source.isAhead?.(this.hit.id)) await this.stay();
      if (this.closed && this.waiting.length === 0) return;
      const pictures = source.pictures(this.hit.id).catch((error) => error);
      const detail = await source.detail(this.hit.id);
      if (this.closed && this.waiting.length === 0) return;
      this.learn(detail);
      const buffer = await pictures;
      if (this.closed) return;
      if (buffer instanceof Error) throw buffer;
      const run = await decodePack(buffer);
      if (this.closed) run.close();
      else this.start(run);
    } catch (error) {
      if (this.waiting.splice(0).length > 0) {
        notices.warn(`Hit ${this.hit.name} could not be loaded: please answer it again`);
      }
      if (!this.closed) setText(this.trouble, `The pictures cannot be shown: ${told(error)}`);
    }
  }

  /** Who answers faster than hits load does not have each of them loaded. */
  async stay() {
    await new Promise((go) => setTimeout(go, STAY));
  }

  close() {
    if (this.answering.noteIsNew) this.act.note();
    this.closed = true;
    this.forget();
    this.player.close();
    this.site.sound.silence();
  }

  /** Takes every trim of the hit, and does what waited for them. */
  learn(detail) {
    this.detail = detail;
    this.choice.learn(detail);
    this.more.replaceChildren(hitFacts(this.hit, detail), motionTable(this.hit, detail));
    this.choose();
    const left = this.closed;
    for (const [act, by] of this.waiting.splice(0)) {
      // After an answer the next hit may be open: keys that followed it were meant for that one.
      if (left) this.act[act](by);
      else this.site.view.ask(act, by);
    }
  }

  start(run) {
    const { settings } = this.site;
    this.player.load(run, this.hit.rate);
    this.player.setMode(settings.mode);
    this.player.setSpeed(settings.speed);
    this.node.classList.add("ready");
    const flashing = flashWords(run.flashes);
    setText(this.trouble, flashing);
    if (settings.playsAtOnce && !flashing) this.player.play();
    this.loadSound();
    if (settings.screening) this.enlarge();
    this.draw();
  }

  /** Fetches the pictures at their own size, once, where the source has them larger. */
  async enlarge() {
    const { source, notices } = this.site;
    const { run } = this.player;
    if (this.enlarged || !source.large || !run || run.width >= this.hit.shape[0]) return;
    this.enlarged = true;
    try {
      const large = await decodePack(await source.large(this.hit.id));
      if (this.closed) large.close();
      else this.player.swapRun(large);
    } catch (error) {
      notices.warn(`Hit ${this.hit.name} cannot be shown larger: ${told(error)}`);
    }
  }

  /** The trim has changed: everything that hangs on it is drawn again. */
  choose() {
    const { trim } = this.choice;
    if (this.player.mode === "shot" && trim !== null) this.act.mode("turn");
    this.player.setCut(trim);
    this.judgement.draw(trim);
    this.steps.draw();
    this.strip.show(trim, this.stripWords(trim));
    this.draw();
  }

  stripWords(trim) {
    const what = trim === null ? "none goes out" : `${frames(trim.count)} out, from ${offset(trim.first, this.hit.contact)}`;
    return `Frames around the contact, ${what}`;
  }

  draw() {
    const { settings, book } = this.site;
    const { trim } = this.choice;
    const { playing, showsCut, mode } = this.player;
    setText(this.word, showsCut ? "TRIMMED" : "AS SHOT");
    setText(this.much, showsCut ? ` ${frames(trim.count)} out` : "");
    this.frame.dataset.cut = String(showsCut);
    this.node.dataset.moving = String(playing);
    const { speed, sound, screening } = settings;
    this.controls.draw({ playing, speed, mode, comparable: trim !== null, sound, screening });
    const { contact, id } = this.hit;
    const { canUndo, who } = this.site;
    this.answering.draw({ ...book.stateOf(id), trim, contact, canUndo, reader: who.value.trim() });
    setText(this.tally, this.site.tally(this.hit));
    this.canvas.setAttribute("aria-label", this.pictureWords(trim));
  }

  pictureWords(trim) {
    const what = trim === null ? "as shot" : `${frames(trim.count)} out, ${faster(trim.gain)}`;
    const seen = trim === null ? "" : `, ${shows(trim).toLowerCase()}`;
    return `The moment of hit ${this.hit.name}, ${what}${seen}`;
  }

  onFrame(frame) {
    this.strip.moveTo(frame);
    const code = this.detail?.timecodes[frame - this.hit.shown[0]] ?? `frame ${frame}`;
    setText(this.frameNow, `${code}  ${offset(frame, this.hit.contact)}`);
    this.canvas.dispatchEvent(new CustomEvent("shown", { detail: { frame, at: performance.now() } }));
  }

  onRound(start, kept, at, anew) {
    const { sound, settings } = this.site;
    if (anew) sound.silence();
    if (start === null || !settings.sound || !this.heard) return;
    const rate = this.hit.rate[0] / this.hit.rate[1];
    const plan = soundPlan(kept, this.hit.shown[0], this.hit.contact, rate);
    sound.schedule(this.heard, plan, start, at / rate, settings.speed);
  }

  async loadSound() {
    const { sound, settings, source, notices } = this.site;
    if (!settings.sound || this.heard || !this.detail) return;
    try {
      await sound.open();
      const production = this.detail.sound ? source.sound(this.hit.id, "production") : null;
      const [spoken, thump] = await Promise.all([production, source.sound(this.hit.id, "thump")]);
      this.heard = await sound.decode(spoken, thump);
      if (!this.closed) this.player.changed();
    } catch (error) {
      notices.warn(`The sound of hit ${this.hit.name} cannot be heard: ${told(error)}`);
    }
  }

  /** What buttons and keys do. */
  acts() {
    const { choice, player, site } = this;
    const { settings } = site;
    const chosen = (changed) => {
      if (!changed) return;
      this.choose();
      const { trim } = choice;
      site.say(trim === null ? "As shot" : `${frames(trim.count)} out: ${shows(trim)}, ${faster(trim.gain)}`);
    };
    return {
      toggle: () => player.toggle(),
      step: (by) => player.step(by),
      count: (count) => chosen(choice.setCount(count)),
      nudge: (by) => chosen(choice.pick(choice.beside(by))),
      resize: (by) => chosen(choice.resize(by)),
      slide: (first) => chosen(choice.slide(first)),
      lift: (frame) => chosen(choice.lift(frame)),
      reset: () => chosen(choice.proposed !== null && choice.pick(choice.proposed)),
      hold: (held) => player.hold(held && choice.trim !== null),
      mode: (mode) => {
        settings.mode = mode;
        player.setMode(mode);
      },
      alternate: () => choice.trim !== null && this.act.mode(nextMode(settings.mode)),
      speed: (speed) => {
        settings.speed = speed;
        player.setSpeed(speed);
        this.draw();
      },
      slower: () => this.act.speed(nextSpeed(settings.speed)),
      sound: () => {
        settings.sound = !settings.sound;
        this.draw();
        if (settings.sound) this.loadSound();
        player.changed();
      },
      screening: () => site.screening(!settings.screening),
      tap: () => player.shown !== null && site.tap(this.hit, player.shown),
      contact: () => player.goTo(this.hit.contact),
      answer: (name) => this.give(name),
      note: () => this.give(null),
      draft: (text) => site.store.write(DRAFT + this.hit.id, text),
      undo: () => site.undo(),
      write: () => this.answering.field.focus(),
    };
  }

  /** Gives an answer; null leaves the answer that stands and gives the note alone. */
  give(name) {
    const { book, store, notices } = this.site;
    const stands = book.decisionOf(this.hit.id);
    const { trim } = this.choice;
    if (name === "approved" && (trim === null || trim.vetoes?.length > 0)) {
      this.site.say(trim === null ? "No trim is chosen to approve: choose one, or answer as shot" : "These frames must not go");
      return;
    }
    if (name === null && !this.answering.noteIsNew) return;
    const { note } = this.answering;
    const said =
      name === null
        ? { ...(stands ?? { answer: "open", first: null, count: null }), note }
        : { answer: name, first: trim?.first ?? null, count: trim?.count ?? null, note };
    this.site.named((who) => {
      this.answering.shownNote = note;
      if (book.give(this.hit.id, said, who)) store.remove(DRAFT + this.hit.id);
      else notices.warn("This browser has no room left for answers. Keep the page open.");
      if (name !== null && !this.closed) this.site.answered(this.hit, answerWords(book.decisionOf(this.hit.id)));
    });
  }
}
