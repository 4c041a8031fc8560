/** One hit, opened: its moment plays, and what to take out of it is chosen and answered. */

import { Answering } from "./answering.js";
import { Choice, ChoiceRow } from "./choices.js";
import { Controls, nextSpeed } from "./controls.js";
import { Dial } from "./dial.js";
import { el, refill, setText } from "./dom.js";
import { Judgement, dialKey, hitFacts, motionTable } from "./facts.js";
import { flashWords } from "./flashes.js";
import { decodePack } from "./pack.js";
import { Player } from "./player.js";
import { soundPlan } from "./sound.js";
import { faster, offset, place, shows, times, variant } from "./words.js";

const DRAFT = "draft:";

export class HitView {
  /**
   * @param {object} hit from the overview
   * @param {object} site source, book, store, sound, notices, settings, who()
   */
  constructor(hit, site) {
    Object.assign(this, { hit, site });
    this.waiting = [];
    this.canvas = el("canvas", { role: "img", class: "picture" });
    this.shownNow = el("p", { class: "shown-now" });
    this.frameNow = el("p", { class: "frame-now", "aria-hidden": "true" });
    this.trouble = el("p", { class: "trouble", role: "alert" });
    this.watch = el("div", { class: "watch" }, this.stage());
    this.body = el("div", { class: "hit-body" }, this.watch);
    this.heading = el("h1", { tabindex: "-1" }, `Hit ${hit.name}`, el("span", {}, place(hit)), el("span", {}, `contact ${hit.timecode ?? `frame ${hit.contact}`}`));
    this.node = el("article", { class: "hit" }, this.heading, this.body);
    this.player = new Player(this.canvas, {
      frame: (frame) => this.onFrame(frame),
      round: (start, kept, at, anew) => this.onRound(start, kept, at, anew),
      state: () => this.draw(),
    });
    this.forget = site.book.listen((id) => {
      if (id === null || id === hit.id) this.draw();
    });
  }

  stage() {
    const waiting = el("img", { class: "waiting", src: this.site.source.contact(this.hit.id), alt: "" });
    waiting.addEventListener("error", () => waiting.remove());
    const [width, height] = this.hit.shape;
    return el(
      "div",
      { class: "stage", css: { "--shape": `${width} / ${height}`, "--wide": String(width / height) } },
      el("div", { class: "frame" }, waiting, this.canvas),
      el("div", { class: "caption" }, this.shownNow, this.frameNow),
      this.trouble,
    );
  }

  /** Keeps what was asked for before the hit was there; it is done then, even if it was left. */
  wait(name) {
    this.waiting.push(name);
    setText(this.shownNow, "Waiting for this hit; what you asked for is done when it is here");
  }

  /** Fetches what the hit needs, does what waits for it, and plays it. */
  async open() {
    try {
      const pictures = this.site.source.pictures(this.hit.id).catch((error) => error);
      const detail = await this.site.source.detail(this.hit.id);
      if (this.closed && this.waiting.length === 0) return;
      this.build(detail);
      for (const name of this.waiting.splice(0)) this.site.perform(this, name);
      const buffer = await pictures;
      if (this.closed) return;
      if (buffer instanceof Error) throw buffer;
      const run = await decodePack(buffer);
      if (this.closed) run.close();
      else this.start(run);
    } catch (error) {
      this.loseWaiting();
      if (!this.closed) setText(this.trouble, `The pictures cannot be shown: ${error.message}`);
    }
  }

  /** Says which answers could not be given, so that none goes silently. */
  loseWaiting() {
    if (this.waiting.splice(0).length > 0) {
      this.site.notices.warn(`Hit ${this.hit.id} could not be loaded: answer it again`);
    }
  }

  close() {
    if (this.answering?.noteIsNew) this.act.note();
    this.closed = true;
    this.forget();
    this.player.close();
    this.site.sound.silence();
  }

  build(detail) {
    const { hit } = this;
    this.detail = detail;
    this.choice = new Choice(hit, detail, this.site.book.decisionOf(hit.id));
    this.act = this.acts();
    this.row = new ChoiceRow(hit, this.choice, this.act);
    this.controls = new Controls(this.act, true);
    this.judgement = new Judgement(hit, detail);
    this.dial = new Dial(hit, detail, (frame) => this.player.goTo(frame));
    this.answering = new Answering(this.act, this.site.store.read(DRAFT + hit.id), this.site.signing);
    this.watch.append(el("div", { class: "tools" }, this.controls.node, this.row.node));
    this.body.append(
      el(
        "div",
        { class: "judge" },
        el("div", { class: "look" }, this.dial.node, dialKey(detail.motion)),
        this.judgement.node,
        this.answering.node,
      ),
      el("div", { class: "more" }, hitFacts(hit, detail), motionTable(hit, detail)),
    );
    this.choose();
  }

