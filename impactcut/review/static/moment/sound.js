/** Production sound and scratch hit, cut and timed like the pictures. Off until somebody asks. */

const FADE_SECONDS = 0.004;

/**
 * What is heard of a round, in seconds of picture time.
 *
 * @param {number[]} kept frames shown, in order
 * @param {number} first frame with which the production sound begins
 * @param {number} contact contact frame; if it is cut out, the hit sounds on the next frame kept
 * @param {number} rate frames a second
 * @returns pieces of production sound (`at` in the round, `from` in the sound, `length`), and `hit`
 */
export function soundPlan(kept, first, contact, rate) {
  const pieces = [];
  kept.forEach((frame, index) => {
    const last = pieces[pieces.length - 1];
    if (last && frame === kept[index - 1] + 1) last.length += 1;
    else pieces.push({ at: index, from: frame - first, length: 1 });
  });
  const seconds = pieces.map(({ at, from, length }) => ({
    at: at / rate,
    from: from / rate,
    length: length / rate,
  }));
  const struck = kept.findIndex((frame) => frame >= contact);
  return { pieces: seconds, hit: struck < 0 ? null : struck / rate };
}

export class Sound {
  constructor() {
    this.context = null;
    this.playing = [];
  }

  /** Opens the loudspeaker; browsers allow it only in answer to a key or a click. */
  async open() {
    this.context ??= new AudioContext();
    if (this.context.state === "suspended") await this.context.resume();
  }

  /** The sounds of a hit, out of WAV files; production sound may be null or empty. */
  async decode(production, thump) {
    const decoded = (buffer) => (buffer?.byteLength ? this.context.decodeAudioData(buffer) : null);
    const [spoken, struck] = await Promise.all([decoded(production), decoded(thump)]);
    return { production: spoken, thump: struck };
  }

  /**
   * Sounds a plan.
   * @param {{production: AudioBuffer|null, thump: AudioBuffer|null}} heard
   * @param {{pieces: object[], hit: number|null}} plan
   * @param {number} start time (as of performance.now) at which second `from` of it is seen
   * @param {number} from
   * @param {number} speed
   */
  schedule(heard, plan, start, from, speed) {
    const zero = this.heardAt(start) - from / speed;
    for (const piece of plan.pieces) this.sound(heard.production, zero, piece, speed, speed);
    if (plan.hit !== null && heard.thump) {
      const piece = { at: plan.hit, from: 0, length: heard.thump.duration };
      this.sound(heard.thump, zero, piece, speed, 1);
    }
  }

  /** Silence at once. */
  silence() {
    for (const { source } of this.playing) source.stop();
    this.playing = [];
  }

  /** When to let a sound begin so that it is heard at `time`. */
  heardAt(time) {
    const { contextTime, performanceTime } = this.context.getOutputTimestamp?.() ?? {};
    return performanceTime > 0
      ? contextTime + (time - performanceTime) / 1000
      : this.context.currentTime + (time - performance.now()) / 1000;
  }

  sound(buffer, zero, piece, speed, playbackRate) {
    if (!buffer) return;
    const begins = zero + piece.at / speed;
    const late = Math.max(0, this.context.currentTime - begins);
    const skipped = late * playbackRate;
    if (skipped >= piece.length) return;
    const from = begins + late;
    const until = from + (piece.length - skipped) / playbackRate;
    const source = new AudioBufferSourceNode(this.context, { buffer, playbackRate });
    const gain = new GainNode(this.context, { gain: 0 });
    gain.gain.setValueAtTime(0, from);
    gain.gain.linearRampToValueAtTime(1, from + FADE_SECONDS);
    gain.gain.setValueAtTime(1, Math.max(from + FADE_SECONDS, until - FADE_SECONDS));
    gain.gain.linearRampToValueAtTime(0, until);
    source.connect(gain).connect(this.context.destination);
    source.start(from, piece.from + skipped, piece.length - skipped);
    const entry = { source, from };
    this.playing.push(entry);
    source.addEventListener("ended", () => {
      this.playing = this.playing.filter((other) => other !== entry);
    });
  }
}
