/** Contacts tapped along with the picture: kept, brought to the program, and taken back. */

import { told } from "../base/dom.js";
import { openStore } from "../base/store.js";
import { isFinal } from "./loading.js";

const TAP = "tap:";
const AGAIN = 5000;
const MOST_TAPS = 100;

/**
 * @typedef {{clip: string, digest: string, frame: number, who: string, when: string}} Tap
 *
 * A tap given in this tab, which can be taken back: under `act` once the program has taken it.
 * @typedef {{at: number, name: string, act: number | null}} Given
 */

export class Taps {
  /** `told` is called with what came of each. */
  constructor(source, store, told) {
    this.source = source;
    this.store = store;
    this.told = told;
    this.ours = openStore("tab", "sessionStorage");
    this.givenName = `taps:${window.location.pathname}`;
    /** @type {{name: string, done: Promise<void>} | null} */
    this.bringing = null;
    this.busy = false;
    this.takingBack = false;
    if (source.served) this.pump();
  }

  /** Keeps a tap; false if the browser kept nothing. */
  give({ clip, digest }, frame, who) {
    const when = new Date().toISOString().replace(/\.\d+Z$/, "Z");
    const at = Math.max(Date.now(), this.lastAt + 1);
    const name = `${TAP}${at}-${frame}`;
    const kept = this.store.write(name, { clip, digest, frame, who, when });
    this.remember([...this.given(), { at, name, act: null }]);
    if (this.source.served) this.pump();
    return kept;
  }

  /** @returns {Given[]} what can be taken back, the last one last */
  given() {
    return this.ours.read(this.givenName) ?? [];
  }

  /** When the last tap was given that can be taken back, by this browser's clock; 0 for none. */
  get lastAt() {
    return this.given().pop()?.at ?? 0;
  }

  /** Whether a tap is on its way, or on its way back. */
  get atWork() {
    return this.busy || this.takingBack;
  }

  /** @returns {Tap[]} those that no program has taken, in order */
  pending() {
    return this.names().map((name) => this.store.read(name)).filter(Boolean);
  }

  names() {
    return this.store.names(TAP).sort();
  }

  /**
   * Takes the last tap of this tab back; null where there is none, else why it could not be. One
   * that is being measured is taken back as soon as it is a hit.
   */
  async undo(who) {
    const name = this.given().pop()?.name;
    if (name === undefined) return null;
    if (this.bringing?.name === name) await this.bringing.done.catch(() => null);
    const last = this.given().find((each) => each.name === name);
    if (last === undefined) return "";
    this.remember(this.given().filter((each) => each.name !== name));
    if (last.act === null) {
      this.store.remove(name);
      return "";
    }
    this.takingBack = true;
    try {
      const { reason } = await this.source.tap({ back: last.act, who });
      return reason;
    } finally {
      this.takingBack = false;
    }
  }

  async pump() {
    if (this.busy) return;
    this.busy = true;
    try {
      for (let [name] = this.names(); name; [name] = this.names()) {
        this.bringing = { name, done: this.bring(name) };
        await this.bringing.done;
      }
    } catch {
      setTimeout(() => this.pump(), AGAIN);
    } finally {
      this.bringing = null;
      this.busy = false;
    }
  }

  async bring(name) {
    const tap = this.store.read(name);
    /** @type {any} */
    let reply;
    try {
      reply = await this.source.tap(tap);
    } catch (error) {
      if (!isFinal(error)) throw error;
      reply = { hit: null, act: null, reason: told(error) };
    }
    this.store.remove(name);
    this.taken(name, reply.act);
    this.told(tap, reply);
  }

  /** A tap of which no hit came cannot be taken back. */
  taken(name, act) {
    const noted = this.given().map((each) => (each.name === name ? { ...each, act } : each));
    this.remember(noted.filter((each) => each.name !== name || act !== null));
  }

  remember(given) {
    this.ours.write(this.givenName, given.slice(-MOST_TAPS));
  }
}