  start(run) {
    const { settings } = this.site;
    this.player.load(run, this.hit.rate);
    this.player.setCut(this.choice.trim);
    this.player.setSpeed(settings.speed);
    this.player.alternating = settings.alternating;
    this.node.classList.add("ready");
    const flashing = flashWords(run.flashes);
    setText(this.trouble, flashing);
    if (settings.playsAtOnce && !flashing) this.player.play();
    this.loadSound();
    this.draw();
  }

  /** The trim has changed: everything that hangs on it is drawn again. */
  choose() {
    const { trim } = this.choice;
    this.player.showsCut = true;
    this.player.setCut(trim);
    this.judgement.draw(trim);
    this.row.draw();
    const gain = trim === null ? "0 out" : times(trim.gain);
    const under = trim === null ? "as shot" : `faster, ${trim.count} out`;
    this.dial.show(trim, gain, under, this.dialWords(trim));
    this.draw();
  }

  dialWords(trim) {
    const what = trim === null ? "nothing taken out" : `${variant(trim.count)} (${trim.where})`;
    return `Motion around the contact, ${what}. The numbers stand in a table below.`;
  }

  draw() {
    if (!this.choice) return;
    const { settings, book } = this.site;
    const { trim } = this.choice;
    const { playing, showsCut, alternating } = this.player;
    const cutShown = showsCut && trim !== null;
    setText(this.shownNow, cutShown ? variant(trim.count) : "As shot");
    this.shownNow.dataset.cut = String(cutShown);
    this.controls.draw({
      playing,
      showsCut,
      comparable: trim !== null,
      alternating,
      speed: settings.speed,
      sound: settings.sound,
    });
    const { contact, id } = this.hit;
    this.answering.draw({ ...book.stateOf(id), trim, contact, canUndo: book.canUndo() });
    this.canvas.setAttribute("aria-label", this.pictureWords(trim));
  }

  pictureWords(trim) {
    const what = trim === null ? "as shot" : `${variant(trim.count)}, ${faster(trim.gain)}`;
    const seen = trim === null ? "" : `, ${shows(trim).toLowerCase()}`;
    return `The moment of hit ${this.hit.name}, ${what}${seen}`;
  }

  onFrame(frame) {
    this.dial?.moveTo(frame);
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
    if (!settings.sound || this.heard) return;
    try {
      await sound.open();
      const production = this.detail.sound ? source.sound(this.hit.id, "production") : null;
      const [spoken, thump] = await Promise.all([production, source.sound(this.hit.id, "thump")]);
      this.heard = await sound.decode(spoken, thump);
      if (!this.closed) this.player.changed();
    } catch (error) {
      notices.warn(`The sound of hit ${this.hit.name} cannot be heard: ${error.message}`);
    }
  }

  /** What buttons and keys do. */
  acts() {
    const { choice, player, site } = this;
    const { settings } = site;
    const chosen = (changed) => {
      if (changed) this.choose();
    };
    return {
      toggle: () => player.toggle(),
      step: (by) => player.step(by),
      count: (count) => chosen(choice.setCount(count)),
      nudge: (by) => chosen(choice.nudge(by)),
      reset: () => {
        if (choice.proposed === null) return;
        choice.pick(choice.proposed);
        this.choose();
      },
      swap: () => {
        if (choice.trim === null) return;
        player.setShowsCut(!player.showsCut);
        this.draw();
      },
      alternate: () => {
        if (choice.trim === null && !player.alternating) return;
        settings.alternating = !settings.alternating;
        player.alternating = settings.alternating;
        if (!settings.alternating) player.setShowsCut(true);
        this.draw();
      },
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
    const { book, store, notices, who } = this.site;
    const stands = book.decisionOf(this.hit.id);
    const { trim } = this.choice;
    if (name === "approved" && (trim === null || trim.vetoes.length > 0)) return;
    if (name === null && !this.answering.noteIsNew) return;
    const { note } = this.answering;
    const said =
      name === null
        ? { ...(stands ?? { answer: "open", first: null, count: null }), note }
        : { answer: name, first: trim?.first ?? null, count: trim?.count ?? null, note };
    if (who() === "") {
      this.site.askWho();
      return;
    }
    this.answering.shownNote = note;
    if (book.give(this.hit.id, said, who())) store.remove(DRAFT + this.hit.id);
    else notices.warn("This browser has no room left to keep answers. Keep the page open.");
  }
}
