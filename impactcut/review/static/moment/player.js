/** Plays a moment on a canvas, over and over, every frame in its turn. */

import { Cadence, keptFrames, placeOf } from "./clock.js";

const REST_SECONDS = 0.4;

/**
 * One moment on one canvas.
 *
 * `frame` is called with each frame that is drawn, and `state` after play or pause. `round` is
 * called with a time, the frames of a round and the place of the one that is due at that time: for
 * the coming round, or with `anew` when what was told before no longer holds; without a time, the
 * moment stands.
 */
export class Player {
  constructor(canvas, { frame, round, state }) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d", { alpha: false });
    this.told = { frame, round, state };
    this.cadence = new Cadence(24);
    this.speed = 1;
    this.playing = false;
    this.mode = "turn";
    /** @type {any} */
    this.cut = null;
    this.turn = true;
    this.held = false;
    this.rate = 24;
    this.place = 0;
    /** @type {number[]} */
    this.frames = [];
    /** @type {any} */
    this.run = null;
    /** @type {number | null} */
    this.shown = null;
    this.unheard = false;
    this.refresh = (now) => this.tick(now);
  }

  /** Takes a moment: its pictures, and its rate as [numerator, denominator]. */
  load(run, rate) {
    this.run = run;
    this.rate = rate[0] / rate[1];
    this.cadence = new Cadence(this.rate * this.speed);
    this.shown = null;
    this.canvas.width = run.width;
    this.canvas.height = run.height;
    this.arrange();
    this.place = 0;
    this.draw();
  }

  /** What goes out of the moment from now on; null for nothing. */
  setCut(trim) {
    this.cut = trim;
    this.turn = true;
    this.arrange();
  }

  /** Whether the moment is shown with its cut now. */
  get showsCut() {
    return this.cut !== null && this.settled(this.turn) !== this.held;
  }

  /** What is shown in a round, as far as no key is held. */
  settled(turn) {
    return this.mode === "turn" ? turn : this.mode === "cut";
  }

  /** Plays as shot and cut in turn, or only one of them: "turn", "cut" or "shot". */
  setMode(mode) {
    this.mode = mode;
    this.turn = mode !== "shot";
    this.arrange();
    this.told.state();
  }

  /** Shows the other one, at the same place, as long as a key is held. */
  hold(held) {
    if (this.held === held) return;
    this.held = held;
    this.arrange();
    this.told.state();
  }

  setSpeed(speed) {
    this.speed = speed;
    if (this.run) this.cadence.changeRate(this.rate * speed);
    this.changed();
  }

  play() {
    if (this.playing || !this.run) return;
    this.playing = true;
    this.cadence.restart();
    requestAnimationFrame(this.refresh);
    this.told.state();
    this.changed();
  }

  pause() {
    if (!this.playing) return;
    this.playing = false;
    this.told.state();
    this.changed();
  }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  /** Moves by frames, and stands. */
  step(by) {
    if (!this.run) return;
    this.pause();
    const length = this.frames.length;
    this.place = (Math.min(this.place, length - 1) + by + length) % length;
    this.draw();
  }

  /** Goes to a frame, or the one kept after it, and stands. */
  goTo(frame) {
    if (!this.run) return;
    this.pause();
    this.place = placeOf(this.frames, frame);
    this.draw();
  }

  /** Takes a larger or smaller edition of the same pictures, at the same frame. */
  swapRun(run) {
    this.run.close();
    this.run = run;
    this.canvas.width = run.width;
    this.canvas.height = run.height;
    this.shown = null;
    this.draw();
  }

  /** Stops for good. */
  close() {
    this.playing = false;
    this.run?.close();
    this.run = null;
  }

  /** Works out the frames shown, and stays at the frame that is seen. */
  arrange() {
    if (!this.run) return;
    const resting = this.frames.length > 0 && this.place >= this.frames.length;
    this.frames = this.kept(this.showsCut);
    if (this.shown !== null && !resting) {
      this.place = placeOf(this.frames, this.shown);
      this.draw();
    }
    this.changed();
  }

  tick(now) {
    if (!this.playing || !this.run) return;
    for (let steps = this.cadence.step(now); steps > 0; steps -= 1) this.advance();
    this.draw();
    if (this.unheard && this.cadence.dueIn(0) !== null) {
      this.unheard = false;
      this.told.round(this.cadence.dueIn(0), this.frames, this.place, true);
    }
    requestAnimationFrame(this.refresh);
  }

  advance() {
    this.place += 1;
    if (this.place >= this.frames.length + this.rest()) this.begin();
    else if (this.place === this.frames.length) this.announceRound();
  }

  begin() {
    if (this.mode === "turn" && this.cut) {
      this.turn = !this.turn;
      this.frames = this.kept(this.showsCut);
      this.told.state();
    }
    this.place = 0;
  }

  /** Frame intervals for which the last frame stands before the next round. */
  rest() {
    return Math.max(1, Math.round(this.rate * REST_SECONDS));
  }

  announceRound() {
    const cut = this.settled(!this.turn) !== this.held;
    this.told.round(this.cadence.dueIn(this.rest()), this.kept(cut), 0, false);
  }

  kept(cut) {
    return keptFrames(this.run.first, this.run.bitmaps.length, cut ? this.cut : null);
  }

  /** What is heard no longer fits what is seen: silence, or begin anew with the next picture. */
  changed() {
    this.unheard = this.playing;
    if (!this.playing) this.told.round(null, [], 0, true);
  }

  draw() {
    const frame = this.frames[Math.min(this.place, this.frames.length - 1)];
    if (frame === this.shown) return;
    this.shown = frame;
    this.context.drawImage(this.run.bitmaps[frame - this.run.first], 0, 0);
    this.told.frame(frame);
  }
}
