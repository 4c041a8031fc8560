/**
 * What hits need, fetched once, fetched ahead, and fetched again until it comes.
 *
 * Only where the program says that it cannot be had does a load fail; where the program is away,
 * busy or broken, it is asked again, and everything that waits for the hit goes on waiting.
 */

import { decodeAhead } from "./pack.js";
import { Refusal } from "./source.js";

/** @typedef {import("./source.js").Source} Source */

const SHORT_REST = 500;
const LONG_REST = 8000;
const MOST_FAULTS = 3;
const KEPT = 8;

export class Loading {
  /** @param {Source} source from `openSource` */
  constructor(source) {
    /** @type {any} */
    this.source = this.over(source);
    /** @type {Map<number, Record<string, Promise<any> | null>>} */
    this.kept = new Map();
    /** @type {Set<() => void>} */
    this.sleeping = new Set();
    /** @type {Set<(failing: boolean, error: unknown) => void>} */
    this.listeners = new Set();
    /** @type {Map<number, Promise<string>>} */
    this.strips = new Map();
    this.failing = 0;
    window.addEventListener("online", () => this.wake());
  }

  /** Calls back with whether something is being asked for in vain, and what went wrong last. */
  listen(listener) {
    this.listeners.add(listener);
  }

  /**
   * The source itself, but that it fetches once, ahead and again.
   * @param {Source & Partial<import("./source.js").Serving>} source
   */
  over(source) {
    return Object.assign(Object.create(source), {
      review: () => this.untilItComes(() => source.review()),
      detail: (hit) => this.once(hit, "detail", () => source.detail(hit)),
      pictures: (hit) => this.once(hit, "pictures", () => source.pictures(hit)),
      sound: (hit, kind) => this.once(hit, kind, () => source.sound(hit, kind)),
      strip: (hit) => this.stripOf(hit, source),
      beats: () => this.untilItComes(() => source.beats()),
      clip: (clip, first) => this.untilItComes(async () => source.clip?.(clip, first)),
      ahead: (hits) => this.ahead(hits),
      isAhead: (hit) => Boolean(this.kept.get(hit)?.pictures),
    });
  }

  /** The pictures of a strip, kept as long as the page is open: they are small. */
  stripOf(hit, source) {
    const kept = this.strips.get(hit);
    if (kept) return kept;
    const strip = this.untilItComes(() => source.strip(hit));
    strip.catch(() => this.strips.delete(hit));
    this.strips.set(hit, strip);
    return strip;
  }

  /** Has hits made ready, the next one first; of that the pictures are also decoded. */
  async ahead(hits) {
    for (const [place, hit] of hits.entries()) {
      try {
        const [, buffer] = await Promise.all([this.source.detail(hit), this.source.pictures(hit)]);
        if (place === 0) decodeAhead(buffer);
      } catch {
        // It is said once the hit is opened.
      }
    }
  }

  /** Asks again at once for what is waited for. */
  wake() {
    for (const go of this.sleeping) go();
  }

  once(hit, kind, ask) {
    const held = this.kept.get(hit) ?? {};
    this.kept.delete(hit);
    this.kept.set(hit, held);
    held[kind] ??= this.untilItComes(ask).catch((error) => {
      held[kind] = null;
      throw error;
    });
    for (const old of [...this.kept.keys()].slice(0, -KEPT)) this.kept.delete(old);
    return held[kind];
  }

  /**
   * @template T
   * @param {() => Promise<T>} ask
   * @returns {Promise<T>}
   */
  async untilItComes(ask) {
    let failed = false;
    try {
      for (let wait = SHORT_REST, faults = 0; ; wait = Math.min(LONG_REST, wait * 2)) {
        try {
          return await ask();
        } catch (error) {
          faults += isFault(error) ? 1 : 0;
          if (isFinal(error) || faults === MOST_FAULTS) throw error;
          this.count(failed ? 0 : 1, error);
        }
        failed = true;
        await this.sleep(wait);
      }
    } finally {
      if (failed) this.count(-1);
    }
  }

  /**
   * @param {number} by
   * @param {unknown} error
   */
  count(by, error = null) {
    this.failing += by;
    for (const listener of this.listeners) listener(this.failing > 0, error);
  }

  /** @returns {Promise<void>} */
  sleep(wait) {
    return new Promise((resolve) => {
      const go = () => {
        window.clearTimeout(timer);
        this.sleeping.delete(go);
        resolve();
      };
      const timer = window.setTimeout(go, wait);
      this.sleeping.add(go);
    });
  }
}

/** Whether asking again is in vain; a door that is shut opens again with the next run. */
export function isFinal(error) {
  if (!(error instanceof Refusal)) return !(error instanceof TypeError || error.name === "TimeoutError");
  return error.status >= 400 && error.status < 500 && ![403, 408].includes(error.status);
}

/** Whether the program itself failed. */
export function isFault(error) {
  return error instanceof Refusal && error.status >= 500 && error.status !== 503;
}
