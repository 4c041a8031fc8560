/** When each picture of a loop is due. Times in milliseconds, rates in pictures a second. */

export const SPEEDS = { 1: "Full speed", 0.5: "Half speed", 0.25: "Quarter speed" };

const LATE_PICTURES = 8;
const REFRESHES = 24;
const TOO_FAST = 1.02;

/**
 * Counts pictures against the clock.
 *
 * Every picture gets its turn: after a stall they follow one to a refresh of the screen until the
 * clock is caught up, or the clock starts anew where the stall was long. Only where the screen
 * refreshes more slowly than the pictures come are some passed over.
 */
export class Cadence {
  constructor(rate) {
    this.rate = rate;
    /** @type {number[]} */
    this.refreshes = [];
    /** @type {number | null} */
    this.before = null;
    /** @type {number | null} */
    this.origin = null;
    this.count = 0;
  }

  /** Begins anew with the next refresh. */
  restart() {
    this.origin = null;
    this.count = 0;
    this.before = null;
  }

  /** Goes on at another rate from the picture that is shown. */
  changeRate(rate) {
    this.rate = rate;
    this.restart();
  }

  /** How many pictures to move on at a refresh at time `now`. */
  step(now) {
    this.note(now);
    if (this.origin === null) {
      // Half a refresh late, so that no picture is due in the very instant of a refresh.
      this.origin = now + this.refresh() / 2;
      this.count = 0;
      return 0;
    }
    const due = Math.floor(((now - this.origin) * this.rate) / 1000);
    const behind = due - this.count;
    if (behind <= 0) return 0;
    if (this.tooFast()) {
      this.count = due;
      return behind;
    }
    if (behind > LATE_PICTURES) this.origin += ((behind - 1) * 1000) / this.rate;
    this.count += 1;
    return 1;
  }

  /** When the picture `ahead` after the one shown is due. */
  dueIn(ahead) {
    return this.origin === null ? null : this.origin + ((this.count + ahead) * 1000) / this.rate;
  }

  /** Whether the screen cannot show every picture. */
  tooFast() {
    return this.refreshes.length >= REFRESHES && this.rate * this.refresh() > 1000 * TOO_FAST;
  }

  /** The usual time from one refresh of the screen to the next. */
  refresh() {
    if (this.refreshes.length === 0) return 1000 / 60;
    const sorted = [...this.refreshes].sort((one, other) => one - other);
    return sorted[Math.floor(sorted.length / 2)];
  }

  note(now) {
    if (this.before !== null && now > this.before) {
      this.refreshes.push(now - this.before);
      if (this.refreshes.length > REFRESHES) this.refreshes.shift();
    }
    this.before = now;
  }
}

/** What comes after a speed. */
export function nextSpeed(speed) {
  return { 1: 0.5, 0.5: 0.25, 0.25: 1 }[speed];
}

/** The frames of a moment that are shown once a trim is out, in order. */
export function keptFrames(first, count, trim) {
  const all = Array.from({ length: count }, (_, index) => first + index);
  if (trim === null) return all;
  return all.filter((frame) => frame < trim.first || frame >= trim.first + trim.count);
}

/** Place in `kept` of a frame, or of the one kept after it. */
export function placeOf(kept, frame) {
  const place = kept.findIndex((each) => each >= frame);
  return place < 0 ? kept.length - 1 : place;
}
