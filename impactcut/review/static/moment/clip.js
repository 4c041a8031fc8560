/** A whole clip, played once through, to be tapped along with: what the finder missed. */

import { el, pushButton, setText, told } from "../base/dom.js";
import { flashWords } from "../base/words.js";
import { decodePack } from "../data/pack.js";
import { Cadence, nextSpeed, SPEEDS } from "./clock.js";

const STRETCH = 50;

export class ClipView {
  /** `clip` is of the review, and `site` the page. */
  constructor(clip, site) {
    this.clip = clip;
    this.site = site;
    this.runs = new Map();
    this.frame = 0;
    /** @type {number | null} */
    this.shown = null;
    this.speed = 1;
    this.playing = false;
    this.closed = false;
    /** Stretches that flash, which somebody who had read so let play. */
    this.allowed = new Set();
    this.cadence = new Cadence(clip.rate[0] / clip.rate[1]);
    this.canvas = /** @type {HTMLCanvasElement} */ (el("canvas", { class: "picture", role: "img", "aria-label": clip.name }));
    this.heading = el("h1", { tabindex: "-1" }, clip.name);
    this.where = el("p", { class: "tally" });
    this.code = el("p", { class: "frame-now" });
    this.play = pushButton("Play", () => this.toggle());
    this.pace = pushButton(SPEEDS[1], () => this.slower());
    this.list = el("ol", { class: "taps" });
    this.trouble = el("p", { class: "trouble", role: "alert" });
    const [width, height] = clip.shape;
    this.canvas.addEventListener("pointerdown", () => this.tap());
    this.node = el(
      "article",
      { class: "hit clip", css: { "--shape": `${width} / ${height}`, "--wide": String(width / height) } },
      el("header", { class: "hit-head" }, this.heading, this.where, this.code),
      el("div", { class: "stage" }, el("div", { class: "frame" }, this.canvas), this.trouble),
      el(
        "div",
        { class: "judge" },
        el("p", {}, "Play, and tap at every impact: T, or touch the picture. You are told where there is a hit already."),
        el("div", { class: "row" }, this.play, pushButton("−1", () => this.step(-1)), pushButton("+1", () => this.step(1)),
          this.pace, pushButton("Undo the last tap", () => site.named((who) => site.undoTap(who)))),
        pushButton("Tap", () => this.tap(), { class: "tap" }),
        this.list,
      ),
    );
    this.more = null;
  }

  async open() {
    await this.show(0);
  }

  close() {
    this.closed = true;
    this.playing = false;
    for (const run of this.runs.values()) run.then((pictures) => pictures.close(), () => null);
  }

  /** The stretch that holds a frame, fetched once, with the next one; earlier ones are let go. */
  run(frame) {
    const first = frame - (frame % STRETCH);
    for (const start of [first, first + STRETCH]) {
      if (start >= this.clip.frames || this.runs.has(start)) continue;
      const run = this.site.source.clip(this.clip.id, start).then(decodePack);
      run.catch(() => this.runs.delete(start));
      this.runs.set(start, run);
    }
    for (const [start, run] of this.runs) {
      if (Math.abs(start - first) <= STRETCH) continue;
      this.runs.delete(start);
      run.then((pictures) => pictures.close(), () => null);
    }
    return this.runs.get(first);
  }

  /** Draws a frame once it is here. */
  async show(frame) {
    this.frame = Math.max(0, Math.min(this.clip.frames - 1, frame));
    const asked = this.frame;
    try {
      const run = await this.run(asked);
      if (this.closed || asked !== this.frame) return;
      const flashing = flashWords(run.flashes);
      setText(this.trouble, flashing);
      if (flashing && !this.allowed.has(run.first)) this.stand();
      if (this.canvas.width !== run.width) Object.assign(this.canvas, { width: run.width, height: run.height });
      this.canvas.getContext("2d")?.drawImage(run.bitmaps[asked - run.first], 0, 0);
      this.shown = asked;
      this.node.classList.add("ready");
      setText(this.where, `frame ${asked} of ${this.clip.frames}`);
      setText(this.code, run.timecodes[asked - run.first] ?? "");
    } catch (error) {
      this.stand();
      setText(this.trouble, `The clip cannot be shown: ${told(error)}`);
    }
  }

  async tick(now) {
    if (!this.playing) return;
    const steps = this.cadence.step(now);
    if (steps > 0) {
      if (this.frame + steps >= this.clip.frames) this.stand();
      const crossed = Math.floor((this.frame + steps) / STRETCH) !== Math.floor(this.frame / STRETCH);
      await this.show(this.frame + steps);
      if (crossed) this.cadence.restart();
    }
    requestAnimationFrame((next) => this.tick(next));
  }

  toggle() {
    if (this.playing) this.stand();
    else this.start();
  }

  start() {
    if (this.trouble.textContent) this.allowed.add(this.frame - (this.frame % STRETCH));
    if (this.frame >= this.clip.frames - 1) this.frame = 0;
    this.playing = true;
    setText(this.play, "Pause");
    this.cadence.restart();
    requestAnimationFrame((now) => this.tick(now));
  }

  stand() {
    this.playing = false;
    setText(this.play, "Play");
  }

  step(by) {
    this.stand();
    this.show(this.frame + by);
  }

  slower() {
    this.speed = nextSpeed(this.speed);
    setText(this.pace, SPEEDS[this.speed]);
    this.cadence.changeRate((this.clip.rate[0] / this.clip.rate[1]) * this.speed);
  }

  tap() {
    if (this.shown !== null) this.site.tap({ clip: this.clip.name, digest: this.clip.digest }, this.shown);
  }

  /** Lists what came of a tap. */
  tell(words) {
    this.list.prepend(el("li", {}, words));
  }

  /** What keys do here. */
  ask(act, by) {
    if (["toggle", "step", "slower", "tap"].includes(act)) this[act](by);
  }
}
