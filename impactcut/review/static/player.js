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
    this.alternating = false;
    this.cut = null;
    this.showsCut = true;
    this.run = null;
    this.shown = null;
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
    this.arrange();
  }

  /** Shows the moment with its cut, or as shot, at the same place. */
  setShowsCut(shows) {
    this.showsCut = shows;
    this.arrange();
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

  /** Stops for good. */
  close() {
    this.playing = false;
    this.run?.close();
    this.run = null;
  }

  /** Works out the frames shown, and stays at the frame that is seen. */
  arrange() {
    if (!this.run) return;
    const trim = this.showsCut ? this.cut : null;
    const resting = this.frames !== undefined && this.place >= this.frames.length;
    this.frames = keptFrames(this.run.first, this.run.bitmaps.length, trim);
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
    if (this.alternating && this.cut) {
      this.showsCut = !this.showsCut;
      this.frames = keptFrames(
        this.run.first,
        this.run.bitmaps.length,
        this.showsCut ? this.cut : null,
      );
      this.told.state();
    }
    this.place = 0;
  }

  /** Frame intervals for which the last frame stands before the next round. */
  rest() {
    return Math.max(1, Math.round(this.rate * REST_SECONDS));
  }

  announceRound() {
    const shows = this.alternating && this.cut ? !this.showsCut : this.showsCut;
    const kept = keptFrames(this.run.first, this.run.bitmaps.length, shows ? this.cut : null);
    this.told.round(this.cadence.dueIn(this.rest()), kept, 0, false);
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
